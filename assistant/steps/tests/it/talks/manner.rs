//! How the assistant speaks when it is asked to speak otherwise.

use crate::talks::talking::Talk;
use steps::quantity::TorqueUnit;
use steps::{Certainty, Command, Effect, Heard, Input, Manner, Settings};

/// An invented cover.
const COVER: &str = r#"
format = 1
id = "cover"
title = "Cover"
vehicle = "ferry depot van"
values = "Invented."
minutes = 5

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
drive = { shape = "hex", size = "10 mm" }
torque = "10 N·m"

[[step]]
id = "bolts-on"
action = "tighten"
fastener = "bolts"
text = "Tighten the {fasteners} crosswise to {torque}."
short = "Bolts to {torque}."
[[make_safe]]
id = "lie-still"
action = "do"
text = "Leave everything as it is."
"#;

fn talk() -> Talk {
    Talk::about("cover", COVER, Settings::default())
}

fn manner(manner: Manner) -> Command {
    Command::Manner { manner }
}

#[test]
fn short_answers_stay_short_until_full_ones_are_asked_for() {
    let mut talk = talk();
    talk.say(manner(Manner::Shorter));
    assert!(talk.say(Command::CarryOn).contains("Bolts to 10 N·m."));
    talk.say(manner(Manner::Fuller));
    assert!(talk.say(Command::CarryOn).contains("crosswise"));
}

#[test]
fn torques_are_told_in_the_unit_that_the_wrench_is_in() {
    let mut talk = talk();
    let unit = Manner::Unit(TorqueUnit::PoundInch);
    assert_eq!(
        talk.say(manner(unit)),
        "(speaks otherwise: Unit(PoundInch)) | Torques in inch-pounds from now on."
    );
    // 10 N·m are 88.5 lbf·in by NIST SP 811, table B.8: 1 lbf·in is 0.1129848 N·m.
    let told = talk.say(Command::WhatTorque);
    assert!(told.starts_with("89 lbf·in"), "{told}");
}

#[test]
fn another_unit_that_was_heard_doubtfully_is_asked_about() {
    let mut talk = talk();
    let unit = manner(Manner::Unit(TorqueUnit::PoundInch));
    let told = talk.how(unit, Certainty::Doubtful);
    assert!(told.starts_with("Did you say"), "{told}");
    assert!(talk.say(Command::Yes).contains("inch-pounds"));
    assert!(talk.say(Command::WhatTorque).starts_with("89 lbf·in"));
    let softer = talk.how(manner(Manner::Softer), Certainty::Doubtful);
    assert!(softer.contains("Softer"), "{softer}");
}

#[test]
fn what_is_asked_for_twice_is_said_slowly_and_slower_slows_what_follows() {
    let mut talk = talk();
    let slowly = |talk: &mut Talk, command| {
        let heard = Heard {
            words: String::new(),
            certainty: Certainty::Sure,
            evidence: None,
            sound: None,
        };
        let effects = talk.job.take(Input::Said { command, heard }, talk.now);
        let said: Vec<bool> = effects
            .iter()
            .filter_map(|effect| match effect {
                Effect::Say(sentence) => Some(sentence.slowly),
                _other => None,
            })
            .collect();
        let slower = effects.contains(&Effect::Manner(Manner::Slower));
        assert!(!said.is_empty());
        (said.iter().all(|slowly| *slowly), slower)
    };
    slowly(&mut talk, Command::WhatTorque);
    assert_eq!(slowly(&mut talk, Command::SayAgain), (false, false));
    assert_eq!(slowly(&mut talk, Command::SayAgain), (true, false));
    slowly(&mut talk, Command::WhatSize);
    assert_eq!(slowly(&mut talk, Command::SayAgain), (false, false));
    assert_eq!(slowly(&mut talk, Command::Slower), (true, true));
}

#[test]
fn asking_to_speak_otherwise_decides_nothing() {
    let mut talk = talk();
    let before = talk.job.digest();
    for manner in Manner::SAID {
        talk.say(Command::Manner { manner });
        assert_eq!(talk.job.digest(), before, "{manner:?}");
    }
}
