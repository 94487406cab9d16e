//! What people and strangers wrote is shown, and moves nothing where it is shown.

use super::harness::{Bay, Ran, sayback, text, typed_to_the_end};
use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use std::sync::Arc;
use steps::{Mode, Moment, Settings, is_hidden_control};

/// Sets a terminal's title, clears it by C1, and turns what follows around.
const HOSTILE: &str = "Pump\u{1b}]0;owned\u{7}\u{9b}2J\u{202e}\u{2066}\u{7f}";

#[track_caller]
fn moves_nothing(ran: Ran, words: &[&str]) -> Ran {
    for text in [&ran.out, &ran.err] {
        assert!(!text.contains(is_hidden_control), "{words:?}: {text:?}");
    }
    ran
}

/// A procedure that is sound but for its title.
fn procedure(title: &str) -> String {
    let shipped = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../procedures/trailer-hub.toml"
    );
    let shipped = std::fs::read_to_string(shipped).unwrap();
    let (before, rest) = shipped.split_once("title = \"").unwrap();
    let (_, after) = rest.split_once('"').unwrap();
    format!("{before}title = \"{title}\"{after}")
}

/// As TOML writes it in a basic string.
fn escaped(text: &str) -> String {
    text.chars()
        .map(|it| format!("\\u{:04x}", u32::from(it)))
        .collect()
}

/// Where the first step of the trailer's job is said: after the last question, and what to lay out in fives.
fn first_step(lines: &[String]) -> usize {
    let all = Shelf::Shipped.load("trailer-hub").unwrap().lay_out;
    let lists = [all.protection, all.tools, all.parts, all.consumables];
    let pages: usize = lists.iter().map(|list| list.len().div_ceil(5)).sum();
    lines.iter().rposition(|line| line == "steel").unwrap() + 1 + pages
}

#[test]
fn a_strangers_procedure_moves_nothing() {
    let bay = Bay::new();
    let folder = bay.path("procedures");
    std::fs::create_dir(&folder).unwrap();
    let file = folder.join("trailer-hub.toml");
    let part = format!("\n[[step]]\ninclude = \"parts/{}\"\n", escaped(HOSTILE));
    for text_of_file in [
        procedure(&escaped(HOSTILE)),
        procedure("Pump \u{9b}2J\u{202e}"),
        // Not TOML at all: the line is drawn.
        procedure(HOSTILE),
        procedure("Hub") + &part,
        procedure("Hub").replace(
            "minutes = ",
            &format!("\"{}\" = 1\nminutes = ", escaped(HOSTILE)),
        ),
    ] {
        std::fs::write(&file, text_of_file).unwrap();
        let (folder, file) = (text(&folder), text(&file));
        for words in [
            &["check", file][..],
            &["check", file, "--format", "json"],
            &["check", file, "--format", "sarif"],
            &["procedures", "--procedures", folder],
            &["procedure", "trailer-hub", "--procedures", folder],
            &["procedure", "trailer-hub", "--json", "--procedures", folder],
            &["rehearse", "trailer-hub", "--procedures", folder],
            &["diff", file, file],
        ] {
            moves_nothing(sayback(words), words).exits(1);
        }
        moves_nothing(sayback(["fmt", "--check", file]), &["fmt"]);
        moves_nothing(sayback(["import", file, "--out", "x.toml"]), &["import"]).exits(1);
    }
}

#[test]
fn hostile_names_of_files_and_jobs_move_nothing() {
    let bay = Bay::new();
    let name = format!("{HOSTILE}.toml");
    let file = bay.file(&name, procedure("Hub"));
    let missing = bay.path(&format!("{HOSTILE}.csv"));
    for words in [
        &["check", text(&file)][..],
        &["fmt", text(&file)],
        &["diff", text(&file), text(&missing)],
        &["import", text(&missing), "--out", text(&file)],
        &["procedure", HOSTILE],
        &["rehearse", "trailer-hub", "--script", text(&missing)],
        &["rehearse", "trailer-hub", "--tools", text(&missing)],
        &["rehearse", "trailer-hub", "--people", text(&missing)],
        &["rehearse", "trailer-hub", "--by", HOSTILE],
        &["record", HOSTILE],
        &["statistics", HOSTILE],
        &["reckon", "convert", HOSTILE, "--to", "N.m"],
        &["check", "--explain", HOSTILE],
        &[HOSTILE],
    ] {
        moves_nothing(sayback(words), words);
    }
}

