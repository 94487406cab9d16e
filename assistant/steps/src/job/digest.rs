//! A digest of a job's state, which shows whether a replay came out the same.

use super::Job;
use super::state::{Core, Known};
use super::taking_back::Recent;
use crate::{Colour, Id};
use serde::Serialize;
use sha2::{Digest, Sha256};

/// The version of what [`Job::digest`] is made from; the digest begins with it. Digests of another version say nothing
/// about this one's. The first version had no number before it.
///
/// A new field of the state that is left out of the JSON while it is empty (`skip_serializing_if`) needs no new
/// version; anything else that changes the JSON of a state does.
pub const STATE_VERSION: u32 = 2;

/// All that decides what is done next.
#[derive(Serialize)]
#[serde(rename_all = "kebab-case")]
struct State<'a> {
    core: &'a Core,
    #[serde(skip_serializing_if = "Option::is_none")]
    known: Option<&'a Known>,
    #[serde(skip_serializing_if = "Option::is_none")]
    asked: Option<&'a (Id, Colour)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    recent: Option<&'a Recent>,
}

impl Job {
    /// SHA-256 of all that decides what is done next, in hexadecimal behind [`STATE_VERSION`] and a colon.
    pub fn digest(&self) -> String {
        format!("{STATE_VERSION}:{:x}", Sha256::digest(self.state_json()))
    }

    /// The state as JSON: names as `serde` writes them, in alphabetical order, without spaces.
    fn state_json(&self) -> String {
        let known = Some(&self.known).filter(|known| **known != Known::default());
        let state = serde_json::to_value(State {
            core: &self.core,
            known,
            asked: self.asked.as_ref(),
            recent: self.recent.as_ref(),
        });
        // All keys in the state are texts, which is the one thing that JSON asks for.
        let mut state = state.expect("the state can be written as JSON");
        state.sort_all_objects();
        state.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Command, Heard, Input, Moment, Procedure, Settings};
    use std::collections::BTreeMap;
    use std::sync::Arc;

    /// An invented job.
    const TEXT: &str = r#"
format = 1
id = "cover"
title = "Gearbox cover"
vehicle = "van of the Saltmarsh ferry depot"
values = "Invented."
minutes = 20
variant = [{ id = "side", ask = "Left or right?", options = [{ id = "left", say = "left" }, { id = "right", say = "right" }] }]
[[fact]]
id = "supported"
means = "the van rests on stands"
[[gate]]
id = "supported"
fact = "supported"
signal = "danger"
ask = "Shove the van."
readback = "Both stands carry it and nothing moved."
[[item]]
id = "shield"
name = "splash shield"
may_wait = true
[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
torque = "25 N·m"
passes = [50, 100]
again_after = "20 minutes"
[[reading]]
id = "gap"
name = "gap"
unit = "mm"
least = "0.0"
most = "9.0"
[[step]]
id = "gap"
action = "measure"
reading = "gap"
text = "Measure the gap."
[[step]]
id = "shield-off"
action = "remove"
item = "shield"
text = "Take the splash shield off."
[[step]]
id = "loosen"
action = "loosen"
fastener = "bolts"
text = "Loosen the {fasteners}."
needs = ["supported"]
[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the {fasteners}."
[[step]]
id = "shield-on"
action = "refit"
item = "shield"
text = "Put the splash shield on."
[[make_safe]]
id = "lower"
action = "do"
text = "Lower the van."
"#;

    fn worked(commands: impl IntoIterator<Item = Command>) -> Job {
        let library = BTreeMap::from([("cover", TEXT)]);
        let procedure = Procedure::load("cover", &library).expect("the job above is one");
        let settings = Settings {
            colours: true,
            corrections: true,
            ..Settings::default()
        };
        let mut job = Job::new(Arc::new(procedure), settings);
        let mut now = Moment(1_772_442_000_000);
        job.take(Input::Begin, now);
        for command in commands {
            now = Moment(now.0 + 10_000);
            let mut heard = Heard::typed("words");
            heard.certainty = crate::Certainty::Sure;
            let colour = job.colour_asked();
            let command = match command {
                Command::Readback { gate, .. } => Command::Readback { gate, colour },
                command => command,
            };
            job.take(Input::Said { command, heard }, now);
        }
        job
    }

    /// As far as the hold point, with a reading that was confirmed a moment ago and the shield off.
    fn in_the_middle() -> Vec<Command> {
        vec![
            Command::Choose {
                variant: "side".into(),
                option: "left".into(),
            },
            Command::Reading {
                value: "0.4".parse().expect("a number"),
            },
            Command::Yes,
            Command::Next,
        ]
    }

    /// A digest that changes makes every open job's record differ from its replay: it takes a new [`STATE_VERSION`].
    #[test]
    fn the_digest_of_a_job_in_the_middle_stays_as_it_is() {
        let job = worked(in_the_middle());
        assert!(job.colour_asked().is_some());
        assert_eq!(
            job.digest(),
            "2:c58b4d959d548a24a3fe4a818cfc79d3e684d91c0080b1175d825a614155e702"
        );
    }

    /// The JSON has names of its own: a field or variant that is renamed in Rust keeps its name here, by
    /// `#[serde(rename = "…")]`.
    #[test]
    fn the_state_is_written_by_names_that_are_not_those_of_rust() {
        let gate = || Command::Readback {
            gate: "supported".into(),
            colour: None,
        };
        let mut just_read = in_the_middle();
        just_read.truncate(3);
        let mut giving_up = in_the_middle();
        giving_up.extend([
            gate(),
            Command::WhereAmI,
            Command::Next,
            Command::NextFastener,
            Command::NextFastener,
            Command::Abandon,
        ]);
        let mut deferring = giving_up.clone();
        let item = "shield".into();
        deferring.extend([
            Command::No,
            Command::Next,
            Command::Yes,
            Command::Defer { item },
        ]);
        let mut opened = in_the_middle();
        opened.push(gate());
        let states = [in_the_middle(), just_read, opened, giving_up, deferring];
        let states = states.map(|commands| worked(commands).state_json());
        insta::assert_snapshot!(states.join("\n\n"));
    }

    #[test]
    fn no_sentence_of_the_program_is_in_the_state() {
        let mut commands = in_the_middle();
        commands.truncate(3);
        let mut job = worked(commands);
        let before = job.digest();
        assert!(matches!(job.recent, Some(Recent::Other { .. })));
        for (_, text) in &mut job.transient.last_answer {
            text.push_str(" And so on.");
        }
        if let Some(Recent::Other { before, .. }) = &mut job.recent {
            before.reword();
        }
        assert_eq!(job.digest(), before);
    }
}
