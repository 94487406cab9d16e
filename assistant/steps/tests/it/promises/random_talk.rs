//! The five promises of a gate, driven with random talk over random procedures and over the shipped jobs.

use crate::promises::harness::{
    Folder, SHIPPED, asks_again_after_a_correction, everything, keeps_the_promises, said,
    voids_what_it_undoes,
};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;
use steps::{Certainty, Command, Input, Job, Mode, Moment, Procedure, Settings};

/// One thing that may happen, as three numbers that are read against the state at hand.
type Happening = (u16, u8, u8);

fn happening(job: &Job, (which, kind, how): Happening) -> Input {
    let certainty = match how % 4 {
        0 | 1 => Certainty::Sure,
        2 => Certainty::Doubtful,
        _ => Certainty::Typed,
    };
    let choose = |mut from: Vec<Command>| from.swap_remove(usize::from(which) % from.len());
    match kind % 16 {
        // Mostly what leads on, or else most runs would never leave the first gate.
        0..=3 => said(Command::Next, Certainty::Sure),
        4 | 5 => match job.holding() {
            Some(gate) => {
                let colour = job.colour_asked();
                let gate = gate.clone();
                said(Command::Readback { gate, colour }, certainty)
            }
            None => said(Command::Yes, Certainty::Sure),
        },
        6..=10 => {
            let listen = job.listen();
            let mut may: Vec<Command> = listen.commands.clone();
            may.extend(listen.phrases.iter().map(|phrase| phrase.command.clone()));
            may.retain(|command| !matches!(command, Command::HoldOn | Command::Abandon));
            may.push(Command::CarryOn);
            said(choose(may), certainty)
        }
        11 | 12 => said(choose(everything(job)), certainty),
        13 => Input::NotUnderstood {
            heard: crate::promises::harness::heard(certainty),
        },
        14 if which % 2 == 0 => said(
            [
                Command::TakeBack,
                Command::No,
                Command::NotYet,
                Command::NotSo,
                Command::HoldOn,
            ][usize::from(which / 2) % 5]
                .clone(),
            certainty,
        ),
        14 => Input::Woke,
        _ => {
            if which % 8 == 0 {
                Input::Resumed
            } else {
                Input::Woke
            }
        }
    }
}

/// Lives through it and checks every input.
fn live(
    procedure: &Arc<Procedure>,
    happenings: &[Happening],
    mode: Mode,
) -> Result<Job, TestCaseError> {
    let mut job = Job::new(
        Arc::clone(procedure),
        Settings {
            mode,
            colours: true,
            corrections: true,
            pauses: true,
            ..Settings::default()
        },
    );
    let mut now = Moment(1_700_000_000_000);
    job.take(Input::Begin, now);
    for happened in happenings {
        let before = job.clone();
        let input = happening(&job, *happened);
        // Now and then hours pass, and now and then the clock is set back.
        now = match happened.0 % 97 {
            0 => Moment(now.0 + 5 * 3_600_000),
            1 => Moment(now.0.saturating_sub(3_600_000)),
            more => Moment(now.0 + u64::from(more) * 500),
        };
        let paused = happened.0 % 97 < 2;
        let effects = job.take(input.clone(), now);
        let mut kept = keeps_the_promises(&before, &input, &job);
        if !paused {
            kept = kept
                .and_then(|()| voids_what_it_undoes(&before, &input, &job))
                .and_then(|()| asks_again_after_a_correction(&before, &input, &job));
        }
        if let Err(broken) = kept {
            return Err(TestCaseError::fail(broken));
        }
        if before.outcome().is_none() {
            let stops = job.listen().commands.contains(&Command::Stop);
            prop_assert!(
                stops || job.outcome().is_some(),
                "“stop” isn't heard after {input:?}"
            );
        } else {
            prop_assert!(effects.is_empty(), "a closed job does nothing more");
            break;
        }
    }
    Ok(job)
}

