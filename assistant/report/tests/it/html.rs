//! The HTML, read by html5ever (through `scraper`), the parser of a browser engine.

use crate::harness::{Bay, HOSTILE, Way, png};
use crate::small_job;
use report::{Paper, Shop, TimeZone};
use scraper::{Html, Selector};
use steps::{Mode, Moment};

fn all<'a>(page: &'a Html, what: &str) -> Vec<scraper::ElementRef<'a>> {
    let selector = Selector::parse(what).unwrap();
    page.select(&selector).collect()
}

fn text(page: &Html) -> String {
    let words: Vec<&str> = page.root_element().text().collect();
    words
        .join(" ")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

fn page(mode: Mode, way: Way, notes: &[&str]) -> Html {
    let bay = Bay::new();
    let id = bay.work(mode, way, notes);
    let html = bay
        .report(&id)
        .html(&Shop::default(), &[], Paper::A4, &TimeZone::UTC);
    Html::parse_document(&html)
}

#[test]
fn what_was_said_is_text_and_nothing_else() {
    let page = page(Mode::Work, Way::Finished, &[HOSTILE]);
    for what in [
        "script", "img", "iframe", "link", "object", "a", "td b", "h1 b",
    ] {
        assert_eq!(all(&page, what).len(), 0, "{what}");
    }
    let said = HOSTILE.replace('\u{202e}', "");
    assert!(text(&page).contains(said.as_str()), "{}", text(&page));
    assert!(text(&page).contains("Trailer wheel & <b>brake</b>"));
    // No attribute of any element leads anywhere.
    for element in all(&page, "*") {
        for (name, value) in element.value().attrs() {
            assert!(!name.starts_with("on"), "{name}");
            assert!(
                !["href", "src", "srcset", "action", "xlink:href"].contains(&name),
                "{name}={value}"
            );
        }
    }
}

#[test]
fn it_can_be_heard_as_well_as_seen() {
    // WCAG 2.2: 1.1.1 text alternatives, 1.3.1 headings and table headers, 2.4.2 title, 3.1.1 language.
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Deferred, &["the boot is split"]);
    bay.archive
        .attach(&id, Some(1), "boot.png", &png(), Moment(1_772_450_000_000))
        .unwrap();
    let html = bay.report(&id).html(
        &Shop::default(),
        &bay.pictures(&id),
        Paper::Letter,
        &TimeZone::UTC,
    );
    let page = Html::parse_document(&html);
    assert_eq!(all(&page, "html")[0].attr("lang"), Some("en"));
    assert_eq!(all(&page, "title").len(), 1);
    assert_eq!(all(&page, "h1").len(), 1);
    assert!(all(&page, "section > h2").len() >= 7);
    for table in all(&page, "table") {
        let head = Selector::parse("thead th[scope=col]").unwrap();
        let caption = Selector::parse("caption").unwrap();
        let row = Selector::parse("tbody tr").unwrap();
        let cell = Selector::parse("td").unwrap();
        assert_eq!(table.select(&caption).count(), 1);
        let columns = table.select(&head).count();
        assert!(columns > 1);
        for row in table.select(&row) {
            assert_eq!(row.select(&cell).count(), columns);
        }
    }
    for drawing in all(&page, "svg") {
        assert_eq!(drawing.attr("role"), Some("img"));
        assert!(
            drawing
                .attr("aria-label")
                .is_some_and(|tells| tells.len() > 10)
        );
    }
    let photos = all(&page, "img");
    assert_eq!(photos.len(), 1);
    assert!(
        photos[0]
            .attr("alt")
            .is_some_and(|alt| alt.contains("boot.png"))
    );
    assert!(
        photos[0]
            .attr("src")
            .is_some_and(|src| src.starts_with("data:image/jpeg;base64,"))
    );
}

#[test]
fn it_tells_what_was_done_found_and_left() {
    let text = text(&page(Mode::Work, Way::Deferred, &["the boot is split"]));
    for words in [
        "“trailer rests on two stands and stays put”",
        "5 wheel nuts",
        "110 N·m",
        "2 passes: 50 %, 100 %; in a star; threads dry",
        "OUT OF LIMITS",
        "at least 1.6 mm",
        "Is the tyre whole all round? No",
        "Notes (heard, unchecked)",
        "“The boot is split”",
        "Dust cap off. Reason (heard, unchecked): “None in the store”",
        "still to be done",
        "A trailer that rolls kills.",
        "All values are invented.",
        "Worked by",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert!(!text.contains("REHEARSAL"));
}

#[test]
fn times_are_local_with_their_offset_and_utc_in_the_proof() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Finished, &["i saw rust,"]);
    let zone = TimeZone::posix("CET-1CEST,M3.5.0,M10.5.0/3").unwrap();
    let report = bay.report(&id);
    let page = Html::parse_document(&report.html(&Shop::default(), &[], Paper::A4, &zone));
    let told = text(&page);
    for words in [
        "2026-03-02 10:00:00 +01:00",
        "Time (+01:00)",
        "10:00:30",
        "2026-03-02 09:00:00 UTC",
        "“I saw rust”",
    ] {
        assert!(told.contains(words), "{words}\n{told}");
    }
    // The record keeps what was heard, at the time that all clocks share.
    assert!(report.json().unwrap().contains("i saw rust,"));
    assert!(report.json().unwrap().contains("2026-03-02T09:00:00.000Z"));
    assert!(report.csv().unwrap().contains("i saw rust,"));
}

#[test]
fn a_hold_point_is_told_by_what_it_confirms() {
    let folder = tempfile::tempdir().unwrap();
    let archive = record::Archive::open(folder.path()).unwrap();
    let id = small_job::work(&archive, Mode::Work).unwrap();
    let report = report::JobReport::of(&archive.report(&id).unwrap());
    let html = report.html(&Shop::default(), &[], Paper::A4, &TimeZone::UTC);
    let told = text(&Html::parse_document(&html));
    assert!(told.contains("Hollow diamond: a hold point"), "{told}");
    assert!(
        told.contains("Not confirmed: the trailer stands on stands; I can't go on yet"),
        "{told}"
    );
    assert!(!told.contains("Supported"), "{told}");
    assert!(!told.contains("Extra steps: "), "{told}");
}

#[test]
fn the_legend_tells_the_marks_that_are_there() {
    let told = text(&page(Mode::Work, Way::Finished, &["look at this"]));
    for mark in [
        "Stroke: a step",
        "Square: something tightened",
        "Hollow triangle: a note",
        "Cross: a reading",
    ] {
        assert!(told.contains(mark), "{mark}\n{told}");
    }
    assert!(!told.contains("Grey: the job was put down"));
    let without = text(&page(Mode::Work, Way::Finished, &[]));
    assert!(!without.contains("Hollow triangle"));
}

#[test]
fn a_once_only_part_that_went_in_new_is_named_and_one_that_did_not_is_not() {
    let finished = text(&page(Mode::Work, Way::Finished, &[]));
    assert!(finished.contains("To be fitted new"), "{finished}");
    assert!(!text(&page(Mode::Work, Way::Deferred, &[])).contains("To be fitted new"));
}

#[test]
fn a_rehearsal_is_marked_on_screen_and_in_the_title() {
    let page = page(Mode::Rehearsal, Way::GivenUp, &[]);
    assert_eq!(all(&page, "p.mark").len(), 1);
    let title: String = all(&page, "title")[0].text().collect();
    assert!(title.starts_with("REHEARSAL"), "{title}");
    let text = text(&page);
    assert!(text.contains("given up before its end"));
    assert!(text.contains("NOT IN PLACE"));
}
