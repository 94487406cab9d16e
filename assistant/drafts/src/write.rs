//! Rows into the text of a procedure's file.

mod groups;

use crate::Draft;
use crate::interpretation::{Meant, Verb};
use crate::rows::{List, Row, plain};
use groups::{Group, Groups};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use steps::procedure::Signal;

/// Writes into a text, which never fails.
macro_rules! put {
    ($out:expr, $($words:tt)*) => {{ let _ = writeln!($out, $($words)*); }};
}

/// The longest name that is made of words, in bytes.
const LONGEST_NAME: usize = 40;

pub fn written(id: &str, list: &List) -> Draft {
    let mut desk = Desk::default();
    for row in &list.rows {
        desk.row(row);
    }
    desk.file(id, list)
}

/// What stands at one step.
enum Action {
    Plain(&'static str),
    Group(&'static str, usize),
    Item(&'static str, usize),
    Wait(u32),
}

struct StepOut {
    id: String,
    action: Action,
    text: String,
    warning: Option<(Signal, String)>,
    more: Option<String>,
    line: usize,
    review: String,
}

struct Item {
    id: String,
    name: String,
    line: usize,
}

#[derive(Default)]
struct Desk {
    names: BTreeSet<String>,
    items: Vec<Item>,
    items_by_name: BTreeMap<String, usize>,
    groups: Groups,
    steps: Vec<StepOut>,
    not_understood: Vec<usize>,
}

impl Desk {
    fn row(&mut self, row: &Row) {
        let mut meant = Meant::of(row);
        let group = self.group(row, &mut meant);
        let actions = self.actions(&mut meant, group, row.line);
        let unread = meant.verb.is_none() && row.text.contains(|it: char| it.is_ascii_digit());
        if !meant.is_understood() && (unread || !meant.doubts.is_empty()) {
            self.not_understood.push(row.line);
        }
        let mut all = row.text.clone();
        for (name, cell) in [
            ("torque", &row.torque),
            ("size", &row.size),
            ("count", &row.count),
            ("more", &row.more),
        ] {
            if let Some(cell) = cell {
                all.push_str(&format!("; {name}: {cell}"));
            }
        }
        let mut review = format!("Line {}: “{all}”.", row.line);
        for doubt in &meant.doubts {
            review.push_str(&format!(" {}.", capital(doubt)));
        }
        review.push_str(" Compare it with your source, then delete this line.");
        let mut warning = row.warning.clone();
        let mut more = row.more.clone();
        for (action, text) in actions {
            let text = text.unwrap_or_else(|| sentence(&row.text));
            let id = self.step_name(&action, &row.text);
            self.steps.push(StepOut {
                id,
                action,
                text,
                // Both stand before the first step that the row became.
                warning: warning.take(),
                more: more.take(),
                line: row.line,
                review: review.clone(),
            });
        }
    }

    /// The group that a row is about, with what the row says of it.
    fn group(&mut self, row: &Row, meant: &mut Meant) -> Option<usize> {
        let turned = match meant.verb {
            Some(Verb::Loosen | Verb::Remove | Verb::Refit | Verb::Tighten) => true,
            Some(Verb::Wait | Verb::Inspect) | None => false,
        };
        if !turned {
            if meant.torque.is_some() {
                meant
                    .doubts
                    .push("a torque, but nothing that is tightened".to_owned());
            }
            return None;
        }
        let place = self.groups.of(row.line, meant)?;
        self.groups.learn(place, row.line, meant);
        Some(place)
    }

    fn actions(
        &mut self,
        meant: &mut Meant,
        group: Option<usize>,
        line: usize,
    ) -> Vec<(Action, Option<String>)> {
        let torqued = group.is_some_and(|at| self.groups.all[at].torque.is_some());
        let now = meant.torque.is_some();
        let item = meant.thing.as_deref().map(|name| self.item(name, line));
        let group_step = |action, at: usize, text: Option<&str>| {
            (Action::Group(action, at), text.map(str::to_owned))
        };
        match (meant.verb, item, group) {
            (Some(Verb::Loosen), _, Some(at)) => vec![group_step("loosen", at, None)],
            (Some(Verb::Tighten), _, Some(at)) if torqued => {
                vec![group_step("tighten", at, Some(TIGHTEN))]
            }
            (Some(Verb::Remove), Some(item), Some(at)) => vec![
                group_step("remove", at, Some("Unscrew the {fasteners}.")),
                (Action::Item("remove", item), None),
            ],
            (Some(Verb::Remove), None, Some(at)) => vec![group_step("remove", at, None)],
            (Some(Verb::Remove), Some(item), None) => vec![(Action::Item("remove", item), None)],
            (Some(Verb::Refit), item, Some(at)) => {
                let item = item.map(|item| (Action::Item("refit", item), None));
                let by_hand = group_step("refit", at, Some("Run the {fasteners} in by hand."));
                let tight = now.then(|| group_step("tighten", at, Some(TIGHTEN)));
                item.into_iter().chain([by_hand]).chain(tight).collect()
            }
            (Some(Verb::Refit), Some(item), None) => vec![(Action::Item("refit", item), None)],
            (Some(Verb::Wait), _, _) => match meant.minutes {
                Some(minutes) => vec![(Action::Wait(minutes), None)],
                None => vec![(Action::Plain("do"), None)],
            },
            (Some(Verb::Inspect), _, _) => vec![(Action::Plain("inspect"), None)],
            (Some(Verb::Loosen | Verb::Tighten | Verb::Remove | Verb::Refit), _, _) => {
                if meant.doubts.is_empty() {
                    meant
                        .doubts
                        .push("it isn't clear what this is done to".to_owned());
                }
                vec![(Action::Plain("do"), None)]
            }
            (None, _, _) => vec![(Action::Plain("do"), None)],
        }
    }

    fn item(&mut self, name: &str, line: usize) -> usize {
        if let Some(known) = self.items_by_name.get(name) {
            return *known;
        }
        self.items_by_name.insert(name.to_owned(), self.items.len());
        let id = name_of(&mut self.names, name);
        self.items.push(Item {
            id,
            name: name.to_owned(),
            line,
        });
        self.items.len() - 1
    }

    fn step_name(&mut self, action: &Action, text: &str) -> String {
        let words = match action {
            Action::Group(action, at) => format!("{} {action}", self.groups.all[*at].name),
            Action::Item(action, at) => format!("{} {action}", self.items[*at].name),
            Action::Wait(_) => format!("wait {text}"),
            Action::Plain(_) => text.to_owned(),
        };
        name_of(&mut self.names, &words)
    }

    fn file(mut self, id: &str, list: &List) -> Draft {
        let mut out = String::new();
        put!(out, "#:schema ./procedure.schema.json");
        put!(
            out,
            "# A draft, made from a list. Nothing in it was checked, and it can't be used yet: no procedure may have the key\n\
             # `review`. Compare each with your source, put right what is wrong, then delete the line.\n\
             #\n\
             # A list holds no hold points. Write a gate wherever a mistake can injure, and let the steps need its fact."
        );
        put!(out, "format = 1\nid = {}", quoted(id));
        let title = list
            .title
            .clone()
            .unwrap_or_else(|| capital(&id.replace('-', " ")));
        put!(out, "title = {}", quoted(&title));
        put!(out, "vehicle = \"not named yet\"");
        put!(
            out,
            "values = \"The values come from an imported list. Compare them with the maker's service information.\""
        );
        put!(out, "minutes = 60");
        let mut reviews = 1;
        put!(
            out,
            "review = \"Name the vehicle or machine, say where the values come from and how long the job takes, then delete this line.\""
        );
        for item in &self.items {
            put!(out, "\n# line {}", item.line);
            put!(
                out,
                "[[item]]\nid = {}\nname = {}",
                quoted(&item.id),
                quoted(&item.name)
            );
        }
        for group in &mut self.groups.all {
            group.id = name_of(&mut self.names, &group.name);
        }
        for group in &self.groups.all {
            write_group(&mut out, group);
            reviews += 1;
        }
        for step in &self.steps {
            self.write_step(&mut out, step);
            reviews += 1;
        }
        put!(
            out,
            "\n# What leaves it safe when the job is given up.\n[[make_safe]]\nid = {}\naction = \"do\"\n\
             text = \"Tag it: work open, do not use.\"\n\
             review = \"Write what makes this job safe half-way through, then delete this line.\"",
            quoted(&name_of(&mut self.names, "safe tag"))
        );
        reviews += 1;
        self.not_understood.dedup();
        Draft {
            toml: out,
            steps: self.steps.len(),
            groups: self.groups.all.len(),
            reviews,
            not_understood: self.not_understood,
        }
    }

    fn write_step(&self, out: &mut String, step: &StepOut) {
        put!(
            out,
            "\n# line {}\n[[step]]\nid = {}",
            step.line,
            quoted(&step.id)
        );
        match &step.action {
            Action::Plain(action) => put!(out, "action = {}", quoted(action)),
            Action::Group(action, at) => put!(
                out,
                "action = {}\nfastener = {}",
                quoted(action),
                quoted(&self.groups.all[*at].id)
            ),
            Action::Item(action, at) => {
                put!(
                    out,
                    "action = {}\nitem = {}",
                    quoted(action),
                    quoted(&self.items[*at].id)
                );
            }
            Action::Wait(minutes) => put!(out, "action = \"wait\"\nminutes = {minutes}"),
        }
        put!(out, "text = {}", quoted(&step.text));
        if let Some(more) = &step.more {
            put!(out, "more = {}", quoted(&sentence(more)));
        }
        put!(out, "review = {}", quoted(&step.review));
        if let Some((signal, text)) = &step.warning {
            let signal = signal.word().to_lowercase();
            put!(
                out,
                "[step.warning]\nsignal = {}\ntext = {}",
                quoted(&signal),
                quoted(&sentence(text))
            );
        }
    }
}

/// How a tightening is worded: the values are filled in, in the unit of the wrench.
const TIGHTEN: &str = "Tighten the {fasteners} to {torque}.";

fn write_group(out: &mut String, group: &Group) {
    let lines: Vec<String> = group.lines.iter().map(ToString::to_string).collect();
    put!(out, "\n# line {}", lines.join(", "));
    put!(
        out,
        "[[fastener]]\nid = {}\nname = {}\ncount = {}",
        quoted(&group.id),
        quoted(&group.name),
        group.count.unwrap_or(1)
    );
    if let Some(thread) = &group.thread {
        put!(out, "thread = {}", quoted(thread));
    }
    if let Some((shape, size)) = group.drive {
        let (shape, size) = groups::as_in_a_file(shape, size);
        put!(
            out,
            "drive = {{ shape = \"{shape}\", size = {} }}",
            quoted(&size)
        );
    }
    if let Some(torque) = group.torque {
        put!(out, "torque = {}", quoted(&torque.to_string()));
    }
    if let Some(also) = group.also {
        put!(out, "torque_also = {}", quoted(&also.to_string()));
    }
    if !group.passes.is_empty() {
        let passes = group
            .passes
            .iter()
            .map(|pass| quoted(&pass.target().to_string()));
        put!(
            out,
            "passes = [{}, 100]",
            passes.collect::<Vec<_>>().join(", ")
        );
    }
    if let Some(turn) = group.turn {
        put!(out, "angle = {turn}");
    }
    if let Some(pattern) = group.pattern {
        put!(out, "pattern = \"{}\"", groups::pattern_in_a_file(pattern));
    }
    let mut review = "Compare count, thread, size, torque and order with your source".to_owned();
    if group.count.is_none() {
        review.push_str("; how many there are was not said");
    }
    if group.turn.is_some() {
        review.push_str(
            "; say with `to_yield` whether the turn stretches it, so that a new one goes in",
        );
    }
    put!(
        out,
        "review = {}",
        quoted(&format!("{review}. Then delete this line."))
    );
}

/// A name of words that nothing else has.
fn name_of(taken: &mut BTreeSet<String>, words: &str) -> String {
    let mut name = String::new();
    for letter in words.chars() {
        if letter.is_ascii_alphanumeric() {
            name.push(letter.to_ascii_lowercase());
        } else if !name.is_empty() && !name.ends_with('-') {
            name.push('-');
        }
        if name.len() >= LONGEST_NAME {
            break;
        }
    }
    let name = name.trim_matches('-');
    let name = match name.starts_with(|it: char| it.is_ascii_lowercase()) {
        true => name.to_owned(),
        false => format!("step-{name}").trim_end_matches('-').to_owned(),
    };
    if taken.insert(name.clone()) {
        return name;
    }
    // Ends, since only so many names are taken. Begins at their number, so that a thousand like names are quick.
    let mut number = taken.len();
    loop {
        number += 1;
        let numbered = format!("{name}-{number}");
        if taken.insert(numbered.clone()) {
            return numbered;
        }
    }
}

/// A text as a TOML file holds it.
fn quoted(text: &str) -> String {
    toml::Value::String(plain_but_braces(text)).to_string()
}

/// One line; the braces in it are this program's own.
fn plain_but_braces(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn sentence(text: &str) -> String {
    let text = capital(&plain(text));
    match text.ends_with(['.', '!', '?']) {
        true => text,
        false => format!("{}.", text.trim_end_matches([',', ';', ':'])),
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
