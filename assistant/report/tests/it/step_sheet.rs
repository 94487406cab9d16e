//! The step sheet of each shipped procedure: PDF read by poppler's tools, HTML by html5ever, Markdown by
//! `pulldown-cmark`.

use crate::flow::{load, shipped};
use crate::pdf::{Printed, one_line};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use report::{Paper, StepSheet};
use scraper::{Html, Selector};
use std::collections::{BTreeMap, BTreeSet};
use steps::Procedure;
use steps::procedure::{Action, Signal, Step};

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

/// The words that a step warns with, and those that it acts by.
fn warning_and_action(it: &Procedure, step: &Step) -> Option<(String, String)> {
    let warning = match (&step.action, &step.warning) {
        (Action::Hold(gate), _) => it.gates[gate].ask.clone(),
        (_, Some(warning)) => warning.text.clone(),
        (_, None) => return None,
    };
    let action = match &step.action {
        Action::Hold(gate) => it.gates[gate].readback_written.clone(),
        _ => it.action_of(step),
    };
    Some((it.with_every_option(step, &warning), action))
}

/// A line of the sheet: the numbers that it has, and the words that it must have.
struct Row {
    numbers: String,
    held: bool,
    warning: Option<String>,
    action: String,
}

/// The lines of a sheet in its order: each step once, in turn. Two steps share a line only where the one says “left” and the
/// other “right” and nothing else tells them apart; a hold point never shares one, but that of the other side may come next.
fn rows(it: &Procedure) -> Vec<Row> {
    let page = Html::parse_document(&StepSheet::of(it, Paper::A4).html());
    let number = Selector::parse("ol.steps > li .what span:first-child").unwrap();
    let words = |at: usize| match warning_and_action(it, &it.steps[at]) {
        Some((warning, action)) => (Some(warning), action),
        None => (None, it.action_of(&it.steps[at])),
    };
    let held = |at: usize| matches!(it.steps[at].action, Action::Hold(_));
    let mut left: BTreeSet<usize> = (0..it.steps.len()).collect();
    let mut rows: Vec<Row> = Vec::new();
    for shown in page.select(&number) {
        let Some(next) = left.first().copied() else {
            break;
        };
        let numbers: String = shown.text().collect();
        let steps = numbers.split(", ");
        let steps: Vec<usize> = steps.map(|it| it.parse::<usize>().unwrap() - 1).collect();
        let follows = held(steps[0]) && rows.last().is_some_and(|before| before.held);
        assert!(steps[0] == next || follows, "{}: {numbers}", it.id);
        assert!(steps.iter().all(|at| left.remove(at)), "{}", it.id);
        let (warning, action) = match steps.as_slice() {
            [one] => words(*one),
            [one, other] => {
                assert!(!held(*one) && !held(*other), "{}: {numbers}", it.id);
                let ((warning, action), (same, again)) = (words(*one), words(*other));
                assert_eq!(warning.is_some(), same.is_some());
                let warning = warning.zip(same).map(|(one, other)| both(&one, &other));
                (warning, both(&action, &again))
            }
            more => panic!("{}: {more:?} share a line", it.id),
        };
        rows.push(Row {
            held: held(steps[0]),
            numbers,
            warning,
            action,
        });
    }
    assert!(left.is_empty(), "{}: {left:?} are missing", it.id);
    rows
}

/// “left/right” where the one text has the one and the other text the other.
fn both(one: &str, other: &str) -> String {
    assert_eq!(one.replace("left", "right"), other.replace("left", "right"));
    match one == other {
        true => one.to_owned(),
        false => one.replace("left", "left/right"),
    }
}

#[test]
fn each_page_of_each_procedure_cautions_and_nothing_runs_over_the_edge() {
    for procedure in shipped() {
        for paper in [Paper::A4, Paper::Letter] {
            let pdf = StepSheet::of(&procedure, paper).pdf().unwrap();
            assert!(pdf.len() < 300_000, "{} bytes", pdf.len());
            let printed = Printed::new(&pdf);
            let pages = printed.pages();
            assert!(pages.len() > 1);
            for page in &pages {
                let page = one_line(page);
                assert!(page.contains("The maker's service information"), "{page}");
                assert!(page.contains(&one_line(&procedure.values)), "{page}");
            }
            let (width, height) = paper.points();
            for [left, top, right, bottom] in printed.boxes() {
                let within =
                    left >= 47.0 && right <= width - 47.0 && top >= 20.0 && bottom <= height - 28.0;
                assert!(within, "{}: {left} {top} {right} {bottom}", procedure.id);
            }
        }
    }
}

