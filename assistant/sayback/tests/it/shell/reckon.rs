//! Questions of the trade, asked at the shell. Outside values stand beside each check.

use super::harness::{Bay, Ran, sayback, text};

fn reckon(words: &[&str]) -> Ran {
    sayback([&["reckon"], words].concat())
}

fn answer(words: &[&str]) -> String {
    let ran = reckon(words).exits(0);
    assert_eq!(ran.err, "");
    ran.out
}

fn json(words: &[&str]) -> serde_json::Value {
    reckon(&[words, &["--json"]].concat()).exits(0).json()
}

/// NIST SP 811, Appendix B: 1 lbf·ft is 1.3558179483314004 N·m, 1 kgf·m 9.80665 N·m, 1 in 25.4 mm.
#[test]
fn units_are_converted() {
    let it = json(&["convert", "103 lbf.ft", "--to", "N.m"]);
    let exact = it["in"][0]["value"].as_f64().unwrap();
    assert!((exact - 103.0 * 1.355_817_948_331_400_4).abs() < 1e-9);
    let it = json(&["convert", "1 kgf.m", "--to", "N.m"]);
    assert_eq!(it["in"][0]["value"], 9.80665);
    let it = json(&["convert", "3/8 in", "--to", "mm"]);
    assert_eq!(it["in"][0]["value"], 9.525);
    insta::assert_snapshot!("convert_torque", answer(&["convert", "103 lbf·ft"]));
    insta::assert_snapshot!("convert_length", answer(&["convert", "1 3/8 in"]));
    insta::assert_snapshot!("convert_volume", answer(&["convert", "500 ml"]));
    insta::assert_snapshot!(
        "convert_json",
        reckon(&["convert", "140 N.m", "--to", "lbf.ft", "--json"])
            .exits(0)
            .out
    );
    answer(&["convert", "-40 C", "--to", "F"])
        .lines()
        .for_each(|line| assert_eq!(line, "−40 °C = −40 °F"));
}

/// US Army TM 9-254, adapter length compensation (fig. 45): 12 in wrench, 2 in adapter, 60 lbf·in set gives
/// 70 lbf·in. US Army TM 9-2350-261-20-1: 40 lbf·ft wanted, 12 in wrench, 4 in adapter: set 30 lbf·ft.
#[test]
fn adapters_are_those_of_the_army_handbooks() {
    let it = json(&[
        "adapter",
        "--wrench",
        "12 in",
        "--adapter",
        "2 in",
        "--setting",
        "60 lbf.in",
    ]);
    assert_eq!(it["at_fastener"], "70 lbf·in");
    let words = [
        "adapter",
        "--wrench",
        "12 in",
        "--adapter",
        "4 in",
        "--torque",
        "40 lbf.ft",
    ];
    assert_eq!(json(&words)["setting"], "30 lbf·ft");
    insta::assert_snapshot!("adapter", answer(&words));
    // Square to the wrench nothing changes (common practice, no source).
    let it = json(&[&words[..], &["--angle", "90"]].concat());
    assert_eq!(it["setting"], "40 lbf·ft");
}

/// ISO 898-1: M12 coarse 84.3 mm², class 8.8 580 MPa of proof stress.
#[test]
fn clamp_loads_follow_the_standard() {
    let words = [
        "clamp",
        "--thread",
        "M12",
        "--strength",
        "8.8",
        "--torque",
        "85 N.m",
    ];
    let it = json(&words);
    let near = |key: &str, value: f64, by: f64| {
        let got = it[key].as_f64().unwrap();
        assert!((got - value).abs() <= by, "{key} {got}");
    };
    near("stress_area_mm2", 84.3, 0.05);
    near("proof_load_n", 84.3 * 580.0, 50.0);
    near("clamp_load_n", 85.0 / (0.2 * 0.012), 0.5);
    insta::assert_snapshot!("clamp", answer(&words));
    insta::assert_snapshot!(
        "clamp_json",
        reckon(&[&words[..], &["--json"]].concat()).exits(0).out
    );
}

/// ASME B1.1: 1/2-13 UNC has 0.1419 in²; SAE J429 grade 5 85 000 psi of proof stress.
#[test]
fn clamp_loads_of_inch_threads_follow_theirs() {
    let words = [
        "clamp",
        "--thread",
        "1/2-13",
        "--strength",
        "grade 5",
        "--share",
        "75",
        "--unit",
        "lbf.ft",
    ];
    let it = json(&words);
    let proof = it["proof_load_n"].as_f64().unwrap() / 4.448_221_615_260_5;
    assert!((proof - 0.1419 * 85_000.0).abs() < 10.0, "{proof}");
    insta::assert_snapshot!("clamp_inch", answer(&words));
}

#[test]
fn a_slip_of_the_unit_is_named() {
    let low = json(&[
        "clamp",
        "--thread",
        "M12",
        "--strength",
        "8.8",
        "--torque",
        "62 lbf.in",
    ]);
    assert_eq!(
        (&low["verdict"], &low["slip"]["meant"]),
        (&"low".into(), &"lbf·ft".into())
    );
    let seats = [
        "clamp",
        "--thread",
        "M12",
        "--strength",
        "10.9",
        "--torque",
        "20 N.m",
        "--then-angle",
    ];
    assert_eq!(json(&seats)["verdict"], "plausible");
}

