//! Drafts of procedures: nothing is lost, nothing is trusted, and what is reviewed can be used.

use drafts::{DraftError, Form, MAX_BYTES, draft};
use proptest::prelude::*;
use std::collections::BTreeMap;
use steps::procedure::Problems;
use steps::{Id, Procedure};

const CSV: &str = "\
No,Step,Count,Size,Torque,Warning
1,Loosen the wheel nuts by half a turn,5,21 mm,,
2,Remove the 5 wheel nuts,,,,
3,Remove the left wheel,,,,CAUTION: It is heavy.
4,\"Remove caliper (2 bolts, 17 mm)\",,,,
5,Wait 10 minutes,,,,
6,Look at the hose,,,,
7,\"Refit caliper, 2 bolts to 85 ft-lb (115 Nm)\",,,,
8,Refit the left wheel,,,,
9,Fit the wheel nuts,,,,
10,Tighten the wheel nuts in a star,5,,\"40 Nm, then 100 Nm\",
";

fn load(id: &str, text: &str) -> Result<Procedure, Problems> {
    Procedure::load(id, &BTreeMap::from([(id, text)]))
}

/// The file as its author leaves it: every review is done.
fn reviewed(toml: &str) -> String {
    let lines = toml.lines().filter(|line| !line.starts_with("review = "));
    lines.collect::<Vec<_>>().join("\n")
}

#[test]
fn a_table_becomes_a_procedure_once_it_was_reviewed() {
    let made = draft(CSV, Form::Csv, "wheel").unwrap();
    let refused = load("wheel", &made.toml).unwrap_err();
    assert!(format!("{:?}", miette_of(&refused)).contains("review"));
    let it = load("wheel", &reviewed(&made.toml)).unwrap_or_else(|problems| {
        panic!("{:#?}\n{}", problems.problems, made.toml);
    });
    let nuts = it
        .fasteners
        .values()
        .find(|it| it.name == "wheel nut")
        .unwrap();
    assert_eq!(nuts.count, 5);
    assert_eq!(
        nuts.torque.as_ref().unwrap().all()[0].to_string(),
        "100 N·m"
    );
    assert_eq!(nuts.passes.len(), 2);
    assert_eq!(nuts.pattern, Some(steps::quantity::Pattern::Star));
    assert_eq!(nuts.drive.unwrap().size.to_string(), "21 mm");
    let bolts = it
        .fasteners
        .values()
        .find(|it| it.name == "caliper bolt")
        .unwrap();
    assert_eq!(bolts.count, 2);
    assert_eq!(
        bolts.torque.as_ref().unwrap().all()[0].to_string(),
        "85 lbf·ft"
    );
    assert!(it.items.contains_key(&Id::new("left-wheel")));
    let warned = it.steps.iter().find(|it| it.warning.is_some()).unwrap();
    assert_eq!(warned.text, "Remove the left wheel.");
    assert_eq!(it.steps.len(), 13);
    assert!(it.values.contains("maker's service information"));
}

fn miette_of(problems: &Problems) -> Vec<String> {
    problems.problems.iter().map(|it| it.to_string()).collect()
}

#[test]
fn each_single_review_left_over_keeps_the_file_from_being_used() {
    let made = draft(CSV, Form::Csv, "wheel").unwrap();
    let lines: Vec<&str> = made.toml.lines().collect();
    let reviews: Vec<usize> = (0..lines.len())
        .filter(|at| lines[*at].starts_with("review = "))
        .collect();
    assert_eq!(reviews.len(), made.reviews);
    // A step has one each, a group too, the head and the giving up.
    assert_eq!(made.reviews, made.steps + made.groups + 2);
    for left in reviews {
        let kept = lines.iter().enumerate();
        let kept: Vec<&str> = kept
            .filter(|(at, line)| *at == left || !line.starts_with("review = "))
            .map(|(_, line)| *line)
            .collect();
        assert!(load("wheel", &kept.join("\n")).is_err(), "{}", lines[left]);
    }
}

