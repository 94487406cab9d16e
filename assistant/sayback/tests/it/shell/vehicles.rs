//! Vehicles at the shell: listed, named, checked, compared, entered from a printed table.

use super::editing::{fed, new};
use super::harness::{Bay, command, sayback, text, typed_to_the_end};
use std::path::PathBuf;

/// A folder of procedures with one sheet, the long van's under another name.
pub fn with_sheet(bay: &Bay, change: impl Fn(&str) -> String) -> PathBuf {
    let shipped = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../procedures/vehicles/van-four.toml"
    );
    let sheet = std::fs::read_to_string(shipped).unwrap();
    let sheet = sheet
        .replace("van-four", "van-nine")
        .replace("van four", "van nine");
    let folder = bay.path("shop/vehicles");
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("van-nine.toml");
    std::fs::write(&file, change(&sheet)).unwrap();
    file
}

#[test]
fn vehicles_are_listed_with_what_they_are_for() {
    sayback(["vehicles"])
        .exits(0)
        .prints("van-seven")
        .prints("heavy all-wheel-drive van of the Saltmarsh ferry depot: front-brakes, front-half-shaft, wheel-bearing");
    let ran = sayback(["vehicles", "--json"]).exits(0);
    let all: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(all.as_array().unwrap().len(), 6);
}

#[test]
fn a_procedure_is_shown_with_the_values_of_a_vehicle() {
    for name in ["van-seven", "van seven", "Van Seven"] {
        let ran = sayback(["procedure", "front-brakes", "--vehicle", name]).exits(0);
        assert!(
            ran.out.contains("190 N·m") && ran.out.contains("24 mm socket"),
            "{}",
            ran.out
        );
        assert!(!ran.out.contains("alloy"), "{}", ran.out);
    }
    sayback(["procedure", "front-brakes", "--vehicle", "van eight"])
        .exits(1)
        .tells("there is no vehicle called “van eight”");
    sayback(["procedure", "front-brakes", "--vehicle", "work-boat"])
        .exits(1)
        .tells("the sheet “work-boat” isn't for “front-brakes”");
}

#[test]
fn a_job_on_a_vehicle_is_rehearsed_resumed_and_reported() {
    let bay = Bay::new();
    let mut lines = typed_to_the_end("front-brakes");
    // The rim is settled by the sheet.
    assert_eq!(lines.remove(0), "steel");
    let script = bay.file("half.txt", lines[..20].join("\n"));
    let ran = bay
        .sayback(&[
            "rehearse",
            "front-brakes",
            "--vehicle",
            "van seven",
            "--script",
            text(&script),
        ])
        .exits(3);
    assert!(
        ran.out.contains("Van seven, heavy all-wheel-drive van"),
        "{}",
        ran.out
    );
    let id = bay.jobs().remove(0);
    // It goes on with the vehicle that it was begun on.
    bay.sayback(&["resume", &id]).exits(3);
    bay.sayback(&["resume", &id, "--vehicle", "van two"])
        .exits(1)
        .tells("the job goes on with the vehicle it was begun on");
    bay.sayback(&["record", &id, "--verify"]).exits(0);
    let page = bay.path("report.html");
    bay.sayback(&["report", &id, "--html", text(&page)])
        .exits(0);
    let page = std::fs::read_to_string(page).unwrap();
    for told in [
        "Values from the vehicle",
        "Torque of a wheel nut on a steel rim",
        "190 N·m",
        "Data sheet of the depot",
        "page 22",
        "Not yet checked by a second person",
    ] {
        assert!(
            page.contains(told) || page.to_lowercase().contains(&told.to_lowercase()),
            "{told}"
        );
    }
    assert!(!page.contains("NO SOURCE"));
}

#[test]
fn a_sheet_is_checked_with_every_procedure_and_a_slip_is_drawn_in_it() {
    let bay = Bay::new();
    let file = with_sheet(&bay, str::to_owned);
    let ran = sayback(["check", "--strict", text(&file)]).exits(0);
    for title in [
        "Front brake pads and discs, van-nine",
        "Front wheel bearing, van-nine",
        "Front half-shaft replacement, van-nine",
    ] {
        assert!(ran.out.contains(title), "{}", ran.out);
    }
    // An absurd mass, and a torque in the wrong unit.
    let file = with_sheet(&bay, |sheet| sheet.replace("2250 kg", "22500 kg"));
    sayback(["check", text(&file)]).exits(1).tells("stands");
    let file = with_sheet(&bay, |sheet| {
        sheet.replace(
            "[value]\n",
            "[value]\npinch-bolt-torque = { is = \"850 N·m\" }\n",
        )
    });
    sayback(["check", "--strict", text(&file)])
        .exits(1)
        .tells("850 N·m");
    // Two vehicles of one name.
    std::fs::copy(&file, file.with_file_name("van-ten.toml")).unwrap();
    let ten = std::fs::read_to_string(&file)
        .unwrap()
        .replace("van-nine", "van-ten");
    std::fs::write(file.with_file_name("van-ten.toml"), ten).unwrap();
    let shop = bay.path("shop");
    sayback([
        "procedure",
        "front-brakes",
        "--procedures",
        text(&shop),
        "--vehicle",
        "van nine",
    ])
    .exits(1)
    .tells("more than one vehicle is called “van nine”: van-nine, van-ten");
}

