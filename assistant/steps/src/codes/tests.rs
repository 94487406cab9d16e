use super::*;
use crate::{Entry, Outcome};

/// Entries as the former program wrote them, and the words that are shown of each.
const FORMER: [&str; 10] = [
    r#"{"entry":"opened","procedure":"p","title":"T","sha256":"0","rehearsal":false,"cautions":["When in doubt, stop.","It rolls."]}"#,
    r#"{"entry":"done","step":"tighten","text":"Tighten the nuts to 140 N·m.","renewed":"5 nuts"}"#,
    r#"{"entry":"tightened","fastener":"nuts","what":"5 wheel nuts","wanted":"68 ± 5 N·m, 8 N·m running torque added","told":"50 lbf·ft, long wrench","manner":["2 passes: 50 %, 100 %","in a star"]}"#,
    r#"{"entry":"tightened","fastener":"nuts","what":"nut","wanted":"68 N·m","told":"68 N·m"}"#,
    r#"{"entry":"gate-refused","gate":"g","tried":"next","why":"I do not go on"}"#,
    r#"{"entry":"voided","fact":"f","why":"taken back: “no wait”"}"#,
    r#"{"entry":"read","reading":"gap","name":"gap","value":"0.7","unit":"mm","limits":"at most 0.5 mm","within":false,"sound":null}"#,
    r#"{"entry":"deferred","item":"shield","what":"splash shield off"}"#,
    r#"{"entry":"closed","outcome":"finished","outstanding":["splash shield off, deferred"],"again":["studs to be tightened again after 50 km, to 45 N·m"]}"#,
    r#"{"entry":"closed","outcome":"abandoned","outstanding":[]}"#,
];

#[test]
fn entries_of_the_former_format_are_read_and_written_as_they_stand() {
    for text in FORMER {
        let entry: Entry = serde_json::from_str(text).unwrap();
        let (was, is): (serde_json::Value, _) = (
            serde_json::from_str(text).unwrap(),
            serde_json::to_value(&entry).unwrap(),
        );
        assert_eq!(is, was);
    }
}

#[test]
fn entries_of_the_former_format_are_shown_in_their_own_words() {
    let language = Language::Spanish;
    let mut shown = Vec::new();
    for text in FORMER {
        match serde_json::from_str(text).unwrap() {
            Entry::Opened { cautions, .. } => shown.extend(cautions.words(language)),
            Entry::Done { text, .. } => shown.push(text.words(language)),
            Entry::Tightened {
                what,
                wanted,
                told,
                manner,
                ..
            } => {
                shown.extend([
                    what.words(language),
                    wanted.words(language),
                    told.words(language),
                ]);
                shown.extend(manner.iter().map(|it| it.words(language)));
            }
            Entry::GateRefused { tried, why, .. } => {
                shown.extend([why.tried(&tried).to_owned(), why.words(language)]);
            }
            Entry::Voided { why, .. } => shown.push(why.words(language)),
            Entry::Read {
                limits: formerly,
                range,
                unit,
                ..
            } => shown.extend(limits(range, &unit, formerly.as_deref())),
            Entry::Deferred { what, .. } => shown.push(what.words(language)),
            Entry::Closed {
                outstanding, again, ..
            } => {
                shown.extend(outstanding.iter().map(|it| it.words(language)));
                shown.extend(again.iter().map(|it| it.words(language)));
            }
            other => panic!("{other:?}"),
        }
    }
    assert_eq!(
        shown,
        [
            "When in doubt, stop.",
            "It rolls.",
            "Tighten the nuts to 140 N·m.",
            "5 wheel nuts",
            "68 ± 5 N·m, 8 N·m running torque added",
            "50 lbf·ft, long wrench",
            "2 passes: 50 %, 100 %",
            "in a star",
            "nut",
            "68 N·m",
            "68 N·m",
            "next",
            "I do not go on",
            "taken back: “no wait”",
            "at most 0.5 mm",
            "splash shield off",
            "splash shield off, deferred",
            "studs to be tightened again after 50 km, to 45 N·m",
        ]
    );
}

#[test]
fn what_was_deferred_is_found_among_the_outstanding() {
    let shield = |how, deferred| {
        Kept::Data(Outstanding {
            item: "shield".into(),
            name: "splash shield".to_owned(),
            how,
            deferred,
        })
    };
    let item = Id::new("shield");
    let deferred = shield(HowLeft::Off, true);
    assert!(deferred.is_deferred() && deferred.is_still(&item, "whatever it was called"));
    assert!(!deferred.is_still(&"bracket".into(), "splash shield off"));
    assert!(!shield(HowLeft::Off, false).is_still(&item, "splash shield off"));

    let told = |text: &str| Kept::<Outstanding>::Told(text.to_owned());
    assert!(told("splash shield off, deferred").is_still(&item, "splash shield off"));
    assert!(told("gap not measured, deferred").is_still(&item, "gap not done"));
    assert!(!told("splash shield off").is_still(&item, "splash shield off"));
    assert!(!told("splash shield off").is_deferred());
}