#[test]
fn a_markdown_list_with_headings_tables_and_warnings_is_read() {
    let list = "\
# Winch drum

Work with the rope off.

## Off

1. Loosen the 6 drum bolts, 19 mm
   - keep the shims
2. Warning: the drum is heavy.
3. [ ] Remove the drum

| Step | Torque |
| --- | --- |
| Refit the drum | |
| Tighten 6 bolts in a criss-cross | 25-30 Nm then 90 degrees |
";
    let made = draft(list, Form::Markdown, "winch-drum").unwrap();
    let text = &made.toml;
    for words in [
        "title = \"Winch drum\"",
        "\"Work with the rope off.\"",
        "\"Keep the shims.\"",
        "torque = \"25–30 N·m\"",
        "angle = 90",
        "pattern = \"criss-cross\"",
        "signal = \"warning\"",
        "# line 8\n",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    assert!(!text.contains("\"Off.\""), "a heading is no step");
    // “bolts” are the drum bolts, and the review says that this was taken so.
    assert_eq!(made.groups, 1);
    assert!(
        text.contains("taken to be the drum bolt of line 7")
            || text.contains("Taken to be the drum bolt of line 7")
    );
    let it = load("winch-drum", &reviewed(text)).unwrap_or_else(|problems| {
        panic!("{:#?}\n{text}", miette_of(&problems));
    });
    let drum = it
        .steps
        .iter()
        .find(|it| it.text == "Remove the drum.")
        .unwrap();
    assert_eq!(drum.warning.as_ref().unwrap().text, "The drum is heavy.");
}

#[test]
fn what_is_not_understood_is_a_plain_step_and_is_named_by_its_line() {
    let list = "step\nTighten the axle nut to 245\n\"Tighten cover to 1,250 Nm\"\nSet the slide to 12 clicks\nRefit\nPark it\n";
    let made = draft(list, Form::Csv, "cover").unwrap();
    assert_eq!(made.not_understood, [2, 3, 4, 5]);
    assert_eq!(made.steps, 5);
    let it = load("cover", &reviewed(&made.toml)).unwrap();
    assert!(it.fasteners.values().all(|group| group.torque.is_none()));
    let texts: Vec<&str> = it.steps.iter().map(|step| step.text.as_str()).collect();
    assert_eq!(texts[0], "Tighten the axle nut to 245.");
    assert_eq!(texts[1], "Tighten cover to 1,250 Nm.");
    // Without the quotation marks the comma parts two cells; that is told, and both are kept.
    let parted = draft("step\nTighten cover to 8,5 Nm\n", Form::Csv, "cover").unwrap();
    assert_eq!(parted.not_understood, [2]);
    assert!(parted.toml.contains("more cells than the head"));
    assert!(
        parted.toml.contains("Tighten cover to 8; more: 5 Nm"),
        "{}",
        parted.toml
    );
    assert!(made.toml.contains("No torque with its unit was found"));
}

#[test]
fn commas_short_names_of_drives_and_threads_are_proposed_and_told() {
    let list = "- Remove the 4 tray screws M6x1, T30\n- Remove the 2 arm bolts M10 x 1,25, hex 8\n- Loosen both E12 pin bolts\n\
                - Tighten the arm bolts to 37,5 Nm\n- Tighten the tray screws to 8,5 Nm\n";
    let made = draft(list, Form::Markdown, "tray").unwrap();
    for words in [
        "thread = \"M6x1\"",
        "drive = { shape = \"six-lobe\", size = \"30\" }",
        "thread = \"M10x1.25\"",
        "drive = { shape = \"hex-socket\", size = \"8 mm\" }",
        "torque = \"37.5 N·m\"",
        "torque = \"8.5 N·m\"",
        // The row as it stood, and what it was taken for.
        "to 37,5 Nm”. “37,5” is read as 37.5.",
        "“T30” is taken for a hexalobular socket",
        "“hex 8” is taken for a hexagon key of 8 mm",
        "“E12” looks like a hexalobular head",
    ] {
        assert!(made.toml.contains(words), "{words}\n{}", made.toml);
    }
    assert_eq!(made.not_understood, [1, 2, 3, 4, 5]);
    assert!(load("tray", &made.toml).is_err(), "it waits for its review");
}

#[test]
fn what_stands_under_size_is_read_or_told() {
    let list = "step,count,size\nRemove the tray screws,4,T30\nRemove the arm bolts,2,M10x1.25\nRemove the pin bolts,2,E12\n\
                Remove the lid nuts,3,17\n";
    let made = draft(list, Form::Csv, "tray").unwrap();
    for words in [
        "drive = { shape = \"six-lobe\", size = \"30\" }",
        "thread = \"M10x1.25\"",
        "“E12” looks like a hexalobular head",
        "“17” is no size with its unit",
    ] {
        assert!(made.toml.contains(words), "{words}\n{}", made.toml);
    }
    assert_eq!(made.not_understood, [2, 4, 5]);
}

#[test]
fn two_rows_that_disagree_are_both_told() {
    let list = "- Tighten the drain plug to 30 Nm\n- Tighten the drain plug to 45 Nm\n";
    let made = draft(list, Form::Markdown, "plug").unwrap();
    assert!(made.toml.contains("torque = \"30 N·m\""));
    assert!(
        made.toml.contains("Torque 45 N·m, but 30 N·m since line 1"),
        "{}",
        made.toml
    );
    assert_eq!(made.not_understood, [2]);
}

#[test]
fn what_is_no_list_says_what_to_write() {
    assert!(matches!(
        draft("", Form::Csv, "x"),
        Err(DraftError::Empty(_))
    ));
    assert!(matches!(
        draft("# Only a title", Form::Markdown, "x"),
        Err(DraftError::Empty(_))
    ));
    assert!(matches!(
        draft("- a", Form::Markdown, "Not a name"),
        Err(DraftError::Name(_))
    ));
    let long = "a".repeat(MAX_BYTES + 1);
    let error = draft(&long, Form::Csv, "x").unwrap_err();
    assert!(error.to_string().contains("split it"), "{error}");
    let error = draft(&"- Park it\n".repeat(1_001), Form::Markdown, "x").unwrap_err();
    assert_eq!(error, DraftError::TooMany(1_001));
    let error = draft("- ", Form::Markdown, "x").unwrap_err();
    assert!(
        error.to_string().contains("Loosen the 5 wheel nuts"),
        "{error}"
    );
}

#[test]
fn tables_with_semicolons_tabs_and_without_a_head_are_read() {
    for list in [
        "step;torque\nTighten the axle nut;245 N·m\n",
        "step\ttorque\nTighten the axle nut\t245 N·m\n",
        "1,Tighten the axle nut,245 N·m\n",
        "\"Tighten the axle nut to 245 N·m\"\n",
    ] {
        let made = draft(list, Form::Csv, "axle").unwrap();
        assert_eq!((made.steps, made.groups), (1, 1), "{list}");
        assert!(made.toml.contains("torque = \"245 N·m\""), "{list}");
    }
}

/// The letters and digits of a text.
fn letters(text: &str) -> String {
    let letters = text.chars().filter(|it| it.is_alphanumeric());
    letters.flat_map(char::to_lowercase).collect()
}

proptest! {
    #[test]
    fn no_list_makes_it_panic_and_every_draft_is_toml(
        text in "([a-z0-9 ,;|#*.\\-\n\"'{}\\[\\]°±–]|Tighten |nuts|bolts | Nm| ft-lb|then |mm|\u{202e}|é){0,120}"
    ) {
        for form in [Form::Csv, Form::Markdown] {
            if let Ok(made) = draft(&text, form, "any") {
                let table: toml::Table = toml::from_str(&made.toml).unwrap();
                prop_assert!(table.contains_key("review"));
                prop_assert!(load("any", &made.toml).is_err());
            }
        }
    }

    #[test]
    fn no_row_is_lost(rows in prop::collection::vec(
        "(Tighten|Remove|Refit|Turn|Set) (the )?([a-z]{1,9} ){0,3}(nut|bolts|cover)( to [0-9]{1,3} (Nm|ft-lb))?", 1..12
    )) {
        let csv = format!("step\n{}\n", rows.join("\n"));
        let markdown = format!("- {}\n", rows.join("\n- "));
        for (form, text) in [(Form::Csv, csv), (Form::Markdown, markdown)] {
            let made = draft(&text, form, "any").unwrap();
            let all = letters(&made.toml);
            for row in &rows {
                prop_assert!(all.contains(&letters(row)), "{row}\n{}", made.toml);
            }
        }
    }
}
