//! What an author is helped with: a new procedure, its usual form, what differs, and being told while writing.

use super::harness::{Bay, Ran, sayback, text};
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

const PROCEDURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../procedures");

/// Makes a new procedure with these answers.
pub fn new(file: &Path, answers: &[&str]) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
    fed(command.args(["new", text(file)]), &answers.join("\n"))
}

/// Runs a command that is given these lines.
pub fn fed(command: &mut Command, lines: &str) -> Ran {
    let mut child = command
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut pipe = child.stdin.take().unwrap();
    // Whoever stops asking closes the pipe.
    let _ = pipe.write_all(format!("{lines}\n").as_bytes());
    drop(pipe);
    let output = child.wait_with_output().unwrap();
    let plain = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    Ran {
        code: output.status.code().unwrap(),
        out: plain(output.stdout),
        err: plain(output.stderr),
    }
}

const ANSWERS: [&str; 14] = [
    "Pump cover",
    "bilge pump of the Saltmarsh ferry depot",
    "All values are invented.",
    "25",
    "the pump can't start",
    "Lock the \"pump\" switch, then press start.",
    "The switch is locked and nothing moved on start.",
    "cover",
    "cover bolt",
    "6",
    "13 mm",
    "25 N·m",
    "Renew the seal.",
    "",
];

#[test]
fn a_new_procedure_passes_the_check_and_is_in_its_usual_form() {
    let bay = Bay::new();
    let file = bay.path("bilge-pump.toml");
    new(&file, &ANSWERS).exits(0).prints("is written");
    let ran = sayback(["check", "--strict", text(&file)]).exits(0);
    assert_eq!(ran.err, "");
    sayback(["fmt", "--check", text(&file)]).exits(0);
    // The first line names the schema, which lies there for the editor.
    let schema = std::fs::read_to_string(bay.path("procedure.schema.json")).unwrap();
    let shipped = std::fs::read_to_string(format!("{PROCEDURES}/procedure.schema.json")).unwrap();
    assert_eq!(schema, shipped);
    insta::assert_snapshot!("new_procedure", std::fs::read_to_string(&file).unwrap());
}

#[test]
fn a_new_procedure_without_a_hazard_passes_too() {
    let bay = Bay::new();
    let file = bay.path("bilge-pump.toml");
    let mut answers = ANSWERS.to_vec();
    answers.drain(4..7);
    answers.insert(4, "");
    new(&file, &answers).exits(0);
    let ran = sayback(["check", "--strict", text(&file)]).exits(0);
    assert_eq!(ran.err, "");
    sayback(["fmt", "--check", text(&file)]).exits(0);
}

#[test]
fn a_wrong_answer_is_asked_again() {
    let bay = Bay::new();
    let file = bay.path("bilge-pump.toml");
    let mut answers = ANSWERS.to_vec();
    answers.insert(11, "25");
    answers.insert(6, "yes");
    answers.insert(3, "soon");
    new(&file, &answers)
        .exits(0)
        .prints("whole minutes")
        .prints("4 to 16 words")
        .prints("a torque needs its unit");
    sayback(["check", "--strict", text(&file)]).exits(0);
}

#[test]
fn nothing_is_written_over_and_nothing_half_answered_is_written() {
    let bay = Bay::new();
    let file = bay.file("bilge-pump.toml", "mine");
    new(&file, &ANSWERS).exits(1).tells("is there already");
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    let half = bay.path("half.toml");
    new(&half, &ANSWERS[..6])
        .exits(1)
        .tells("the answers end at");
    assert!(!half.exists());
    new(&bay.path("Bilge Pump.toml"), &ANSWERS)
        .exits(1)
        .tells("lower-case letters");
    let two = bay.path("two.toml");
    let mut answers = ANSWERS;
    answers[12] = "The seal is renewed.";
    // A doubt is told, and the file is the author's to mend.
    new(&two, &answers).exits(0).tells("no-order");
}

#[test]
fn the_shipped_procedures_are_in_their_usual_form() {
    let mut files: Vec<String> = Vec::new();
    for folder in [PROCEDURES.to_owned(), format!("{PROCEDURES}/parts")] {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|it| it == "toml") {
                files.push(text(&path).to_owned());
            }
        }
    }
    assert!(files.len() > 30);
    let words = ["fmt".to_owned(), "--check".to_owned()];
    sayback(words.iter().chain(&files)).exits(0);
}

#[test]
fn a_file_is_put_into_its_usual_form_and_keeps_its_comments() {
    let bay = Bay::new();
    let file = bay.file("a.toml", "format=1 # one\n\n\n# why\nid  = \"a\"\n");
    sayback(["fmt", "--check", text(&file)])
        .exits(1)
        .prints("a.toml is not in its usual form");
    sayback(["fmt", text(&file)]).exits(0).prints("a.toml");
    let tidied = std::fs::read_to_string(&file).unwrap();
    assert_eq!(tidied, "format = 1 # one\n\n# why\nid = \"a\"\n");
    let again = sayback(["fmt", text(&file)]).exits(0);
    assert_eq!(again.out, "");
    let broken = bay.file("b.toml", "id = ");
    sayback(["fmt", text(&broken)])
        .exits(1)
        .tells("is not TOML");
    assert_eq!(std::fs::read_to_string(&broken).unwrap(), "id = ");
}

#[test]
fn two_versions_are_told_apart_and_hold_points_first() {
    let bay = Bay::new();
    let old = format!("{PROCEDURES}/trailer-hub.toml");
    let before = std::fs::read_to_string(&old).unwrap();
    let same = bay.file("same.toml", &before);
    sayback(["diff", &old, text(&same)])
        .exits(0)
        .prints("No difference");
    let minutes = before
        .lines()
        .find(|line| line.starts_with("minutes = "))
        .unwrap();
    let readback = before
        .lines()
        .find(|line| line.starts_with("readback = "))
        .unwrap();
    let changed = before.replacen(minutes, "minutes = 7", 1).replacen(
        readback,
        "readback = \"Every wheel is wedged and the drawbar lies on its stand.\"",
        1,
    );
    let new = bay.file("new.toml", changed);
    let ran = sayback(["diff", &old, text(&new)])
        .exits(0)
        .prints("HOLD POINTS DIFFER")
        .prints("→ 7 minutes");
    let at = |words: &str| ran.out.find(words).unwrap();
    assert!(at("! hold point") < at("usual time"));
    let json = sayback(["diff", "--json", &old, text(&new)])
        .exits(0)
        .json();
    assert_eq!(json[0]["at_hold_point"], true);
    sayback(["diff", &old, text(&bay.path("nowhere.toml"))])
        .exits(1)
        .tells("nowhere");
}

#[test]
fn a_watched_file_is_checked_again_when_it_is_saved() {
    let bay = Bay::new();
    let file = bay.path("bilge-pump.toml");
    new(&file, &ANSWERS).exits(0);
    let mut child = Command::new(env!("CARGO_BIN_EXE_sayback"))
        .args(["check", "--watch", text(&file)])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
    let mut next = |words: &str| {
        let line = lines.next().expect("it goes on").unwrap();
        assert!(line.contains(words), "{line}");
    };
    next("nothing to put right. ");
    next("Checked.");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("Renew the seal.", "The seal is new.")).unwrap();
    next("nothing to put right, 1 thing to look at again");
    next("Checked.");
    child.kill().unwrap();
    child.wait().unwrap();
}
