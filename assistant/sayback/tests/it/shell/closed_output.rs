//! A full disk is an error of every command, and a reader who has gone is none.
#![cfg(target_os = "linux")]

use super::harness::{Bay, sayback, text, typed_to_the_end};
use std::collections::BTreeSet;
use std::fs::OpenOptions;
use std::io::{Read, Write};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// A line of every command, each of which prints something; the name of a job stands for `ID`.
fn all(bay: &Bay) -> Vec<Vec<String>> {
    let folder = bay.path("procedures");
    std::fs::create_dir(&folder).unwrap();
    let shipped = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../procedures/trailer-hub.toml"
    );
    let sheet = super::vehicles::with_sheet(bay, str::to_owned);
    let list = bay.file("list.csv", "Undo the 4 cover bolts\nLift the cover off\n");
    let untidy = bay.file("untidy.toml", "a   =   1\n");
    let photo = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/src/glance.png");
    let script = bay.file("script.txt", typed_to_the_end("trailer-hub").join("\n"));
    let out = |name: &str| text(&bay.path(name)).to_owned();
    let records = format!(" --records {}", text(&bay.records()));
    [
        format!("work trailer-hub --microphone nobodys{records}"),
        format!("resume ID{records}"),
        format!("rehearse trailer-hub --script {}{records}", text(&script)),
        format!("page 127.0.0.1:0{records}"),
        "procedures".to_owned(),
        "procedures --json".to_owned(),
        "procedure front-brakes".to_owned(),
        "procedure front-brakes --json".to_owned(),
        format!("procedure front-brakes --picture {}", out("p.svg")),
        format!("procedure front-brakes --parts {}", out("parts.csv")),
        "vehicles".to_owned(),
        "vehicles --json".to_owned(),
        format!("check {shipped}"),
        format!("check {shipped} --format json"),
        "check --explain all".to_owned(),
        format!("new {}", out("new.toml")),
        format!("approve {} --by Foreman", text(&sheet)),
        format!(
            "release front-brakes --by Foreman --procedures {}",
            out("shop")
        ),
        format!("revisions front-brakes --procedures {}", out("shop")),
        format!(
            "withdraw front-brakes --by Foreman --because Test --procedures {}",
            out("shop")
        ),
        format!("fmt {}", text(&untidy)),
        format!("diff {shipped} {shipped}"),
        format!("import {} --out {}", text(&list), out("drafted.toml")),
        "reckon pattern --count 5".to_owned(),
        "reckon --json convert 25N.m --to lbf.ft".to_owned(),
        "microphones --json".to_owned(),
        "hear-check --microphone nobodys".to_owned(),
        format!("heard --out {}{records}", out("heard")),
        format!("records{records}"),
        format!("records --json{records}"),
        format!("statistics trailer-hub{records}"),
        format!("statistics trailer-hub --json{records}"),
        format!("record ID{records}"),
        format!("record ID --json{records}"),
        format!("record ID --journal{records}"),
        format!("record ID --verify{records}"),
        format!("record ID --export {}{records}", out("job.zip")),
        format!("verify {}", out("job.zip")),
        format!("repair {} {}", text(&bay.records()), out("repaired")),
        "key".to_owned(),
        format!("discard --days 1{records}"),
        format!("report ID{records}"),
        format!("report ID --csv {}{records}", out("r.csv")),
        format!("attach ID {photo}{records}"),
        format!("demo --out {}", out("demo")),
        "completions bash".to_owned(),
        "man".to_owned(),
        "help".to_owned(),
        "--help".to_owned(),
        "--version".to_owned(),
    ]
    .map(|line| line.split(' ').map(str::to_owned).collect())
    .to_vec()
}

