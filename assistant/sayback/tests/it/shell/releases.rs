//! Who answers for a procedure and a vehicle's values: approved, released, worked, changed, withdrawn.

use super::editing::fed;
use super::harness::{Bay, Ran, command, text};
use super::sound::{spoken, write};
use super::vehicles::with_sheet;
use std::path::{Path, PathBuf};
use std::process::Command;

fn shop(bay: &Bay) -> PathBuf {
    let sheet = with_sheet(bay, str::to_owned);
    let shipped = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../procedures/vehicles/depot-van.toml"
    );
    std::fs::copy(shipped, sheet.with_file_name("depot-van.toml")).unwrap();
    bay.path("shop")
}

fn approve(bay: &Bay, sheet: &Path, by: &str, answers: &str) -> Ran {
    let words = ["approve", text(sheet), "--by", by];
    fed(&mut command(&bay.path("config"), words), answers)
}

/// A command about something in the shop's folder.
fn ask(bay: &Bay, words: &[&str]) -> Ran {
    let shop = bay.path("shop");
    bay.alone(&[words, &["--procedures", text(&shop)]].concat())
}

/// Works the front brakes of the shop's van from a recording that only says "next".
fn works(bay: &Bay) -> Ran {
    let (shop, answers) = (bay.path("shop"), bay.path("answers.wav"));
    let sound = write(bay.path("next.wav"), 16_000, 1, &spoken("next"));
    bay.sayback(&[
        "work",
        "front-brakes",
        "--procedures",
        text(&shop),
        "--vehicle",
        "van nine",
        "--sound",
        text(&sound),
        "--answers",
        text(&answers),
        "--overwrite",
    ])
}

#[test]
fn a_second_person_approves_each_value_as_it_is() {
    let bay = Bay::new();
    let sheet = shop(&bay).join("vehicles/van-nine.toml");
    let before = std::fs::read_to_string(&sheet).unwrap();
    approve(&bay, &sheet, "The Depot Office", "yes\nyes")
        .exits(1)
        .prints("Not approved: mass (you entered it yourself)");
    approve(&bay, &sheet, "the foreman", "what\nno\nstop")
        .exits(1)
        .prints("2250 kg   (Data sheet of the depot's vans, edition 3, 2026-11-02, page 14; entered by the depot office, 2026-11-30)")
        .prints("mass (differs from its document); front-axle-share");
    assert_eq!(std::fs::read_to_string(&sheet).unwrap(), before);
    // What was approved before the answers end is kept.
    approve(&bay, &sheet, "the foreman", "yes")
        .exits(1)
        .prints("1 approved.");
    approve(&bay, &sheet, "the foreman", "yes").exits(0);
    let after = std::fs::read_to_string(&sheet).unwrap();
    assert!(
        after.contains("approved_by = \"the foreman\"")
            && after.contains("approved_is = \"2250 kg\""),
        "{after}"
    );
    assert!(after.starts_with(before.split("[value]").next().unwrap()));
    bay.alone(&["check", "--strict", text(&sheet)]).exits(0);
    approve(&bay, &sheet, "the foreman", "")
        .exits(0)
        .prints("Every value in this sheet is approved.");
    // A value that changes isn't approved any more.
    std::fs::write(
        &sheet,
        after.replace("is = \"2250 kg\", f", "is = \"2200 kg\", f"),
    )
    .unwrap();
    bay.alone(&["check", text(&sheet)])
        .exits(1)
        .tells("“mass” was \"2250 kg\" when the foreman approved it");
    approve(&bay, &sheet, "the foreman", "yes").exits(0);
    bay.alone(&["check", text(&sheet)]).exits(0);
}

