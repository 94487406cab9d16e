//! What a replay is compared with: a record of the former format, which held sentences and a digest of another kind,
//! and one of the present format.

use crate::harness::at;
use record::{Archive, Checkpoint, Fault, IfChanged, JobId, JournaledJob, Replay, Verified};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;
use steps::quantity::TorqueUnit;
use steps::{Effect, Entry, Input, Job, Outcome, Procedure, Settings};

/// The inputs of a job, and what the former program kept of each.
const FORMER: &str = include_str!("former.jsonl");

const TEXT: &str = r#"
format = 1
id = "trailer-cover"
title = "Trailer cover"
vehicle = "boat trailer of the Saltmarsh ferry depot"
values = "All values are invented."
cautions = ["A trailer that rolls kills."]
minutes = 30

[[fact]]
id = "supported"
means = "the trailer stands on stands"

[[gate]]
id = "supported"
fact = "supported"
signal = "danger"
ask = "A trailer that falls kills. Shove it: it must not move."
readback = "Trailer rests on two stands and stays put."
good_for_minutes = 240

[[item]]
id = "cap"
name = "dust cap"
may_wait = true

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
drive = { shape = "hex", size = "13 mm" }
torque = "25 ± 2 N·m"
passes = [50, 100]
pattern = "star"
lubrication = "dry"
again_after = "50 km"

[[reading]]
id = "depth"
name = "tread depth"
unit = "mm"
least = "0.0"
most = "20.0"
min = "1.6"

[[step]]
id = "depth"
action = "measure"
reading = "depth"
text = "Measure the tread's depth."
needs = ["supported"]

[[step]]
id = "cap-off"
action = "remove"
item = "cap"
text = "Take the dust cap off."
needs = ["supported"]

[[step]]
id = "loosen"
action = "loosen"
fastener = "bolts"
text = "Loosen the {fasteners} with the {size}."
needs = ["supported"]

[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the {fasteners} to {torque}."

[[step]]
id = "cap-on"
action = "refit"
item = "cap"
text = "Put the dust cap on."

[[make_safe]]
id = "lower"
action = "do"
text = "Lower the trailer onto its wheels."
"#;

#[derive(Debug, Clone, Deserialize)]
struct Kept {
    seconds: u64,
    input: Input,
    reached: Value,
}

fn former() -> Vec<Kept> {
    let lines = FORMER.lines();
    lines.map(|it| serde_json::from_str(it).unwrap()).collect()
}

/// The same job as the present program keeps it.
fn present() -> Vec<Kept> {
    let mut job = Job::new(cover(), settings());
    let mut kept = former();
    for it in &mut kept {
        let effects = job.take(it.input.clone(), at(it.seconds));
        it.reached = serde_json::to_value(Checkpoint::by(&job, &effects)).unwrap();
    }
    kept
}

fn cover() -> Arc<Procedure> {
    let library = BTreeMap::from([("trailer-cover", TEXT)]);
    Arc::new(Procedure::load("trailer-cover", &library).unwrap())
}

fn settings() -> Settings {
    Settings {
        unit: TorqueUnit::PoundFoot,
        corrections: true,
        ..Settings::default()
    }
}

fn written(folder: &Path, kept: &[Kept]) -> (Archive, JobId) {
    let archive = Archive::open(folder).unwrap();
    let mut open = archive.begin(&cover(), settings(), at(0)).unwrap();
    for it in kept {
        open.append(&it.input, at(it.seconds)).unwrap();
        let reached: Checkpoint = serde_json::from_value(it.reached.clone()).unwrap();
        open.seal(&reached).unwrap();
    }
    let closes = |it: &Kept| it.reached["entries"][0]["entry"] == "closed";
    if kept.last().is_some_and(closes) {
        open.close(Outcome::Finished, at(500)).unwrap();
    }
    let id = open.id().clone();
    (archive, id)
}

/// What checking finds where one text of what was kept is replaced.
fn proved_with(mut kept: Vec<Kept>, text: &str, by: &str) -> Verified {
    let mut replaced = 0;
    for it in &mut kept {
        let reached = it.reached.to_string();
        replaced += reached.matches(text).count();
        it.reached = serde_json::from_str(&reached.replace(text, by)).unwrap();
    }
    assert!(replaced > 0, "{text}");
    proved(&kept)
}

fn proved(kept: &[Kept]) -> Verified {
    let folder = tempfile::tempdir().unwrap();
    let (archive, id) = written(folder.path(), kept);
    archive.verify(&id, Some(cover())).unwrap()
}

#[test]
fn an_open_job_of_the_former_format_is_taken_up_and_finished() {
    let folder = tempfile::tempdir().unwrap();
    let mut kept = former();
    let finish = kept.pop().unwrap();
    let (archive, id) = written(folder.path(), &kept);
    let again = JournaledJob::resume(
        &archive,
        &id,
        cover(),
        IfChanged::Refuse,
        at(finish.seconds),
    )
    .unwrap();
    let mut worked = again.worked;
    let effects = worked.take(finish.input, at(470)).unwrap();
    assert!(effects.iter().any(|it| matches!(
        it,
        Effect::Write(Entry::Closed { outstanding, .. }) if outstanding.len() == 1
    )));
    drop(worked);
    let verified = archive.verify(&id, Some(cover())).unwrap();
    assert!(verified.is_whole(), "{verified}");
    assert_eq!(verified.replay, Replay::Same);
}

#[test]
fn a_record_of_the_former_format_is_proved_and_shown_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let (archive, id) = written(folder.path(), &former());
    assert_eq!(
        archive.verify(&id, Some(cover())).unwrap().replay,
        Replay::Same
    );
    let former = archive.report(&id).unwrap();

    let folder = tempfile::tempdir().unwrap();
    let (archive, id) = written(folder.path(), &present());
    let present = archive.report(&id).unwrap();
    let lines = |report: &record::Report| report.journal_lines().collect::<Vec<_>>();
    // What was kept in words then is shown in those words. Nothing but these was reworded since.
    let mut reworded = lines(&former).join("\n");
    for (then, now) in [
        ("I do not go on", "I can't go on yet"),
        ("these are not the words", "those aren't the words"),
        (
            "I am not sure that I heard the words",
            "I'm not sure I heard the words",
        ),
        ("the job was taken up again", "the job was resumed"),
        (
            "cover bolts to be tightened again after",
            "re-torque the cover bolts after",
        ),
    ] {
        assert!(reworded.contains(then), "{then}");
        reworded = reworded.replace(then, now);
    }
    let text = lines(&present).join("\n");
    assert_eq!(reworded, text);
    for words in [
        "stayed closed: those aren't the words",
        "within limits (at least 1.6 mm)",
        "2.4 mm",
        "4 cover bolts, wanted 25 ± 2 N·m, told 18.5 lbf·ft",
        "dust cap off, deferred",
    ] {
        assert!(text.contains(words), "{words} in {text}");
    }
}