/// How it ended, and what it said on standard error.
fn ended(bay: &Bay, words: &[String], out: Stdio, err: Stdio) -> (i32, String) {
    let mut child = Command::new(env!("CARGO_BIN_EXE_sayback"))
        .args(words)
        // Without ear and voices, so that nothing takes long.
        .env("SAYBACK_CACHE", bay.path("nothing"))
        .env("XDG_CONFIG_HOME", bay.path("config"))
        .env_remove("SAYBACK_TOOLS")
        .stdin(Stdio::null())
        .stdout(out)
        .stderr(err)
        .spawn()
        .unwrap();
    let mut err = child.stderr.take();
    let begun = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        if begun.elapsed() > Duration::from_secs(60) {
            let _ = child.kill();
            panic!("{words:?} goes on although nobody reads it");
        }
        std::thread::sleep(Duration::from_millis(10));
    };
    let mut said = String::new();
    if let Some(err) = &mut err {
        err.read_to_string(&mut said).unwrap();
    }
    (status.code().unwrap_or(-1), said)
}

fn with_a_job(bay: &Bay) -> Vec<Vec<String>> {
    bay.rehearse("trailer-hub", &typed_to_the_end("trailer-hub"))
        .exits(0);
    let id = bay.jobs().remove(0);
    let named = |word: String| if word == "ID" { id.clone() } else { word };
    let lines = all(bay).into_iter();
    lines
        .map(|words| words.into_iter().map(named).collect())
        .collect()
}

#[test]
fn every_command_has_a_line_here() {
    let bay = Bay::new();
    let help = sayback(["--help"]).exits(0).out;
    let commands = help
        .split("Commands:")
        .nth(1)
        .unwrap()
        .split("Options:")
        .next()
        .unwrap();
    let commands: BTreeSet<&str> = commands
        .lines()
        .filter(|line| line.starts_with("  ") && !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    let lines = all(&bay);
    let here: BTreeSet<&str> = lines.iter().map(|words| words[0].as_str()).collect();
    let missing: Vec<_> = commands.difference(&here).collect();
    assert!(commands.len() > 20 && missing.is_empty(), "{missing:?}");
}

#[test]
fn a_full_disk_is_told_by_every_command() {
    let bay = Bay::new();
    for words in with_a_job(&bay) {
        let full = OpenOptions::new().write(true).open("/dev/full").unwrap();
        let (code, said) = ended(&bay, &words, full.into(), Stdio::piped());
        assert!(
            code == 1 || code == 2,
            "{words:?} ended with {code}: {said}"
        );
        let full = said.contains("can't be written in full: No space left on device");
        // Some fail before they have printed anything, and say at what.
        let tried = [
            "work",
            "resume",
            "hear-check",
            "demo",
            "heard",
            "microphones",
            "attach",
        ];
        assert!(
            full || tried.contains(&words[0].as_str()),
            "{words:?}: {said}"
        );
        assert!(
            !said.trim().is_empty() && !said.contains("panicked"),
            "{words:?}: {said}"
        );
    }
}

#[test]
fn whoever_stops_reading_gets_no_panic() {
    let bay = Bay::new();
    for words in with_a_job(&bay) {
        let gone = || {
            let (reader, writer) = std::io::pipe().unwrap();
            drop(reader);
            Stdio::from(writer)
        };
        let (code, said) = ended(&bay, &words, gone(), Stdio::piped());
        assert!(
            (0..=3).contains(&code),
            "{words:?} ended with {code}: {said}"
        );
        assert!(
            !said.contains("panicked") && !said.contains("in full"),
            "{words:?}: {said}"
        );
        let (code, _) = ended(&bay, &words, gone(), gone());
        assert!((0..=3).contains(&code), "{words:?} ended with {code}");
    }
    // What is wrong with the command line goes to standard error, too.
    let (reader, writer) = std::io::pipe().unwrap();
    drop(reader);
    let wrong = ["nothing-of-the-kind".to_owned()];
    assert_eq!(ended(&bay, &wrong, Stdio::null(), writer.into()).0, 2);
    // The flush at the end of the process finds nothing left to write.
    std::io::stdout().flush().unwrap();
}
