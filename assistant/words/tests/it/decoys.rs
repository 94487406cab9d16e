//! What sounds like a readback: every rule is there, and no readback is its own decoy.

use proptest::prelude::*;
use steps::Language;
use words::decoys::{MOST, decoys, reports};

const EN: Language = Language::English;

#[test]
fn each_rule_has_its_say() {
    let list = decoys(EN, "the van is on stands and steady");
    for expected in [
        "the van is not on stands and steady",
        "the van isn't on stands and steady",
        "not the van is on stands and steady",
        "the van is off stands and steady",
        "the van is on stands and rocking",
        "the van is on jack and steady",
        "the van is still on stands and steady",
        "the van is almost on stands and steady",
        "the van is not yet on stands and steady",
        "is the van on stands and steady",
        "the van is on stands and steady right",
        "the van will be on stands and steady",
        "the van is on stands and steady in a minute",
        "the van is on stands and steady tomorrow",
        "the van is on stands and steady i think",
        "the van is on stands and steady i hope",
        "the van is on stands and steady not yet",
        "when it is so say the van is on stands and steady",
        "the van is on",
        "stands and steady",
    ] {
        assert!(
            list.contains(&expected.to_owned()),
            "{expected} is missing: {list:#?}"
        );
    }
}

#[test]
fn whoever_has_looked_and_found_it_otherwise_is_understood() {
    let list = reports(EN, "the caliper hangs from the hook and the hose is loose");
    for expected in [
        "the caliper hangs from the hook and the hose is tight",
        "the hose is tight",
        "the hose isn't loose",
        "the hose is not loose",
        "the caliper doesn't hang from the hook",
    ] {
        assert!(
            list.contains(&expected.to_owned()),
            "{expected} is missing: {list:#?}"
        );
    }
    let spanish = reports(
        Language::Spanish,
        "las dos ruedas están calzadas y llevo la llave de contacto",
    );
    assert!(spanish.contains(&"las dos ruedas no están calzadas".to_owned()));
}

#[test]
fn a_readback_without_a_verb_is_negated_in_each_place() {
    let list = decoys(EN, "wheels chocked both sides");
    for expected in [
        "wheels not chocked both sides",
        "not wheels chocked both sides",
        "wheels unchocked both sides",
    ] {
        assert!(
            list.contains(&expected.to_owned()),
            "{expected} is missing: {list:#?}"
        );
    }
}

#[test]
fn a_readback_that_denies_has_its_contrary_among_the_first() {
    let list = decoys(EN, "nobody is under the van and it is not on the jack");
    assert!(
        list.iter()
            .take(8)
            .any(|decoy| decoy == "nobody is under the van and it is on the jack")
    );
    assert!(list.contains(&"somebody is under the van and it is not on the jack".to_owned()));
}

#[test]
fn verbs_of_action_are_denied_asked_and_put_off() {
    let list = decoys(EN, "stands carry the weight and hard shoving moved nothing");
    for expected in [
        "stands don't carry the weight and hard shoving moved nothing",
        "stands carry the weight and hard shoving didn't move nothing",
        "stands carry the weight and hard shoving moved something",
        "do stands carry the weight and hard shoving moved nothing",
        "stands almost carry the weight and hard shoving moved nothing",
        "stands will carry the weight and hard shoving moved nothing",
    ] {
        assert!(
            list.contains(&expected.to_owned()),
            "{expected} is missing: {list:#?}"
        );
    }
}

#[test]
fn a_count_one_off_is_a_decoy() {
    let list = decoys(EN, "all five nuts are tight");
    assert!(list.contains(&"all four nuts are tight".to_owned()));
    assert!(list.contains(&"all five nuts are loose".to_owned()));
}

fn check(readback: &str) -> Result<(), TestCaseError> {
    let folded = |text: &str| -> String {
        text.to_lowercase()
            .chars()
            .filter(|c| c.is_alphanumeric())
            .collect()
    };
    let list = decoys(EN, readback);
    prop_assert!(list.len() <= MOST);
    for decoy in &list {
        prop_assert!(folded(decoy) != folded(readback), "{decoy}");
        prop_assert!(!decoy.trim().is_empty());
    }
    let mut once = list.clone();
    once.sort();
    once.dedup();
    prop_assert_eq!(once.len(), list.len());
    Ok(())
}

proptest! {
    #[test]
    fn no_text_is_its_own_decoy(text in any::<String>()) {
        check(&text)?;
    }

    #[test]
    fn no_report_is_the_readback_or_a_clause_of_it(words in prop::collection::vec(prop::sample::select(vec![
        "the", "van", "is", "not", "and", "loose", "stands", "hold", "nothing", "moved", "both", "no",
    ]), 1..12)) {
        let readback = words.join(" ");
        let clauses: Vec<String> = words.split(|word| *word == "and").map(|it| it.join(" ")).collect();
        for report in reports(EN, &readback) {
            prop_assert!(report != readback && !clauses.contains(&report), "{report}");
        }
    }

    #[test]
    fn no_readback_is_its_own_decoy(words in prop::collection::vec(prop::sample::select(vec![
        "the", "van", "is", "are", "on", "off", "not", "i'm", "it's", "stands", "jack", "still", "five",
        "right", "left", "no", "and", "all", "both",
    ]), 1..24)) {
        let readback = words.join(" ");
        check(&readback)?;
        prop_assert!(decoys(EN, &readback).len() >= 10);
    }
}
