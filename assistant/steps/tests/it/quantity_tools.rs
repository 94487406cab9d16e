//! A technician's tools file, and what its tools can do. The bench of the Saltmarsh ferry depot is invented.

use steps::quantity::{
    Choice, Date, DriveShape, NoWrench, Owned, Tools, TorqueSpec, Unsuitable, Warning,
};

const BENCH: &str = r#"
[[torque_wrench]]
name = "small click wrench"
scale = "5–25 N·m"
step = "0.25 N·m"
drive = "1/4 in"
length = "270 mm"
calibration_due = "2027-03-31"

[[torque_wrench]]
name = "half-inch click wrench"
scale = "40–200 N·m"
step = "1 N·m"
drive = "1/2 in"
length = "480 mm"
calibration_due = "2026-09-30"
accuracy = "3 %"

[[torque_wrench]]
name = "old beam wrench"
scale = "20–150 lbf·ft"
step = "5 lbf·ft"

[[sockets]]
drive = "1/2 in"
depth = "deep"
sizes = ["17 mm", "19 mm", "21 mm"]

[[sockets]]
drive = "1/4 in"
shape = "six-lobe"
sizes = ["20", "25", "30"]

[[spanners]]
sizes = ["10 mm", "13 mm", "3/4 in", "5/16 in"]

[[adapter]]
name = "crow's-foot"
length = "48 mm"
size = "17 mm"
"#;

fn bench() -> Tools {
    Tools::read(BENCH).unwrap_or_else(|problems| panic!("{problems}"))
}

fn today() -> Date {
    "2026-11-25".parse().unwrap()
}

fn choice<'t>(tools: &'t Tools, spec: &str) -> Result<Choice<'t>, NoWrench> {
    tools.wrench_for(spec.parse::<TorqueSpec>().unwrap(), None, today())
}

#[test]
fn the_file_is_read_whole() {
    let tools = bench();
    assert_eq!(tools.wrenches.len(), 3);
    assert_eq!(tools.sized.len(), 10);
    assert_eq!(tools.adapters.len(), 1);
    assert!(Tools::read("").unwrap().wrenches.is_empty());
}

/// From about 20 % to 100 % of its range (common practice, no source).
#[test]
fn the_wrench_whose_range_suits_is_taken() {
    let tools = bench();
    let small = choice(&tools, "9 N·m").unwrap();
    assert_eq!(small.wrench.name, "small click wrench");
    assert_eq!(small.setting.to_string(), "9 N·m");
    assert_eq!(small.warnings, []);
    let large = choice(&tools, "103 lbf·ft").unwrap();
    assert_eq!(large.wrench.name, "half-inch click wrench");
    assert_eq!(large.setting.to_string(), "140 N·m (103 lbf·ft)");
    let none = choice(&tools, "300 N·m").unwrap_err();
    assert_eq!(none.reasons.len(), 3);
    assert!(
        none.to_string()
            .contains("ends at 25 N·m; use a larger wrench"),
        "{none}"
    );
}

#[test]
fn a_setting_low_in_the_range_is_refused() {
    let text =
        "[[torque_wrench]]\nname = \"long wrench\"\nscale = \"10–300 N·m\"\nstep = \"1 N·m\"\n";
    let tools = Tools::read(text).unwrap();
    let none = choice(&tools, "59 N·m").unwrap_err();
    assert_eq!(
        none.reasons,
        [("long wrench".to_owned(), Unsuitable::LowInRange(19))]
    );
    assert!(choice(&tools, "60 N·m").is_ok());
    assert!(choice(&tools, "300 N·m").is_ok());
}

#[test]
fn an_overdue_calibration_is_told() {
    let tools = bench();
    let it = choice(&tools, "140 N·m").unwrap();
    let due = "2026-09-30".parse().unwrap();
    assert_eq!(it.warnings, [Warning::CalibrationOverdue { due, days: 56 }]);
    assert_eq!(
        it.warnings[0].to_string(),
        "its calibration fell due on 2026-09-30, 56 days ago"
    );
}

