//! Jobs are recorded, listed, taken up, read.

use crate::harness::*;
use record::{Archive, IfChanged, JournaledJob, ListPage, RecordError, Replay, SoundState};
use steps::{Command, Effect, Entry, Heard, Input, Mode, Outcome, Settings};

#[test]
fn a_job_is_listed_from_its_opening_to_its_end() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let open = begin(&archive, Mode::Rehearsal);
    let id = work(&archive, Mode::Work).unwrap();

    let jobs = archive.jobs().unwrap();
    assert_eq!(jobs.len(), 2);
    assert_eq!(jobs[0].id, id);
    assert_eq!(id.as_str(), "2026-03-02-trailer-wheel-2");
    assert_eq!(jobs[0].outcome, Some(Outcome::Finished));
    assert_eq!(jobs[0].started, at(0));
    assert_eq!(jobs[0].last, at(130));
    assert_eq!(jobs[1].id, *open.id());
    assert_eq!(jobs[1].mode, Mode::Rehearsal);
    assert_eq!(jobs[1].outcome, None);
    assert_eq!(jobs[1].title, "Trailer wheel");
}

#[test]
fn the_pages_of_the_list_are_the_list() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    // Three in one millisecond, and others before and after.
    let opened = [5, 7, 7, 7, 9, 12, 20];
    let begun = opened.map(|seconds| {
        archive
            .begin(&procedure(TEXT), Settings::default(), at(seconds))
            .unwrap()
    });
    let all = archive.jobs().unwrap();
    assert_eq!(all.len(), begun.len());
    for most in 1..=all.len() + 1 {
        for before in [None, Some(at(7)), Some(at(8)), Some(at(99))] {
            let mut page = ListPage {
                most: Some(most),
                before,
                after: None,
            };
            let mut listed = Vec::new();
            loop {
                let jobs = archive.page(&page).unwrap();
                assert_eq!(page.of(all.clone(), |job| (&job.id, job.started)), jobs);
                let Some(last) = jobs.last() else { break };
                page.after = Some(last.id.clone());
                listed.extend(jobs);
            }
            let mut wanted = all.clone();
            wanted.retain(|job| before.is_none_or(|before| job.started < before));
            assert_eq!(listed, wanted, "{most} before {before:?}");
        }
    }
    let unknown = ListPage {
        after: Some(record::JobId::new("no-such-job")),
        ..ListPage::default()
    };
    assert_eq!(archive.page(&unknown).unwrap(), []);
}

#[test]
fn after_any_input_a_job_taken_up_stands_where_it_stood_and_asks_the_gate_again() {
    let inputs = whole_job();
    for stop_after in 0..inputs.len() {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::open(folder.path()).unwrap();
        let mut worked = begin(&archive, Mode::Work);
        for (number, input) in inputs.iter().take(stop_after).enumerate() {
            worked
                .take(input.clone(), at(10 * (number as u64 + 1)))
                .unwrap();
        }
        let (id, digest) = (worked.id().clone(), worked.job().digest());
        drop(worked);

        let taken_up = archive
            .resume(&id, procedure(TEXT), IfChanged::Refuse, at(1000))
            .unwrap();
        assert_eq!(taken_up.job.digest(), digest, "after input {stop_after}");
        drop(taken_up);
        let again =
            JournaledJob::resume(&archive, &id, procedure(TEXT), IfChanged::Refuse, at(1010))
                .unwrap();
        assert_eq!(again.worked.job().facts().count(), 0);
        assert!(again.effects.iter().any(|it| matches!(
            it,
            Effect::Write(Entry::Resumed { away_seconds }) if *away_seconds > 800
        )));
        let verified = archive.verify(&id, Some(procedure(TEXT))).unwrap();
        assert!(verified.is_whole(), "{verified}");
        assert_eq!(verified.replay, Replay::Same);
    }
}

#[test]
fn a_closed_job_takes_nothing_more() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for input in whole_job() {
        worked.take(input, at(5)).unwrap();
    }
    let (id, head) = (worked.id().clone(), worked.head().to_owned());
    assert!(worked.take(Input::Woke, at(6)).unwrap().is_empty());
    assert_eq!(worked.head(), head);
    drop(worked);
    let error = archive
        .resume(&id, procedure(TEXT), IfChanged::GoOn, at(7))
        .unwrap_err();
    assert!(matches!(error, RecordError::Closed { .. }), "{error}");
    // Nor does its lock stay behind.
    assert_eq!(
        std::fs::read_dir(folder.path().join("locks"))
            .unwrap()
            .count(),
        0
    );
}

