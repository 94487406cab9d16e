//! The machine's loudspeaker through speech-dispatcher.
//!
//! The C library behind it can wait for ever on a daemon that died, and its threads abort the process
//! when an event arrives for a connection that was dropped. So the connection lives on a thread of its
//! own, is asked with a time limit, and is never dropped but left behind, silent, when it is given up.

use std::sync::mpsc::{Receiver, Sender, channel};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use tts::{Backends, Tts, UtteranceId};

use crate::daemon::{Address, Daemon};
use crate::speaking::{Speaking, estimate};
use crate::{Settings, Timbre, Voice, VoiceError, WordsPerMinute, speakable};

/// The daemon answers within a few milliseconds; after this it is taken for dead.
const PATIENCE: Duration = Duration::from_secs(2);

/// Speaks through a running speech-dispatcher; reconnects if the daemon was restarted.
pub struct SpeechDispatcher {
    address: Address,
    connection: Connection,
    settings: Settings,
    /// Ends when this voice goes.
    _own_daemon: Option<Daemon>,
}

impl SpeechDispatcher {
    /// Connects to the daemon at [`Address::from_environment`].
    ///
    /// Fails with [`VoiceError::NoDaemon`] when none listens there; never starts one.
    pub fn open(settings: Settings) -> Result<Self, VoiceError> {
        let address = Address::from_environment();
        let connection = Connection::open(&address, settings)?;
        Ok(SpeechDispatcher {
            address,
            connection,
            settings,
            _own_daemon: None,
        })
    }

    /// As [`open`](Self::open), but starts a daemon when none listens; it ends with this voice.
    pub fn open_or_start(settings: Settings) -> Result<Self, VoiceError> {
        let address = Address::from_environment();
        if address.listens() {
            return Self::open(settings);
        }
        match &address {
            Address::Unix(socket) => {
                let daemon = Daemon::start(socket, None)?;
                Ok(SpeechDispatcher {
                    _own_daemon: Some(daemon),
                    ..Self::open(settings)?
                })
            }
            // Somebody chose another machine or port: what runs there is theirs to start.
            Address::Inet(_) => Err(VoiceError::NoDaemon {
                address: address.to_string(),
            }),
        }
    }
}

impl Voice for SpeechDispatcher {
    fn name(&self) -> String {
        "speech-dispatcher".to_owned()
    }

    fn say(&mut self, sentence: &str) -> Result<(), VoiceError> {
        let sentence = speakable(sentence);
        if sentence.is_empty() {
            return Ok(());
        }
        // A missed end may be a slow voice or a dead daemon: a new connection is right for both.
        if self.connection.missed_an_end() {
            self.connection = Connection::open(&self.address, self.settings)?;
        }
        if self.connection.speak(&sentence, self.settings.rate).is_ok() {
            return Ok(());
        }
        self.connection = Connection::open(&self.address, self.settings)?;
        self.connection
            .speak(&sentence, self.settings.rate)
            .map_err(|reason| VoiceError::Lost { reason })
    }

    fn stop(&mut self) {
        // What can't be told to stop has nothing left to speak with; the next sentence reconnects.
        let _ = self.connection.stop();
    }

    fn is_speaking(&self) -> bool {
        self.connection.is_speaking()
    }

    fn set(&mut self, settings: Settings) -> Result<(), VoiceError> {
        self.settings = settings;
        if self.connection.set(settings).is_err() {
            self.connection = Connection::open(&self.address, settings)?;
        }
        Ok(())
    }

    fn settings(&self) -> Settings {
        self.settings
    }

    fn lacks_sounds(&self) -> bool {
        true
    }
}

/// What the thread is asked to do.
enum Order {
    Speak(String),
    Stop,
    Set(Settings),
}

/// What it answers: the number of the utterance, when there is one.
type Answer = Result<Option<u64>, String>;

/// One connection, on its own thread.
struct Connection {
    orders: Sender<(Order, Sender<Answer>)>,
    speaking: Arc<Mutex<Speaking>>,
}

impl Connection {
    fn open(address: &Address, settings: Settings) -> Result<Connection, VoiceError> {
        // The library would start a stray daemon of its own when none listens.
        if !address.listens() {
            return Err(VoiceError::NoDaemon {
                address: address.to_string(),
            });
        }
        let speaking = Arc::new(Mutex::new(Speaking::default()));
        let (orders, received) = channel();
        let (opened, is_open) = channel();
        let heard = Arc::clone(&speaking);
        std::thread::Builder::new()
            .name("speech-dispatcher".to_owned())
            .spawn(move || serve(&heard, &opened, &received))
            .map_err(|source| VoiceError::io("a thread for speech-dispatcher", source))?;
        match is_open.recv_timeout(PATIENCE * 2) {
            Ok(Ok(())) => {}
            Ok(Err(reason)) => return Err(VoiceError::Lost { reason }),
            Err(_) => {
                return Err(VoiceError::Lost {
                    reason: "it accepts and says nothing".into(),
                });
            }
        }
        let connection = Connection { orders, speaking };
        connection
            .set(settings)
            .map_err(|reason| VoiceError::Lost { reason })?;
        Ok(connection)
    }

