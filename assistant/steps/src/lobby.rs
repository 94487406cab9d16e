//! Where a job is chosen.

use crate::{Command, Id, Listen, PhraseFor, Procedure, Sentence, Tone, procedure::as_heard};

/// The procedures that can be started, by voice.
#[derive(Debug, Clone)]
pub struct Lobby {
    jobs: Vec<(Id, String)>,
}

impl Lobby {
    /// A lobby for these procedures.
    pub fn new<'a>(procedures: impl IntoIterator<Item = &'a Procedure>) -> Self {
        Self {
            jobs: procedures
                .into_iter()
                .map(|it| (it.id.clone(), it.title.clone()))
                .collect(),
        }
    }

    /// What is said first.
    pub fn opening(&self) -> Sentence {
        let titles: Vec<&str> = self.jobs.iter().map(|(_, title)| title.as_str()).collect();
        Sentence::new(
            Tone::Question,
            format!("Which job? Say start, and its name: {}.", titles.join("; ")),
        )
    }

    /// What may be said.
    pub fn listen(&self) -> Listen {
        let phrases = self.jobs.iter().map(|(id, title)| PhraseFor {
            words: format!("start {}", as_heard(title)),
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

    /// The procedure that was asked for, or what to say instead.
    pub fn take(&self, command: &Command) -> Result<Id, Sentence> {
        match command {
            Command::Start { procedure } if self.jobs.iter().any(|(id, _)| id == procedure) => {
                Ok(procedure.clone())
            }
            _other => Err(self.opening()),
        }
    }
}