#[test]
fn a_changed_procedure_is_gone_on_with_only_when_told_and_on_the_record() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for input in whole_job().into_iter().take(6) {
        worked.take(input, at(5)).unwrap();
    }
    let id = worked.id().clone();
    drop(worked);

    // A step ahead was reworded.
    let ahead = procedure(&TEXT.replace("Lift the wheel off.", "Pull the wheel off."));
    let error = archive
        .resume(&id, ahead.clone(), IfChanged::Refuse, at(9))
        .unwrap_err();
    assert!(
        matches!(error, RecordError::ProcedureChanged { .. }),
        "{error}"
    );
    // A torque is wanted that differs, but it is still ahead; what was measured has another limit, though.
    let behind = procedure(&TEXT.replace("min = \"1.6\"", "min = \"1.2\""));
    let error = archive
        .resume(&id, behind, IfChanged::GoOn, at(9))
        .unwrap_err();
    assert!(
        matches!(error, RecordError::ReplayDiffers { seq: 13, .. }),
        "{error}"
    );

    let again = JournaledJob::resume(&archive, &id, ahead.clone(), IfChanged::GoOn, at(9)).unwrap();
    assert!(again.changed);
    drop(again);
    let report = archive.report(&id).unwrap();
    assert_eq!(report.procedure_changed, [at(9)]);
    assert_eq!(
        archive.verify(&id, Some(ahead.clone())).unwrap().replay,
        Replay::Same
    );
    // Both texts were kept; without them the one that is given is looked at.
    std::fs::remove_dir_all(folder.path().join("procedures")).unwrap();
    assert_eq!(
        archive.verify(&id, Some(procedure(TEXT))).unwrap().replay,
        Replay::OtherText
    );
    // From here on the new text is the job's.
    assert!(
        !JournaledJob::resume(&archive, &id, ahead, IfChanged::Refuse, at(10))
            .unwrap()
            .changed
    );
}

#[test]
fn two_writers_of_one_job_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let worked = begin(&archive, Mode::Work);
    let other = Archive::open(folder.path()).unwrap();
    let error = other
        .resume(worked.id(), procedure(TEXT), IfChanged::Refuse, at(1))
        .unwrap_err();
    assert!(matches!(error, RecordError::InUse { .. }), "{error}");
    let id = worked.id().clone();
    drop(worked);
    assert!(
        other
            .resume(&id, procedure(TEXT), IfChanged::Refuse, at(1))
            .is_ok()
    );
}

#[test]
fn an_input_that_was_not_sealed_lets_none_follow() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut open = archive
        .begin(&procedure(TEXT), Settings::default(), at(0))
        .unwrap();
    open.append(&Input::Begin, at(0)).unwrap();
    let error = open.append(&Input::Woke, at(1)).unwrap_err();
    assert!(
        matches!(error, RecordError::Unsealed { seq: 1, .. }),
        "{error}"
    );
}

#[test]
fn names_that_lead_nowhere_are_no_jobs() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    for name in [
        "",
        "2026-03-02-trailer-wheel",
        "../../etc/passwd",
        "'; DROP TABLE entries",
    ] {
        let id = record::JobId::new(name);
        for error in [
            archive.report(&id).unwrap_err(),
            archive
                .resume(&id, procedure(TEXT), IfChanged::GoOn, at(0))
                .unwrap_err(),
        ] {
            assert!(matches!(error, RecordError::NoSuchJob { .. }), "{error}");
        }
    }
    assert_eq!(
        std::fs::read_dir(folder.path().join("locks"))
            .unwrap()
            .count(),
        0
    );
}

#[test]
fn a_clock_set_back_keeps_the_order_of_what_happened() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for (number, input) in whole_job().into_iter().take(4).enumerate() {
        worked
            .take(input, at(1_000_000 - 10_000 * number as u64))
            .unwrap();
    }
    let id = worked.id().clone();
    drop(worked);
    let lines = archive
        .resume(&id, procedure(TEXT), IfChanged::Refuse, at(1))
        .unwrap()
        .lines;
    assert!(lines.windows(2).all(|pair| pair[0].seq <= pair[1].seq));
    assert!(
        archive
            .verify(&id, Some(procedure(TEXT)))
            .unwrap()
            .is_whole()
    );
}

