//! Sounds and photos are discarded by a rule.

use super::harness::{Bay, run, text};
use std::process::Command;

#[test]
fn without_a_rule_nothing_goes_and_it_says_where_the_rule_stands() {
    let bay = Bay::of_a_new_shop();
    bay.sayback(&["discard"])
        .exits(1)
        .tells("nothing says how long sounds and photos are kept")
        .tells("write `days = 365` into keeping.toml");
    bay.sayback(&["discard", "--days", "30"])
        .exits(0)
        .prints("Nothing has been kept longer than 30 days.");
    bay.sayback(&["discard", "no-such-job", "--days", "30"])
        .exits(1)
        .tells("no job on record is called no-such-job");
}

#[test]
fn the_rule_is_read_from_the_configuration_folder() {
    let bay = Bay::of_a_new_shop();
    std::fs::create_dir_all(bay.path("config/sayback")).unwrap();
    let with = |rule: &str| {
        bay.file("config/sayback/keeping.toml", rule);
        let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
        command
            .args(["discard", "--json", "--records", text(&bay.records())])
            .env("XDG_CONFIG_HOME", bay.path("config"));
        run(&mut command)
    };
    assert_eq!(with("days = 90\n").exits(0).json(), serde_json::json!([]));
    with("day = 90\n").exits(1).tells("unknown field `day`");
}