/// ISO 6789 allows a click wrench 4 % above 10 N·m and 6 % up to it (2003 edition, type II, class A).
#[test]
fn a_tolerance_that_the_wrench_cannot_hold_is_told() {
    let tools = bench();
    let warned = |spec: &str| {
        let it = choice(&tools, spec).unwrap();
        it.warnings.iter().any(|warning| match warning {
            Warning::ToleranceNotHeld { .. } => true,
            Warning::CalibrationOverdue { .. } | Warning::CalibrationUnknown => false,
        })
    };
    assert!(!warned("20 N·m ± 5 %"));
    assert!(warned("20 N·m ± 3 %"));
    assert!(warned("9 N·m ± 5 %"));
    assert!(!warned("9 N·m ± 7 %"));
    assert!(!warned("140 N·m ± 4 %"), "by certificate 3 %");
    assert!(!warned("140 N·m"), "no limits asked for");
}

/// US Army TM 9-254: setting = wanted × L / (L + E). 110 N·m × 480 / (480 + 48) = 100 N·m.
#[test]
fn the_adapter_is_reckoned_in() {
    let tools = bench();
    let spec: TorqueSpec = "110 N·m".parse().unwrap();
    let it = tools
        .wrench_for(spec, Some(&tools.adapters[0]), today())
        .unwrap();
    assert_eq!(it.setting.to_string(), "100 N·m (110 N·m)");
    // The beam wrench's length isn't written down, so it can't carry an adapter.
    let none = tools.wrenches[2].choice(spec, Some(&tools.adapters[0]), today());
    assert!(
        none.unwrap_err()
            .to_string()
            .contains("measure it for the adapter")
    );
}

#[test]
fn the_owned_set_answers_for_a_size() {
    let tools = bench();
    let of = |size: &str, shape| tools.for_drive(shape, size.parse().unwrap());
    assert!(matches!(of("21 mm", DriveShape::Hex), Owned::Right(_)));
    assert!(matches!(of("8 mm", DriveShape::Hex), Owned::StandsIn(_)));
    assert!(matches!(of("30", DriveShape::SixLobe), Owned::Right(_)));
    assert!(matches!(of("1/2 in", DriveShape::Hex), Owned::Nothing(near) if near.len() == 1));
    assert!(matches!(of("27", DriveShape::SixLobe), Owned::Nothing(_)));
}

#[test]
fn everything_wrong_is_named_with_its_place() {
    let text = r#"
[[torque_wrench]]
name = "click wrench"
scale = "200–40 N·m"
step = "1 N·m"
calibration_due = "31.3.2027"

[[torque_wrench]]
name = "click wrench"
scale = "40–200 N·m"
step = "1 lbf·ft"
length = "480 V"
accuracy = "good"

[[sockets]]
drive = "1/2 in"
sizes = ["21 mm", "twenty", "30"]

[[adapter]]
name = "crow's-foot"
length = "48 mm"
angle = 270.0
"#;
    let problems = Tools::read(text).unwrap_err();
    let said: Vec<String> = problems.0.iter().map(ToString::to_string).collect();
    let places: Vec<(usize, &str)> = problems
        .0
        .iter()
        .map(|it| (it.line, it.place.as_str()))
        .collect();
    assert_eq!(
        places,
        [
            (4, "torque_wrench 1 (“click wrench”), scale"),
            (6, "torque_wrench 1 (“click wrench”), calibration_due"),
            (9, "torque_wrench 2 (“click wrench”), name"),
            (11, "torque_wrench 2 (“click wrench”), step"),
            (12, "torque_wrench 2 (“click wrench”), length"),
            (13, "torque_wrench 2 (“click wrench”), accuracy"),
            (17, "sockets 1, sizes"),
            (17, "sockets 1, sizes"),
            (22, "adapter 1 (“crow's-foot”), angle"),
        ],
        "{said:#?}"
    );
    assert!(said[1].contains("ISO 8601"), "{}", said[1]);
    for broken in [
        "[[torque_wrench]]\nname = 3",
        "[[wrench]]",
        "= =",
        "[[adapter]]\nname = \"a\"\nlength = \"1 mm\"\nangle = nan",
    ] {
        assert!(Tools::read(broken).is_err(), "{broken}");
    }
}

proptest::proptest! {
    #[test]
    fn no_value_makes_reading_panic(value in "[-–−±+0-9./% a-zN·m]{0,16}") {
        for key in ["scale", "step", "length", "calibration_due", "accuracy", "drive"] {
            let mut text = String::from("[[torque_wrench]]\nname = \"a\"\n");
            for (name, usual) in [("scale", "40–200 N·m"), ("step", "1 N·m")] {
                if name != key {
                    text.push_str(&format!("{name} = \"{usual}\"\n"));
                }
            }
            text.push_str(&format!("{key} = \"{value}\"\n"));
            let _ = Tools::read(&text);
        }
    }
}
