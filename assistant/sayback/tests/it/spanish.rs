//! A job in Spanish through the shell: checked, rehearsed to its ends, spoken, and not worked by an ear that knows no
//! Spanish.

use crate::shell::harness::{Bay, sayback, text};
use sayback::library::Shelf;
use std::path::{Path, PathBuf};
use std::process::Command;
use steps::{Decimal, Language};
use voice::{EspeakWav, Settings, Voice};
use words::wording::spoken;

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../procedures/es")
        .join(name)
}

#[test]
fn it_passes_the_strict_check_and_stands_on_the_shelf() {
    let job = file("starter-battery-es.toml");
    sayback(["check", "--strict", text(&job)]).exits(0);
    assert_eq!(Shelf::Shipped.translations(), ["starter-battery-es"]);
    sayback(["procedure", "starter-battery-es"])
        .exits(0)
        .prints("Cambio de la batería de arranque");
}

#[test]
fn its_rehearsals_end_as_their_names_say() {
    for (name, ended) in [
        ("starter-battery-es.txt", "closed: finished"),
        ("starter-battery-es.given-up.txt", "closed: given up"),
    ] {
        let bay = Bay::new();
        let script = file("rehearsals").join(name);
        let ran = bay
            .sayback(&["rehearse", "starter-battery-es", "--script", text(&script)])
            .exits(0);
        assert!(ran.out.contains(ended), "{name}: {}", ran.out);
        for said in [
            "Esto es un ensayo. Su registro no prueba ningún trabajo.",
            "Peligro. Punto de espera. ",
            "Oído y registrado.",
            "Palabra de control: ",
        ] {
            assert!(ran.out.contains(said), "{name}: {said}\n{}", ran.out);
        }
        // The record says in which words its gates were opened.
        let id = bay.jobs().remove(0);
        let record = bay.sayback(&["record", &id]).exits(0).out;
        let record: Vec<&str> = record.split_whitespace().collect();
        let opened = "freno puesto ruedas calzadas y llevo la llave";
        assert!(record.join(" ").contains(opened), "{record:?}");
    }
}

#[test]
fn an_ear_that_knows_no_spanish_refuses_before_the_job_is_opened() {
    let bay = Bay::new();
    bay.sayback(&["work", "starter-battery-es"])
        .exits(1)
        .tells("the procedure is in Spanish, and the default ear understands English only")
        .tells("sayback rehearse");
    bay.sayback(&["work", "starter-battery-es", "--vosk", "/nonexistent"])
        .exits(1);
    assert!(bay.jobs().is_empty());
}

#[test]
fn its_answers_are_spoken_with_a_spanish_voice() {
    let bay = Bay::new();
    let script = bay.file("script.txt", "siguiente\nsiguiente\n");
    let answers = bay.path("answers.wav");
    let words = [
        "rehearse",
        "starter-battery-es",
        "--script",
        text(&script),
        "--answers",
        text(&answers),
    ];
    bay.sayback(&words).exits(3);
    let answers = samples(&answers);
    let first = "Esto es un ensayo. Su registro no prueba ningún trabajo.";
    let said_by = |voice: &str| {
        let path = bay.path(&format!("{voice}.wav"));
        let mut speaker =
            EspeakWav::create(&path, Settings::default(), voice, files::IfThere::Keep).unwrap();
        speaker.say(&spoken(Language::Spanish, first)).unwrap();
        drop(speaker);
        samples(&path)
    };
    assert!(answers.starts_with(&said_by("es")));
    assert!(!answers.starts_with(&said_by(voice::ENGLISH)));
}

fn samples(wav: &Path) -> Vec<i16> {
    let mut sound = hound::WavReader::open(wav).unwrap();
    sound.samples().map(|sample| sample.unwrap()).collect()
}

/// The sounds that espeak-ng's Spanish voice makes of a text, without stress, pauses, and the marks by which it tells a
/// vowel in a word from the same between words.
fn sounds(text: &str) -> String {
    let output = Command::new("espeak-ng")
        .args(["-v", "es", "-q", "-x", text])
        .output()
        .unwrap();
    let sounds = String::from_utf8(output.stdout).unwrap();
    let kept = sounds
        .chars()
        .filter(|c| !" \n',;:_".contains(*c))
        .map(|c| match c.to_ascii_lowercase() {
            'j' => 'i',
            c => c,
        });
    kept.collect()
}

/// espeak-ng writes out figures by rules of its own: an outside source for whole numbers.
#[test]
fn numbers_in_words_sound_as_espeak_ng_says_the_figures() {
    for number in (0..200).chain((200..10_000).step_by(617)) {
        let figures = Decimal::new(number, 0).unwrap().to_string();
        let words = spoken(Language::Spanish, &figures);
        assert_ne!(words, figures);
        assert_eq!(sounds(&words), sounds(&figures), "{figures}: {words}");
    }
}