#[test]
fn an_old_record_and_a_note_move_nothing_and_json_tells_every_character() {
    let bay = Bay::new();
    // A record of a program that still took such a title.
    let mut procedure = Shelf::Shipped.load("trailer-hub").unwrap();
    procedure.title = HOSTILE.to_owned();
    let shop = Archive::open(&bay.records()).unwrap();
    let settings = Settings {
        mode: Mode::Rehearsal,
        ..Settings::default()
    };
    let at = Moment(1_772_409_600_000);
    let (worked, _) = JournaledJob::begin(&shop, Arc::new(procedure), settings, at).unwrap();
    let id = worked.id().as_str().to_owned();
    drop(worked);
    drop(shop);
    for words in [
        &["records"][..],
        &["record", &id],
        &["record", &id, "--journal"],
        &["record", &id, "--verify"],
        &["report", &id],
        &["discard", "--days", "0", "--look"],
        &["statistics", "trailer-hub"],
        &["heard", "--out", text(&bay.path("heard"))],
        &["resume", &id],
    ] {
        moves_nothing(bay.sayback(words), words);
    }
    for words in [
        &["records", "--json"][..],
        &["record", &id, "--json"],
        &["report", &id],
    ] {
        let ran = moves_nothing(bay.sayback(words), words).exits(0);
        let title = |it: &serde_json::Value| it["title"].as_str() == Some(HOSTILE);
        let json = ran.json();
        let listed = json.as_array().is_some_and(|list| list.iter().any(title));
        assert!(listed || title(&json) || title(&json["job"]), "{}", ran.out);
    }
    // The note is shown as it is typed, and stands on the record.
    let mut lines = typed_to_the_end("trailer-hub");
    let at = first_step(&lines);
    lines.insert(at, format!("take a note\n{HOSTILE} drips"));
    let ran = bay.rehearse("trailer-hub", &lines);
    let ran = moves_nothing(ran, &["rehearse"]).exits(0);
    assert!(ran.out.contains("drips"), "{}", ran.out);
    let noted = bay.jobs().remove(0);
    for words in [
        &["record", &noted][..],
        &["record", &noted, "--journal"],
        &["report", &noted],
    ] {
        let ran = moves_nothing(bay.sayback(words), words).exits(0);
        // The summary has only notes that were heard.
        assert!(ran.out.contains("drips") || words.len() == 2, "{}", ran.out);
    }
}

#[test]
fn a_drawing_with_a_hostile_title_is_still_a_drawing() {
    let bay = Bay::new();
    let file = bay.path("order.svg");
    let words = [
        "reckon",
        "pattern",
        "--count",
        "5",
        "--svg",
        text(&file),
        "--title",
        HOSTILE,
    ];
    sayback(words).exits(0);
    let svg = std::fs::read_to_string(&file).unwrap();
    assert!(
        svg.contains("Pump") && !svg.contains(is_hidden_control),
        "{svg}"
    );
}

#[test]
fn a_line_that_is_too_long_to_be_a_note_is_refused_in_a_clear_sentence() {
    let bay = Bay::new();
    let mut lines = typed_to_the_end("trailer-hub");
    let at = first_step(&lines);
    lines.insert(
        at,
        format!("take a note\n{}\nthe plug is cracked", "drip ".repeat(400)),
    );
    let ran = bay.rehearse("trailer-hub", &lines);
    assert!(
        ran.err
            .contains("that line has 1999 characters and wasn't taken"),
        "{}",
        ran.err
    );
    assert!(!ran.out.contains("drip drip"), "{}", ran.out);
    // The note is still waited for.
    ran.exits(0)
        .prints("[record] note (heard, unchecked): The plug is cracked");
}
