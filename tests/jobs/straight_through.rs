//! The spoken happy path of each shipped job, to its finished record.

use record::Archive;
use sayback::work::technician::{At, Talk, every_colour, place, said_in};
use steps::{Colour, Entry, Language, Outcome, People, Readback, Settings};
use whole_jobs::{Minutes, Workshop, settings, shipped_on};

/// Two people of the invented depot, the first of whom begins.
fn two_people() -> People {
    let names = ["Mara", "Tobias"].map(str::to_owned).to_vec();
    People::new(names, Some("Mara".to_owned())).unwrap()
}

fn at(place: &str, words: &str) -> At {
    At {
        place: place.to_owned(),
        say: [words.to_owned()].into(),
    }
}

/// How what wasn't understood is said again. The colour that a hold point asks for hangs on the time, so no voice can be
/// chosen beforehand that says each of them well.
pub(super) const OTHERWISE: [&str; 3] = ["flite-man-fast", "neural-man", "flite-woman"];

/// Works a job by voice; the second of the people takes it over at `handover`, where there is one.
fn works(name: &str, voice_id: &str, handover: Option<&str>) {
    works_on(None, name, voice_id, handover);
}

/// The same on one of the depot's vehicles.
fn works_on(vehicle: Option<&str>, name: &str, voice_id: &str, handover: Option<&str>) {
    let procedure = shipped_on(name, vehicle);
    let settings = Settings {
        people: handover.map(|_| two_people()).unwrap_or_default(),
        ..settings()
    };
    let says = || Talk {
        at: handover
            .map(|place| at(place, "tobias takes over"))
            .into_iter()
            .collect(),
        ..Talk::default()
    };
    let folder = tempfile::tempdir().unwrap();
    let minutes = Minutes::default();
    let mut show = |line: sayback::work::conversation::Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open_with(
        procedure.clone(),
        settings.clone(),
        folder.path(),
        voice_id,
        &mut show,
    );
    let straight = said_in(&procedure, settings, &mut says()).unwrap();
    shop.prepare(&straight);
    let mut talk = says();
    let (mut said, mut said_again, mut in_a_row) = (0, 0, 0);
    while let Some(words) = talk.says(shop.job()) {
        said += 1;
        // A value that is misheard is said again, which leads nowhere only in the end.
        assert!(
            said < 2 * straight.len() + 20,
            "{name} goes round at {}",
            place(shop.job())
        );
        let before = (place(shop.job()), shop.job().digest());
        let meanings = match in_a_row {
            0 => shop.say(&words),
            again => shop.say_as(OTHERWISE[again - 1], &words),
        };
        if (place(shop.job()), shop.job().digest()) == before {
            said_again += 1;
            in_a_row += 1;
            println!(
                "{name}: at {} “{words}” was taken for {meanings:?}",
                before.0
            );
            assert!(
                in_a_row <= OTHERWISE.len() && said_again <= 6,
                "{name} doesn't get on at {}",
                before.0
            );
            if Some(before.0.as_str()) == handover {
                talk.at.push(at(&before.0, &words));
            }
        } else {
            in_a_row = 0;
        }
    }
    assert_eq!(shop.job().outcome(), Some(Outcome::Finished));
    drop(shop);
    for said in minutes.said.borrow().iter() {
        assert!(!said.contains('{'), "{name}: nothing fills in “{said}”");
    }
    // The record tells the same: every gate opened by its words with evidence and sound, every reading.
    let written = minutes.written.borrow();
    for (id, gate) in &procedure.gates {
        let opening = every_colour(
            Language::English,
            Readback {
                gate: id.clone(),
                words: gate.readback.clone(),
                alternatives: gate.alternatives.clone(),
                colour: gate.is_hold_point().then_some(Colour::Orange),
                decoys: Vec::new(),
            },
        );
        let opened = written.iter().any(|entry| {
            matches!(entry, Entry::GateOpened { gate: opened, words, evidence: Some(_), sound: Some(sound), .. }
                if opened == id && opening.contains(words) && folder.path().join(sound).is_file())
        });
        // A gate that only other variants, or giving up, lead to isn't met.
        let met = written
            .iter()
            .any(|entry| matches!(entry, Entry::GateOpened { gate: met, .. } if met == id));
        assert_eq!(opened, met, "{name}: {id}");
    }
    if handover.is_some() {
        // Everything is asked again after the handover, and whoever signs is on record with the sound.
        let taken = written
            .iter()
            .position(|entry| matches!(entry, Entry::TakenOver { sound: Some(_), .. }));
        let after = &written[taken.unwrap()..];
        assert!(after.iter().any(
            |entry| matches!(entry, Entry::GateOpened { fact, .. } if fact.as_str() == "supported")
        ));
        assert!(after.iter().any(|entry| matches!(entry,
            Entry::Signed { person, sound: Some(sound), .. }
                if person == "Tobias" && folder.path().join(sound).is_file())));
    }
    let gates = written
        .iter()
        .filter(|entry| matches!(entry, Entry::GateOpened { .. }))
        .count();
    assert!(gates >= 5, "{name} opened {gates} gates");
    assert!(
        written
            .iter()
            .any(|entry| matches!(entry, Entry::Read { within: true, .. }))
    );
    assert!(
        written
            .iter()
            .any(|entry| matches!(entry, Entry::Tightened { .. }))
    );
    let records = Archive::open(folder.path()).unwrap();
    let jobs = records.jobs().unwrap();
    assert_eq!(jobs[0].outcome, Some(Outcome::Finished));
    // With the procedure and the sheet that were kept beside it.
    let verified = records.verify(&jobs[0].id, None).unwrap();
    assert!(verified.is_whole(), "{verified}");
    let kept = records.procedure_of(&jobs[0].id).unwrap();
    assert_eq!(kept.as_deref(), Some(&procedure));
}