#[test]
fn a_sentence_of_the_former_format_may_have_been_reworded_since_and_nothing_else() {
    for words in [
        "The maker's service information",
        "I do not go on",
        "these are not the words",
        "the job was taken up again",
        "at least 1.6 mm",
        "Loosen the cover bolts with",
        "in a star",
        "dust cap off",
        "to be tightened again after",
    ] {
        let verified = proved_with(former(), words, "other words");
        assert_eq!(verified.replay, Replay::Same, "{words}: {verified}");
    }
    for (text, by) in [
        ("\"means\":\"the trailer", "\"means\":\"a trailer"),
        ("\"words\":\"trailer rests", "\"words\":\"trailer stands"),
        ("\"away_seconds\":310", "\"away_seconds\":311"),
        ("\"value\":\"2.4\"", "\"value\":\"2.5\""),
        ("\"step\":\"loosen\"", "\"step\":\"loosened\""),
        ("\"item\":\"cap\"", "\"item\":\"bolts\""),
        ("\"outcome\":\"finished\"", "\"outcome\":\"abandoned\""),
    ] {
        let verified = proved_with(former(), text, by);
        assert_eq!(verified.replay, Replay::Elsewhere, "{text}");
    }
}

#[test]
fn codes_and_state_are_compared() {
    assert_eq!(proved(&present()).replay, Replay::Same);
    for (text, by) in [
        ("\"next-instead\"", "\"not-the-words\""),
        ("\"tried\":\"done\"", "\"tried\":\"next\""),
        ("\"taken-up-again\"", "\"long-pause\""),
        ("{\"own\":[", "{\"own\":[\"Mind the step.\","),
        ("\"size\":\"13 mm\"", "\"size\":\"14 mm\""),
        ("\"order\":\"star\"", "\"order\":\"in-turn\""),
        ("\"how\":\"off\"", "\"how\":\"loose\""),
        ("\"kilometre\"", "\"mile\""),
    ] {
        let verified = proved_with(present(), text, by);
        assert_eq!(verified.replay, Replay::Elsewhere, "{text}");
    }
    for seq in 0..present().len() {
        let mut kept = present();
        let state = kept[seq].reached["state"].as_str().unwrap().to_owned();
        let last = if state.ends_with('0') { "1" } else { "0" };
        kept[seq].reached["state"] = json!(format!("{}{last}", &state[..state.len() - 1]));
        let verified = proved(&kept);
        assert_eq!(
            verified.fault,
            Some((2 * seq as u64 + 1, Fault::Differs)),
            "{verified}"
        );
    }
}

#[test]
fn of_a_state_of_another_version_only_the_entries_are_compared() {
    let other = |version: &str| {
        let mut kept = present();
        for it in &mut kept {
            it.reached["state"] = json!(format!("{version}:0123"));
        }
        kept
    };
    for version in ["1", "3"] {
        assert_eq!(proved(&other(version)).replay, Replay::Same);
        let verified = proved_with(other(version), "\"not-yet\"", "\"next-instead\"");
        assert_eq!(verified.replay, Replay::Elsewhere);
    }
}

#[test]
fn a_newer_program_may_tell_more_than_was_kept() {
    let verified = proved_with(present(), "\"values\":\"All values are invented.\",", "");
    assert_eq!(verified.replay, Replay::Same, "{verified}");
}
