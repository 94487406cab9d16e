//! The Spanish job: step by step the English one, worked by typing from its beginning to its end and given up half-way,
//! and nothing that is said in it is English.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use steps::procedure::Step;
use steps::quantity::{Toolbox, TorqueUnit};
use steps::{
    Certainty, Colour, Command, Effect, Entry, Heard, Id, Input, Job, Language, Mode, Moment,
    Outcome, Procedure, Settings, SystemNotice,
};
use words::now::StateGrammar;
use words::wording::{spoken, spoken_slowly};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// The files of `procedures` with these folders, by the name that they are included by.
fn library(folders: &[(&str, &str)]) -> BTreeMap<String, String> {
    let mut files = BTreeMap::new();
    for (folder, before) in folders {
        for entry in std::fs::read_dir(root().join("procedures").join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|it| it == "toml") {
                let stem = path.file_stem().unwrap().to_str().unwrap();
                let text = std::fs::read_to_string(&path).unwrap();
                files.insert(format!("{before}{stem}"), text);
            }
        }
    }
    files
}

fn spanish_files() -> BTreeMap<String, String> {
    library(&[("es", ""), ("es/parts", "es/parts/")])
}

fn spanish() -> Procedure {
    Procedure::load("starter-battery-es", &spanish_files()).unwrap_or_else(|e| panic!("{e:?}"))
}

fn english() -> Procedure {
    let files = library(&[("", ""), ("parts", "parts/")]);
    Procedure::load("starter-battery", &files).unwrap_or_else(|e| panic!("{e:?}"))
}

/// The words of one step put into another.
fn words_of(from: &Step, into: &mut Step) {
    assert_eq!(from.short.is_some(), into.short.is_some(), "{}", from.id);
    assert_eq!(from.more.is_some(), into.more.is_some(), "{}", from.id);
    assert_eq!(from.why.is_some(), into.why.is_some(), "{}", from.id);
    assert_eq!(from.tools.len(), into.tools.len(), "{}", from.id);
    into.text.clone_from(&from.text);
    into.short.clone_from(&from.short);
    into.more.clone_from(&from.more);
    into.why.clone_from(&from.why);
    into.tools.clone_from(&from.tools);
    if let (Some(from), Some(into)) = (&from.warning, &mut into.warning) {
        into.text.clone_from(&from.text);
    }
    for (from, into) in from.consumables.iter().zip(&mut into.consumables) {
        into.what.clone_from(&from.what);
    }
}

/// With all of its words taken from the English one, nothing is left that differs: each step, need, torque, limit.
#[test]
fn but_for_its_words_it_is_the_english_job() {
    let (english, mut it) = (english(), spanish());
    assert_eq!(it.language, Language::Spanish);
    let steps = english.steps.iter().zip(&mut it.steps);
    let safe = english.make_safe.iter().zip(&mut it.make_safe);
    for (from, into) in steps.chain(safe) {
        words_of(from, into);
    }
    for (id, from) in &english.branches {
        let into = it.branches.get_mut(id).unwrap();
        assert_eq!(from.say.len(), into.say.len());
        into.say.clone_from(&from.say);
        for (from, into) in from.steps.iter().zip(&mut into.steps) {
            words_of(from, into);
        }
    }
    for (id, from) in &english.gates {
        let into = it.gates.get_mut(id).unwrap();
        assert_ne!(from.readback, into.readback);
        into.ask.clone_from(&from.ask);
        into.more.clone_from(&from.more);
        into.readback.clone_from(&from.readback);
        into.readback_written.clone_from(&from.readback_written);
        into.alternatives.clone_from(&from.alternatives);
        assert_eq!(from.decoys.len(), into.decoys.len(), "{id}");
        into.decoys.clone_from(&from.decoys);
    }
    for (id, from) in &english.facts {
        it.facts.get_mut(id).unwrap().means.clone_from(&from.means);
    }
    for (id, from) in &english.items {
        let into = it.items.get_mut(id).unwrap();
        into.name.clone_from(&from.name);
        into.off.clone_from(&from.off);
    }
    for (id, from) in &english.fasteners {
        let into = it.fasteners.get_mut(id).unwrap();
        into.name.clone_from(&from.name);
        into.names.clone_from(&from.names);
    }
    for (id, from) in &english.readings {
        it.readings.get_mut(id).unwrap().name.clone_from(&from.name);
    }
    let (from, into) = (&english.lay_out, &mut it.lay_out);
    assert_eq!(from.protection.len(), into.protection.len());
    assert_eq!(from.tools.len(), into.tools.len());
    into.clone_from(from);
    for (from, into) in english.parts.iter().zip(&mut it.parts) {
        into.what.clone_from(&from.what);
    }
    assert_eq!(english.cautions.len(), it.cautions.len());
    it.cautions.clone_from(&english.cautions);
    it.sounds_like.clone_from(&english.sounds_like);
    it.id = english.id.clone();
    it.language = english.language;
    it.title.clone_from(&english.title);
    it.vehicle.clone_from(&english.vehicle);
    it.values.clone_from(&english.values);
    it.sha256.clone_from(&english.sha256);
    it.texts.clone_from(&english.texts);
    assert_eq!(it, english);
}