#[test]
fn a_sound_is_kept_before_the_input_that_names_it_and_a_change_in_it_shows() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    let tone: Vec<f32> = (0..16_000)
        .map(|it| (it as f32 * 0.1).sin() * 0.5)
        .collect();
    let path = worked.keep_sound(&tone, "Not understood").unwrap();
    // The same once more is the same file.
    assert_eq!(worked.keep_sound(&tone, "Not understood").unwrap(), path);
    let input = Input::NotUnderstood {
        heard: Heard {
            sound: Some(path.clone()),
            ..Heard::typed("mumbling")
        },
    };
    worked.take(input, at(1)).unwrap();

    let file = folder.path().join(&path);
    let mut wav = hound::WavReader::open(&file).unwrap();
    assert_eq!(wav.spec().sample_rate, 16_000);
    let back: Vec<i16> = wav.samples().map(Result::unwrap).collect();
    assert_eq!(back.len(), tone.len());
    assert!(back.iter().zip(&tone).all(|(kept, given)| {
        (f32::from(*kept) / 32767.0 - given).abs() <= 0.5 / 32767.0 + 1e-6
    }));
    assert!(archive.verify(worked.id(), None).unwrap().sounds.is_empty());

    let mut bytes = std::fs::read(&file).unwrap();
    bytes[1000] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let verified = archive.verify(worked.id(), None).unwrap();
    assert_eq!(verified.sounds, [(path.clone(), SoundState::Changed)]);
    assert!(!verified.is_whole());

    std::fs::remove_file(&file).unwrap();
    let verified = archive.verify(worked.id(), None).unwrap();
    assert_eq!(verified.sounds, [(path, SoundState::Gone)]);
    assert!(verified.is_whole());
}

#[test]
fn a_report_needs_no_procedure_and_leaves_nothing_out() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Rehearsal);
    let mut written = Vec::new();
    for (number, input) in whole_job().into_iter().enumerate() {
        let effects = worked.take(input, at(10 * (number as u64 + 1))).unwrap();
        written.extend(effects.into_iter().filter_map(|it| match it {
            Effect::Write(entry) => Some(entry),
            _ => None,
        }));
    }
    let report = archive.report(worked.id()).unwrap();
    assert!(report.whole);
    // But for the opening, which `begin` took.
    let kept: Vec<_> = report
        .lines
        .iter()
        .skip(1)
        .map(|it| it.entry.clone())
        .collect();
    assert_eq!(kept, written);

    let json: serde_json::Value = serde_json::from_str(&report.json().unwrap()).unwrap();
    assert_eq!(json["mode"], "rehearsal");
    assert_eq!(json["opened"], "2026-03-02T09:00:00.000Z");
    assert_eq!(json["outcome"], "finished");
    assert_eq!(json["lines"][0]["entry"], "opened");
}

#[test]
fn going_on_after_the_last_words_were_lost_between_disk_and_ear() {
    // The input is on disk, the program ended before the job took it: it counts, once.
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut open = archive
        .begin(&procedure(TEXT), Settings::default(), at(0))
        .unwrap();
    open.append(&Input::Begin, at(0)).unwrap();
    let id = open.id().clone();
    drop(open);
    // What it led to isn't in the chain; the procedure tells, the one kept with the record or the one given.
    assert_eq!(archive.report(&id).unwrap().lines.len(), 1);
    std::fs::remove_dir_all(folder.path().join("procedures")).unwrap();
    assert_eq!(archive.report(&id).unwrap().lines.len(), 0);
    let replayed = archive.report_replayed(&id, procedure(TEXT)).unwrap();
    assert_eq!(replayed.lines.len(), 1);
    let again =
        JournaledJob::resume(&archive, &id, procedure(TEXT), IfChanged::Refuse, at(60)).unwrap();
    assert_eq!(again.lines.len(), 1, "{:?}", again.lines);
    assert!(matches!(again.lines[0].entry, Entry::Opened { .. }));

    // Not even begun: then it begins now.
    let open = archive
        .begin(&procedure(TEXT), Settings::default(), at(0))
        .unwrap();
    let id = open.id().clone();
    drop(open);
    let again =
        JournaledJob::resume(&archive, &id, procedure(TEXT), IfChanged::Refuse, at(60)).unwrap();
    assert!(
        again
            .effects
            .iter()
            .any(|it| matches!(it, Effect::Write(Entry::Opened { .. })))
    );
    let left = Command::Choose {
        variant: "side".into(),
        option: "left".into(),
    };
    let mut worked = again.worked;
    assert!(!worked.take(said(left, "left"), at(61)).unwrap().is_empty());
}
