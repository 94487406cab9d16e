//! How phrases sound: what is known to be taken for each other is near, what a job's readbacks are isn't.
//!
//! The dictionary is an excerpt of the CMU Pronouncing Dictionary, as the package `pocketsphinx` 5.1.1 carries it (licence
//! beside it). The
//! whole of it is held against the shipped procedures in `sayback/tests/it/shell/checks.rs`.

use std::collections::BTreeMap;
use steps::procedure::At;
use steps::{Id, Procedure};
use words::sound::{Lexicon, Near, Nearness, Sounds, near, phrases};

const EXCERPT: &str = include_str!("sound/cmudict-excerpt.dict");

fn own(pairs: &[(&str, &str)]) -> BTreeMap<String, String> {
    let owned = |(word, like): &(&str, &str)| ((*word).to_owned(), (*like).to_owned());
    pairs.iter().map(owned).collect()
}

fn distance(one: &str, other: &str) -> f64 {
    let lexicon = Lexicon::read(EXCERPT);
    let own = own(&[("chocked", "chalked")]);
    let sounds = Sounds::new(&lexicon, &own);
    let sound = |words: &str| {
        let unknown = sounds.unknown(words);
        sounds
            .of(words)
            .unwrap_or_else(|| panic!("{words}: {unknown:?}"))
    };
    let there = sound(one).distance(&sound(other));
    let back = sound(other).distance(&sound(one));
    assert!((there - back).abs() < 1e-9, "{one}: {there}, {back}");
    there
}

/// “Called” is what the ear hears for “cold”, and “choked” what it writes for “chocked” (`ears::verdict`).
#[test]
fn what_is_taken_for_each_other_is_near() {
    for (one, other) in [
        ("the engine is called", "the engine is cold"),
        ("wheels are choked", "wheels are chocked"),
        ("it agrees with the mark", "it agrees with the marks"),
        ("neither leg moved", "either leg moved"),
    ] {
        assert!(distance(one, other) < 0.15, "{one}");
    }
    for (one, other) in [
        ("the engine is cold", "both stands carry the weight"),
        ("both wheels are blocked", "nothing moved when i pushed"),
        ("next", "both stands carry the weight"),
    ] {
        assert!(distance(one, other) > 0.5, "{one}");
    }
    assert!(distance("the engine is cold", "The engine is cold.") < 1e-9);
    // “the” is said in two ways; the nearer one counts.
    assert!(distance("the engine", "thee engine") < 1e-9);
}

/// By hand from Kondrak's tables: on and off differ in N for F (nasal 10, place 4, manner 10, voice 10) and in nothing
/// else, as “on” may be said with the vowel of “off”; locked and unlocked in a vowel (17.5) and a consonant (27.5).
#[test]
fn changes_are_those_reckoned_by_hand() {
    let lexicon = Lexicon::read(EXCERPT);
    let none = BTreeMap::new();
    let sounds = Sounds::new(&lexicon, &none);
    let change = |one: &str, other: &str| {
        let (one, other) = (sounds.of(one).unwrap(), sounds.of(other).unwrap());
        one.change(&other)
    };
    for (one, other, expected) in [
        ("on", "off", 34.0),
        ("locked", "unlocked", 45.0),
        ("called", "cold", 0.0),
        ("is", "is not", 72.5),
        ("neither", "either", 27.5),
    ] {
        let told = change(one, other);
        assert!((told - expected).abs() < 1e-9, "{one} {other}: {told}");
    }
}

fn procedure(readback: &str, decoy: &str, more: &str) -> Procedure {
    let text = format!(
        r#"format = 1
id = "job"
title = "The job"
vehicle = "test trailer"
values = "Invented."
minutes = 10

[[fact]]
id = "cold"
means = "the engine is cold"

[[gate]]
id = "cold"
fact = "cold"
ask = "Touch it."
readback = "{readback}"
decoys = ["{decoy}"]

[[fact]]
id = "held"
means = "the weight is held"

[[gate]]
id = "held"
fact = "held"
ask = "Push it."
readback = "Both stands carry the weight and nothing moved."

{more}

[[step]]
id = "wipe"
action = "do"
text = "Wipe it."

[[make_safe]]
id = "tag"
action = "do"
text = "Tag it."
"#
    );
    Procedure::load("job", &BTreeMap::from([("job", text.as_str())])).unwrap()
}

