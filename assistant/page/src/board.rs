//! Where the job is published, and viewers look.

use crate::glance::{Glance, Level};
use axum::body::Bytes;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// How long a level stands before the next is shown.
const BETWEEN_LEVELS: Duration = Duration::from_millis(100);

/// What is shown now. Clones share it.
#[derive(Debug, Clone)]
pub struct Board {
    glances: watch::Sender<Shown>,
    levels: watch::Sender<Option<Bytes>>,
    last_level: Arc<Mutex<Option<(Instant, Level)>>>,
}

/// A glance as it is sent: written once, however many look.
#[derive(Debug, Clone)]
pub(crate) struct Shown {
    /// Its number.
    pub version: u64,
    /// As JSON.
    pub json: Bytes,
    /// As an event.
    pub event: Bytes,
}

impl Default for Board {
    fn default() -> Self {
        Self {
            glances: watch::Sender::new(Shown::of(Glance::default())),
            levels: watch::Sender::new(None),
            last_level: Arc::default(),
        }
    }
}

impl Board {
    /// Shows how the job stands. Returns at once, whoever looks.
    pub fn publish(&self, mut glance: Glance) {
        self.glances.send_modify(|shown| {
            glance.version = shown.version + 1;
            *shown = Shown::of(glance);
        });
    }

    /// Shows how loud it is; more than ten a second are left out, but never that a microphone came or went.
    pub fn level(&self, level: &Level) {
        let now = Instant::now();
        // A poisoned lock still holds a time.
        let mut last = self.last_level.lock().unwrap_or_else(|it| it.into_inner());
        let too_soon =
            matches!(&*last, Some((last, _)) if now.duration_since(*last) < BETWEEN_LEVELS);
        if too_soon && level.microphone.is_some() {
            return;
        }
        *last = Some((now, level.clone()));
        self.levels.send_replace(Some(event("level", None, level)));
    }

    /// How the job stands now, for a viewer in this program.
    pub fn newest(&self) -> Glance {
        // It was written by this program.
        serde_json::from_slice(&self.glances.borrow().json).unwrap_or_default()
    }

    /// How loud it was last.
    pub fn newest_level(&self) -> Option<Level> {
        let last = self.last_level.lock().unwrap_or_else(|it| it.into_inner());
        last.as_ref().map(|(_, level)| level.clone())
    }

    pub(crate) fn glances(&self) -> watch::Receiver<Shown> {
        self.glances.subscribe()
    }

    pub(crate) fn levels(&self) -> watch::Receiver<Option<Bytes>> {
        self.levels.subscribe()
    }
}

impl Shown {
    fn of(glance: Glance) -> Self {
        // Text and finite numbers always are JSON.
        let json = serde_json::to_vec(&glance).unwrap_or_default();
        Self {
            version: glance.version,
            json: json.into(),
            event: event("glance", Some(glance.version), &glance),
        }
    }
}

/// A server-sent event (WHATWG HTML, section 9.2). JSON is one line.
fn event(name: &str, id: Option<u64>, data: &impl serde::Serialize) -> Bytes {
    let data = serde_json::to_string(data).unwrap_or_default();
    let id = id.map(|id| format!("id: {id}\n")).unwrap_or_default();
    format!("event: {name}\n{id}data: {data}\n\n").into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_glance_has_a_higher_number() {
        let board = Board::default();
        let looking = board.glances();
        let first = looking.borrow().version;
        board.publish(Glance::default());
        board.clone().publish(Glance::default());
        assert_eq!(looking.borrow().version, first + 2);
    }

    #[test]
    fn an_event_is_one_block_of_lines_whatever_the_text() {
        let glance = Glance {
            say_now: vec!["a\nb\r\n\ndata: c".to_owned()],
            ..Glance::default()
        };
        let shown = Shown::of(glance.clone());
        let text = String::from_utf8(shown.event.to_vec()).unwrap();
        assert_eq!(text.lines().count(), 4, "{text}");
        let data = text.lines().find_map(|line| line.strip_prefix("data: "));
        assert_eq!(
            serde_json::from_str::<Glance>(data.unwrap()).unwrap(),
            glance
        );
    }

    #[test]
    fn that_the_microphone_is_gone_is_never_left_out() {
        let board = Board::default();
        let level = |microphone: Option<&str>| Level {
            rms_db: -40.0,
            noise_db: None,
            speech: false,
            microphone: microphone.map(str::to_owned),
        };
        board.level(&level(Some("headset")));
        board.level(&level(None));
        let levels = board.levels();
        let newest = levels.borrow().clone().unwrap();
        assert!(String::from_utf8_lossy(&newest).contains("\"microphone\":null"));
    }
}
