//! The step sheet of each shipped procedure: PDF read by poppler's tools, HTML by html5ever, Markdown by
//! `pulldown-cmark`.

use crate::flow::{load, shipped};
use crate::pdf::{Printed, one_line};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use report::{Paper, StepSheet};
use scraper::{Html, Selector};
use std::collections::BTreeMap;
use steps::Procedure;
use steps::procedure::{Action, Step};

fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

/// A step's words as they stand, and as they stand where it is worked on either side.
fn forms(words: &str) -> Vec<String> {
    let both = |side: &str| squeezed(&words.replace(side, "left/right"));
    vec![squeezed(words), both("left"), both("right")]
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
        for words in ["PELIGRO", "ADVERTENCIA", "Y el color que se pida."] {
            assert!(markdown.contains(words), "{words}");
        }
        for words in ["DANGER", "WARNING", "the colour"] {
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
        for step in procedure.steps.iter().chain(&procedure.make_safe) {
            let Some((warning, action)) = warning_and_action(&procedure, step) else {
                continue;
            };
            let held = matches!(step.action, Action::Hold(_));
            let together = pages.iter().any(|page| {
                forms(&warning).iter().any(|warning| {
                    page.match_indices(warning).any(|(at, _)| {
                        let after = &page[at + warning.len()..];
                        match held {
                            true => after.starts_with(&format!("Say:“{}", squeezed(&action))),
                            false => forms(&action).iter().any(|it| after.starts_with(it)),
                        }
                    })
                })
            });
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
    for procedure in shipped() {
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
    for procedure in shipped() {
        let html = StepSheet::of(&procedure, Paper::A4).html();
        let page = Html::parse_document(&html);
        let all: Vec<_> = page.select(&steps).collect();
        for (at, step) in procedure.steps.iter().enumerate() {
            let numbered = |it: &&scraper::ElementRef<'_>| {
                let told: String = it.select(&number).next().unwrap().text().collect();
                told.split(", ").any(|told| told == (at + 1).to_string())
            };
            let one = all.iter().filter(numbered).collect::<Vec<_>>();
            assert_eq!(one.len(), 1, "{}: step {}", procedure.id, at + 1);
            let shown: String = one[0].text().collect();
            let shown = squeezed(&shown);
            let has = |text: &str, words: &str| forms(words).iter().any(|it| text.contains(it));
            match warning_and_action(&procedure, step) {
                Some((warning, action)) => {
                    let mut forms = forms(&warning).into_iter();
                    let (before, after) = forms
                        .find_map(|it| {
                            let (before, after) = shown.split_once(&it)?;
                            Some((before.to_owned(), after.to_owned()))
                        })
                        .expect(&warning);
                    assert!(!has(&before, &action));
                    assert!(has(&after, &action), "{shown}");
                }
                None => assert!(has(&shown, &procedure.action_of(step))),
            }
        }
        for what in ["script", "link", "iframe", "a[href]", "img"] {
            let selector = Selector::parse(what).unwrap();
            assert_eq!(page.select(&selector).count(), 0, "{what}");
        }
    }
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
        for step in &procedure.steps {
            let all = match warning_and_action(&procedure, step) {
                Some((warning, action)) => vec![warning, action],
                None => vec![procedure.action_of(step)],
            };
            let after = |mut text| {
                for words in &all {
                    (_, text) = forms(words)
                        .iter()
                        .find_map(|it| str::split_once(text, it))?;
                }
                Some(text)
            };
            // One that is worked on the other side too may stand further up.
            match after(rest) {
                Some(after) => rest = after,
                None => assert!(after(text.as_str()).is_some(), "{all:?}"),
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