/// The codes as they stand in journals: one that is renamed makes open jobs look tampered with.
#[test]
fn codes_keep_their_names() {
    let torque: TorqueValue = "45 N·m".parse().unwrap();
    let set = TorqueToSet {
        set: torque,
        source: Some("33 lbf·ft".parse().unwrap()),
        still_to_add: Some("running torque".to_owned()),
        angle: Some(90),
        to_yield: true,
    };
    let left = |how| Outstanding {
        item: "a".into(),
        name: "b".to_owned(),
        how,
        deferred: true,
    };
    let mut written = Vec::new();
    let mut write = |value: serde_json::Value| written.push(value.to_string());
    for why in [
        Refusal::NotTheWords,
        Refusal::WordsOfAnother,
        Refusal::NotTheColour,
        Refusal::SpokenWordsOnly,
        Refusal::HeardWithDoubt,
        Refusal::SaidBeforeAsked,
        Refusal::NextInstead,
        Refusal::YesInstead,
        Refusal::NoInstead,
        Refusal::NotYet,
        Refusal::NotSo,
    ] {
        write(serde_json::to_value(why).unwrap());
    }
    for why in [
        VoidReason::TakenUpAgain,
        VoidReason::ClockSetBack,
        VoidReason::LongPause,
        VoidReason::ReachedAgain,
        VoidReason::StepUndoesIt,
        VoidReason::TakenOver,
        VoidReason::WaitsForPart,
        VoidReason::TakenBack {
            words: "no".to_owned(),
        },
    ] {
        write(serde_json::to_value(why).unwrap());
    }
    let stages = vec![Stage::Percent(50), Stage::Torque(torque), Stage::Angle(90)];
    for how in [
        TightenedHow::Passes(stages),
        TightenedHow::Order(Pattern::InTurn),
        TightenedHow::Threads("dry".to_owned()),
        TightenedHow::Threadlocker("medium".to_owned()),
    ] {
        write(serde_json::to_value(how).unwrap());
    }
    for how in [
        HowLeft::Loose,
        HowLeft::HandTight,
        HowLeft::Off,
        HowLeft::As("unplugged".to_owned()),
        HowLeft::NotMeasured,
    ] {
        write(serde_json::to_value(left(how)).unwrap());
    }
    for running in [
        RunningTorque::Added(torque),
        RunningTorque::NotMeasured("running torque".to_owned()),
    ] {
        write(
            serde_json::to_value(WantedTorque {
                torque: "45 ± 5 N·m".to_owned(),
                angle: Some(90),
                running: Some(running),
            })
            .unwrap(),
        );
    }
    for after in ["50 km", "30 miles", "20 minutes"] {
        write(
            serde_json::to_value(TightenAgain {
                fastener: "studs".into(),
                name: "studs".to_owned(),
                after: after.parse().unwrap(),
                torque: set.clone(),
            })
            .unwrap(),
        );
    }
    insta::assert_snapshot!(written.join("\n"));
}

#[test]
fn what_is_kept_is_read_as_it_was_written() {
    let closed = Entry::Closed {
        outcome: Outcome::Finished,
        outstanding: vec![Kept::Data(Outstanding {
            item: "gap".into(),
            name: "gap".to_owned(),
            how: HowLeft::NotMeasured,
            deferred: true,
        })],
        again: vec![Kept::Data(TightenAgain {
            fastener: "studs".into(),
            name: "studs".to_owned(),
            after: "50 km".parse().unwrap(),
            torque: TorqueToSet {
                set: "45 N·m".parse().unwrap(),
                source: None,
                still_to_add: None,
                angle: None,
                to_yield: false,
            },
        })],
    };
    let refused = Entry::GateRefused {
        gate: "g".into(),
        tried: "done".to_owned(),
        why: Refusal::NextInstead,
    };
    let voided = Entry::Voided {
        fact: "f".into(),
        why: VoidReason::TakenBack {
            words: "no wait".to_owned(),
        },
    };
    let done = Entry::Done {
        step: "s".into(),
        text: StepText::Open {
            text: "Loosen it with the {size}.".to_owned(),
            torque: None,
            size: Some(DriveSize {
                size: "13 mm".to_owned(),
                shape: DriveShape::Hex,
            }),
        },
        renewed: None,
        part_number: None,
    };
    for entry in [closed, refused, voided, done] {
        let text = serde_json::to_string(&entry).unwrap();
        assert_eq!(serde_json::from_str::<Entry>(&text).unwrap(), entry);
    }
}
