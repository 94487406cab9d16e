//! The picture of each shipped procedure, read back by a parser that is not our own.

use report::flow_picture;
use scraper::{Html, Selector};
use std::path::Path;
use steps::Procedure;
use steps::procedure::{Action, Library, ReadError, Thing};

/// The procedures, of which one lies in this folder; parts are named from above it.
struct Folder(&'static str);

impl Library for Folder {
    fn read(&self, name: &str) -> Result<Vec<u8>, ReadError> {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
        let folder = match name.contains('/') {
            true => folder,
            false => folder.join(self.0),
        };
        std::fs::read(folder.join(format!("{name}.toml")))
            .map_err(|error| ReadError::Failed(error.to_string()))
    }
}

pub fn load(folder: &'static str, name: &str) -> Procedure {
    Procedure::load(name, &Folder(folder)).expect("shipped procedures load")
}

pub fn shipped() -> Vec<Procedure> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let files = std::fs::read_dir(folder).expect("the procedures' folder");
    let mut names: Vec<String> = files
        .filter_map(|file| file.ok()?.file_name().into_string().ok())
        .filter_map(|name| name.strip_suffix(".toml").map(str::to_owned))
        .collect();
    names.sort();
    let all: Vec<Procedure> = names.iter().map(|name| load("", name)).collect();
    assert!(all.len() >= 3);
    all
}

/// The words of the picture, a line each.
fn words(svg: &Html) -> Vec<String> {
    let texts = Selector::parse("text").unwrap();
    svg.select(&texts)
        .map(|text| text.text().collect())
        .collect()
}

fn number(element: scraper::ElementRef<'_>, name: &str) -> f32 {
    let value = element.value().attr(name).unwrap_or_default();
    value
        .parse()
        .unwrap_or_else(|_| panic!("{name}=“{value}” is no number"))
}

#[test]
fn every_step_and_every_word_of_a_gate_is_in_the_picture() {
    for procedure in shipped() {
        let svg = Html::parse_fragment(&flow_picture(&procedure));
        let words = words(&svg);
        for (at, step) in procedure.steps.iter().enumerate() {
            let numbered = format!("{}  ", at + 1);
            assert!(
                words.iter().any(|line| line.starts_with(&numbered)),
                "{}: step {numbered}",
                procedure.id
            );
            if let Action::Hold(gate) = &step.action {
                let said = &procedure.gates[gate].readback_written;
                assert!(
                    words.join(" ").contains(said.as_str()),
                    "{}: {said}",
                    procedure.id
                );
            }
        }
        assert!(words.iter().any(|line| line.contains("maker's")));
    }
}

#[test]
fn no_two_steps_lie_on_each_other_and_all_is_on_the_sheet() {
    for procedure in shipped() {
        let svg = Html::parse_fragment(&flow_picture(&procedure));
        let sheet = svg.select(&Selector::parse("svg").unwrap()).next().unwrap();
        let (width, height) = (number(sheet, "width"), number(sheet, "height"));
        assert!(height < 3000.0, "{}: {height} high", procedure.id);
        // Left, right, top, bottom.
        let boxes: Vec<[f32; 4]> = svg
            .select(&Selector::parse("rect[rx]").unwrap())
            .map(|it| {
                let (x, y) = (number(it, "x"), number(it, "y"));
                [x, x + number(it, "width"), y, y + number(it, "height")]
            })
            .collect();
        for pair in boxes.windows(2) {
            let [before, after] = [pair[0], pair[1]];
            // Below the one before, or in the next column.
            assert!(
                before[0] == after[0] && before[3] < after[2] || before[1] < after[0],
                "{}: {pair:?}",
                procedure.id
            );
        }
        for text in svg.select(&Selector::parse("text").unwrap()) {
            let line: String = text.text().collect();
            // Letters of a usual sans-serif face are 0.6 of their size wide on average; bold ones a little more.
            let wide = line.chars().count() as f32 * number(text, "font-size") * 0.6;
            assert!(
                number(text, "x") + wide <= width && number(text, "y") < height,
                "{}: “{line}” runs off the sheet",
                procedure.id
            );
        }
    }
}

#[test]
fn no_identifier_is_among_its_words() {
    for procedure in shipped() {
        let svg = Html::parse_fragment(&flow_picture(&procedure));
        let words = words(&svg).join(" ");
        let ids = procedure.branches.keys().chain(procedure.items.keys());
        for id in ids.filter(|id| id.as_str().contains('-')) {
            let written =
                words.contains(&format!("→ {id}")) || words.contains(&format!("{id} is off"));
            assert!(!written, "{}: {id}", procedure.id);
        }
        // Extra steps that a step leads to are there, by their letter.
        for (_, letter) in words
            .match_indices("→ extra steps ")
            .map(|(at, it)| (at, &words[at + it.len()..]))
        {
            let letter = letter.split_whitespace().next().unwrap();
            let heading = format!("Extra steps {letter}");
            assert!(words.contains(&heading), "{}: {heading}", procedure.id);
        }
    }
}

#[test]
fn whatever_comes_off_has_a_line_that_ends_where_it_is_back() {
    for procedure in shipped() {
        let svg = Html::parse_fragment(&flow_picture(&procedure));
        let lines = svg.select(&Selector::parse("g > title").unwrap()).count();
        let ends = Selector::parse("g > circle[fill=black]").unwrap();
        let removed = procedure
            .steps
            .iter()
            .filter(|step| matches!(step.action, Action::Remove(Thing::Item(_))))
            .count();
        assert!(
            lines >= removed && removed > 0,
            "{}: {lines} lines for {removed} things",
            procedure.id
        );
        assert_eq!(svg.select(&ends).count(), lines, "{}", procedure.id);
    }
}
