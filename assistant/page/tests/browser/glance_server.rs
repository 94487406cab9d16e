//! Serves a glance from a file, for whoever draws the page: `glance_server FILE.json [RECORDS [PORT]]`.
//!
//! The file is read again when it changes. A second file beside it, FILE.level.json, is the level. With a folder of
//! records these can be looked at. What viewers ask for is printed.

use page::{Board, Glance, Level, PORT, Reach, Room, Server};
use serde::de::DeserializeOwned;
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

/// How often the files are looked at.
const OFTEN: Duration = Duration::from_millis(50);

type Failure = Box<dyn std::error::Error>;

fn main() -> Result<(), Failure> {
    let mut given = std::env::args().skip(1);
    let file: PathBuf = given
        .next()
        .ok_or("give a file with a glance in JSON: glance_server FILE.json [RECORDS [PORT]]")?
        .into();
    let records = given.next().filter(|it| !it.is_empty());
    let port = given.next().map(|port| port.parse()).transpose()?;
    let board = Board::default();
    let (actions, asked) = crossbeam_channel::bounded(8);
    let mut room = Room::new(board.clone()).with_actions(actions);
    if let Some(folder) = records {
        room = room.with_records(record::Archive::open(Path::new(&folder))?);
    }
    let address = ([127, 0, 0, 1], port.unwrap_or(PORT)).into();
    let server = Server::start(room, address, Reach::Loopback)?;
    println!("{}", server.url());
    let level_file = file.with_extension("level.json");
    let (mut glance, mut level) = (Read::default(), Read::default());
    loop {
        if let Some(glance) = glance.newer::<Glance>(&file) {
            board.publish(glance);
        }
        if let Some(level) = level.newer::<Level>(&level_file) {
            board.level(&level);
        }
        if let Ok(asked) = asked.recv_timeout(OFTEN) {
            println!("asked for: {asked:?}");
        }
    }
}

/// When a file was read.
#[derive(Default)]
struct Read(Option<SystemTime>);

impl Read {
    /// What is in the file, where it changed.
    fn newer<T: DeserializeOwned>(&mut self, path: &Path) -> Option<T> {
        let changed = std::fs::metadata(path).ok()?.modified().ok()?;
        if self.0 == Some(changed) {
            return None;
        }
        self.0 = Some(changed);
        let text = std::fs::read_to_string(path).ok()?;
        serde_json::from_str(&text)
            .inspect_err(|error| eprintln!("{}: {error}", path.display()))
            .ok()
    }
}