#[test]
fn only_what_is_released_is_worked() {
    let bay = Bay::new();
    let folder = shop(&bay);
    let sheet = folder.join("vehicles/van-nine.toml");
    let of_type = folder.join("vehicles/depot-van.toml");
    // As long as nothing was ever released, everything is worked.
    works(&bay).exits(3);
    ask(&bay, &["release", "vehicles/van-nine", "--by", "Foreman"])
        .exits(1)
        .tells("these values are not approved");
    ask(&bay, &["release", "front-break", "--by", "Foreman"])
        .exits(1)
        .tells("did you mean front-brakes");
    bay.alone(&["release", "front-brakes", "--by", "Foreman"])
        .exits(1)
        .tells("the program's own procedures are for practice");
    ask(&bay, &["release", "front-brakes", "--by", "Foreman"]).exits(0);
    works(&bay)
        .exits(1)
        .tells("“vehicles/van-nine” has not been released, so it can't be worked");
    let yes = "yes\n".repeat(40);
    approve(&bay, &of_type, "the foreman", &yes).exits(0);
    approve(&bay, &sheet, "the foreman", &yes).exits(0);
    ask(&bay, &["release", "vehicles/van-nine", "--by", "Foreman"]).exits(0);
    let jobs = bay.jobs().len();
    works(&bay).exits(3);
    assert_eq!(bay.jobs().len(), jobs + 1);
    let page = bay.path("report.html");
    let id = bay.jobs().remove(0);
    bay.sayback(&["report", &id, "--html", text(&page), "--overwrite"])
        .exits(0);
    let page = std::fs::read_to_string(page).unwrap();
    assert!(page.contains("vehicles/van-nine, by Foreman on "), "{page}");
    bay.sayback(&["record", &id, "--verify"]).exits(0);

    // The sums are those of another program.
    let entries = std::fs::read_to_string(folder.join("releases.jsonl")).unwrap();
    let sum = Command::new("sha256sum").arg(&sheet).output().unwrap();
    let sum = String::from_utf8(sum.stdout).unwrap();
    assert!(
        entries.contains(sum.split(' ').next().unwrap()),
        "{entries}"
    );

    // Changed since: not worked, rehearsed all the same, and told line by line.
    let text_of = std::fs::read_to_string(&sheet).unwrap();
    std::fs::write(&sheet, text_of.replace("2250 kg", "2200 kg")).unwrap();
    works(&bay)
        .exits(1)
        .tells("“vehicles/van-nine” has changed since Foreman released it on ");
    ask(&bay, &["revisions", "vehicles/van-nine"])
        .exits(0)
        .prints("released by Foreman")
        .prints("Since then, not released:\n    mass: 2250 kg");
    ask(
        &bay,
        &[
            "release",
            "vehicles/van-nine",
            "--by",
            "Foreman",
            "--because",
            "weighed again",
        ],
    )
    .exits(0);
    works(&bay).exits(3);
    ask(&bay, &["revisions", "vehicles/van-nine"])
        .exits(0)
        .prints("released by Foreman: weighed again\n    mass: 2250 kg");

    // Withdrawn.
    let withdrawn = ["withdraw", "front-brakes", "--by", "Foreman", "--because"];
    ask(&bay, &[&withdrawn[..], &["The hook broke."]].concat()).exits(0);
    works(&bay)
        .exits(1)
        .tells("“front-brakes” was withdrawn by Foreman on ")
        .tells("The hook broke.");
    ask(&bay, &[&withdrawn[..], &["Again."]].concat())
        .exits(1)
        .tells("is withdrawn already");
    ask(&bay, &["release", "front-brakes", "--by", "Foreman"]).exits(0);
    works(&bay).exits(3);
}

#[test]
fn releases_that_were_tampered_with_count_for_nothing() {
    let bay = Bay::new();
    let folder = shop(&bay);
    for name in ["front-brakes", "wheel-bearing"] {
        ask(&bay, &["release", name, "--by", "Foreman"]).exits(0);
    }
    let file = folder.join("releases.jsonl");
    let good = std::fs::read_to_string(&file).unwrap();
    let (first, second) = good.split_once('\n').unwrap();
    for (text_of, why) in [
        (good.replace("Foreman", "Foremen"), "line 1 of "),
        (second.to_owned(), "doesn't follow the line before it"),
        (format!("{first}\n{}\n{second}", "{}"), "line 2 of "),
        (first.replace("\"by\"", "\"bye\""), "can't be read"),
    ] {
        std::fs::write(&file, text_of).unwrap();
        ask(&bay, &["revisions", "front-brakes"])
            .exits(1)
            .tells(why);
        works(&bay).exits(1).tells(why);
    }
    // Another bay doesn't know the key, until its public part is put beside its own.
    std::fs::write(&file, &good).unwrap();
    let other = bay.path("other");
    let revisions = |config: &Path| {
        let words = ["revisions", "front-brakes", "--procedures", text(&folder)];
        super::harness::run(&mut command(config, words))
    };
    revisions(&other)
        .exits(1)
        .tells("is signed with a key that this bay doesn't know");
    let keys = other.join("sayback/bay");
    std::fs::create_dir_all(&keys).unwrap();
    std::fs::copy(
        bay.path("config/sayback/bay/bay.pub"),
        keys.join("office.pub"),
    )
    .unwrap();
    revisions(&other).exits(0).prints("released by Foreman");
    // A released text that was changed is noticed.
    for entry in std::fs::read_dir(folder.join("releases")).unwrap() {
        std::fs::write(entry.unwrap().path(), "format = 1\n").unwrap();
    }
    ask(&bay, &["revisions", "front-brakes"])
        .exits(1)
        .tells("isn't in the folder `releases` any more, or was changed");
}