#[test]
fn the_half_shaft_job_is_worked_by_voice_on_van_two() {
    works_on(Some("van-two"), "front-half-shaft", "neural-man", None);
}

#[test]
fn the_half_shaft_job_is_worked_by_voice_on_van_four() {
    works_on(Some("van-four"), "front-half-shaft", "flite-woman", None);
}

#[test]
fn the_half_shaft_job_is_worked_by_voice_on_van_seven() {
    works_on(Some("van-seven"), "front-half-shaft", "neural-man", None);
}

#[test]
fn the_brake_job_is_worked_by_voice_on_van_two() {
    works_on(
        Some("van-two"),
        "front-brakes",
        "flite-woman",
        Some("left-disc-off"),
    );
}

#[test]
fn the_brake_job_is_worked_by_voice_on_van_four() {
    works_on(Some("van-four"), "front-brakes", "neural-man", None);
}

#[test]
fn the_brake_job_is_worked_by_voice_on_van_seven() {
    works_on(Some("van-seven"), "front-brakes", "flite-woman", None);
}

#[test]
fn the_trailer_job_is_worked_by_voice() {
    works_on(Some("blue-trailer"), "trailer-hub", "flite-man-fast", None);
}

#[test]
fn the_coolant_change_job_is_worked_by_voice() {
    works("coolant-change", "flite-woman", None);
}

#[test]
fn the_rear_brake_job_is_worked_by_voice() {
    works("rear-brakes", "flite-woman", None);
}

#[test]
fn the_wheel_bearing_job_is_worked_by_voice_on_van_two() {
    works_on(Some("van-two"), "wheel-bearing", "neural-man", None);
}

#[test]
fn the_wheel_bearing_job_is_worked_by_voice_on_van_four() {
    works_on(Some("van-four"), "wheel-bearing", "neural-man", None);
}

#[test]
fn the_wheel_bearing_job_is_worked_by_voice_on_van_seven() {
    works_on(Some("van-seven"), "wheel-bearing", "flite-woman", None);
}

#[test]
fn the_flanged_half_shaft_job_is_worked_by_voice() {
    works("flanged-half-shaft", "flite-woman", None);
}

#[test]
fn the_control_arm_job_is_worked_by_voice() {
    works("control-arm", "flite-man-fast", None);
}

#[test]
fn the_damper_job_is_worked_by_voice() {
    works("damper-spring", "flite-man-fast", None);
}

#[test]
fn the_battery_job_is_worked_by_voice() {
    works("starter-battery", "neural-man", None);
}

/// This voice's "eight point zero" is taken for nought at first; denied, it isn't taken for that again.
#[test]
fn the_drive_belt_job_is_worked_by_voice() {
    works("drive-belt", "neural-man", None);
}

#[test]
fn the_winch_job_is_worked_by_voice() {
    works("slipway-winch", "flite-man-fast", None);
}

#[test]
fn the_outboard_job_is_worked_by_voice() {
    works_on(Some("work-boat"), "outboard-gear-oil", "neural-man", None);
}

#[test]
fn the_generator_job_is_worked_by_voice() {
    works("standby-generator", "neural-man", None);
}
