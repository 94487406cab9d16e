//! Where a job is chosen, and the vehicle that it is done on.

use crate::procedure::{Vehicle, as_heard};
use crate::{Command, Id, Listen, PhraseFor, Procedure, Sentence, Tone};

/// What can be chosen by voice before a job begins.
#[derive(Debug, Clone)]
pub struct Lobby {
    question: String,
    /// What is said, and what is chosen by it.
    choices: Vec<(String, Id)>,
}

impl Lobby {
    /// A lobby for these procedures.
    pub fn new<'a>(procedures: impl IntoIterator<Item = &'a Procedure>) -> Self {
        let (titles, choices): (Vec<&str>, Vec<_>) = procedures
            .into_iter()
            .map(|it| {
                let said = format!("start {}", as_heard(&it.title));
                (it.title.as_str(), (said, it.id.clone()))
            })
            .unzip();
        Self {
            question: format!("Which job? Say start, and its name: {}.", titles.join("; ")),
            choices,
        }
    }

    /// A lobby for the vehicles that a job can be done on.
    pub fn of_vehicles<'a>(vehicles: impl IntoIterator<Item = &'a Vehicle>) -> Self {
        let (called, choices): (Vec<&str>, Vec<_>) = vehicles
            .into_iter()
            .filter_map(|it| {
                let choices = it.names.iter().map(|name| (name.clone(), it.id.clone()));
                Some((it.names.first()?.as_str(), choices.collect::<Vec<_>>()))
            })
            .unzip();
        Self {
            question: format!("Which vehicle? Say its name: {}.", called.join("; ")),
            choices: choices.into_iter().flatten().collect(),
        }
    }

    /// What is said first.
    pub fn opening(&self) -> Sentence {
        Sentence::new(Tone::Question, self.question.clone())
    }

    /// What may be said.
    pub fn listen(&self) -> Listen {
        let phrases = self.choices.iter().map(|(words, id)| PhraseFor {
            words: words.clone(),
            command: Command::Start {
                procedure: id.clone(),
            },
        });
        Listen {
            commands: vec![Command::SayAgain, Command::Stop],
            phrases: phrases.collect(),
            ..Listen::default()
        }
    }

    /// The name of what was chosen, or what to say instead.
    pub fn take(&self, command: &Command) -> Result<Id, Sentence> {
        match command {
            Command::Start { procedure } if self.choices.iter().any(|(_, id)| id == procedure) => {
                Ok(procedure.clone())
            }
            _other => Err(self.opening()),
        }
    }
}