#[test]
fn a_spanish_sheet_cautions_in_spanish() {
    let procedure = load("es", "starter-battery-es");
    for paper in [Paper::A4, Paper::Letter] {
        let sheet = StepSheet::of(&procedure, paper);
        let printed = Printed::new(&sheet.pdf().unwrap());
        for page in printed.pages() {
            let page = one_line(&page);
            assert!(
                page.contains("La información de servicio del fabricante"),
                "{page}"
            );
            assert!(!page.contains("The maker's"), "{page}");
        }
        let markdown = sheet.markdown();
        for words in ["PELIGRO", "ADVERTENCIA", "Después, la palabra de control."] {
            assert!(markdown.contains(words), "{words}");
        }
        for words in ["DANGER", "WARNING", "the check word"] {
            assert!(!markdown.contains(words), "{words}");
        }
    }
}

#[test]
fn no_two_words_of_a_sheet_lie_on_each_other() {
    for procedure in shipped() {
        let printed = Printed::new(&StepSheet::of(&procedure, Paper::A4).pdf().unwrap());
        for page in 1..=printed.fact("Pages").parse().unwrap() {
            let boxes = printed.boxes_of_page(page);
            for (at, a) in boxes.iter().enumerate() {
                for b in &boxes[at + 1..] {
                    // A line's box is taller than its letters: two points are ascent and descent.
                    let across = a[2].min(b[2]) - a[0].max(b[0]);
                    let down = a[3].min(b[3]) - a[1].max(b[1]);
                    assert!(
                        across < 0.5 || down < 2.6,
                        "{} page {page}: {a:?} {b:?}",
                        procedure.id
                    );
                }
            }
        }
    }
}

#[test]
fn warnings_come_before_the_action_on_the_same_page() {
    for procedure in shipped() {
        let printed = Printed::new(&StepSheet::of(&procedure, Paper::A4).pdf().unwrap());
        let raw = printed.asked("pdftotext", &["-raw"], &["-"]);
        let pages: Vec<String> = raw.split('\u{c}').map(squeezed).collect();
        let safe = procedure.make_safe.iter();
        let safe = safe.filter_map(|step| {
            let held = matches!(step.action, Action::Hold(_));
            Some((held, warning_and_action(&procedure, step)?))
        });
        let steps = rows(&procedure).into_iter();
        let steps = steps.filter_map(|row| Some((row.held, (row.warning?, row.action))));
        for (held, (warning, action)) in steps.chain(safe) {
            let (warning, action) = (squeezed(&warning), squeezed(&action));
            let action = match held {
                true => format!("Say:“{action}"),
                false => action,
            };
            let together = pages
                .iter()
                .any(|page| page.contains(&format!("{warning}{action}")));
            assert!(together, "{}: {warning} {action}", procedure.id);
        }
    }
}

#[test]
fn every_torque_stands_in_both_units_within_one_per_cent() {
    // Factors: NIST SP 811, Appendix B.9, pound-force foot 1.355 818 N·m, pound-force inch 0.112 984 8 N·m.
    let newton_metres =
        BTreeMap::from([("N·m", 1.0), ("lbf·ft", 1.355_818), ("lbf·in", 0.112_984_8)]);
    let mut seen = 0;
    for procedure in shipped() {
        let text = StepSheet::of(&procedure, Paper::A4).markdown();
        for group in procedure.fasteners.values() {
            for spec in group.torque.iter().flat_map(|torque| torque.all()) {
                let told = format!("{spec} (");
                let at = text
                    .match_indices(&told)
                    .find(|(at, _)| !text[..*at].ends_with(|c: char| c.is_ascii_digit()));
                let (at, _) = at.unwrap_or_else(|| panic!("{}: {spec}", procedure.id));
                let after = &text[at + told.len()..];
                let (other, _) = after.split_once(')').unwrap();
                let other = other.rsplit(", ").next().unwrap();
                let (number, unit) = other.split_once(' ').unwrap();
                let other: f64 = number.parse::<f64>().unwrap() * newton_metres[unit];
                let target = spec.target();
                let own = target.value.to_f64() * newton_metres[target.unit.symbol()];
                assert_ne!(unit, target.unit.symbol());
                assert!((other / own - 1.0).abs() < 0.0101, "{spec} {other} {own}");
                seen += 1;
            }
        }
    }
    assert!(seen > 40);
}

#[test]
fn a_signal_is_told_by_its_word_and_no_notice_has_the_alert_symbol() {
    let alert = Selector::parse(".warning span").unwrap();
    let warnings = Selector::parse("p.warning").unwrap();
    let mut notices = 0;
    let mut all = shipped();
    // No hold point of theirs is about damage alone.
    for gate in all[0].gates.values_mut() {
        gate.signal = Signal::Notice;
    }
    for procedure in all {
        let page = Html::parse_document(&StepSheet::of(&procedure, Paper::Letter).html());
        for warning in page.select(&warnings) {
            let text: String = warning.text().collect();
            let words = ["DANGER: ", "WARNING: ", "CAUTION: ", "NOTICE: "];
            assert!(words.iter().any(|word| text.contains(word)), "{text}");
            let notice = text.starts_with("NOTICE: ");
            notices += usize::from(notice);
            assert_eq!(warning.select(&alert).count(), usize::from(!notice));
        }
    }
    assert!(notices > 0);
}

