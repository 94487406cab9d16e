//! Sounds and photos are discarded by a rule, and the record stays whole and says so.

use crate::harness::*;
use record::{Archive, JobId, Rule, SoundState};
use std::time::Duration;
use steps::{Certainty, Heard, Input, Mode, Moment};

const DAY: u64 = 24 * 60 * 60;

fn rule(days: u64, only: Option<&JobId>) -> Rule {
    Rule {
        closed_for: Duration::from_secs(days * DAY),
        only: only.cloned(),
        why: format!("kept for {days} days"),
    }
}

/// A job with a sound; closed, unless it is left open.
fn with_a_sound(archive: &Archive, close: bool) -> (JobId, String) {
    let mut worked = begin(archive, Mode::Work);
    let path = worked.keep_sound(&[0.25; 16_000], "gate").unwrap();
    let input = Input::NotUnderstood {
        heard: Heard {
            sound: Some(path.clone()),
            ..Heard::typed("mumbling")
        },
    };
    worked.take(input, at(1)).unwrap();
    if close {
        for (number, input) in whole_job().into_iter().enumerate() {
            worked.take(input, at(10 * (number as u64 + 1))).unwrap();
        }
        assert!(worked.job().outcome().is_some());
    }
    (worked.id().clone(), path)
}

#[test]
fn what_counted_for_nothing_is_on_the_record_and_the_job_goes_on_without_it() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    let sound = worked.keep_sound(&[0.25; 16_000], "heard").unwrap();
    let heard = Heard {
        words: "nex".to_owned(),
        certainty: Certainty::Doubtful,
        evidence: None,
        sound: Some(sound.clone()),
    };
    let digest = worked.job().digest();
    worked.unheeded(heard.clone(), at(1)).unwrap();
    assert_eq!(worked.job().digest(), digest);
    for (number, input) in whole_job().into_iter().enumerate() {
        worked.take(input, at(10 * (number as u64 + 1))).unwrap();
    }
    let id = worked.id().clone();
    assert!(archive.verify(&id, None).unwrap().is_whole());
    let all = archive.heard(&id).unwrap();
    let unheeded = all.iter().find(|it| it.unheeded).unwrap();
    assert_eq!((&unheeded.heard, unheeded.at), (&heard, at(1)));

    // Its sound is proved and discarded like any other.
    archive
        .discard(&rule(30, None), false, days_on(31))
        .unwrap();
    assert!(!folder.path().join(&sound).exists());
    assert!(archive.verify(&id, None).unwrap().is_whole());
    drop(worked);
}

fn days_on(days: u64) -> Moment {
    Moment(at(0).0 + (days * DAY + DAY / 2) * 1000)
}

#[test]
fn what_was_kept_long_enough_goes_and_the_record_says_when_and_why() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let (closed, sound) = with_a_sound(&archive, true);
    let (open, open_sound) = with_a_sound(&archive, false);
    assert!(
        archive
            .discard(&rule(30, None), false, days_on(29))
            .unwrap()
            .is_empty()
    );

    // Only looked at first.
    let would = archive.discard(&rule(30, None), true, days_on(31)).unwrap();
    assert!(folder.path().join(&sound).is_file());
    let discarded = archive
        .discard(&rule(30, None), false, days_on(31))
        .unwrap();
    assert_eq!(discarded, would);
    assert_eq!(discarded.len(), 1);
    assert_eq!(discarded[0].files, std::slice::from_ref(&sound));
    // 16 000 samples of two bytes and a WAV's head of 44.
    assert_eq!(discarded[0].bytes, 32_044);
    assert!(!folder.path().join(&sound).exists());
    assert!(
        folder.path().join(&open_sound).is_file(),
        "of a job that is open"
    );

    let verified = archive.verify(&closed, Some(procedure(TEXT))).unwrap();
    assert!(verified.is_whole() && verified.sounds.is_empty());
    let told = verified.to_string();
    assert!(
        told.contains("1 sounds or photos were discarded on 2026-04-02: kept for 30 days."),
        "{told}"
    );
    assert!(
        archive
            .discard(&rule(30, None), false, days_on(32))
            .unwrap()
            .is_empty()
    );
    assert!(archive.verify(&open, None).unwrap().sounds.is_empty());
}

#[test]
fn a_sound_that_went_without_a_rule_or_was_changed_still_shows() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let (gone, gone_sound) = with_a_sound(&archive, true);
    let (changed, changed_sound) = with_a_sound(&archive, true);
    std::fs::remove_file(folder.path().join(&gone_sound)).unwrap();
    std::fs::write(folder.path().join(&changed_sound), "another").unwrap();
    assert!(
        archive
            .discard(&rule(0, None), false, days_on(1))
            .unwrap()
            .is_empty()
    );
    let state = |job| archive.verify(job, None).unwrap().sounds[0].1;
    assert_eq!(state(&gone), SoundState::Gone);
    assert_eq!(state(&changed), SoundState::Changed);
}

#[test]
fn one_job_alone_can_be_tidied_and_what_a_crash_left_goes_the_next_time() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let (one, one_sound) = with_a_sound(&archive, true);
    let (_, other_sound) = with_a_sound(&archive, true);
    let bytes = std::fs::read(folder.path().join(&one_sound)).unwrap();
    archive
        .discard(&rule(0, Some(&one)), false, days_on(1))
        .unwrap();
    assert!(folder.path().join(&other_sound).is_file());
    let entries = archive.verify(&one, None).unwrap().entries;
    // As if the program had ended between the record and the file.
    std::fs::write(folder.path().join(&one_sound), bytes).unwrap();
    archive
        .discard(&rule(0, Some(&one)), false, days_on(1))
        .unwrap();
    assert!(!folder.path().join(&one_sound).exists());
    assert_eq!(archive.verify(&one, None).unwrap().entries, entries);
}