/// Common practice, no source: five nuts along the lines of a star, four crosswise; heads from the middle out.
#[test]
fn patterns_are_told_and_drawn() {
    let bay = Bay::new();
    let file = bay.path("star.svg");
    let told = answer(&[
        "pattern",
        "--count",
        "5",
        "--svg",
        text(&file),
        "--title",
        "Wheel nuts",
    ]);
    insta::assert_snapshot!("pattern_star", told);
    let svg = std::fs::read_to_string(&file).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("<title>Wheel nuts</title>"));
    insta::assert_snapshot!(
        "pattern_head",
        answer(&["pattern", "--rows", "2", "--columns", "5"])
    );
    assert_eq!(
        json(&["pattern", "--count", "4", "--pattern", "criss-cross"])["order"],
        serde_json::json!([1, 3, 2, 4])
    );
    let nowhere = bay.path("no/folder.svg");
    reckon(&["pattern", "--count", "5", "--svg", text(&nowhere)])
        .exits(1)
        .tells("folder.svg");
}

/// Common practice, no source: 3/4 in and 19 mm stand in for each other, 1/2 in rounds a 13 mm head.
#[test]
fn stand_ins_are_told_and_the_others_refused() {
    insta::assert_snapshot!("fit_refused", answer(&["fit", "13 mm", "1/2 in"]));
    insta::assert_snapshot!("fit_all", answer(&["fit", "3/4 in"]));
    assert_eq!(
        json(&["fit", "19 mm", "3/4 in"])["tools"][0]["fit"],
        "stands-in"
    );
    assert_eq!(
        json(&["fit", "30", "27", "--shape", "six-lobe"])["tools"][0]["serves"],
        false
    );
}

#[test]
fn stands_waits_readings_and_running_torques() {
    let stands = [
        "stands",
        "--vehicle",
        "1800 kg",
        "--axle-share",
        "55",
        "--rated",
        "1200 kg",
    ];
    insta::assert_snapshot!("stands", answer(&stands));
    assert_eq!(json(&[&stands[..], &["--pair"]].concat())["holds"], true);
    assert_eq!(
        json(&[&stands[..], &["--pair", "--usable", "80"]].concat())["holds"],
        false
    );
    let wait = [
        "wait",
        "--row",
        "5 C = 1440",
        "--row",
        "20 C = 360",
        "--at",
        "15 C",
    ];
    insta::assert_snapshot!("wait", answer(&wait));
    insta::assert_snapshot!(
        "reading",
        answer(&["reading", "21.4 mm", "--at-least", "22 mm"])
    );
    let within = json(&[
        "reading",
        "200 thou",
        "--at-least",
        "5 mm",
        "--at-most",
        "6 mm",
    ]);
    assert_eq!(within["holds"], true);
    insta::assert_snapshot!(
        "running",
        answer(&["running", "--torque", "60 lbf.ft", "--running", "60 lbf.in"])
    );
}

#[test]
fn what_cannot_be_answered_says_why() {
    reckon(&["convert", "103"]).exits(2).tells("needs its unit");
    reckon(&["convert", "2 pints"])
        .exits(2)
        .tells("write “US pt” or “imp pt”");
    reckon(&["convert", "103 lbf.ft", "--to", "mm"])
        .exits(1)
        .tells("not a unit of torque");
    reckon(&["convert", "3 mm", "--to", "V"])
        .exits(1)
        .tells("measure different things");
    reckon(&["adapter", "--wrench", "12 in", "--adapter", "4 in"])
        .exits(2)
        .tells("--torque");
    reckon(&[
        "adapter",
        "--wrench",
        "12 kg",
        "--adapter",
        "4 in",
        "--torque",
        "4 N.m",
    ])
    .exits(1)
    .tells("is a length");
    reckon(&[
        "adapter",
        "--wrench",
        "1 in",
        "--adapter",
        "4 in",
        "--torque",
        "4 N.m",
    ])
    .exits(1)
    .tells("50 mm");
    reckon(&[
        "clamp",
        "--thread",
        "M12",
        "--strength",
        "grade 5",
        "--torque",
        "4 N.m",
    ])
    .exits(1)
    .tells("inch threads");
    reckon(&[
        "clamp",
        "--thread",
        "M15",
        "--strength",
        "8.8",
        "--torque",
        "4 N.m",
    ])
    .exits(2)
    .tells("write the pitch too");
    reckon(&["pattern"]).exits(2).tells("--count");
    reckon(&["pattern", "--count", "0"])
        .exits(2)
        .tells("1..=200");
    reckon(&["fit", "13"]).exits(1).tells("lacks its unit");
    reckon(&[
        "stands",
        "--vehicle",
        "0 kg",
        "--axle-share",
        "55",
        "--rated",
        "1200 kg",
    ])
    .exits(1)
    .tells("100 t");
    reckon(&["wait", "--row", "5 C = 1440", "--at", "15 C"])
        .exits(1)
        .tells("two rows");
    reckon(&[
        "wait",
        "--row",
        "5 C = 1440",
        "--row",
        "20 C = 360",
        "--at",
        "25 C",
    ])
    .exits(1)
    .tells("ask the maker");
    reckon(&["reading", "5 mm", "--at-least", "7 V"])
        .exits(1)
        .tells("measure different things");
    reckon(&["running", "--torque", "60 lbf.in", "--running", "80 lbf.in"])
        .exits(1)
        .tells("new nut");
}

#[test]
fn every_questions_help_reads_well() {
    for question in [
        "convert", "adapter", "clamp", "pattern", "fit", "stands", "wait", "reading", "running",
    ] {
        let help = reckon(&[question, "--help"]).exits(0);
        assert!(help.out.contains("JSON:"), "{question}");
        for line in help.out.lines() {
            assert!(line.chars().count() <= 100, "{question}: {line}");
        }
    }
}
