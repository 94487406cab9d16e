//! Spanish: numbers against an independent library's (`num2words/table_es.tsv.gz`, written by PyPI num2words 0.5.14
//! through `num2words/generate_es.py`), the grammars, sentences in words, readbacks and what only sounds like them.

use crate::num2words;

use std::collections::{HashMap, HashSet};
use std::path::Path;
use std::sync::Arc;
use steps::{
    Colour, Command, Decimal, Id, Job, Language, Listen, Manner, NumberWanted, Procedure, Readback,
    Settings,
};
use words::decoys::decoys;
use words::jsgf::Grammar;
use words::now::{CannotListen, NotUnderstood, StateGrammar, usual_words};
use words::number::{read, spell, spell_digits, spoken_variants, written_variants};
use words::wording::{spoken, spoken_slowly, unit_words};

const ES: Language = Language::Spanish;

fn table() -> Vec<(Decimal, String)> {
    let text = num2words::unpacked(include_bytes!("num2words/table_es.tsv.gz"));
    let rows: Vec<_> = text
        .lines()
        .map(|line| {
            let (value, words) = line.split_once('\t').unwrap();
            (value.parse().unwrap(), words.replace(" punto ", " coma "))
        })
        .collect();
    assert!(rows.len() > 12_000, "{}", rows.len());
    rows
}

#[test]
fn values_are_spelt_and_read_as_the_independent_library_spells_them() {
    for (value, words) in table() {
        assert_eq!(spell(ES, value), words);
        assert_eq!(read(ES, &words), Ok(value), "{words}");
    }
}

#[test]
fn every_way_to_say_a_number_reads_back_as_itself_and_means_no_other() {
    let mut meaning: HashMap<String, Decimal> = HashMap::new();
    let wholes = (0..10_000).map(|digits| (digits, 0));
    let decimals = (0..4_000).map(|digits| (digits, 2));
    for (digits, places) in wholes.chain(decimals) {
        let value = Decimal::new(digits, places).unwrap();
        for said in spoken_variants(ES, value) {
            assert_eq!(read(ES, &said), Ok(value), "{said}");
            let before = meaning.insert(said.clone(), value);
            assert!(before.is_none_or(|before| before == value), "{said}");
        }
        assert!(written_variants(ES, value).len() >= 2);
    }
}

#[test]
fn what_is_no_number_or_could_be_two_is_refused() {
    for words in [
        "",
        "ciento",
        "cien uno",
        "treinta uno",
        "treinta y diez",
        "veinte y uno dos",
        "dos coma",
        "coma cinco coma dos",
        "un mil",
        "cero siete",
        "dos mil mil",
        "tuerca",
        "twenty one",
    ] {
        assert!(read(ES, words).is_err(), "{words}");
    }
    // Without accents, and as it was written once.
    for (words, value) in [
        ("veintidos", "22"),
        ("diez y seis", "16"),
        ("menos cinco", "−5"),
    ] {
        assert_eq!(read(ES, words).unwrap().to_string(), value);
    }
    let value = "140.05".parse().unwrap();
    assert_eq!(spell_digits(ES, value), "uno cuatro cero coma cero cinco");
}

fn grammar(name: &str) -> Grammar {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../grammars/es");
    let text = std::fs::read_to_string(path.join(name)).unwrap();
    Grammar::parse(name, &text).unwrap_or_else(|error| panic!("{error:?}"))
}

#[test]
fn every_rule_of_the_english_grammar_is_there_and_every_phrase_means_one_command() {
    let spanish = grammar("commands.jsgf");
    let english = include_str!("../../../../grammars/en/commands.jsgf");
    let english = Grammar::parse("commands.jsgf", english).unwrap();
    let public = |grammar: &Grammar| -> HashSet<String> {
        let rules = grammar.rules().iter().filter(|rule| rule.public);
        rules.map(|rule| rule.name.clone()).collect()
    };
    assert_eq!(public(&spanish), public(&english));
    let mut meaning: HashMap<String, String> = HashMap::new();
    for rule in public(&spanish) {
        let phrases = spanish.expand(&rule, 40).unwrap();
        assert!((2..=20).contains(&phrases.len()), "{rule}");
        for phrase in phrases {
            assert_eq!(phrase.tags, std::slice::from_ref(&rule));
            let words = phrase.words.join(" ");
            let other = meaning.insert(words.clone(), rule.clone());
            assert_eq!(other, None, "“{words}” means {rule} too");
        }
    }
}

