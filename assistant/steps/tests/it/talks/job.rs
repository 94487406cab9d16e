//! What the job answers, in plain words.

use crate::talks::talking::{START, Talk, said};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use steps::codes::{InWords, Refusal};
use steps::quantity::TorqueUnit;
use steps::{
    CORRECTION_WINDOW, Certainty, Colour, Command, Entry, Input, Job, Language, Mode, Moment,
    Outcome, People, Procedure, Settings,
};

pub(super) const TEXT: &str = r#"
format = 1
id = "cover"
title = "Pump cover"
vehicle = "ferry depot pump"
values = "Invented."
minutes = 20

[[fact]]
id = "isolated"
means = "the pump is isolated"
[[gate]]
id = "isolated"
fact = "isolated"
signal = "danger"
ask = "Lock the switch off and try to start the pump."
readback = "Switch locked, start button tried, nothing ran."
good_for_minutes = 30

[[item]]
id = "cover"
name = "pump cover"
may_wait = true
[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
drive = { shape = "hex", size = "13 mm" }
torque = "25 N·m"
passes = [50, 100]
pattern = "criss-cross"
may_wait = true
[[reading]]
id = "gap"
name = "impeller gap"
unit = "mm"
least = "0.0"
most = "2.0"
max = "0.5"
out = "worn"
may_wait = true
[[branch]]
id = "worn"
[[branch.step]]
id = "order"
action = "do"
text = "Order an impeller."
[[branch]]
id = "stuck"
say = ["it is stuck"]
[[branch.step]]
id = "tap"
action = "do"
text = "Tap around the rim."

[[step]]
id = "bolts-off"
action = "loosen"
fastener = "bolts"
text = "Loosen the {count} {fasteners}, {size}."
needs = ["isolated"]
[[step]]
id = "cover-off"
action = "remove"
item = "cover"
text = "Lift the cover off."
why = "The impeller is behind it."
needs = ["isolated"]
helpers = ["stuck"]
[step.warning]
signal = "caution"
text = "The edge is sharp."
[[step]]
id = "measure-gap"
action = "measure"
reading = "gap"
text = "Measure the impeller gap."
needs = ["isolated"]
[[step]]
id = "soak"
action = "wait"
minutes = 5
text = "Let the seal soak."
[[step]]
id = "cover-on"
action = "refit"
item = "cover"
text = "Put the cover back."
needs = ["isolated"]
[[step]]
id = "bolts-on"
action = "tighten"
fastener = "bolts"
text = "Tighten to {torque}."
needs = ["isolated"]
[[step]]
id = "unlock"
action = "do"
text = "Take the lock off the switch."
voids = ["isolated"]
[[make_safe]]
id = "tag"
action = "do"
text = "Tag the switch."
"#;

impl Talk {
    fn new(settings: Settings) -> Self {
        Self::of(TEXT, settings)
    }

    fn of(text: &str, settings: Settings) -> Self {
        Self::about("cover", text, settings)
    }

    fn gone_on_to(self, step: &str) -> Self {
        let mut talk = self;
        talk.open();
        while talk.job.step().is_none_or(|it| it.id.as_str() != step) {
            match talk.job.step().map(|it| it.id.to_string()).as_deref() {
                Some("measure-gap") => {
                    talk.say(Command::Reading {
                        value: "0.3".parse().unwrap(),
                    });
                    talk.say(Command::Yes);
                }
                Some("soak") => {
                    talk.now = Moment(talk.now.0 + 6 * 60_000);
                    talk.say(Command::Next);
                }
                _ => {
                    talk.say(Command::Next);
                }
            }
        }
        talk
    }

    fn open(&mut self) -> String {
        self.say(Command::Readback {
            gate: "isolated".into(),
            colour: None,
        })
    }
}

fn at(step: &str) -> Talk {
    Talk::new(Settings::default()).gone_on_to(step)
}

#[test]
fn a_gate_is_told_with_its_hazard_and_its_words() {
    let mut talk = Talk::new(Settings::default());
    let told = talk.say(Command::WhereAmI);
    assert!(
        told.contains(
            "Danger. Hold point. Lock the switch off and try to start the pump. Say: Switch locked"
        ),
        "{told}"
    );
}

#[test]
fn a_check_states_no_danger_asks_for_no_check_word_and_opens_to_its_words_alone() {
    let text = TEXT.replace(
        "signal = \"danger\"",
        "signal = \"warning\"\nweight = \"check\"",
    );
    let mut talk = Talk::of(
        &text,
        Settings {
            colours: true,
            ..Settings::default()
        },
    );
    let told = talk.say(Command::WhereAmI);
    assert!(told.contains("| Check. Lock the switch off"), "{told}");
    assert_eq!(talk.job.colour_asked(), None);
    talk.say(Command::Next);
    talk.how(with_colour(None), Certainty::Doubtful);
    talk.how(with_colour(None), Certainty::Typed);
    talk.say(with_colour(Some(Colour::Brown)));
    assert_eq!(talk.job.facts().count(), 0);
    talk.say(with_colour(None));
    assert!(matches!(
        talk.written.last(),
        Some(Entry::GateOpened { .. })
    ));
}

#[test]
fn nothing_but_its_own_words_opens_a_gate() {
    let mut talk = Talk::new(Settings::default());
    for command in [
        Command::Next,
        Command::Yes,
        Command::Back,
        Command::NotYet,
        Command::Finish,
        Command::NextFastener,
    ] {
        talk.say(command.clone());
        assert_eq!(talk.job.facts().count(), 0, "{command:?}");
    }
    let readback = Command::Readback {
        gate: "isolated".into(),
        colour: None,
    };
    let doubted = talk.how(readback.clone(), Certainty::Doubtful);
    assert!(doubted.contains("not sure I heard"), "{doubted}");
    let typed = talk.how(readback.clone(), Certainty::Typed);
    assert!(typed.contains("only opens by voice"), "{typed}");
    assert_eq!(talk.job.facts().count(), 0);
    assert!(talk.say(readback).starts_with("Heard and recorded."));
    assert_eq!(talk.job.facts().count(), 1);
}

#[test]
fn a_report_that_it_is_not_so_keeps_the_gate_shut_and_the_record_says_what_was_reported() {
    for (command, why) in [
        (Command::NotSo, Refusal::NotSo),
        (Command::NotYet, Refusal::NotYet),
        (Command::No, Refusal::NoInstead),
    ] {
        let mut talk = Talk::new(Settings::default());
        for certainty in [Certainty::Sure, Certainty::Doubtful, Certainty::Typed] {
            let told = talk.how(command.clone(), certainty);
            assert_eq!(
                told, "Sounds like it isn't right yet. Fix it, then tell me.",
                "{command:?}"
            );
            assert_eq!(talk.job.facts().count(), 0);
            let Some(Entry::GateRefused {
                tried, why: kept, ..
            }) = talk.written.last()
            else {
                panic!("{:?}", talk.written.last());
            };
            assert_eq!(*kept, why);
            assert!(!tried.is_empty());
        }
    }
}

#[test]
fn a_gate_said_again_is_its_words_alone_and_slowly_all_of_it() {
    let mut talk = Talk::new(Settings::default());
    talk.say(Command::ReadTheWarning);
    let words = "Say: Switch locked, start button tried, nothing ran.";
    talk.say(Command::NotSo);
    assert_eq!(talk.say(Command::SayAgain), words);
    let whole = talk.say(Command::SayAgain);
    assert!(whole.contains("Hold point. Lock the switch off"), "{whole}");
}

/// A gate that has just opened, with corrections listened for.
fn just_opened() -> (Talk, Command) {
    let mut talk = Talk::new(Settings {
        corrections: true,
        ..Settings::default()
    });
    let readback = Command::Readback {
        gate: "isolated".into(),
        colour: None,
    };
    assert_eq!(talk.say(readback.clone()), "", "a sound tells it");
    (talk, readback)
}

#[test]
fn a_gate_that_has_just_opened_announces_nothing_until_it_can_no_longer_be_taken_back() {
    let (mut talk, readback) = just_opened();
    let ends = Moment(talk.now.0 + CORRECTION_WINDOW.as_millis() as u64);
    assert_eq!(talk.wake, Some(ends));
    for command in [Command::Next, Command::Yes] {
        assert_eq!(talk.say(command), "", "the step comes by itself");
    }
    assert_eq!(talk.say(readback), "Heard and recorded.");
    assert!(talk.job.step().is_none() && talk.job.holding().is_some());
    talk.now = Moment(ends.0 - 1);
    assert_eq!(talk.input(Input::Woke), "");
    talk.now = ends;
    let goes_on = talk.input(Input::Woke);
    assert!(goes_on.starts_with("Heard and recorded. | "), "{goes_on}");
    assert!(talk.job.step().is_some());
    let late = talk.say(Command::TakeBack);
    assert_eq!(late, "There's nothing to take back.");
    assert_eq!(talk.job.facts().count(), 1);
}

#[test]
fn a_correction_closes_a_gate_that_has_just_opened_and_it_asks_anew() {
    for correction in [
        Command::No,
        Command::NotYet,
        Command::NotSo,
        Command::HoldOn,
        Command::TakeBack,
    ] {
        let (mut talk, readback) = just_opened();
        let told = talk.how(correction.clone(), Certainty::Doubtful);
        assert!(told.starts_with("Taken back. | "), "{correction:?}: {told}");
        assert!(told.contains("Hold point"), "{told}");
        assert_eq!(talk.job.facts().count(), 0);
        assert!(matches!(talk.written.last(), Some(Entry::Voided { .. })));
        assert_eq!(talk.say(readback), "", "it opens again");
        assert_eq!(talk.job.facts().count(), 1);
    }
}

/// Somebody at the gate of the pump, which asks for a colour.
fn asked_for_a_colour(now: Moment) -> Talk {
    let mut talk = Talk::new(Settings {
        colours: true,
        ..Settings::default()
    });
    talk.now = now;
    talk.input(Input::Resumed);
    talk
}

fn with_colour(colour: Option<Colour>) -> Command {
    Command::Readback {
        gate: "isolated".into(),
        colour,
    }
}

#[test]
fn where_death_is_possible_a_gate_asks_for_a_colour_too() {
    let mut talk = asked_for_a_colour(START);
    let asked = talk.job.colour_asked().expect("a colour is asked for");
    let told = talk.say(Command::WhereAmI);
    let words = format!(
        "Check word: {}. Say: Switch locked, start button tried, nothing ran, then the check word.",
        asked.word(Language::English)
    );
    assert!(told.ends_with(&words), "{told}");
    assert_eq!(talk.job.listen().readback.unwrap().colour, Some(asked));
    let others = Colour::ALL.into_iter().filter(|it| *it != asked);
    for wrong in others.map(Some).chain([None]) {
        let told = talk.say(with_colour(wrong));
        assert!(
            told.starts_with("That's the wrong check word. Check word: "),
            "{told}"
        );
        assert_eq!(talk.job.facts().count(), 0);
        assert_eq!(talk.job.colour_asked(), Some(asked), "it is kept in mind");
    }
    talk.say(with_colour(Some(asked)));
    assert_eq!(talk.job.facts().count(), 1);
    assert_eq!(talk.job.colour_asked(), None);
}

#[test]
fn a_gate_that_asks_anew_asks_for_any_colour() {
    let colours: BTreeSet<_> = (0..60)
        .map(|minute| asked_for_a_colour(Moment(START.0 + minute * 60_000)))
        .map(|talk| talk.job.colour_asked())
        .collect();
    assert_eq!(colours.len(), Colour::ALL.len());
    assert!(!colours.contains(&None));
}

#[test]
fn the_assistant_never_says_the_words_that_open_a_gate_with_a_colour() {
    let mut talk = asked_for_a_colour(START);
    let opens = talk
        .job
        .listen()
        .readback
        .unwrap()
        .in_full(Language::English);
    for command in Command::ALL_PLAIN {
        let told: String = talk
            .say(command)
            .to_lowercase()
            .chars()
            .filter(|it| it.is_alphabetic() || *it == ' ')
            .collect();
        assert!(!told.contains(&opens), "{told}");
    }
}

#[test]
fn a_record_from_before_there_were_colours_is_taken_up_without_them() {
    let settings: Settings =
        serde_json::from_str(r#"{"mode":"work","unit":"N·m","wording":"long"}"#).unwrap();
    let mut talk = Talk::new(settings);
    assert_eq!(talk.job.colour_asked(), None);
    talk.open();
    assert_eq!(talk.job.facts().count(), 1);
}

#[test]
fn a_rehearsal_takes_typed_words_and_says_what_it_is() {
    let mut talk = Talk::new(Settings {
        mode: Mode::Rehearsal,
        ..Settings::default()
    });
    assert!(matches!(
        talk.written[0],
        Entry::Opened {
            rehearsal: true,
            ..
        }
    ));
    talk.how(
        Command::Readback {
            gate: "isolated".into(),
            colour: None,
        },
        Certainty::Typed,
    );
    assert_eq!(talk.job.facts().count(), 1);
}

#[test]
fn a_restart_a_long_pause_and_a_clock_set_back_ask_again() {
    for happens in 0..3 {
        let mut talk = at("cover-off");
        let told = match happens {
            0 => talk.input(Input::Resumed),
            1 => {
                talk.now = Moment(talk.now.0 + 31 * 60_000);
                talk.say(Command::WhereAmI)
            }
            _ => {
                talk.now = Moment(talk.now.0 - 10 * 60_000);
                talk.say(Command::WhereAmI)
            }
        };
        assert!(told.contains("Hold point"), "{happens}: {told}");
        assert!(talk.say(Command::Next).contains("I'm waiting."));
        assert!(
            talk.open().contains("Lift the cover off"),
            "back where we were"
        );
    }
}

#[test]
fn words_that_were_said_before_the_gate_asked_again_open_nothing() {
    let mut talk = at("cover-off");
    talk.minutes_later(31);
    let told = talk.open();
    assert!(told.contains("Hold point"), "{told}");
    assert_eq!(talk.job.facts().count(), 0);
    assert!(matches!(
        talk.written.last(),
        Some(Entry::GateRefused {
            why: Refusal::SaidBeforeAsked,
            ..
        })
    ));
    talk.open();
    assert_eq!(talk.job.facts().count(), 1);
}

#[test]
fn what_a_step_voids_is_asked_again_even_going_back() {
    let mut talk = at("unlock");
    let told = talk.say(Command::Back);
    assert!(told.contains("Hold point"), "{told}");
}

#[test]
fn the_warning_comes_before_the_action() {
    let mut talk = at("bolts-off");
    assert_eq!(
        talk.say(Command::Next),
        "Caution. The edge is sharp. | Lift the cover off."
    );
    assert_eq!(talk.say(Command::Why), "The impeller is behind it.");
}

#[test]
fn questions_in_the_middle_of_a_step_are_answered() {
    let mut talk = at("bolts-off");
    assert_eq!(talk.say(Command::WhatSize), "13 mm hex.");
    assert_eq!(talk.say(Command::HowMany), "4 cover bolts.");
    assert_eq!(
        talk.say(Command::WhatsNext),
        "After this: Lift the cover off."
    );
    assert_eq!(
        talk.say(Command::SayAgain),
        "After this: Lift the cover off."
    );
    assert_eq!(talk.say(Command::WhatsOff), "Everything is in place.");
    talk.say(Command::Next);
    assert_eq!(
        talk.say(Command::WhatsOff),
        "Not in place: cover bolts loose."
    );
    assert_eq!(
        talk.say(Command::WhatTorque),
        "There's no fastener in this step."
    );
}

#[test]
fn the_torque_comes_in_the_unit_of_the_wrench_first() {
    let mut talk = at("bolts-on");
    assert_eq!(
        talk.say(Command::WhatTorque),
        "25 N·m. In 2 passes: 12.5 N·m, then 25 N·m. Criss-cross."
    );
    let library = BTreeMap::from([("cover", TEXT)]);
    let procedure = Arc::new(Procedure::load("cover", &library).unwrap());
    let settings = Settings {
        unit: TorqueUnit::PoundFoot,
        ..Settings::default()
    };
    let mut talk = Talk {
        wake: None,
        job: Job::new(procedure, settings),
        now: START,
        written: vec![],
    };
    talk.input(Input::Begin);
    talk.open();
    // 25 N·m are 18.44 lbf·ft (NIST SP 811); 18.5 is the coarsest scale mark within 1 %.
    assert_eq!(
        talk.say(Command::WhatTorque),
        "18.5 lbf·ft (25 N·m). In 2 passes: 9.2 lbf·ft, then 18.5 lbf·ft. Criss-cross."
    );
}

#[test]
fn fasteners_are_called_out_one_by_one_in_their_pattern() {
    let mut talk = at("bolts-on");
    assert_eq!(
        talk.say(Command::NextFastener),
        "Pass 1 of 2, to 12.5 N·m. Cover bolt 1, at 12 o'clock."
    );
    assert_eq!(
        talk.say(Command::NextFastener),
        "Cover bolt 3, at 6 o'clock."
    );
    let asked = talk.say(Command::Next);
    assert!(asked.starts_with("I've counted 1 of 4."), "{asked}");
    talk.say(Command::No);
    for _ in 0..2 {
        talk.say(Command::NextFastener);
    }
    assert_eq!(
        talk.say(Command::NextFastener),
        "Pass 2 of 2, to 25 N·m. Cover bolt 1, at 12 o'clock."
    );
    for _ in 0..3 {
        talk.say(Command::NextFastener);
    }
    assert_eq!(
        talk.say(Command::NextFastener),
        "All 4 are at final torque. Say next."
    );
    assert!(talk.say(Command::Next).contains("Take the lock off"));
    assert!(
        talk.written
            .iter()
            .any(|entry| matches!(entry, Entry::Tightened { wanted, .. } if wanted.words(Language::English) == "25 N·m"))
    );
}

#[test]
fn a_reading_counts_only_when_it_was_said_back_and_confirmed() {
    let mut talk = at("measure-gap");
    assert_eq!(talk.say(Command::Next), "First I need the impeller gap.");
    let value = "0.7".parse().unwrap();
    assert_eq!(
        talk.say(Command::Reading { value }),
        "Impeller gap 0.7 mm. Is that right?"
    );
    assert_eq!(talk.say(Command::No), "Say the impeller gap again, then.");
    assert!(
        !talk
            .written
            .iter()
            .any(|entry| matches!(entry, Entry::Read { .. }))
    );
    talk.say(Command::Reading { value });
    let told = talk.say(Command::Yes);
    assert!(
        told.contains("Out of limits: it should be at most 0.5 mm."),
        "{told}"
    );
    assert!(
        told.contains("Order an impeller."),
        "out of limits leads into the branch: {told}"
    );
    assert!(
        talk.written
            .iter()
            .any(|entry| matches!(entry, Entry::Read { within: false, .. }))
    );
}

#[test]
fn an_impossible_reading_is_refused() {
    let mut talk = at("measure-gap");
    let told = talk.say(Command::Reading {
        value: "9.9".parse().unwrap(),
    });
    assert_eq!(
        told,
        "9.9 mm can't be right: the impeller gap is between 0.0 and 2.0 mm."
    );
}

#[test]
fn a_helper_branch_leads_back_to_its_step() {
    let mut talk = at("cover-off");
    assert_eq!(
        talk.say(Command::Helper {
            branch: "stuck".into()
        }),
        "Tap around the rim."
    );
    assert!(talk.say(Command::Next).ends_with("Lift the cover off."));
}

#[test]
fn a_wait_is_told_when_over_and_cut_short_only_on_the_record() {
    let mut talk = at("soak");
    let asked = talk.say(Command::Next);
    assert!(asked.contains("still to wait"), "{asked}");
    assert_eq!(talk.say(Command::No), "The wait goes on.");
    talk.now = Moment(talk.now.0 + 5 * 60_000);
    assert_eq!(talk.input(Input::Woke), "Time's up. Say next to go on.");
    assert!(talk.say(Command::Next).contains("Put the cover back"));
    let mut talk = at("soak");
    talk.say(Command::Next);
    talk.say(Command::Yes);
    assert!(talk.written.iter().any(|entry| matches!(
        entry,
        Entry::CutShort {
            seconds_left: 300,
            ..
        }
    )));
}

#[test]
fn finish_names_what_is_forgotten_and_closes_only_with_it_deferred_aloud() {
    let mut talk = at("cover-on");
    let told = talk.say(Command::Finish);
    assert!(
        told.contains("pump cover off") && told.contains("3 steps are left"),
        "{told}"
    );
    assert_eq!(talk.job.outcome(), None);
    let asked = talk.say(Command::Defer {
        item: "cover".into(),
    });
    assert_eq!(asked, "The pump cover stays off, on the record. Yes or no?");
    talk.say(Command::Yes);
    talk.say(Command::Defer {
        item: "bolts".into(),
    });
    talk.say(Command::Yes);
    talk.say(Command::Next);
    let closed = talk.say(Command::Finish);
    assert!(
        closed.contains("work deferred") && closed.contains("pump cover off"),
        "{closed}"
    );
    assert_eq!(talk.job.outcome(), Some(Outcome::Finished));
}

#[test]
fn what_may_not_wait_is_never_deferred() {
    let strict = TEXT.replace("may_wait = true\n", "");
    for (step, item) in [
        ("measure-gap", "gap"),
        ("cover-on", "cover"),
        ("bolts-on", "bolts"),
    ] {
        let mut talk = Talk::of(&strict, Settings::default()).gone_on_to(step);
        let told = talk.say(Command::Finish);
        assert!(!told.contains("defer"), "{told}");
        let offered = talk.job.listen().phrases;
        let defers = |command: &Command| matches!(command, Command::Defer { .. });
        assert!(!offered.iter().any(|phrase| defers(&phrase.command)));
        let told = talk.say(Command::Defer { item: item.into() });
        assert_eq!(told, "You can't leave that for later.");
        talk.say(Command::Yes);
        assert_eq!(talk.job.deferred().count(), 0);
        assert_eq!(talk.job.step().map(|step| step.id.as_str()), Some(step));
    }
}

#[test]
fn giving_up_leads_through_what_makes_it_safe() {
    let mut talk = at("measure-gap");
    talk.say(Command::Abandon);
    let told = talk.say(Command::Yes);
    assert!(
        told.contains("pump cover off") && told.contains("Tag the switch."),
        "{told}"
    );
    // What stays off is named once more: it is the last that is heard of the job.
    let told = talk.say(Command::Next);
    assert!(
        told.contains("The job is given up. Not in place: ") && told.contains("pump cover off"),
        "{told}"
    );
    assert_eq!(talk.job.outcome(), Some(Outcome::Abandoned));
    assert!(
        matches!(talk.written.last(), Some(Entry::Closed { outstanding, .. }) if outstanding.len() == 2)
    );
}

#[test]
fn doubt_asks_and_a_doubtful_stop_stops() {
    let mut talk = at("bolts-off");
    assert_eq!(
        talk.how(Command::Next, Certainty::Doubtful),
        "Did you say …?"
    );
    assert!(talk.say(Command::Yes).contains("Lift the cover off"));
    assert_eq!(talk.how(Command::Stop, Certainty::Doubtful), "(hush)");
}

#[test]
fn held_on_nothing_but_carry_on_and_stop_is_taken() {
    let mut talk = at("bolts-off");
    talk.say(Command::HoldOn);
    assert_eq!(talk.say(Command::Next), "");
    assert_eq!(talk.say(Command::Stop), "(hush)");
    assert!(
        talk.say(Command::CarryOn)
            .contains("Loosen the 4 cover bolts, 13 mm hex.")
    );
}

#[test]
fn a_note_is_kept_with_its_words() {
    let mut talk = at("cover-off");
    talk.say(Command::Note);
    assert!(talk.job.listen().dictation);
    assert_eq!(
        talk.say(Command::Dictation {
            words: "gasket is torn".into()
        }),
        "Noted."
    );
    assert!(
        talk.written
            .iter()
            .any(|entry| matches!(entry, Entry::Noted { words, .. } if words == "gasket is torn"))
    );
}

#[test]
fn a_doubtful_yes_confirms_nothing_and_a_doubtful_no_nothing_either() {
    let mut talk = at("measure-gap");
    let value = "0.3".parse().unwrap();
    talk.say(Command::Reading { value });
    for _ in 0..3 {
        assert_eq!(
            talk.how(Command::Yes, Certainty::Doubtful),
            "I'm not sure. Yes or no?"
        );
    }
    assert_eq!(
        talk.how(Command::No, Certainty::Doubtful),
        "Say the impeller gap again, then."
    );
    assert!(
        !talk
            .written
            .iter()
            .any(|entry| matches!(entry, Entry::Read { .. }))
    );
}

/// Two people of the invented depot, of whom the first begins.
fn two_people(by: Option<&str>) -> Settings {
    let names = ["Mara", "Tobias"].map(str::to_owned).to_vec();
    Settings {
        people: People::new(names, by.map(str::to_owned)).unwrap(),
        ..Settings::default()
    }
}

fn takes_over(person: &str) -> Command {
    Command::TakeOver {
        person: person.into(),
    }
}

fn signs(person: &str) -> Command {
    Command::SignOff {
        person: person.into(),
    }
}

#[test]
fn whoever_takes_over_confirms_every_fact_anew() {
    let mut talk = Talk::of(TEXT, two_people(Some("Mara"))).gone_on_to("cover-on");
    assert_eq!(talk.job.facts().count(), 1);
    let asked = talk.say(takes_over("Tobias"));
    assert_eq!(asked, "Tobias is taking over. Is that right?");
    // Nothing has happened before it is confirmed.
    assert_eq!(talk.job.facts().count(), 1);
    assert_eq!(talk.say(Command::No), "Say the name again, then.");
    assert_eq!(talk.job.by(), Some("Mara"));
    talk.say(takes_over("Tobias"));
    let told = talk.say(Command::Yes);
    assert!(
        told.contains("Tobias has the job")
            && told.contains("pump cover off")
            && told.contains("No longer confirmed: the pump is isolated")
            && told.contains("Hold point"),
        "{told}"
    );
    assert_eq!(talk.job.facts().count(), 0);
    assert!(
        talk.written.iter().any(|entry| matches!(entry,
        Entry::TakenOver { from: Some(from), person, .. } if from == "Mara" && person == "Tobias"))
    );
    // Neither a doubtful "yes" nor a name that isn't one of the bay's hands the job over.
    talk.say(takes_over("Mara"));
    talk.how(Command::Yes, Certainty::Doubtful);
    talk.say(takes_over("Somebody"));
    talk.say(Command::Yes);
    assert_eq!(talk.job.by(), Some("Tobias"));
}

#[test]
fn whoever_takes_over_or_comes_back_counts_the_fasteners_anew() {
    for comes in [Input::Resumed, said(takes_over("Tobias"), Certainty::Sure)] {
        let mut talk = Talk::of(TEXT, two_people(Some("Mara"))).gone_on_to("bolts-on");
        talk.say(Command::NextFastener);
        let third = [Command::NextFastener, Command::NextFastener].map(|it| talk.say(it));
        talk.input(comes);
        talk.say(Command::Yes);
        talk.open();
        let told = talk.say(Command::NextFastener);
        assert!(
            told.starts_with("Pass 1 of 2") && !third.contains(&told),
            "{told}"
        );
    }
}

#[test]
fn a_job_of_named_people_closes_only_with_a_signature() {
    let mut talk = Talk::of(TEXT, two_people(Some("Mara"))).gone_on_to("unlock");
    let told = talk.say(signs("Mara"));
    assert!(
        told.contains("can't sign off until everything is done"),
        "{told}"
    );
    talk.say(Command::Next);
    let told = talk.say(Command::Finish);
    assert!(told.contains("say: signed, Mara"), "{told}");
    assert_eq!(talk.job.outcome(), None);
    let typed = talk.how(signs("Mara"), Certainty::Typed);
    assert_eq!(typed, "You sign off by voice.");
    assert_eq!(
        talk.say(signs("Tobias")),
        "Signed by Tobias. Is that right?"
    );
    talk.say(Command::No);
    talk.say(signs("Mara"));
    assert_eq!(talk.job.outcome(), None);
    assert_eq!(talk.say(Command::Yes), "The job is finished and recorded.");
    assert_eq!(talk.job.outcome(), Some(Outcome::Finished));
    assert!(talk.written.iter().any(|entry| matches!(entry,
        Entry::Signed { person, .. } if person == "Mara")));
}

#[test]
fn with_several_people_and_none_named_the_name_is_asked_for() {
    let mut talk = Talk::of(TEXT, two_people(None));
    assert_eq!(talk.job.by(), None);
    let offered = talk.job.listen().phrases;
    let words: Vec<&str> = offered.iter().map(|it| it.words.as_str()).collect();
    assert!(words.contains(&"mara takes over") && words.contains(&"tobias takes over"));
    talk.say(takes_over("Mara"));
    talk.say(Command::Yes);
    assert_eq!(talk.job.by(), Some("Mara"));
}

#[test]
fn how_long_is_left_goes_by_earlier_jobs_where_there_are_some() {
    // The procedure says 20 minutes, of which the wait takes 5: the other six steps share 15.
    let mut talk = at("cover-off");
    let told = talk.say(Command::HowLongLeft);
    assert_eq!(told, "About 18 of 20 minutes left.");
    // Earlier jobs took 30 minutes for putting the cover back: 20 minutes less the share of 2.5, and 30.
    let settings = Settings {
        usual_seconds: BTreeMap::from([("cover-on".into(), 1800)]),
        ..Settings::default()
    };
    let mut talk = Talk::new(settings);
    let told = talk.say(Command::HowLongLeft);
    assert_eq!(told, "About 50 of 50 minutes left.");
}
