//! What a row seems to say.

use crate::nouns::{Named, bare, count, fasteners, thing};
use crate::quantities::{minutes, torques, turn, with_points};
use crate::rows::Row;
use crate::sizes::{Drive, drive, thread};
use steps::quantity::{DriveShape, Pattern, Size, TorqueSpec};

/// The verbs that mean a particular action.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verb {
    Loosen,
    Remove,
    Refit,
    Tighten,
    Wait,
    Inspect,
}

impl Verb {
    pub fn of(word: &str) -> Option<Self> {
        Some(match word {
            "loosen" | "slacken" | "crack" => Self::Loosen,
            "remove" | "unscrew" | "unbolt" | "undo" | "detach" | "disconnect" | "unplug"
            | "take" => Self::Remove,
            "refit" | "install" | "reinstall" | "fit" | "mount" | "reconnect" | "reattach" => {
                Self::Refit
            }
            "tighten" | "torque" | "retighten" => Self::Tighten,
            "wait" | "let" => Self::Wait,
            "inspect" | "check" | "look" | "examine" => Self::Inspect,
            _ => return None,
        })
    }
}

/// What was found in a row. Nothing of it is sure.
#[derive(Debug, Clone, PartialEq)]
pub struct Meant {
    pub verb: Option<Verb>,
    pub group: Option<Named>,
    pub thing: Option<String>,
    pub drive: Option<(DriveShape, Size)>,
    pub thread: Option<String>,
    pub torque: Option<TorqueSpec>,
    /// The torque in the source's second unit.
    pub also: Option<TorqueSpec>,
    /// Torques on the way, in order.
    pub passes: Vec<TorqueSpec>,
    pub turn: Option<u16>,
    pub pattern: Option<Pattern>,
    pub minutes: Option<u32>,
    /// What else the author must know.
    pub doubts: Vec<String>,
}

/// Two torques are one, in two units, when they differ by less than this share: both are rounded.
const SAME: f64 = 0.03;

impl Meant {
    pub fn of(row: &Row) -> Self {
        let (row, commas) = pointed(row);
        let row = &row;
        let all: Vec<&str> = [Some(&row.text), row.size.as_ref(), row.torque.as_ref()]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect();
        let whole = all.join(", ");
        let first = bare(row.text.split_whitespace().next().unwrap_or_default());
        let verb = Verb::of(&first);
        let mut meant = Self {
            verb,
            group: fasteners(&row.text),
            thing: match verb {
                Some(Verb::Remove | Verb::Refit) => thing(&row.text),
                Some(Verb::Loosen | Verb::Tighten | Verb::Wait | Verb::Inspect) | None => None,
            },
            drive: None,
            thread: None,
            torque: None,
            also: None,
            passes: Vec::new(),
            turn: turn(&whole),
            pattern: pattern(&whole),
            minutes: minutes(&row.text),
            doubts: row.doubts.clone(),
        };
        let read = commas.iter();
        let read = read.map(|it| format!("“{it}” is read as {}", it.replace(',', ".")));
        meant.doubts.extend(read);
        meant.sizes_of(row);
        if let (Some(words), Some(group)) = (&row.count, &mut meant.group) {
            match count(words.trim()) {
                Some(count) => group.count = Some(count),
                None => meant.doubts.push(format!("“{words}” is no count")),
            }
        }
        meant.torques_of(row, &whole);
        meant
    }

    /// What stands under “size” goes before what the text says; without fasteners the text speaks of something else.
    fn sizes_of(&mut self, row: &Row) {
        if let Some(words) = &row.size {
            let named = drive(words);
            if named.drive.is_none() && named.doubts.is_empty() && thread(words).is_none() {
                self.doubts
                    .push(format!("“{words}” is no size with its unit"));
            }
            self.take(named);
        }
        if self.drive.is_none() && self.group.is_some() {
            self.take(drive(&row.text));
        }
        if self.group.is_some() {
            let size = row.size.as_deref();
            self.thread = thread(&row.text).or_else(|| thread(size?));
        }
    }

    fn take(&mut self, named: Drive) {
        self.drive = named.drive;
        self.doubts.extend(named.doubts);
    }

    fn torques_of(&mut self, row: &Row, whole: &str) {
        // What stands under “torque” goes before what the text says.
        let own = row.torque.as_deref().map(torques).unwrap_or_default();
        if own.is_empty()
            && let Some(words) = &row.torque
        {
            self.doubts
                .push(format!("“{words}” is no torque with its unit"));
        }
        let from_column = !own.is_empty();
        let found = if from_column { own } else { torques(whole) };
        let mut found = found.into_iter();
        let Some(first) = found.next() else {
            if self.verb == Some(Verb::Tighten) {
                self.doubts
                    .push("no torque with its unit was found".to_owned());
            }
            return;
        };
        let text = if from_column {
            row.torque.as_deref().unwrap_or_default()
        } else {
            whole
        };
        let mut last = first;
        for next in found {
            let ratio = f64::from(next.value.target().quantity() / last.value.target().quantity());
            let between = text.get(last.at.end..next.at.start).unwrap_or_default();
            let other_unit = next.value.target().unit != last.value.target().unit;
            if other_unit && (ratio - 1.0).abs() < SAME {
                self.also = Some(next.value);
            } else if between.contains("then") && ratio > 1.0 && !other_unit {
                self.passes.push(last.value);
                last = next;
            } else {
                self.doubts
                    .push(format!("there is another torque, {}", next.value));
            }
        }
        self.torque = Some(last.value);
    }

    /// Whether something of it goes beyond the bare words.
    pub fn is_understood(&self) -> bool {
        self.verb.is_some() && self.doubts.is_empty()
    }
}

/// The row with its decimal commas as points, and the numbers that this was done to.
fn pointed(row: &Row) -> (Row, Vec<String>) {
    let mut row = row.clone();
    let mut all = Vec::new();
    let cells = [Some(&mut row.text), row.size.as_mut(), row.torque.as_mut()];
    for cell in cells.into_iter().flatten() {
        let (pointed, commas) = with_points(cell);
        *cell = pointed;
        all.extend(commas);
    }
    (row, all)
}

fn pattern(text: &str) -> Option<Pattern> {
    let text = text.to_lowercase();
    let has = |all: &[&str]| all.iter().any(|it| text.contains(it));
    if has(&["in a star", "star pattern", "star-shaped"]) {
        Some(Pattern::Star)
    } else if has(&[
        "criss-cross",
        "crisscross",
        "crosswise",
        "diagonally",
        "cross pattern",
    ]) {
        Some(Pattern::CrissCross)
    } else if has(&["one after the other", "one beside the other", "in turn"]) {
        Some(Pattern::InTurn)
    } else {
        None
    }
}
