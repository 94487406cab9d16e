//! What is seen agrees with what is said aloud, at every step of every shipped procedure.
//!
//! The conversions are checked from outside: NIST SP 811 (2008), appendix B.8, gives 1 lbf·ft = 1.355 818 N·m.

use page::Glance;
use page::glance::StepKind;
use sayback::library::Shelf;
use sayback::view::glance::{Last, glance};
use sayback::work::technician::Talk;
use std::sync::Arc;
use steps::quantity::{Toolbox, TorqueUnit};
use steps::{Certainty, Command, Effect, Heard, Input, Job, Mode, Moment, Settings};
use words::now::StateGrammar;

/// NIST SP 811 (2008), appendix B.8.
const NEWTON_METRES_IN_A_POUND_FOOT: f64 = 1.355_818;

/// Invented tools.
const TOOLS: &str = r#"
[[torque_wrench]]
name = "half-inch click wrench"
scale = "20–150 lbf·ft"
step = "1 lbf·ft"
calibration_due = "2001-01-31"

[[torque_wrench]]
name = "small click wrench"
scale = "5–50 N·m"
step = "0.5 N·m"
"#;

/// 14 November 2023.
const START: Moment = Moment(1_700_000_000_000);

fn heard(words: &str) -> Heard {
    Heard {
        words: words.to_owned(),
        certainty: Certainty::Sure,
        evidence: None,
        sound: None,
    }
}

/// What a job would say to this; it itself notices nothing.
fn would_say(job: &Job, command: Command) -> Vec<String> {
    said_to(&mut job.clone(), command)
}

/// The same, but of a list all of it: what five things at a time would be told by "go on", in one sentence.
fn would_list(job: &Job, command: Command) -> Vec<String> {
    let mut asked = job.clone();
    let mut said = said_to(&mut asked, command);
    while let Some(first) = said
        .first()
        .and_then(|it| it.strip_suffix("; and more. Say go on."))
    {
        let rest = said_to(&mut asked, Command::CarryOn);
        said = vec![format!("{first}; {}", rest[0])];
    }
    said
}

fn said_to(asked: &mut Job, command: Command) -> Vec<String> {
    let input = Input::Said {
        command,
        heard: heard("…"),
    };
    let effects = asked.take(input, START);
    let said = effects.into_iter().filter_map(|effect| match effect {
        Effect::Say(sentence) => Some(sentence.text),
        Effect::Hush | Effect::Manner(_) | Effect::Write(_) | Effect::Wake(_) => None,
    });
    said.collect()
}

/// Works a shipped procedure to its end, and looks at each place.
fn work(name: &str, settings: Settings, look: &mut dyn FnMut(&Job, &Glance)) {
    let procedure = Arc::new(Shelf::Shipped.load(name).unwrap());
    let mut job = Job::new(procedure, settings);
    let mut talk = Talk::default();
    job.take(Input::Begin, START);
    let mut said = 0;
    loop {
        look(&job, &glance(&job, name, &Last::default(), START));
        let Some(words) = talk.says(&job) else { break };
        let grammar = StateGrammar::compile(&job.listen()).unwrap();
        let command = match grammar.takes_dictation() {
            true => Command::Dictation {
                words: words.clone(),
            },
            false => grammar.parse(&words).unwrap(),
        };
        job.take(
            Input::Said {
                command,
                heard: heard(&words),
            },
            START,
        );
        said += 1;
        assert!(said < 500, "{name} goes in circles");
    }
    assert!(job.outcome().is_some());
}

/// Every shipped procedure with these units, without tools and, where that is wanted, with.
fn everywhere(units: &[TorqueUnit], tools: bool, look: &mut dyn FnMut(&Job, &Glance)) {
    let mut boxes = vec![None];
    if tools {
        boxes.push(Some(Toolbox::read(TOOLS).unwrap()));
    }
    for name in Shelf::Shipped.names().unwrap() {
        for unit in units {
            for tools in &boxes {
                let settings = Settings {
                    unit: *unit,
                    tools: tools.clone(),
                    ..Settings::default()
                };
                work(&name, settings, look);
            }
        }
    }
}

