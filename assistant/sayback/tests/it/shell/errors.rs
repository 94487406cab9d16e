//! An error is drawn with what caused it, and no part of it says again what another part says.

use super::harness::{Bay, Ran, sayback, text};

/// The message, its causes and its help, each in one line. What is drawn of a file isn't a part.
fn parts(ran: &Ran) -> Vec<String> {
    let mut parts: Vec<String> = Vec::new();
    let mut in_drawing = false;
    for line in ran.err.lines() {
        let begins = ["×", "╰─▶", "├─▶", "help:"]
            .iter()
            .any(|it| line.contains(it));
        in_drawing = line.contains("╭─[") || in_drawing && !begins;
        let words = line.trim_matches(|it: char| it.is_whitespace() || "×╰─▶├│".contains(it));
        match parts.last_mut() {
            _ if begins => parts.push(words.to_owned()),
            Some(part) if !in_drawing && !words.is_empty() => *part = format!("{part} {words}"),
            Some(_) | None => {}
        }
    }
    parts
}

#[test]
fn no_part_of_an_error_is_said_twice() {
    let bay = Bay::of_a_new_shop();
    let folder = bay.path("folder.toml");
    std::fs::create_dir(&folder).unwrap();
    let folder = text(&folder);
    let file = bay.file("file.toml", "no toml");
    let file = text(&file);
    let below = format!("{file}/below.toml");
    let below_wav = format!("{file}/below.wav");
    let below_pdf = format!("{file}/below.pdf");
    let missing = bay.path("missing.toml");
    let missing = text(&missing);
    let rehearse = ["rehearse", "front-brakes"];
    let commands: &[&[&str]] = &[
        &["records", "--records", file],
        &["records", "--records", &below],
        &["work", "front-brakes", "--records", file],
        &[&rehearse[..], &["--records", &below]].concat(),
        &[&rehearse[..], &["--tools", missing]].concat(),
        &[&rehearse[..], &["--tools", folder]].concat(),
        &[&rehearse[..], &["--tools", &below]].concat(),
        &[&rehearse[..], &["--tools", file]].concat(),
        &[&rehearse[..], &["--people", missing]].concat(),
        &[&rehearse[..], &["--people", &below]].concat(),
        &[&rehearse[..], &["--people", file]].concat(),
        &[&rehearse[..], &["--script", missing]].concat(),
        &[&rehearse[..], &["--script", &below]].concat(),
        &[&rehearse[..], &["--procedures", missing]].concat(),
        &[&rehearse[..], &["--procedures", file]].concat(),
        &["hear-check", "--sound", missing],
        &["hear-check", "--sound", file],
        &["hear-check", "--sound", &below_wav],
        &["hear-check", "--sound", folder],
        &["hear-check", "--ear", missing],
        &["hear-check", "--vosk", missing],
        &["procedure", "front-brakes", "--export", &below_pdf],
        &["procedure", "front-brakes", "--picture", &below],
        &["check", missing],
        &["check", &below],
        &["check", file],
        &["fmt", file],
        &["fmt", &below],
        &["diff", missing, file],
        &["diff", &below, file],
        &["import", file, "--out", missing],
        &["verify", missing],
        &["verify", &below],
        &["verify", file],
        &["verify", file, "--key", &below],
        &["repair", file, missing],
        &["reckon", "convert", "3 m", "--to", "N.m"],
        &["reckon", "reading", "3 mm", "--at-least", "2 bar"],
        &["demo", "--talk", &below],
        &["demo", "--talk", file],
    ];
    for words in commands {
        let ran = sayback(words.iter().copied());
        assert_ne!(ran.code, 0, "{words:?}\n{}", ran.out);
        let parts = parts(&ran);
        for (at, part) in parts.iter().enumerate() {
            let others = parts.iter().enumerate().filter(|(other, _)| *other != at);
            for (_, other) in others {
                assert!(
                    !other.contains(part.as_str()),
                    "{words:?}: “{part}”\n{}",
                    ran.err
                );
            }
        }
        let once = ["os error", "can't be read", "can't be used"];
        for phrase in once {
            let often = parts.iter().filter(|it| it.contains(phrase)).count();
            assert!(often < 2, "{words:?}: “{phrase}”\n{}", ran.err);
        }
    }
}