#[test]
fn every_way_to_say_a_number_is_in_the_number_grammar() {
    let grammar = grammar("numbers.jsgf");
    let wholes = (0..10_000).step_by(3).map(|digits| (digits, 0));
    let hundredths = (0..4_000).step_by(3).map(|digits| (digits, 2));
    for (digits, places) in wholes.chain(hundredths) {
        let value = Decimal::new(digits, places).unwrap();
        for said in spoken_variants(ES, value) {
            let words: Vec<_> = said.split(' ').collect();
            assert!(grammar.parse_words("number", &words).is_some(), "{said}");
        }
    }
}

#[test]
fn sentences_are_written_out() {
    for (written, said) in [
        (
            "Apriete la tuerca a 6 N·m (4.4 lbf·ft).",
            "Apriete la tuerca a seis newton metro, cuatro coma cuatro libras pie.",
        ),
        ("1 tuerca, 21 tuercas", "una tuerca, veintiuna tuercas"),
        (
            "1 tornillo, 21 tornillos",
            "un tornillo, veintiún tornillos",
        ),
        ("paso 1 de 31", "paso uno de treinta y uno"),
        (
            "1 mm, 21 mm, 0,05 mm",
            "un milímetro, veintiún milímetros, cero coma cero cinco milímetros",
        ),
        ("1 lb, 200 lb", "una libra, doscientas libras"),
        ("vaso de 1/2 in", "vaso de media pulgada"),
        ("3/8 in", "tres octavos de pulgada"),
        ("1 1/2 in", "una y media pulgadas"),
        ("M14x1.5", "M catorce por uno coma cinco"),
        (
            "de 12,5 a 13,0 V",
            "de doce coma cinco a trece coma cero voltios",
        ),
        (
            "130–150 N·m",
            "ciento treinta a ciento cincuenta newton metro",
        ),
        ("−5 °C", "menos cinco grados Celsius"),
        ("±3 %", "más o menos tres por ciento"),
        ("¿Sí o no?", "Sí o no?"),
        (
            "a la una del reloj, a las 3",
            "a la una del reloj, a las tres",
        ),
    ] {
        assert_eq!(spoken(ES, written), said);
    }
    assert_eq!(spoken_slowly(ES, "103 N·m"), "uno cero tres, newton metro");
    assert_eq!(unit_words(ES, "V"), Some(("voltio", "voltios")));
}

/// The words of the readback rule: a denial stands before the verb and its pronoun.
#[test]
fn a_readback_is_denied_asked_and_put_off_as_people_do_it() {
    let readback = "las dos ruedas están calzadas y la batería se mueve";
    let made = decoys(ES, readback);
    for wanted in [
        "las dos ruedas no están calzadas y la batería se mueve",
        "las dos ruedas están calzadas y la batería no se mueve",
        "no las dos ruedas están calzadas y la batería se mueve",
        "las una ruedas están calzadas y la batería se mueve",
        "las dos ruedas están sueltas y la batería se mueve",
        "las dos ruedas todavía no están calzadas y la batería se mueve",
        "están las dos ruedas calzadas y la batería se mueve",
        "las dos ruedas estarán calzadas y la batería se mueve",
        "creo que las dos ruedas están calzadas y la batería se mueve",
        "cuando sea así diga las dos ruedas están calzadas y la batería se mueve",
    ] {
        let there = made.contains(&wanted.to_owned());
        let one_off = wanted.starts_with("las una");
        assert!(there != one_off, "{wanted}: {made:#?}");
    }
    assert!(made.len() <= words::decoys::MOST);
    assert!(!made.contains(&readback.to_owned()));
    assert!(decoys(ES, "no gira").contains(&"gira".to_owned()));
    assert!(decoys(ES, "").is_empty());
}

fn procedure() -> Procedure {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../procedures");
    let mut files = std::collections::BTreeMap::new();
    for (folder, before) in [("es", ""), ("es/parts", "es/parts/")] {
        for entry in std::fs::read_dir(root.join(folder)).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|it| it == "toml") {
                let stem = path.file_stem().unwrap().to_str().unwrap();
                let text = std::fs::read_to_string(&path).unwrap();
                files.insert(format!("{before}{stem}"), text);
            }
        }
    }
    Procedure::load("starter-battery-es", &files).unwrap_or_else(|error| panic!("{error:?}"))
}

