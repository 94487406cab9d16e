//! Records of a small job in the invented scenario. All values are invented.

use record::{Archive, JobId, JournaledJob};
use report::{JobReport, Picture};
use std::collections::BTreeMap;
use std::sync::Arc;
use steps::{Certainty, Command, Decimal, Heard, Input, Mode, Moment, Procedure, Settings};

/// The job of the record's own tests, with a part that may wait and a question.
const TEXT: &str = r#"
format = 1
id = "trailer-wheel"
title = "Trailer wheel & <b>brake</b>"
vehicle = "boat trailer of the Saltmarsh ferry depot"
values = "All values are invented."
minutes = 30
cautions = ["A trailer that rolls kills."]
variant = [{ id = "side", ask = "Which side, left or right?", options = [{ id = "left", say = "left" }, { id = "right", say = "right" }] }]

[[fact]]
id = "supported"
means = "the trailer stands on stands"

[[gate]]
id = "supported"
fact = "supported"
signal = "danger"
ask = "A trailer that falls kills. Shove it: it must not move."
readback = "Trailer rests on two stands and stays put."
good_for_minutes = 240
decoys = ["trailer rests on the jack and stays put"]

[[item]]
id = "wheel"
name = "wheel"

[[item]]
id = "cap"
name = "dust cap"
once_only = true
may_wait = true

[[fastener]]
id = "wheel-nuts"
name = "wheel nut"
count = 5
thread = "M12x1.5"
class = "10"
drive = { shape = "hex", size = "19 mm" }
torque = "110 N·m"
passes = [50, 100]
pattern = "star"
lubrication = "dry"

[[reading]]
id = "depth"
name = "tread depth"
unit = "mm"
least = "0"
most = "20"
min = "1.6"

[[branch]]
id = "worn"
[[branch.step]]
id = "worn-look"
action = "do"
text = "Look at the other wheel too."

[[step]]
id = "hold"
action = "hold"
gate = "supported"

[[step]]
id = "depth"
action = "measure"
reading = "depth"
text = "Measure the tread's depth."

[[step]]
id = "look"
action = "ask"
text = "Is the tyre whole all round?"
no = "worn"

[[step]]
id = "cap-off"
action = "remove"
item = "cap"
text = "Pull the dust cap."

[[step]]
id = "loosen"
action = "loosen"
fastener = "wheel-nuts"
text = "Loosen the wheel nuts."
needs = ["supported"]

[[step]]
id = "off"
action = "remove"
item = "wheel"
text = "Lift the wheel off."
needs = ["supported"]

[[step]]
id = "on"
action = "refit"
item = "wheel"
text = "Hang the wheel on."
needs = ["supported"]

[[step]]
id = "tighten"
action = "tighten"
fastener = "wheel-nuts"
text = "Tighten the wheel nuts."

[[step]]
id = "cap-on"
action = "refit"
item = "cap"
text = "Press the new dust cap on."

[[make_safe]]
id = "lower"
action = "do"
text = "Lower the trailer onto its wheels."
"#;

/// What somebody might say or write to break a page, a table or a spreadsheet.
pub const HOSTILE: &str = "=cmd()</td><script>alert(1)</script><img src=http://evil.test/x onerror='x'> \u{202e}#set text(9pt) \"quoted\" \\end";

/// A way through the job.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// To its end; the dust cap is put back.
    Finished,
    /// The dust cap is deferred, with its reason.
    Deferred,
    /// Given up with the wheel off.
    GivenUp,
}

pub struct Bay {
    /// Goes with the records in it.
    _folder: tempfile::TempDir,
    pub archive: Archive,
}

fn said(command: Command, words: &str) -> Input {
    Input::Said {
        command,
        heard: Heard {
            words: words.into(),
            certainty: Certainty::Sure,
            evidence: None,
            sound: None,
        },
    }
}