#[test]
fn two_versions_of_a_sheet_are_compared() {
    let bay = Bay::new();
    let old = with_sheet(&bay, str::to_owned);
    let new = old.with_file_name("van-nine.new.toml");
    let text_of = std::fs::read_to_string(&old).unwrap();
    std::fs::write(
        &new,
        text_of
            .replace("2250 kg", "2300 kg")
            .replace("\"alloy\"", "\"steel\""),
    )
    .unwrap();
    sayback(["diff", text(&old), text(&new)])
        .exits(0)
        .prints("mass: 2250 kg (Data sheet of the depot's vans, edition 3, 2026-11-02, page 14) → 2300 kg")
        .prints("rim: alloy → steel");
    sayback(["diff", text(&old), text(&old)])
        .exits(0)
        .prints("No difference");
}

#[test]
fn a_sheet_is_entered_from_a_printed_table_in_an_empty_folder() {
    let bay = Bay::new();
    let file = bay.path("yard/vehicles/red-trailer.toml");
    std::fs::create_dir_all(bay.path("yard")).unwrap();
    let answers = [
        "red trailer",
        "trailer of the Saltmarsh ferry depot",
        "Invented for the Saltmarsh ferry depot.",
        "trailer-wheel",
        "trailer-hub",
        "Data sheet of the red trailer",
        "1",
        "the depot office",
        // Axle and brake are asked before each job; the rims are steel.
        "",
        "",
        "steel",
    ];
    let values = [
        "6",
        "3",
        "M12x1.5",
        "",
        "8",
        "",
        "19 mm",
        "",
        // A slip of the unit is doubted, and the right value taken.
        "1100 N·m",
        "110 N·m",
        "",
        "frame",
        "2",
        "both sides of the frame",
        "",
        // A mass that the stands don't carry can't be.
        "18 t",
        "1.6 t",
        "",
        "50 %",
        "",
        "41 mm",
        "5",
        "70 N·m",
        "",
        "17 mm",
        "6",
        "65 N·m",
        "",
        // Another unit than the reading's can't be.
        "2.5 in",
        "2.5 mm",
        "",
        "0.03 mm",
        "",
        "0.12 mm",
        "",
    ];
    let all: Vec<&str> = answers.into_iter().chain(values).collect();
    let ran = new(&file, &all).exits(0);
    assert!(
        ran.out.contains("There is no “trailer-wheel”"),
        "{}",
        ran.out
    );
    assert_eq!(
        ran.out.matches("Check the document.").count(),
        1,
        "{}",
        ran.out
    );
    assert_eq!(
        ran.out.matches("That value can't be right").count(),
        2,
        "{}",
        ran.out
    );
    let ran = sayback(["check", "--strict", text(&file)]).exits(0);
    assert!(!ran.err.contains(['×', '⚠']), "{}", ran.err);
    sayback(["fmt", "--check", text(&file)]).exits(0);
    let sheet = std::fs::read_to_string(&file).unwrap();
    assert!(
        sheet.contains(
            "wheel-nut-torque-steel = { is = \"110 N·m\", from = \"data\", page = \"3\" }"
        ),
        "{sheet}"
    );
    assert!(!sheet.contains("alloy"), "{sheet}");
    // The program's procedure is worked on it, and nothing else is on that shelf.
    let yard = bay.path("yard");
    let ran = sayback(["procedures", "--procedures", text(&yard)]).exits(0);
    assert_eq!(ran.out.lines().count(), 1, "{}", ran.out);
    sayback([
        "procedure",
        "trailer-hub",
        "--procedures",
        text(&yard),
        "--vehicle",
        "red trailer",
    ])
    .exits(0)
    .prints("110 N·m");
    // What is there is never written over.
    new(&file, &all).exits(1).tells("is there already");
}

#[test]
fn a_table_is_gone_through_line_by_line() {
    let bay = Bay::new();
    let file = bay.path("yard/vehicles/tender.toml");
    std::fs::create_dir_all(bay.path("yard")).unwrap();
    let table = bay.file(
        "table.csv",
        "What,Value,Page\nSize of the propeller nut,24 mm,4\npropeller-nut-torque,55–65 N·m,4\noil-plug-size,10 mm,5\n\
         oil-plug-torque,9 N·m,5\ngear-oil-least,0.70 l,6\nMaximum amount of gear oil,0.85 l,6\npaint,grey,9\n",
    );
    let answers = [
        "tender",
        "tender of the Saltmarsh ferry depot",
        "Invented.",
        "outboard-gear-oil",
        "Data sheet of the tender",
        "",
        "the depot office",
        // Taken from the table with its page, one after the other; the third is corrected.
        "",
        "",
        "",
        "",
        "11 mm",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        // What the table hasn't is asked for; the last is left out.
        "800 ml",
        "7",
        "0.65 bar",
        "7",
        "",
    ];
    let mut child = command(
        &bay.path("config"),
        ["new", text(&file), "--values", text(&table)],
    );
    let ran = fed(&mut child, &answers.join("\n"));
    let ran = ran.exits(0);
    let sheet = std::fs::read_to_string(&file).unwrap();
    for line in [
        "propeller-nut-size = { is = \"24 mm\", from = \"data\", page = \"4\" }",
        "oil-plug-size = { is = \"11 mm\", from = \"data\", page = \"5\" }",
        "gear-oil-most = { is = \"0.85 l\", from = \"data\", page = \"6\" }",
        "gear-oil = { is = \"800 ml\", from = \"data\", page = \"7\" }",
    ] {
        assert!(sheet.contains(line), "{line}: {sheet}");
    }
    assert!(
        ran.out.contains("Not used: line 8 of the table, “paint”"),
        "{}",
        ran.out
    );
    assert!(
        ran.out
            .contains("Still to be looked up: maximum pressure after the wait"),
        "{}",
        ran.out
    );
    sayback(["check", text(&file)])
        .exits(1)
        .tells("the sheet “tender” has no “test-pressure-most”");
}
