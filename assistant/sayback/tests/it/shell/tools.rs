//! The technician's own tools file.

use super::harness::{Bay, run, text, typed_to_the_end};
use std::process::Command;

const TOOLS: &str = r#"
[[torque_wrench]]
name = "half-inch wrench"
scale = "20–150 lbf·ft"
step = "1 lbf·ft"
calibration_due = "2199-12-31"
"#;

#[test]
fn the_torque_is_told_for_the_wrench_in_the_tools_file_and_stays_so_when_taken_up() {
    let bay = Bay::new();
    let tools = bay.file("tools.toml", TOOLS);
    let script = bay.file("script.txt", typed_to_the_end("trailer-hub").join("\n"));
    let words = ["rehearse", "trailer-hub", "--script", text(&script)];
    let with = |tools: &[&str]| bay.sayback(&[&words[..], tools].concat()).exits(0);
    assert!(!with(&[]).out.contains("half-inch wrench"));
    with(&["--tools", text(&tools)]).prints("told 81 lbf·ft, half-inch wrench");
    // The record has the tools, so it is proved without the file.
    std::fs::remove_file(tools).unwrap();
    let newest = bay.jobs().remove(0);
    bay.sayback(&["record", &newest, "--verify"]).exits(0);
}

#[test]
fn the_usual_place_is_the_users_configuration_folder() {
    let bay = Bay::new();
    std::fs::create_dir_all(bay.path("config/sayback")).unwrap();
    bay.file("config/sayback/tools.toml", TOOLS);
    let script = bay.file("script.txt", typed_to_the_end("trailer-hub").join("\n"));
    let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
    command
        .args(["rehearse", "trailer-hub", "--script", text(&script)])
        .args(["--records", text(&bay.records())])
        .env("XDG_CONFIG_HOME", bay.path("config"));
    run(&mut command)
        .exits(0)
        .prints("told 81 lbf·ft, half-inch wrench");
}

#[test]
fn a_wrong_tools_file_is_drawn_line_by_line() {
    let bay = Bay::new();
    let tools = bay.file(
        "tools.toml",
        TOOLS
            .replace("1 lbf·ft", "1 N·m")
            .replace("2199-12-31", "31/12/2199"),
    );
    let ran = bay
        .sayback(&["rehearse", "trailer-hub", "--tools", text(&tools)])
        .exits(1)
        .tells("can't be used: 2 things in it are wrong")
        .tells("the step is in N·m, the scale in lbf·ft")
        .tells("calibration_due: “31/12/2199” is not a date");
    assert!(ran.err.contains("tools.toml:5:1"), "{}", ran.err);
    bay.sayback(&["rehearse", "trailer-hub", "--tools", "no-such.toml"])
        .exits(1)
        .tells("there is no file no-such.toml: look at its name")
        .tells("it should be your tools file");
}

#[test]
fn the_tools_file_in_the_book_is_one() {
    let page = include_str!("../../../../../docs/src/using/tools-and-people.md");
    let (_, rest) = page.split_once("```toml tools.toml\n").unwrap();
    let (example, _) = rest.split_once("```").unwrap();
    let tools = steps::quantity::Tools::read(example).unwrap();
    assert_eq!(
        (
            tools.wrenches.len(),
            tools.adapters.len(),
            tools.sized.len()
        ),
        (1, 1, 5)
    );
}
