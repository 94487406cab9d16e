//! A list of steps becomes a draft that waits for its review.

use super::harness::{Bay, sayback, text};

const LIST: &str = "# Guard off and on\n\n1. Remove the 4 guard screws, 10 mm\n2. Remove the guard\n3. Refit the guard\n\
                    4. Refit the 4 guard screws\n5. Tighten the 4 guard screws to 9 Nm\n6. Turn the knob to 12\n";

#[test]
fn a_draft_is_refused_until_its_reviews_are_gone() {
    let bay = Bay::new();
    let (list, out) = (bay.path("guard.md"), bay.path("guard.toml"));
    std::fs::write(&list, LIST).unwrap();
    let ran = sayback(["import", text(&list), "--out", text(&out)]).exits(0);
    assert!(
        ran.out.contains("6 steps, 1 fastener groups"),
        "{}",
        ran.out
    );
    assert!(ran.out.contains("not understood: 8."), "{}", ran.out);
    let drafted = std::fs::read_to_string(&out).unwrap();

    sayback(["check", text(&out)]).exits(1).tells("review");
    let folder = text(bay.path("").as_path()).to_owned();
    bay.sayback(&["work", "guard", "--procedures", &folder])
        .exits(1)
        .tells("review");
    bay.sayback(&["rehearse", "guard", "--procedures", &folder])
        .exits(1)
        .tells("review");

    let lines = drafted
        .lines()
        .filter(|line| !line.starts_with("review = "));
    std::fs::write(&out, lines.collect::<Vec<_>>().join("\n")).unwrap();
    let shown = sayback(["procedure", "guard", "--procedures", &folder]).exits(0);
    assert!(
        shown.out.contains("Tighten the guard screws to 9 N·m."),
        "{}",
        shown.out
    );
}

#[test]
fn what_cannot_be_imported_says_why_and_writes_nothing() {
    let bay = Bay::new();
    let out = bay.path("guard.toml");
    for (name, bytes, told) in [
        ("guard.txt", LIST.as_bytes(), ".csv"),
        ("guard.md", b"# Nothing\n", "no step was found"),
        ("bytes.md", b"- one\n- \xff\n", "line 2"),
        ("empty.csv", b"", "no step was found"),
    ] {
        let list = bay.path(name);
        std::fs::write(&list, bytes).unwrap();
        sayback(["import", text(&list), "--out", text(&out)])
            .exits(1)
            .tells(told);
        assert!(!out.exists(), "{name}");
    }
    let missing = bay.path("missing.csv");
    sayback(["import", text(&missing), "--out", text(&out)])
        .exits(1)
        .tells("missing.csv");
    let list = bay.path("guard.md");
    std::fs::write(&list, LIST).unwrap();
    let odd = bay.path("Guard One.toml");
    sayback(["import", text(&list), "--out", text(&odd)])
        .exits(1)
        .tells("can't be a procedure's name");
    std::fs::write(&out, "mine").unwrap();
    sayback(["import", text(&list), "--out", text(&out)])
        .exits(1)
        .tells("--overwrite");
    assert_eq!(std::fs::read_to_string(&out).unwrap(), "mine");
}