prop_compose! {
    /// A valid procedure: facts with gates that may need earlier ones, steps that need and void them at
    /// random, items that come off and go back, a branch, a question, a reading.
    fn a_procedure()(
        facts in 1usize..6,
        gate_needs in prop::collection::vec(any::<u8>(), 6),
        steps in prop::collection::vec((0u8..9, any::<u8>(), any::<u8>(), any::<bool>()), 1..25),
    ) -> String {
        let name = |n: usize| ["alder", "birch", "cedar", "hazel", "maple", "rowan"][n];
        let mut text = String::from(
            "format = 1\nid = \"made\"\ntitle = \"Made up\"\nvehicle = \"Any\"\nvalues = \"Invented.\"\nminutes = 10\n",
        );
        for (fact, needs) in gate_needs.iter().enumerate().take(facts) {
            let word = name(fact);
            // Only earlier ones, so that no gate ends in needing itself.
            let needs = match usize::from(*needs) % (fact + 1) {
                0 => String::new(),
                n => format!("needs = [\"fact-{}\"]\n", name(n - 1)),
            };
            text += &format!(
                "[[fact]]\nid = \"fact-{word}\"\nmeans = \"the {word} stands\"\n[[gate]]\nid = \"gate-{word}\"\nfact = \"fact-{word}\"\nask = \"Look at it.\"\nreadback = \"the old {word} tree stands upright\"\ncolour = {}\n{needs}",
                fact % 2 == 0,
            );
        }
        text += "[[branch]]\nid = \"trouble\"\nsay = [\"it is stuck\"]\n[[branch.step]]\nid = \"free-it\"\naction = \"do\"\ntext = \"Free it.\"\nneeds = [\"fact-alder\"]\n";
        text += "[[reading]]\nid = \"gap\"\nname = \"gap\"\nunit = \"mm\"\nleast = \"0.0\"\nmost = \"9.9\"\nmin = \"1.0\"\nout = \"trouble\"\n";
        let mut later = String::new();
        for (number, (kind, need, void, helped)) in steps.into_iter().enumerate() {
            let fact = |byte: u8| name(byte as usize % facts);
            let needs = if need % 3 == 0 { String::new() } else { format!("needs = [\"fact-{}\"]\n", fact(need)) };
            let voids = if void % 3 != 0 { String::new() } else { format!("voids = [\"fact-{}\"]\n", fact(void)) };
            let helpers = if helped { "helpers = [\"trouble\"]\n" } else { "" };
            let head = format!("[[step]]\nid = \"step-{number}\"\n{needs}{voids}");
            later += &match kind {
                0 => format!("[[step]]\nid = \"step-{number}\"\naction = \"hold\"\ngate = \"gate-{}\"\n", fact(need)),
                1 => {
                    text += &format!("[[item]]\nid = \"item-{number}\"\nname = \"cover {number}\"\n");
                    format!("{head}{helpers}action = \"remove\"\nitem = \"item-{number}\"\ntext = \"Take it off.\"\n[[step]]\nid = \"back-{number}\"\naction = \"refit\"\nitem = \"item-{number}\"\ntext = \"Put it back.\"\n{needs}")
                }
                2 => {
                    text += &format!("[[fastener]]\nid = \"bolts-{number}\"\nname = \"bolt\"\ncount = 4\ntorque = \"20 N·m\"\npattern = \"criss-cross\"\npasses = [50, 100]\n");
                    format!("{head}{helpers}action = \"loosen\"\nfastener = \"bolts-{number}\"\ntext = \"Loosen them.\"\n[[step]]\nid = \"tight-{number}\"\naction = \"tighten\"\nfastener = \"bolts-{number}\"\ntext = \"Tighten to {{torque}}.\"\n{needs}{voids}")
                }
                3 => format!("{head}action = \"ask\"\ntext = \"Is it good?\"\nno = \"trouble\"\n"),
                4 => format!("{head}{helpers}action = \"measure\"\nreading = \"gap\"\ntext = \"Measure the gap.\"\n"),
                5 => format!("{head}action = \"wait\"\nminutes = 5\ntext = \"Wait.\"\n"),
                _ => format!("{head}{helpers}action = \"do\"\ntext = \"Do it.\"\n"),
            };
        }
        text + &later + "[[make_safe]]\nid = \"tag\"\naction = \"do\"\ntext = \"Tag it.\"\nneeds = [\"fact-alder\"]\n"
    }
}

fn happenings() -> impl Strategy<Value = Vec<Happening>> {
    prop::collection::vec(any::<Happening>(), 1000..3000)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 2000, ..ProptestConfig::default() })]

    #[test]
    fn no_talk_opens_a_gate_of_a_random_procedure(text in a_procedure(), talk in happenings()) {
        let library = BTreeMap::from([("made".to_owned(), text)]);
        let procedure = Procedure::load("made", &library)
            .map_err(|problems| TestCaseError::fail(format!("{:?}", miette::Report::new(problems))))?;
        live(&Arc::new(procedure), &talk, Mode::Work)?;
    }

    #[test]
    fn no_talk_opens_a_gate_of_a_shipped_job(which in 0..SHIPPED.len(), talk in happenings()) {
        let procedure = Procedure::load(SHIPPED[which], &Folder).expect("shipped procedures load");
        live(&Arc::new(procedure), &talk, Mode::Work)?;
    }

    #[test]
    fn the_same_inputs_give_the_same_effects(text in a_procedure(), talk in prop::collection::vec(any::<Happening>(), 1..300)) {
        let library = BTreeMap::from([("made".to_owned(), text)]);
        let procedure = Arc::new(Procedure::load("made", &library).expect("made procedures load"));
        let once = live(&procedure, &talk, Mode::Work)?;
        let twice = live(&procedure, &talk, Mode::Work)?;
        prop_assert_eq!(once.digest(), twice.digest());
    }
}