/// The lines of a rehearsal.
fn script(name: &str) -> Vec<String> {
    let path = root().join("procedures/es/rehearsals").join(name);
    let text = std::fs::read_to_string(path).unwrap();
    let lines = text
        .lines()
        .filter(|it| !it.is_empty() && !it.starts_with('#'));
    lines.map(str::to_owned).collect()
}

fn typed(job: &Job, line: &str) -> Input {
    let grammar = StateGrammar::compile(&job.listen()).unwrap();
    let colour = job.colour_asked().map(|it| it.word(Language::Spanish));
    let words = line.replace("{colour}", &colour.unwrap_or_default());
    let heard = Heard {
        words: words.clone(),
        certainty: Certainty::Typed,
        evidence: None,
        sound: None,
    };
    match grammar.parse(&words) {
        Ok(command) => Input::Said { command, heard },
        Err(_) => Input::NotUnderstood { heard },
    }
}

/// Everything that may be asked or said at each step of a script, and the script itself; what was said, and the end.
fn all_that_is_said(script: &[String], settings: &Settings) -> (BTreeSet<String>, Job) {
    let mut job = Job::new(Arc::new(spanish()), settings.clone());
    let mut said = BTreeSet::new();
    let mut keep = |effects: Vec<Effect>| {
        for effect in effects {
            match effect {
                Effect::Say(sentence) => drop(said.insert(sentence.text)),
                Effect::Hush | Effect::Manner(_) | Effect::Write(_) | Effect::Wake(_) => {}
            }
        }
    };
    let mut now = Moment(0);
    keep(job.take(Input::Begin, now));
    for line in script {
        now = now.after(std::time::Duration::from_secs(5));
        for certainty in [Certainty::Typed, Certainty::Doubtful] {
            let mut commands = job.listen().commands;
            commands.extend(job.listen().phrases.into_iter().map(|it| it.command));
            commands.extend(Command::ALL_PLAIN);
            for command in commands {
                let heard = Heard {
                    words: "repita".to_owned(),
                    certainty,
                    evidence: None,
                    sound: None,
                };
                let mut beside = job.clone();
                let input = |command: &Command| Input::Said {
                    command: command.clone(),
                    heard: heard.clone(),
                };
                keep(beside.take(input(&command), now));
                keep(beside.take(input(&Command::Yes), now));
            }
        }
        let mut beside = job.clone();
        keep(beside.take(Input::Resumed, now));
        let long = now.after(std::time::Duration::from_secs(9 * 3600));
        keep(job.clone().take(typed(&job, "repita"), long));
        keep(job.clone().take(Input::Woke, long));
        keep(job.clone().take(typed(&job, "9999"), now));
        let input = typed(&job, line);
        keep(job.take(input, now));
    }
    (said, job)
}

/// Keys whose values are names, not words.
const NAMES: [&str; 19] = [
    "id", "fact", "gate", "action", "item", "fastener", "include", "needs", "voids", "helpers",
    "yes", "no", "out", "reading", "when_off", "signal", "thread", "drive", "class",
];