#[test]
fn html_holds_every_step_its_warning_first_and_leads_nowhere() {
    let steps = Selector::parse("ol.steps > li").unwrap();
    let number = Selector::parse(".what span").unwrap();
    let mut shared = 0;
    for procedure in shipped() {
        let html = StepSheet::of(&procedure, Paper::A4).html();
        let page = Html::parse_document(&html);
        let rows = rows(&procedure);
        shared += rows.iter().filter(|row| row.numbers.contains(',')).count();
        for (row, shown) in rows.iter().zip(page.select(&steps)) {
            let told: String = shown.select(&number).next().unwrap().text().collect();
            assert_eq!(told, row.numbers, "{}", procedure.id);
            let shown = squeezed(&shown.text().collect::<String>());
            let action = squeezed(&row.action);
            match &row.warning {
                Some(warning) => {
                    let (before, after) = shown.split_once(&squeezed(warning)).expect(warning);
                    assert!(!before.contains(&action));
                    assert!(after.contains(&action), "{shown}");
                }
                None => assert!(shown.contains(&action), "{shown}"),
            }
        }
        for what in ["script", "link", "iframe", "a[href]", "img"] {
            let selector = Selector::parse(what).unwrap();
            assert_eq!(page.select(&selector).count(), 0, "{what}");
        }
    }
    assert!(shared > 10, "{shared}");
}

fn parsed(text: &str) -> Parser<'_> {
    Parser::new_ext(text, Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH)
}

/// What stands in the Markdown as text, nothing of it being markup.
fn read(text: &str) -> String {
    let mut out = String::new();
    for event in parsed(text) {
        match event {
            Event::Text(words) => out.push_str(&words),
            Event::SoftBreak | Event::HardBreak | Event::End(_) => out.push(' '),
            Event::Html(html) | Event::InlineHtml(html) => panic!("{html} is markup"),
            Event::Code(code) => panic!("{code} is code"),
            _ => {}
        }
    }
    squeezed(&out)
}

#[test]
fn markdown_holds_every_word_as_a_general_parser_reads_it() {
    for procedure in shipped() {
        let markdown = StepSheet::of(&procedure, Paper::A4).markdown();
        let text = read(&markdown);
        let mut rest = text.as_str();
        for row in rows(&procedure) {
            for words in row.warning.iter().chain([&row.action]) {
                let words = squeezed(words);
                rest = rest
                    .split_once(&words)
                    .unwrap_or_else(|| panic!("{words}"))
                    .1;
            }
        }
        for caution in procedure.cautions.iter().chain([&procedure.values]) {
            assert!(text.contains(&squeezed(caution)), "{caution}");
        }
        let mut columns = 0;
        let mut cells = 0;
        for event in parsed(&markdown) {
            match event {
                Event::Start(Tag::Table(all)) => columns = all.len(),
                Event::Start(Tag::TableRow) => cells = 0,
                Event::End(TagEnd::TableCell) => cells += 1,
                Event::End(TagEnd::TableRow) => assert_eq!(cells, columns),
                _ => {}
            }
        }
        assert!(columns > 1);
    }
}

#[test]
fn what_an_author_writes_is_text_in_markdown_and_html() {
    let hostile = "# 1. *a* _b_ | `c` <script>x</script> [d](e) ~~f~~ &amp; \\ !";
    let text = format!(
        "format = 1\nid = \"x\"\ntitle = '{hostile}'\nvehicle = '1. van'\nvalues = '- Invented.'\nminutes = 5\n\
         [[step]]\nid = \"a\"\naction = \"do\"\ntext = '{hostile}'\n[step.warning]\nsignal = \"danger\"\ntext = '> {hostile}'\n\
         [[make_safe]]\nid = \"b\"\naction = \"do\"\ntext = '+ b'\n"
    );
    let library = BTreeMap::from([("x", text.as_str())]);
    let procedure = Procedure::load("x", &library).unwrap();
    let sheet = StepSheet::of(&procedure, Paper::A4);
    let read = read(&sheet.markdown());
    assert_eq!(read.matches(&squeezed(hostile)).count(), 3, "{read}");
    assert!(read.contains("DANGER:>#1."), "{read}");
    let page = Html::parse_document(&sheet.html());
    assert_eq!(page.select(&Selector::parse("script").unwrap()).count(), 0);
    let shown: String = page.root_element().text().collect();
    assert!(squeezed(&shown).contains(&squeezed(hostile)));
}