    fn ask(&self, order: Order) -> Answer {
        let (answer, answered) = channel();
        let gone = |_| "the connection was given up".to_owned();
        self.orders.send((order, answer)).map_err(gone)?;
        answered
            .recv_timeout(PATIENCE)
            .unwrap_or_else(|_| Err("the daemon does not answer".to_owned()))
    }

    fn speak(&self, sentence: &str, rate: WordsPerMinute) -> Result<(), String> {
        let id = self.ask(Order::Speak(sentence.to_owned()))?;
        let id = id.ok_or("the daemon gave the sentence no number")?;
        lock(&self.speaking).began(id, estimate(sentence, rate), Instant::now());
        Ok(())
    }

    fn stop(&self) -> Result<(), String> {
        lock(&self.speaking).stopped();
        self.ask(Order::Stop).map(|_| ())
    }

    fn set(&self, settings: Settings) -> Result<(), String> {
        self.ask(Order::Set(settings)).map(|_| ())
    }

    fn is_speaking(&self) -> bool {
        lock(&self.speaking).is_on(Instant::now())
    }

    fn missed_an_end(&self) -> bool {
        lock(&self.speaking).missed_an_end(Instant::now())
    }
}

/// Opens a connection and carries out orders until nobody can give any.
fn serve(
    speaking: &Arc<Mutex<Speaking>>,
    opened: &Sender<Result<(), String>>,
    orders: &Receiver<(Order, Sender<Answer>)>,
) {
    let mut tts = match connect(speaking) {
        Ok(tts) => tts,
        Err(error) => {
            let _ = opened.send(Err(error.to_string()));
            return;
        }
    };
    let _ = opened.send(Ok(()));
    for (order, answer) in orders {
        let done = match order {
            Order::Speak(sentence) => tts.speak(sentence, false).map(number),
            Order::Stop => tts.stop().map(|_| None),
            Order::Set(settings) => set(&mut tts, settings).map(|()| None),
        };
        let _ = answer.send(done.map_err(|error| error.to_string()));
    }
    let _ = tts.stop();
    // Dropped, it would abort the process when the last sentence's end arrives.
    std::mem::forget(tts);
}

fn connect(speaking: &Arc<Mutex<Speaking>>) -> Result<Tts, tts::Error> {
    let tts = Tts::new(Backends::SpeechDispatcher)?;
    let ended = || {
        let speaking = Arc::clone(speaking);
        Box::new(move |utterance: UtteranceId| {
            if let Some(id) = number(Some(utterance)) {
                lock(&speaking).ended(id);
            }
        })
    };
    tts.on_utterance_end(Some(ended()))?;
    tts.on_utterance_stop(Some(ended()))?;
    Ok(tts)
}

fn number(utterance: Option<UtteranceId>) -> Option<u64> {
    utterance.map(|UtteranceId::SpeechDispatcher(id)| id)
}

fn set(tts: &mut Tts, settings: Settings) -> Result<(), tts::Error> {
    tts.set_rate(daemon_rate(settings.rate))?;
    // Which voices a daemon has is its own matter; every module takes a pitch, −100 to 100.
    tts.set_pitch(match settings.timbre {
        Timbre::Deep => 0.0,
        Timbre::Bright => 40.0,
    })?;
    // The protocol's volume goes from −100 to 100.
    tts.set_volume(f32::from(settings.volume.percent()) * 2.0 - 100.0)?;
    Ok(())
}

/// The protocol's rate, −100 to 100, from words per minute: the espeak-ng module maps −100 to 80, 0 to
/// 170 and 100 to 449 words a minute, linearly between (its `espeak-ng.conf`, "Rate control").
fn daemon_rate(rate: WordsPerMinute) -> f32 {
    let words = f32::from(rate.words());
    if words < 170.0 {
        (words - 170.0) / 90.0 * 100.0
    } else {
        (words - 170.0) / 279.0 * 100.0
    }
}

/// The state is whole between any two statements, so a panic elsewhere leaves it usable.
fn lock(speaking: &Mutex<Speaking>) -> MutexGuard<'_, Speaking> {
    speaking.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_range_of_rates_is_the_protocols_range() {
        assert_eq!(daemon_rate(WordsPerMinute::SLOWEST), -100.0);
        assert_eq!(daemon_rate(WordsPerMinute::new(170)), 0.0);
        assert_eq!(daemon_rate(WordsPerMinute::FASTEST), 100.0);
    }
}