#[test]
fn each_gate_hears_its_own_readback_with_its_colour_and_none_of_its_decoys() {
    let procedure = procedure();
    assert_eq!(procedure.gates.len(), 6);
    for (id, gate) in &procedure.gates {
        for colour in [None, Some(Colour::Yellow)] {
            let readback = Readback {
                gate: id.clone(),
                words: gate.readback.clone(),
                alternatives: gate.alternatives.clone(),
                colour,
                decoys: gate.decoys.clone(),
            };
            let in_full = readback.in_full(ES);
            assert_eq!(in_full.ends_with("amarillo"), colour.is_some());
            let now = StateGrammar::compile(&Listen {
                language: ES,
                commands: Command::ALL_PLAIN.to_vec(),
                readback: Some(readback),
                ..Listen::default()
            })
            .unwrap();
            let opens = Ok(Command::Readback {
                gate: id.clone(),
                colour,
            });
            assert_eq!(now.parse(&in_full), opens);
            assert_eq!(now.parse(&in_full.to_uppercase()), opens);
            let decoys: Vec<_> = now.phrases().iter().filter(|it| it.decoy).collect();
            assert!(decoys.len() >= 20 + gate.decoys.len(), "{id}");
            for decoy in decoys {
                let means = now.parse(&decoy.words);
                assert!(
                    matches!(means, Err(_) | Ok(Command::NotSo)),
                    "{}",
                    decoy.words
                );
            }
            if colour.is_some() {
                let without = now.parse(&gate.readback);
                assert!(matches!(without, Err(NotUnderstood::NotTheReadback(_))));
                let other = format!("{} negro", gate.readback);
                assert!(now.parse(&other).is_err());
            }
        }
    }
}

#[test]
fn the_assistant_names_commands_by_their_usual_words_and_they_are_understood() {
    let job = Job::new(Arc::new(procedure()), Settings::default());
    let listen = Listen {
        language: ES,
        commands: Command::ALL_PLAIN.to_vec(),
        ..Listen::default()
    };
    let now = StateGrammar::compile(&listen).unwrap();
    for command in Command::ALL_PLAIN {
        let usual = usual_words(ES, &command).unwrap();
        assert_eq!(now.parse(&usual), Ok(command.clone()), "{usual}");
    }
    // Those of the beginning, as the job itself names them.
    for words in job.can_say() {
        assert!(now.parse(&words).is_ok(), "{words}");
    }
    // Not everybody types accents.
    assert_eq!(now.parse("si"), Ok(Command::Yes));
    assert_eq!(now.parse("¿Qué par?"), Ok(Command::WhatTorque));
    assert_eq!(
        now.parse("más fuerte"),
        Ok(Command::Manner {
            manner: Manner::Louder
        })
    );
    assert!(now.parse("what torque").is_err());
}

#[test]
fn readings_are_said_with_comma_unit_and_parts() -> Result<(), CannotListen> {
    let now = StateGrammar::compile(&Listen {
        language: ES,
        number: Some(NumberWanted {
            least: "0.00".parse().unwrap(),
            most: "5.00".parse().unwrap(),
            places: 2,
            unit: "mm".to_owned(),
        }),
        ..Listen::default()
    })?;
    for (said, value) in [
        ("dos coma cinco", "2.50"),
        ("dos coma veinticinco milímetros", "2.25"),
        ("2,25", "2.25"),
        ("lectura uno coma cero cinco", "1.05"),
        ("cuatro décimas", "0.40"),
        ("veintiuna centésimas", "0.21"),
        ("cero coma cuatro mm", "0.40"),
    ] {
        let value = value.parse().unwrap();
        assert_eq!(now.parse(said), Ok(Command::Reading { value }), "{said}");
    }
    assert!(now.parse("siete").is_err());
    Ok(())
}

#[test]
fn the_words_of_a_gate_of_this_language_are_no_words_of_another() {
    let gate = Id::new("secured");
    let readback = Readback {
        gate,
        words: "las ruedas están calzadas".to_owned(),
        alternatives: Vec::new(),
        colour: Some(Colour::Black),
        decoys: Vec::new(),
    };
    assert_eq!(readback.in_full(ES), "las ruedas están calzadas negro");
    assert_eq!(
        readback.in_full(Language::English),
        "las ruedas están calzadas black"
    );
}