fn found(it: &Procedure) -> Vec<Near> {
    let lexicon = Lexicon::read(EXCERPT);
    near(it, Sounds::new(&lexicon, &it.sounds_like))
}

#[test]
fn another_readback_an_answer_and_a_denial_that_are_near_are_found() {
    let apart = procedure(
        "The engine is cold and I touched it.",
        "the engine is hot and i touched it",
        "",
    );
    assert_eq!(found(&apart), []);
    let denied = procedure(
        "The engine is cold and I touched it.",
        "the engine is called and i touched it",
        "",
    );
    let expected = Near {
        gate: Id::new("cold"),
        words: "the engine is called and i touched it".to_owned(),
        what: Nearness::Denial,
    };
    assert_eq!(found(&denied), [expected]);
    let said_too = procedure(
        "The engine is cold now.",
        "the engine is hot now",
        "[[branch]]\nid = \"b\"\nsay = [\"the engine is called now\"]\n[[branch.step]]\nid = \"c\"\naction = \"do\"\ntext = \"Wait.\"",
    );
    assert_eq!(found(&said_too)[0].what, Nearness::Sayable);
    let like_the_other = procedure(
        "Both stands carried the weight and nothing moved.",
        "the engine is hot now",
        "",
    );
    assert_eq!(
        found(&like_the_other)[0].what,
        Nearness::Readback(Id::new("cold"))
    );
}

#[test]
fn a_word_that_is_unknown_has_no_sound_until_it_is_given_one() {
    let lexicon = Lexicon::read(EXCERPT);
    let none = BTreeMap::new();
    let sounds = Sounds::new(&lexicon, &none);
    assert_eq!(sounds.unknown("The chocked wheels, chocked!"), ["chocked"]);
    assert!(sounds.of("the chocked wheels").is_none());
    assert!(sounds.of("").is_none());
    let given = own(&[("chocked", "chalked")]);
    let sounds = Sounds::new(&lexicon, &given);
    assert_eq!(sounds.unknown("the chocked wheels"), [""; 0]);
    // Its contrary is known with it.
    let (it, contrary) = (
        sounds.of("chocked").unwrap(),
        sounds.of("unchocked").unwrap(),
    );
    assert!((it.change(&contrary) - 45.0).abs() < 1e-9);
    let strange = own(&[("chocked", "choqued")]);
    assert_eq!(
        Sounds::new(&lexicon, &strange).unknown("the chocked wheels"),
        ["chocked"]
    );
}

#[test]
fn everything_that_may_be_said_is_listed_with_its_place() {
    let more = r#"[[variant]]
id = "side"
ask = "Which side?"
options = [{ id = "left", say = "left" }, { id = "right", say = "right" }]

[[item]]
id = "tray"
name = "tray"
may_wait = true

[[item]]
id = "guard"
name = "guard"

[[branch]]
id = "b"
say = ["the nut won't move"]
[[branch.step]]
id = "c"
action = "do"
text = "Wait."
"#;
    let it = procedure("The engine is cold now.", "the engine is hot now", more);
    let all: Vec<(At, String)> = phrases(&it)
        .into_iter()
        .map(|it| (it.at, it.words))
        .collect();
    let (cold, held) = (Id::new("cold"), Id::new("held"));
    let hot = "the engine is hot now".to_owned();
    let option = |id| At::Option(Id::new("side"), Id::new(id));
    let says = "the nut won't move".to_owned();
    assert_eq!(
        all,
        [
            (At::Title, "the job".to_owned()),
            (
                At::Readback(cold.clone()),
                "the engine is cold now".to_owned()
            ),
            (At::Decoy(cold, hot.clone()), hot),
            (
                At::Readback(held),
                "both stands carry the weight and nothing moved".to_owned()
            ),
            (option("left"), "left".to_owned()),
            (option("right"), "right".to_owned()),
            (At::Says(says.clone()), says),
            (At::Name(Id::new("tray")), "tray".to_owned()),
        ]
    );
}