/// The words of the Spanish files: sentences, grammar, procedure.
fn known() -> BTreeSet<String> {
    let sentences = std::fs::read_to_string(root().join("grammars/es/sentences.ftl")).unwrap();
    let sentences = sentences.lines().filter(|it| !it.starts_with('#'));
    let texts: Vec<String> = sentences
        .map(|line| {
            line.split_once(" = ")
                .map_or(line, |(_, text)| text)
                .to_owned()
        })
        .chain(spanish_files().into_values().flat_map(|file| {
            // What stands in quotation marks is said, but for the names of the format.
            let lines = file.lines().filter(|line| {
                let key = line.split(' ').next().unwrap_or_default();
                !line.starts_with(['#', '[']) && !NAMES.contains(&key)
            });
            let quoted = lines.flat_map(|line| line.split('"').skip(1).step_by(2));
            quoted.map(str::to_owned).collect::<Vec<_>>()
        }))
        .collect();
    let tools = [TOOLS, TOO_LARGE].join(" ");
    let texts = texts.iter().chain([&tools]);
    texts.flat_map(|text| words_in(text)).collect()
}

fn words_in(text: &str) -> Vec<String> {
    let words = text.split(|c: char| !c.is_alphabetic());
    words
        .filter(|word| word.chars().count() > 1)
        .map(str::to_lowercase)
        .collect()
}

fn settings() -> Settings {
    Settings {
        mode: Mode::Rehearsal,
        colours: true,
        ..Settings::default()
    }
}

/// Tools that suit, that are overdue, and that don't: as a bay that speaks Spanish names them.
const TOOLS: &str = r#"
[[torque_wrench]]
name = "la llave dinamométrica corta"
scale = "5–25 N·m"
step = "0.5 N·m"
length = "200 mm"
calibration_due = "1969-12-30"
[[adapter]]
name = "el adaptador de 10 mm"
length = "30 mm"
size = "10 mm"
[[sockets]]
drive = "1/4 in"
sizes = ["13 mm", "11 mm"]
"#;

/// None of them suits.
const TOO_LARGE: &str = r#"
[[torque_wrench]]
name = "la llave dinamométrica grande"
scale = "60–300 N·m"
step = "1 N·m"
[[adapter]]
name = "el adaptador de 10 mm"
length = "30 mm"
size = "10 mm"
"#;

/// Words of units and symbols that are written alike everywhere.
const SYMBOLS: [&str; 8] = ["hz", "lbf", "ft", "kgf", "cm", "mm", "kg", "ma"];

#[test]
fn nothing_that_is_said_is_english_from_the_beginning_to_the_end() {
    let known = known();
    for (name, outcome) in [
        ("starter-battery-es.txt", Outcome::Finished),
        ("starter-battery-es.given-up.txt", Outcome::Abandoned),
    ] {
        for (unit, tools) in [
            (TorqueUnit::NewtonMetre, None),
            (TorqueUnit::PoundFoot, None),
            (TorqueUnit::NewtonMetre, Some(TOOLS)),
            (TorqueUnit::NewtonMetre, Some(TOO_LARGE)),
        ] {
            let settings = Settings {
                unit,
                tools: tools.map(|text| Toolbox::read(text).unwrap()),
                ..settings()
            };
            let (said, job) = all_that_is_said(&script(name), &settings);
            assert_eq!(job.outcome(), Some(outcome), "{name}");
            assert!(said.len() > 150, "{}", said.len());
            for text in &said {
                for word in words_in(text) {
                    let there = known.contains(&word) || SYMBOLS.contains(&word.as_str());
                    assert!(there, "“{word}” in: {text}");
                }
                for spoken in [
                    spoken(Language::Spanish, text),
                    spoken_slowly(Language::Spanish, text),
                ] {
                    let left = spoken.contains(|c: char| c.is_ascii_digit() || "·°%{}".contains(c));
                    assert!(!left, "{spoken}");
                }
            }
        }
    }
    for beside in SystemNotice::ALL {
        let english = beside.told_in(Language::English);
        assert_ne!(beside.told_in(Language::Spanish), english);
    }
}