impl Bay {
    pub fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::open(folder.path()).unwrap();
        Self {
            _folder: folder,
            archive,
        }
    }

    /// Works the job with these notes, an input every ten seconds.
    pub fn work(&self, mode: Mode, way: Way, notes: &[&str]) -> JobId {
        let library = BTreeMap::from([("trailer-wheel", TEXT)]);
        let procedure = match Procedure::load("trailer-wheel", &library) {
            Ok(procedure) => Arc::new(procedure),
            Err(problems) => panic!("{:?}", problems.problems),
        };
        // 2026-03-02T09:00:00Z.
        let mut at = 1_772_442_000_000;
        let settings = Settings {
            mode,
            ..Settings::default()
        };
        let (mut worked, _) =
            JournaledJob::begin(&self.archive, procedure, settings, Moment(at)).unwrap();
        let note = |words: &str| {
            vec![
                said(Command::Note, "note"),
                said(
                    Command::Dictation {
                        words: words.into(),
                    },
                    words,
                ),
            ]
        };
        let next = || said(Command::Next, "next");
        let yes = || said(Command::Yes, "yes");
        let mut inputs = vec![
            said(
                Command::Choose {
                    variant: "side".into(),
                    option: "left".into(),
                },
                "left",
            ),
            next(),
            said(
                Command::Readback {
                    gate: "supported".into(),
                    colour: None,
                },
                "trailer rests on two stands and stays put",
            ),
        ];
        inputs.extend(notes.iter().flat_map(|words| note(words)));
        inputs.extend([
            said(
                Command::Reading {
                    value: "1.4".parse::<Decimal>().unwrap(),
                },
                "one point four",
            ),
            yes(),
            said(Command::No, "no"),
            next(),
            next(),
            next(),
            next(),
        ]);
        match way {
            Way::GivenUp => inputs.extend([said(Command::Abandon, "abandon"), yes(), next()]),
            Way::Finished => {
                inputs.extend([next(), next(), next(), said(Command::Finish, "finish")]);
            }
            Way::Deferred => {
                inputs.extend([next(), next(), said(Command::Finish, "finish")]);
                inputs.extend([
                    said(Command::Defer { item: "cap".into() }, "defer the dust cap"),
                    yes(),
                ]);
                inputs.extend(note("none in the store"));
                inputs.push(said(Command::Finish, "finish"));
            }
        }
        for input in inputs {
            at += 10_000;
            worked.take(input, Moment(at)).unwrap();
        }
        assert!(worked.job().outcome().is_some(), "the job is closed");
        worked.id().clone()
    }

    pub fn report(&self, id: &JobId) -> JobReport {
        JobReport::of(&self.archive.report(id).unwrap())
    }

    /// The job's photos, as the program shows them.
    pub fn pictures(&self, id: &JobId) -> Vec<Picture> {
        let record = self.archive.report(id).unwrap();
        let numbered = record.photos.iter().enumerate();
        numbered
            .map(|(place, it)| {
                let (jpeg, width, height) = self.archive.shown(&it.photo, 900).unwrap();
                Picture {
                    number: place + 1,
                    jpeg,
                    width,
                    height,
                }
            })
            .collect()
    }
}

/// A grey PNG of one pixel, made by hand after the W3C's recommendation "PNG (Third Edition)".
pub fn png() -> Vec<u8> {
    let mut out = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |name: &[u8; 4], data: &[u8]| {
        let body = [name.as_slice(), data].concat();
        out.extend((data.len() as u32).to_be_bytes());
        out.extend(&body);
        out.extend(crc(&body).to_be_bytes());
    };
    chunk(b"IHDR", &[0, 0, 0, 1, 0, 0, 0, 1, 8, 0, 0, 0, 0]);
    // zlib, one stored block: filter 0, grey 128; Adler-32 of these two bytes.
    chunk(
        b"IDAT",
        &[0x78, 1, 1, 2, 0, 0xfd, 0xff, 0, 128, 0, 0x82, 0, 0x81],
    );
    chunk(b"IEND", &[]);
    out
}

fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| {
            (crc >> 1) ^ (0xedb8_8320 & (crc & 1).wrapping_neg())
        })
    })
}
