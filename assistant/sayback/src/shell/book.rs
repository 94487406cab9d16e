//! Every command line in the book and in the repository's other pages is one that this program takes.

#[path = "../../tests/it/guide/pages.rs"]
#[allow(dead_code)]
mod pages;

use super::Shell;
use clap::Parser;
use clap::error::ErrorKind;
use std::process::{Command, Stdio};

/// Takes a script apart as the shell does; whatever isn't `sayback` isn't run.
fn command_lines(script: &str) -> Vec<Vec<String>> {
    let told = format!("sayback() {{ printf '%s\\0' sayback \"$@\"; printf '\\n'; }}\n{script}");
    let output = Command::new("/bin/sh")
        .args(["-c", &told])
        .env("PATH", "/nonexistent")
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let words = |line: &str| line.split_terminator('\0').map(str::to_owned).collect();
    text.lines().map(words).collect()
}

/// Whether the program takes these words. Within a text a command may be named without what it needs.
fn taken(words: &[String], within_a_text: bool) -> bool {
    match Shell::try_parse_from(words).map_err(|error| error.kind()) {
        Ok(_) | Err(ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) => true,
        Err(
            ErrorKind::MissingRequiredArgument
            | ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand,
        ) => within_a_text,
        Err(_) => false,
    }
}

#[test]
fn every_command_line_in_the_pages_is_taken() {
    let mut seen = 0;
    for page in pages::all() {
        let blocks = page.blocks.iter();
        let scripts = blocks.filter(|(info, _)| info == "sh" || info.starts_with("sh,"));
        let scripts = scripts.map(|(_, script)| (script, false));
        let named = page.code.iter().filter(|it| it.starts_with("sayback "));
        for (script, within_a_text) in scripts.chain(named.map(|it| (it, true))) {
            let lines = command_lines(script);
            let wanted = script.lines().filter(|it| it.starts_with("sayback"));
            assert_eq!(lines.len(), wanted.count(), "{}: {script}", page.name());
            for line in lines {
                let place = page.path.display();
                assert!(taken(&line, within_a_text), "{place}: {line:?}");
                seen += 1;
            }
        }
    }
    assert!(seen > 60, "{seen}");
}
