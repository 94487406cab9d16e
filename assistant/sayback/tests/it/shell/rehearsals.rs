//! Jobs gone through by typing, to the end and put down half-way.

use super::harness::{Bay, command, run, text, typed_to_the_end};
use sayback::library::Shelf;
use std::path::Path;
use std::process::Command;

#[test]
fn each_shipped_job_is_rehearsed_to_its_end() {
    for name in Shelf::Shipped.names().unwrap() {
        let bay = Bay::new();
        let ran = bay.rehearse(&name, &typed_to_the_end(&name)).exits(0);
        assert_eq!(ran.err, "");
        let jobs = bay.jobs();
        assert_eq!(jobs.len(), 1);
        assert!(ran.out.contains("This is a rehearsal."), "{}", ran.out);
        assert!(
            ran.out.ends_with(&format!(
                "The record: sayback record {} --records {}\n",
                jobs[0],
                text(&bay.records())
            )),
            "{}",
            ran.out
        );
    }
}

/// The shipped rehearsals: gates refused, readings out of limits, branches, things left for later, jobs given up.
#[test]
fn each_shipped_rehearsal_ends_as_its_name_says() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures/rehearsals");
    let mut files: Vec<_> = std::fs::read_dir(folder)
        .unwrap()
        .map(|file| file.unwrap().path())
        .collect();
    files.sort();
    assert!(files.len() >= 25);
    for file in files {
        let name = file.file_name().unwrap().to_str().unwrap().to_owned();
        let procedure = name.split('.').next().unwrap();
        let bay = Bay::new();
        let ran = bay
            .sayback(&["rehearse", procedure, "--script", text(&file)])
            .exits(0);
        let ended = match name.contains(".given-up.") {
            true => "closed: given up",
            false => "closed: finished",
        };
        assert!(ran.out.contains(ended), "{name}: {}", ran.out);
        // A job that is put down half-way isn't tried at its gates.
        let refused = ran.out.contains(" stays closed: ");
        assert!(refused || name.contains(".given-up."), "{name}");
    }
}

#[test]
fn a_job_put_down_exits_with_three_and_is_resumed() {
    let bay = Bay::new();
    let lines = typed_to_the_end("trailer-hub");
    let ran = bay.rehearse("trailer-hub", &lines[..10]).exits(3);
    let id = bay.jobs().remove(0);
    assert!(
        ran.out.ends_with(&format!(
            "The job is open. Resume it: sayback resume {id} --records {}\n",
            text(&bay.records())
        )),
        "{}",
        ran.out
    );
    bay.sayback(&["records"])
        .exits(0)
        .prints("(open, REHEARSAL)");

    // Nobody types anything: it tells where it stands, and stays open.
    let ran = bay.sayback(&["resume", &id]).exits(3);
    assert!(ran.out.contains("resumed after "), "{}", ran.out);
    // It is no proof that a gate was passed before: each is asked for again.
    assert_eq!(bay.jobs(), [id]);
}

#[test]
fn a_closed_job_is_not_resumed() {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &typed_to_the_end("trailer-hub"))
        .exits(0);
    let id = bay.jobs().remove(0);
    bay.sayback(&["resume", &id]).exits(1).tells("closed");
}

#[test]
fn comments_and_empty_lines_of_a_script_are_nothing_said() {
    let bay = Bay::new();
    let lines = ["# the front axle today", "", "  front  "].map(str::to_owned);
    let ran = bay.rehearse("trailer-hub", &lines).exits(3);
    assert!(ran.out.contains("“front”"), "{}", ran.out);
    assert!(!ran.out.contains("axle today"), "{}", ran.out);
}

#[test]
fn torque_is_told_in_the_unit_of_the_wrench() {
    let bay = Bay::new();
    // Asked at every step before going on.
    let lines: Vec<String> = typed_to_the_end("trailer-hub")
        .into_iter()
        .flat_map(|line| match line.as_str() {
            "next" => vec!["what torque".to_owned(), line],
            _ => vec![line],
        })
        .collect();
    let script = bay.file("script.txt", lines.join("\n"));
    let ran = bay
        .sayback(&[
            "rehearse",
            "trailer-hub",
            "--unit",
            "lbf.ft",
            "--quiet",
            "--script",
            text(&script),
        ])
        .exits(0);
    // 70 N·m is 51.6 lbf·ft (NIST SP 811: 1 lbf·ft is 1.355 818 N·m).
    assert!(ran.out.contains("52 lbf·ft (70 N·m)."), "{}", ran.out);
    assert!(!ran.out.contains("[record]"), "{}", ran.out);
}

#[test]
fn comments_of_a_script_that_is_piped_in_are_nothing_said() {
    let bay = Bay::new();
    let script = bay.file(
        "piped.txt",
        "# nobody says this\n  # nor this\nwhere am i\n",
    );
    let (records, config) = (bay.records(), bay.path("config"));
    let words = ["rehearse", "trailer-hub", "--records", text(&records)];
    let output = command(&config, words)
        .stdin(std::fs::File::open(script).unwrap())
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(3));
    let out = String::from_utf8(output.stdout).unwrap();
    assert!(out.contains("“where am i”"), "{out}");
    assert!(
        !out.contains("nobody") && !out.contains("nor this"),
        "{out}"
    );
}

#[test]
fn a_script_that_is_missing_opens_no_job() {
    let bay = Bay::new();
    let script = bay.path("nowhere.txt");
    bay.sayback(&["rehearse", "trailer-hub", "--script", text(&script)])
        .exits(1)
        .tells("nowhere.txt");
    assert_eq!(bay.jobs(), Vec::<String>::new());
}

#[test]
fn answers_are_written_to_a_wav_file() {
    let bay = Bay::new();
    let answers = bay.path("answers.wav");
    let script = bay.file("script.txt", "front\nhelp\n");
    bay.sayback(&[
        "rehearse",
        "trailer-hub",
        "--answers",
        text(&answers),
        "--script",
        text(&script),
    ])
    .exits(3);
    let sound = hound::WavReader::open(&answers).unwrap();
    assert!(sound.duration() > 5 * sound.spec().sample_rate);
}

#[test]
fn answers_that_cannot_be_written_open_no_job() {
    let bay = Bay::new();
    let answers = bay.path("nowhere/answers.wav");
    bay.sayback(&["rehearse", "trailer-hub", "--answers", text(&answers)])
        .exits(1)
        .tells("answers.wav");
    assert_eq!(bay.jobs(), Vec::<String>::new());
}

#[test]
fn how_it_is_to_speak_is_told_and_kept_for_the_next_job() {
    let bay = Bay::new();
    let script = bay.file("script.txt", "another voice\nlouder\nshort answers\n");
    let records = bay.records();
    let words = [
        "rehearse",
        "front-brakes",
        "--script",
        text(&script),
        "--records",
        text(&records),
    ];
    let rehearsed = run(Command::new(env!("CARGO_BIN_EXE_sayback"))
        .args(words)
        .env("XDG_CONFIG_HOME", bay.path("config"))
        .env_remove("SAYBACK_TOOLS"));
    rehearsed
        .exits(3)
        .prints("This voice from now on.")
        .prints("Louder from now on.")
        .prints("Short answers from now on.");
    let kept = std::fs::read_to_string(bay.path("config/sayback/speech.toml")).unwrap();
    for line in ["timbre = \"bright\"", "volume = 100", "wording = \"short\""] {
        assert!(kept.contains(line), "{kept}");
    }
}
