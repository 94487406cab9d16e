//! Follow-up questions on a torque, from sound to sound: the real ear, the technician's tools, the words that
//! would be spoken.

use sayback::work::hearing::Meaning;
use std::collections::BTreeMap;
use steps::quantity::{Toolbox, TorqueUnit};
use steps::{Command, Language, Procedure, Settings};
use whole_jobs::{Minutes, Workshop};

/// An invented wheel, already on the ground.
const WHEEL: &str = r#"
format = 1
id = "wheel"
title = "Wheel"
vehicle = "trailer of the Saltmarsh ferry depot"
values = "Invented."
minutes = 10
[[fastener]]
id = "nuts"
name = "wheel nut"
count = 5
drive = { shape = "hex", size = "19 mm" }
torque = "140 ± 10 N·m"
passes = [50, 100]
pattern = "star"
[[step]]
id = "tighten"
action = "tighten"
fastener = "nuts"
text = "Tighten the {fasteners} to {torque}."
[[step]]
id = "settle"
action = "wait"
minutes = 5
text = "Let the wheel settle."
[[make_safe]]
id = "tag"
action = "do"
text = "Tag the wheel."
"#;

const TOOLS: &str = r#"
[[torque_wrench]]
name = "half-inch wrench"
scale = "20–150 lbf·ft"
step = "1 lbf·ft"
length = "18 in"
calibration_due = "2199-12-31"
[[adapter]]
name = "crow's-foot"
length = "3 in"
[[sockets]]
drive = "1/2 in"
sizes = ["3/4 in"]
"#;

const fn in_unit(unit: TorqueUnit) -> Command {
    Command::InUnit { unit }
}

/// What is asked, what it means, and how the answer begins. 140 N·m are 103.26 lbf·ft, 1239.1 lbf·in, 14.28 kgf·m
/// (exact factors of NIST SP 811); with the adapter 140 × 18 / 21 = 120 N·m = 88.5 lbf·ft (the form of US Army
/// TM 9-254); 3/4 in goes for 19 mm (common practice, no source).
const ASKED: [(&str, Command, &str); 10] = [
    (
        "what torque",
        Command::WhatTorque,
        "103 lbf·ft (140 N·m), half-inch wrench. In 2 passes: 52 lbf·ft, then 103 lbf·ft.",
    ),
    (
        "in newton metres",
        in_unit(TorqueUnit::NewtonMetre),
        "140 N·m. In 2 passes: 70 N·m, then 140 N·m.",
    ),
    (
        "in inch pounds",
        in_unit(TorqueUnit::PoundInch),
        "1240 lbf·in (140 N·m).",
    ),
    (
        "in foot pounds",
        in_unit(TorqueUnit::PoundFoot),
        "103 lbf·ft (140 N·m).",
    ),
    (
        "in kilogram metres",
        in_unit(TorqueUnit::KilogramForceMetre),
        "14.3 kgf·m (140 N·m).",
    ),
    (
        "what's my wrench set to",
        Command::WrenchSetting,
        "Set the half-inch wrench to 103 lbf·ft (140 N·m).",
    ),
    (
        "with the adapter",
        Command::WithAdapter,
        "With the crow's-foot, set the half-inch wrench to 89 lbf·ft; the wheel nut gets 140 N·m.",
    ),
    (
        "what size",
        Command::WhatSize,
        "19 mm hex. You haven't got that one. Your 3/4 in will do: 1/2 in drive socket.",
    ),
    (
        "next nut",
        Command::NextFastener,
        "Pass 1 of 2, to 52 lbf·ft. Wheel nut 1, at 12 o'clock.",
    ),
    (
        "which pass",
        Command::WhichPass,
        "Pass 1 of 2, to 52 lbf·ft. 0 of 5 wheel nuts done.",
    ),
];

fn asks(voice_id: &str) {
    let library = BTreeMap::from([("wheel", WHEEL)]);
    let procedure = Procedure::load("wheel", &library).unwrap();
    let settings = Settings {
        tools: Some(Toolbox::read(TOOLS).unwrap()),
        ..whole_jobs::settings()
    };
    let folder = tempfile::tempdir().unwrap();
    let minutes = Minutes::default();
    let mut show = |line: sayback::work::conversation::Line<'_>| minutes.take_down(line);
    let mut shop = Workshop::open_with(procedure, settings, folder.path(), voice_id, &mut show);
    let wanted: Vec<String> = ASKED
        .iter()
        .map(|(words, ..)| (*words).to_owned())
        .collect();
    shop.prepare(&wanted);
    // The first page of what to lay out is empty, so the job begins at its first step.
    assert!(shop.job().step().is_some());
    for (words, command, answer) in ASKED {
        minutes.said.borrow_mut().clear();
        let meanings = shop.say(words);
        assert_eq!(meanings, [Meaning::Told(command)], "{voice_id}: “{words}”");
        let said = minutes.said.borrow().join(" ");
        assert!(said.starts_with(answer), "{voice_id}: “{words}”: {said}");
        let spoken = words::wording::spoken(Language::English, &said);
        let left = spoken.find(|c: char| c.is_numeric() || "·°%±/×(){}".contains(c));
        assert_eq!(left, None, "{spoken}");
    }
}

#[test]
fn a_man_asks_on_about_a_torque() {
    asks("neural-man");
}

#[test]
fn a_woman_asks_on_about_a_torque() {
    asks("flite-woman");
}