/// Every shipped procedure, once.
fn once(look: &mut dyn FnMut(&Job, &Glance)) {
    everywhere(&[TorqueUnit::PoundFoot], false, look);
}

/// The number that a text begins with.
fn number(text: &str) -> f64 {
    text.split(' ').next().unwrap().parse().unwrap()
}

#[test]
fn the_size_seen_is_the_size_said() {
    let mut seen = 0;
    once(&mut |job, glance| {
        let said = would_say(job, Command::WhatSize);
        match &glance.size {
            Some(size) => {
                let wanted = format!("{} {}", size.label, size.shape_name);
                assert!(said[0].starts_with(&wanted), "{said:?}: {size:?}");
                if let Some(width) = size.label.strip_suffix(" mm") {
                    assert_eq!(size.across_flats_mm, Some(width.parse().unwrap()));
                }
                seen += 1;
            }
            None => {
                let none = ["There's no fastener", "No size is given"];
                let no_place = said.is_empty();
                assert!(
                    no_place || none.iter().any(|it| said[0].starts_with(it)),
                    "{said:?}"
                );
            }
        }
    });
    assert!(seen > 20, "{seen}");
}

#[test]
fn the_torque_seen_is_the_torque_said_in_both_units() {
    let (mut seen, mut on_a_wrench, mut in_passes) = (0, 0, 0);
    let units = [TorqueUnit::NewtonMetre, TorqueUnit::PoundFoot];
    everywhere(&units, true, &mut |job, glance| {
        let tightens = glance
            .step
            .as_ref()
            .is_some_and(|step| step.kind == StepKind::Tighten);
        let Some(torque) = &glance.torque else {
            if tightens {
                assert!(would_say(job, Command::WhatTorque)[0].starts_with("No torque is given"));
            }
            return;
        };
        seen += 1;
        let said = would_say(job, Command::WhatTorque);
        assert!(said[0].contains(&torque.told), "{said:?}: {torque:?}");
        for pass in &torque.passes {
            in_passes += 1;
            assert!(said[0].contains(pass), "{said:?}: {pass}");
        }
        if let Some(angle) = &torque.angle {
            assert!(said[0].contains(angle), "{said:?}: {angle}");
        }
        assert_eq!(
            said[0].contains("In a star"),
            glance
                .pattern
                .as_ref()
                .is_some_and(|it| it.name == page::glance::PatternName::Star)
        );
        // Both units are the same torque, to what a scale shows: 1 % each way.
        let (metric, foot) = (number(&torque.newton_metre), number(&torque.foot_pound));
        assert!(
            torque.newton_metre.ends_with("N·m") && torque.foot_pound.ends_with("lbf·ft"),
            "{torque:?}"
        );
        let exact = torque.value_newton_metre;
        assert!((metric / exact - 1.0).abs() <= 0.0101, "{torque:?}");
        assert!(
            (foot * NEWTON_METRES_IN_A_POUND_FOOT / exact - 1.0).abs() <= 0.0101,
            "{torque:?}"
        );
        match &torque.wrench {
            Some(wrench) => {
                on_a_wrench += 1;
                assert!(said[0].contains(&wrench.name), "{said:?}: {wrench:?}");
                assert!(wrench.least <= wrench.setting && wrench.setting <= wrench.most);
                let set = format!("{} {}", wrench.setting, wrench.unit);
                assert!(torque.told.starts_with(&set), "{}: {set}", torque.told);
                let overdue = wrench.name == "half-inch click wrench";
                assert_eq!(
                    wrench
                        .warning
                        .as_ref()
                        .is_some_and(|it| it.contains("overdue")),
                    overdue
                );
                for warning in said.iter().skip(1) {
                    assert!(
                        wrench.warning.as_ref().unwrap().contains(warning.as_str()),
                        "{warning}"
                    );
                }
            }
            None => assert_eq!(
                torque.no_wrench.is_some(),
                said.iter().any(|it| it.starts_with("None of your"))
            ),
        }
    });
    assert!(
        seen > 20 && on_a_wrench > 5 && in_passes > 5,
        "{seen} {on_a_wrench} {in_passes}"
    );
}

