//! Works a job straight through, to check that everything it waits for can be listened for.

use crate::work::technician;
use steps::procedure::{At, Code, Examined};
use steps::{Command, Procedure};
use words::now::CannotListen;

/// What is said on the way; where it ends early, the finding tells at what.
pub(super) fn check(examined: &mut Examined) -> Vec<String> {
    let Some(procedure) = &examined.procedure else {
        return Vec::new();
    };
    match technician::goes_through(procedure) {
        Ok(said) => said,
        Err(cannot) => {
            let (at, name) = (place(&cannot, procedure), procedure.id.to_string());
            examined.add(
                Code::CannotBeHeard,
                &name,
                &at,
                cannot.to_string(),
                "can't be listened for",
                "word the procedure's own phrase otherwise",
            );
            Vec::new()
        }
    }
}

/// Where the words stand that are to blame.
fn place(cannot: &CannotListen, procedure: &Procedure) -> At {
    match cannot {
        CannotListen::Clash { words, second, .. } => place_of(second, words),
        CannotListen::NoWords(command) => place_of(command, ""),
        CannotListen::DecoyIsReadback(words) => {
            let gate = procedure
                .gates
                .iter()
                .find(|(_, gate)| gate.decoys.contains(words));
            gate.map_or(At::Title, |(id, _)| At::Decoy(id.clone(), words.clone()))
        }
        CannotListen::DenialIsReadback(words) => {
            let mut gates = procedure.gates.iter();
            let gate = gates.find(|(_, gate)| gate.readbacks().any(|it| it == words));
            gate.map_or(At::Title, |(id, _)| At::Readback(id.clone()))
        }
        // Other things are told of the procedure as a whole; the reader has refused too many numbers before.
        _ => At::Title,
    }
}

fn place_of(command: &Command, words: &str) -> At {
    match command {
        Command::Helper { .. } => At::Says(words.to_owned()),
        Command::Choose { variant, option } => At::Option(variant.clone(), option.clone()),
        Command::Defer { item } => At::Name(item.clone()),
        Command::Readback { gate, .. } => At::Readback(gate.clone()),
        _ => At::Title,
    }
}
