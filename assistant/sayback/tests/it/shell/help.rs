//! What somebody reads who has never seen the program.

use super::harness::{run, sayback};
use std::process::Command;

/// Every command of the shell.
const COMMANDS: [&str; 31] = [
    "work",
    "resume",
    "rehearse",
    "page",
    "procedures",
    "procedure",
    "vehicles",
    "check",
    "new",
    "approve",
    "release",
    "withdraw",
    "revisions",
    "fmt",
    "diff",
    "import",
    "reckon",
    "microphones",
    "hear-check",
    "heard",
    "records",
    "statistics",
    "record",
    "verify",
    "key",
    "repair",
    "discard",
    "report",
    "attach",
    "demo",
    "completions",
];

#[test]
fn help_names_every_command_and_the_safety_note() {
    let help = sayback(["--help"]).exits(0);
    for command in COMMANDS {
        assert!(help.out.contains(&format!("  {command} ")), "{command}");
    }
    insta::assert_snapshot!("help", help.out);
}

#[test]
fn every_commands_help_reads_well() {
    for command in COMMANDS.into_iter().chain(["man"]) {
        let help = sayback([command, "--help"]).exits(0);
        assert_eq!(help.err, "", "{command}");
        for line in help.out.lines() {
            assert!(line.chars().count() <= 100, "{command}: {line}");
        }
        insta::assert_snapshot!(format!("help_{}", command.replace('-', "_")), help.out);
    }
}

#[test]
fn without_a_command_it_tells_how_it_is_used() {
    let ran = sayback::<&str>([]).exits(2);
    assert_eq!(ran.out, "");
    ran.tells("Usage: sayback");
}

#[test]
fn a_usage_error_exits_with_two_and_says_what_was_meant() {
    sayback(["proceduers"]).exits(2).tells("procedures");
    sayback(["procedure"]).exits(2).tells("<NAME>");
    sayback(["work", "--sound", "a.wav", "--microphone", "b"])
        .exits(2)
        .tells("cannot be used with");
    sayback(["rehearse", "front-brakes", "--unit", "stone"])
        .exits(2)
        .tells("lbf.ft");
}

#[test]
fn a_unit_may_be_typed_as_wrenches_are_marked() {
    for unit in ["Nm", "nm", "ft-lb", "FT.LB", "in-lbs", "kgf.m"] {
        let ran = super::harness::Bay::new().sayback(&["rehearse", "trailer-hub", "--unit", unit]);
        assert_eq!(ran.exits(3).err, "", "{unit}");
    }
}

#[test]
fn version_is_the_packages() {
    sayback(["--version"])
        .exits(0)
        .prints(&format!("sayback {}", env!("CARGO_PKG_VERSION")));
}

#[test]
fn completions_are_made_for_each_shell_and_bash_takes_them() {
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let made = sayback(["completions", shell]).exits(0);
        for command in COMMANDS {
            assert!(made.out.contains(command), "{shell} lacks {command}");
        }
    }
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("sayback.bash");
    std::fs::write(&script, sayback(["completions", "bash"]).out).unwrap();
    run(Command::new("bash").arg("-n").arg(&script)).exits(0);
}

#[test]
fn the_manual_page_is_one_and_names_every_command() {
    let page = sayback(["man"]).exits(0);
    assert!(page.out.contains(".TH sayback 1"), "{}", page.out);
    for section in [".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"] {
        assert!(page.out.contains(section), "{section}");
    }
    for command in COMMANDS {
        let written = command.replace('-', "\\-");
        assert!(page.out.contains(&written), "{command}");
    }
}

#[test]
fn output_that_nobody_reads_to_its_end_is_no_panic() {
    // As `sayback procedure … | head -1` does it.
    let program = env!("CARGO_BIN_EXE_sayback");
    for words in [
        "procedure front-half-shaft",
        "procedure front-half-shaft --json",
        "completions bash",
        "man",
    ] {
        let line = format!("{program} {words} | (exec 0<&-; sleep 0.2)");
        run(Command::new("bash").arg("-c").arg(line)).exits(0);
    }
}