#[test]
fn a_gate_is_shown_with_the_words_that_open_it() {
    let mut seen = 0;
    once(&mut |job, glance| {
        assert_eq!(glance.gate.is_some(), job.holding().is_some());
        let Some(gate) = &glance.gate else { return };
        seen += 1;
        let readback = job.listen().readback.unwrap();
        assert_eq!(steps::procedure::as_heard(&gate.readback), readback.words);
        assert_eq!(
            glance.say_now[0], readback.words,
            "first of all that can be said"
        );
        let said = would_say(job, Command::ReadTheWarning);
        assert!(said[0].contains(&gate.ask), "{said:?}: {}", gate.ask);
        let why = would_say(job, Command::Why);
        assert!(why[0].contains(&gate.means), "{why:?}: {}", gate.means);
        let kind = match gate.check {
            true => StepKind::Check,
            false => StepKind::HoldPoint,
        };
        assert_eq!(glance.step.as_ref().unwrap().kind, kind);
        assert_eq!(
            gate.signal.is_none(),
            gate.check,
            "only a hold point has one"
        );
        let held = job.procedure().gates.get(job.holding().unwrap()).unwrap();
        assert_eq!(gate.check, !held.is_hold_point());
        assert!(glance.torque.is_none() && glance.size.is_none());
    });
    assert!(seen > 8, "{seen}");
}

#[test]
fn what_is_off_and_what_can_be_said_are_as_they_are_told() {
    let mut seen = 0;
    once(&mut |job, glance| {
        if job.outcome().is_some() {
            return;
        }
        let off = would_list(job, Command::WhatsOff);
        if let Some(told) = off.first() {
            for thing in &glance.off {
                seen += 1;
                assert!(
                    told.contains(&format!("{} {}", thing.what, thing.state)),
                    "{told}: {thing:?}"
                );
            }
            assert_eq!(
                glance.off.is_empty(),
                told == "Everything is in place.",
                "{told}"
            );
        }
        if job.asks() {
            // "What can I say" drops the question, and with it the answers to it.
            return;
        }
        let help = would_list(job, Command::Help);
        assert_eq!(
            help[0],
            format!("You can say: {}.", glance.say_now.join("; "))
        );
    });
    assert!(seen > 20, "{seen}");
}

#[test]
fn the_fastener_that_is_called_out_is_the_one_that_is_marked() {
    let mut seen = 0;
    once(&mut |job, glance| {
        let Some(pattern) = &glance.pattern else {
            return;
        };
        let mut called = job.clone();
        for _ in 0..3 * pattern.count {
            let input = Input::Said {
                command: Command::NextFastener,
                heard: heard("next one"),
            };
            let effects = called.take(input, START);
            let now = self::glance(&called, "job", &Last::default(), START);
            let Some(next) = now.pattern.and_then(|it| it.next) else {
                break;
            };
            let said = effects.iter().any(|effect| match effect {
                Effect::Say(sentence) => sentence.text.contains(&format!(" {next}, at ")),
                Effect::Hush | Effect::Manner(_) | Effect::Write(_) | Effect::Wake(_) => false,
            });
            assert!(said, "{next}: {effects:?}");
            seen += 1;
        }
        // Number 1 is on top, and they go round clockwise (y points down).
        assert_eq!(pattern.places.len(), usize::from(pattern.count));
        assert!(pattern.places[0].x.abs() < 1e-9 && (pattern.places[0].y + 1.0).abs() < 1e-9);
        if pattern.count > 2 {
            assert!(pattern.places[1].x > 0.0);
        }
    });
    assert!(seen > 8, "{seen}");
}

#[test]
fn a_glance_is_one_of_a_rehearsal_where_it_is_one() {
    let settings = Settings {
        mode: Mode::Rehearsal,
        ..Settings::default()
    };
    work("trailer-hub", settings, &mut |_, glance| {
        assert!(glance.job.as_ref().unwrap().rehearsal);
    });
}
