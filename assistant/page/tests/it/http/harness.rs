//! A server in a bay that is invented, and a client that sends what it is told to.

use page::{Board, Glance, Limits, Rate, Reach, Room, Server};
use record::{Archive, IfChanged, JobId, JournaledJob};
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::sync::Arc;
use std::time::Duration;
use steps::{Certainty, Command, Heard, Input, Moment, Procedure, Settings};

/// So long a test waits for an answer before it fails.
pub const PATIENCE: Duration = Duration::from_secs(30);

/// An answer.
#[derive(Debug, Clone)]
pub struct Answer {
    pub status: u16,
    pub headers: Vec<(String, String)>,
    pub body: Vec<u8>,
}

impl Answer {
    pub fn header(&self, name: &str) -> Option<&str> {
        let mut found = self.headers.iter().filter(|(it, _)| it == name);
        found.next().map(|(_, value)| value.as_str())
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub fn json(&self) -> serde_json::Value {
        serde_json::from_slice(&self.body)
            .unwrap_or_else(|error| panic!("{error}: {}", self.text()))
    }

    pub fn read(stream: &mut impl Read) -> Option<Self> {
        let mut all = Vec::new();
        // A server that closes early resets; what came before counts.
        let _ = stream.read_to_end(&mut all);
        Self::parse(&all)
    }

    pub fn parse(all: &[u8]) -> Option<Self> {
        let end = all.windows(4).position(|four| four == b"\r\n\r\n")?;
        let head = std::str::from_utf8(&all[..end]).ok()?;
        let mut lines = head.split("\r\n");
        let status = lines.next()?.split(' ').nth(1)?.parse().ok()?;
        let headers = lines
            .filter_map(|line| line.split_once(':'))
            .map(|(name, value)| (name.to_ascii_lowercase(), value.trim().to_owned()))
            .collect();
        Some(Self {
            status,
            headers,
            body: all[end + 4..].to_vec(),
        })
    }
}

pub fn connect(address: SocketAddr) -> TcpStream {
    let stream = TcpStream::connect(address).unwrap();
    stream.set_read_timeout(Some(PATIENCE)).unwrap();
    stream.set_write_timeout(Some(PATIENCE)).unwrap();
    stream
}

/// Sends bytes and reads what comes until the server closes.
pub fn send(address: SocketAddr, bytes: &[u8]) -> Option<Answer> {
    let mut stream = connect(address);
    // It may close before it has read all.
    let _ = stream.write_all(bytes);
    Answer::read(&mut stream)
}

/// A request that asks to close, with these headers besides.
pub fn request(method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Vec<u8> {
    let mut head = format!("{method} {path} HTTP/1.1\r\nConnection: close\r\n");
    for (name, value) in headers {
        head.push_str(&format!("{name}: {value}\r\n"));
    }
    if !body.is_empty() {
        head.push_str(&format!("Content-Length: {}\r\n", body.len()));
    }
    head.push_str("\r\n");
    [head.as_bytes(), body].concat()
}

/// A server on loopback.
pub struct Bay {
    pub server: Server,
    pub board: Board,
}

impl Bay {
    pub fn new() -> Self {
        Self::with(|room| room)
    }

    pub fn with(more: impl FnOnce(Room) -> Room) -> Self {
        let board = Board::default();
        let room = more(Room::new(board.clone()));
        let server = Server::start(room, "127.0.0.1:0".parse().unwrap(), Reach::Loopback).unwrap();
        Self { server, board }
    }

    pub fn with_limits(limits: Limits) -> Self {
        Self::with(|room| room.with_limits(limits))
    }

    pub fn address(&self) -> SocketAddr {
        self.server.address()
    }

    pub fn origin(&self) -> String {
        format!("http://{}", self.address())
    }

    pub fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let host = self.address().to_string();
        let mut all = vec![("Host", host.as_str())];
        all.extend(headers);
        send(self.address(), &request(method, path, &all, body)).expect("an answer")
    }

    pub fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, &[], b"")
    }

    /// The cookie of who has opened the page by the address with the token.
    pub fn cookie(&self) -> String {
        let url = self.server.url();
        let (_, token) = url.split_once("token=").unwrap();
        format!("sayback-{}={token}", self.address().port())
    }

    /// As the page's own script sends it.
    pub fn post(&self, path: &str, kind: &str, body: &[u8]) -> Answer {
        let (origin, cookie) = (self.origin(), self.cookie());
        let headers = [
            ("Origin", origin.as_str()),
            ("Content-Type", kind),
            ("Cookie", cookie.as_str()),
        ];
        self.ask("POST", path, &headers, body)
    }
}

/// A glance that a test can know again.
pub fn glance(text: &str) -> Glance {
    Glance {
        say_now: vec![text.to_owned()],
        ..Glance::default()
    }
}

/// Invented, for tests of reading records only.
const WASH: &str = r#"
format = 1
id = "wash-van"
title = "Washing the <van>"
vehicle = "van of the Saltmarsh ferry depot"
values = "Invented."
minutes = 20
cautions = ["Wet floors are slippery."]
[[fastener]]
id = "lid"
name = "lid bolt"
count = 4
drive = { shape = "hex", size = "13 mm" }
torque = "20 N·m"
pattern = "criss-cross"
[[step]]
id = "rinse"
action = "do"
text = "Rinse the van."
[[step]]
id = "lid"
action = "tighten"
fastener = "lid"
text = "Tighten the {fasteners} to {torque}."
[[make_safe]]
id = "tap"
action = "do"
text = "Close the tap."
"#;

pub fn wash() -> Arc<Procedure> {
    let library = BTreeMap::from([("wash-van", WASH)]);
    Arc::new(Procedure::load("wash-van", &library).unwrap())
}

fn said(command: Command, words: &str) -> Input {
    Input::Said {
        command,
        heard: Heard {
            words: words.to_owned(),
            certainty: Certainty::Sure,
            evidence: None,
            sound: None,
        },
    }
}

/// Records with one job: begun, with a note.
pub struct Records {
    pub folder: tempfile::TempDir,
    pub archive: Archive,
    pub job: JobId,
}

impl Records {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::open(folder.path()).unwrap();
        let at = Moment(1_772_409_600_000);
        let (mut worked, _) =
            JournaledJob::begin(&archive, wash(), Settings::default(), at).unwrap();
        let words = "the <b>hose</b> drips".to_owned();
        for input in [
            said(Command::Note, "note"),
            said(
                Command::Dictation {
                    words: words.clone(),
                },
                &words,
            ),
            said(Command::Next, "next"),
        ] {
            worked.take(input, at).unwrap();
        }
        let job = worked.id().clone();
        Self {
            folder,
            archive,
            job,
        }
    }

    /// The job, in somebody's hands.
    pub fn worked(&self) -> JournaledJob {
        let at = Moment(1_772_409_700_000);
        JournaledJob::resume(&self.archive, &self.job, wash(), IfChanged::Refuse, at)
            .unwrap()
            .worked
    }

    pub fn bay(&self) -> Bay {
        let archive = self.archive.clone();
        // Tests ask more at once than a person does.
        let limits = Limits {
            doings: Rate {
                at_once: 10_000,
                a_second: 100,
            },
            ..Limits::default()
        };
        Bay::with(|room| {
            room.with_limits(limits)
                .with_records(archive)
                .with_procedures(|| vec![wash()])
        })
    }
}
