//! What is told when a job is put down, and what it is taken up with.

use super::harness::{Bay, run, sayback, text};
use std::process::Command;

#[test]
fn what_is_told_to_type_resumes_the_job_wherever_its_records_are() {
    let bay = Bay::new();
    let records = bay.path("the shop's records");
    let script = bay.file("script.txt", "next\n");
    let words = [
        "rehearse",
        "trailer-hub",
        "--script",
        text(&script),
        "--records",
        text(&records),
    ];
    let ran = sayback(words).exits(3);
    let told = ran.out.lines().last().unwrap();
    let (_, line) = told.split_once("Resume it: sayback ").unwrap();
    let line = format!("{} {line} < /dev/null", env!("CARGO_BIN_EXE_sayback"));
    run(Command::new("sh").args(["-c", &line])).exits(3);
}

#[test]
fn a_job_that_waits_for_a_part_is_listed_with_it_until_the_part_is_here() {
    let bay = Bay::new();
    let lines = ["a part is missing", "yes"].map(str::to_owned);
    bay.rehearse("drive-belt", &lines).exits(3);
    bay.rehearse("drive-belt", &["it's all laid out".to_owned()])
        .exits(3);
    let waiting = bay.sayback(&["records", "--waiting", "--json"]).exits(0);
    let waiting = waiting.json();
    let [job] = &waiting.as_array().unwrap()[..] else {
        panic!("{waiting}");
    };
    assert!(job["waiting"]["part"].is_null() && job["waiting"]["since"].is_u64());
    let id = job["id"].as_str().unwrap().to_owned();
    let told = bay.sayback(&["records"]).exits(0).out;
    let of = |id: &str| {
        told.lines()
            .find(|line| line.starts_with(&format!("{id} ")))
            .unwrap()
    };
    assert!(
        of(&id).contains("(open, waiting for a part since "),
        "{told}"
    );
    assert_eq!(told.matches("waiting").count(), 1, "{told}");
    bay.sayback(&["record", &id])
        .exits(0)
        .prints("a part is missing")
        .prints("made safe, waiting for the part; nothing outstanding");
    let resume = |typed: &str| {
        let line = format!(
            "printf '{typed}\\n' | {} resume {id} --records {}",
            env!("CARGO_BIN_EXE_sayback"),
            text(&bay.records())
        );
        run(Command::new("sh").args(["-c", &line])).exits(3)
    };
    resume("next").prints("Once you have it, say: the part is here.");
    bay.sayback(&["records", "--waiting"]).exits(0).prints(&id);
    resume("the part is here").prints("Put on");
    bay.sayback(&["records", "--waiting"])
        .exits(0)
        .prints("No job on record matches.");
}

#[test]
fn options_that_a_job_on_record_does_not_take_are_refused_with_the_reason() {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &["next".to_owned()]).exits(3);
    let id = bay.jobs().remove(0);
    let before = bay.sayback(&["record", &id, "--verify"]).exits(0).out;
    for (words, why) in [
        (
            &["--unit", "lbf.ft"][..],
            "doesn't take --unit: the job goes on in its own unit",
        ),
        (&["--tools", "tools.toml"], "doesn't take --tools"),
        (&["--people", "people.toml"], "doesn't take --people"),
        (&["--by", "Mara"], "“Mara takes over”"),
        (&["--short"], "“short answers”"),
    ] {
        let words = [&["resume", id.as_str()], words].concat();
        bay.sayback(&words).exits(1).tells(why);
    }
    let after = bay.sayback(&["record", &id, "--verify"]).exits(0).out;
    assert_eq!(after, before, "nothing came onto the record");
}

#[test]
fn a_job_that_could_not_be_listened_to_is_not_opened() {
    let bay = Bay::new();
    for _ in 0..2 {
        bay.sayback(&["work", "trailer-hub", "--microphone", "nobodys microphone"])
            .exits(1);
    }
    let made = bay.records().exists();
    assert!(!made || bay.jobs().is_empty(), "a job was left open");
}

#[test]
fn words_of_the_job_are_nobodys_name() {
    let bay = Bay::new();
    for name in ["yes", "Next", "stop", "finish", "say again"] {
        let people = bay.file("people.toml", format!("names = [\"Mara\", \"{name}\"]\n"));
        let words = ["rehearse", "trailer-hub", "--people"];
        bay.sayback(&[&words[..], &[text(&people)]].concat())
            .exits(1)
            .tells(&format!("“{name}” can't be a name: it is a command"));
        bay.sayback(&["rehearse", "trailer-hub", "--by", name])
            .exits(1)
            .tells("it is a command");
    }
}