/// Without this the test above could pass on anything.
#[test]
fn the_words_of_the_english_job_are_told_from_the_spanish_ones() {
    let known = known();
    for text in [
        "Hold point. Say",
        "All steps are done.",
        "Heard and recorded.",
        "Battery out.",
        "Check word: yellow.",
    ] {
        let there = words_in(text).iter().all(|word| known.contains(word));
        assert!(!there, "{text}");
    }
}

fn opened(effects: &[Effect]) -> bool {
    let opens = |it: &Effect| matches!(it, Effect::Write(Entry::GateOpened { .. }));
    effects.iter().any(opens)
}

#[test]
fn the_gate_opens_to_its_words_with_the_colour_in_spanish_and_to_nothing_else() {
    let mut job = Job::new(Arc::new(spanish()), settings());
    job.take(Input::Begin, Moment(0));
    for _ in 0..8 {
        let input = typed(&job, "siguiente");
        job.take(input, Moment(1));
    }
    assert_eq!(job.holding(), Some(&Id::new("secured")));
    let colour = job.colour_asked().expect("danger asks for a colour");
    let words = "freno puesto ruedas calzadas y llevo la llave";
    let other = Colour::ALL.into_iter().find(|it| *it != colour).unwrap();
    for refused in [
        words.to_owned(),
        format!("{words} {}", colour.word(Language::English)),
        format!("{words} {}", other.word(Language::Spanish)),
        format!("no {words} {{colour}}"),
        words.replace("calzadas", "sin calzar") + " {colour}",
        format!("{words} {{colour}} todavía no"),
        format!("creo que {words} {{colour}}"),
        "key's in my pocket brake set both wheels chocked {colour}".to_owned(),
        "sí".to_owned(),
        "siguiente".to_owned(),
        "listo".to_owned(),
        "todavía no".to_owned(),
    ] {
        // “Magenta” is the same word in both languages.
        if colour == Colour::Magenta && refused.ends_with("magenta") {
            continue;
        }
        let input = typed(&job, &refused);
        let effects = job.take(input, Moment(2));
        assert!(!opened(&effects), "{refused}");
        assert_eq!(job.holding(), Some(&Id::new("secured")), "{refused}");
    }
    let opens = typed(&job, &format!("{words} {{colour}}"));
    assert!(opened(&job.take(opens, Moment(3))));
}

#[test]
fn at_work_a_gate_opens_to_no_typed_and_to_no_doubtful_words() {
    let settings = Settings {
        mode: Mode::Work,
        ..settings()
    };
    let mut job = Job::new(Arc::new(spanish()), settings);
    job.take(Input::Begin, Moment(0));
    for _ in 0..8 {
        let input = typed(&job, "siguiente");
        job.take(input, Moment(1));
    }
    let words = "freno puesto ruedas calzadas y llevo la llave {colour}";
    for certainty in [Certainty::Typed, Certainty::Doubtful] {
        let Input::Said { command, heard } = typed(&job, words) else {
            panic!("the words are those of the gate");
        };
        let heard = Heard { certainty, ..heard };
        let effects = job.take(Input::Said { command, heard }, Moment(2));
        assert!(!opened(&effects), "{certainty:?}");
    }
    assert_eq!(job.holding(), Some(&Id::new("secured")));
}

/// A record kept before there were languages replays the same: nothing new is in it.
#[test]
fn what_is_kept_of_an_english_job_says_nothing_of_languages() {
    let mut job = Job::new(Arc::new(english()), Settings::default());
    let effects = job.take(Input::Begin, Moment(0));
    let listen = serde_json::to_string(&job.listen()).unwrap();
    assert!(!listen.contains("language"), "{listen}");
    let settings = serde_json::to_string(job.settings()).unwrap();
    assert!(!settings.contains("language"), "{settings}");
    for effect in effects {
        if let Effect::Write(entry) = effect {
            assert!(
                !serde_json::to_string(&entry)
                    .unwrap()
                    .contains("\"language\"")
            );
        }
    }
}
