//! What is laid out before a job, and how long it takes.

use proptest::prelude::*;
use std::collections::BTreeMap;
use std::time::Duration;
use steps::procedure::{
    Part, TimeLeft, UsedAmount, expected, left_after, supplies, supplies_at_most,
};
use steps::{Id, Procedure};

/// An invented job. The steps take 5, ?, 30, ? minutes of 60; the drum has one step more.
const JOB: &str = r#"format = 1
id = "job"
title = "A small job"
vehicle = "test trailer"
values = "Invented."
minutes = 60

[[variant]]
id = "brake"
ask = "Drum or disc?"
options = [{ id = "drum", say = "drum" }, { id = "disc", say = "disc" }]

[lay_out]
parts = ["two new seals"]
consumables = ["brake cleaner", "rags"]

[[item]]
id = "seal"
name = "seal"
once_only = true

[[item]]
id = "cap"
name = "dust cap"
once_only = true

[[fastener]]
id = "bolts"
name = "cover bolt"
count = 4
torque = "25 N·m"
once_only = true

[[step]]
id = "off"
action = "remove"
item = "seal"
text = "Pull the seal."
takes_minutes = 5
consumables = [{ what = "brake cleaner", amount = "100 ml" }]

[[step]]
id = "cap-off"
action = "remove"
item = "cap"
text = "Pull the cap."

[[step]]
id = "drum-wash"
action = "do"
text = "Wash the drum."
when = { brake = "drum" }
consumables = [{ what = "brake cleaner", amount = "0.25 l" }, { what = "grease", amount = "5 g" }]

[[step]]
id = "soak"
action = "wait"
minutes = 30
text = "Let it soak for 30 minutes."

[[step]]
id = "unscrew"
action = "remove"
fastener = "bolts"
text = "Unscrew the bolts."

[[step]]
id = "on"
action = "refit"
item = "seal"
text = "Press the new seal in."
consumables = [{ what = "cotter pin", amount = "1" }]

[[step]]
id = "cap-on"
action = "refit"
item = "cap"
text = "Knock the new cap on."
consumables = [{ what = "cotter pin", amount = "1" }]

[[step]]
id = "tighten"
action = "tighten"
fastener = "bolts"
text = "Tighten the bolts to {torque}."

[[make_safe]]
id = "tag"
action = "do"
text = "Tag it."
"#;

fn job() -> Procedure {
    let library = BTreeMap::from([("job", JOB)]);
    Procedure::load("job", &library).unwrap()
}

fn chosen(brake: &str) -> BTreeMap<Id, Id> {
    BTreeMap::from([(Id::new("brake"), Id::new(brake))])
}

fn minutes(minutes: u64) -> Duration {
    Duration::from_secs(minutes * 60)
}

#[test]
fn what_must_be_new_is_laid_out_unless_it_is_listed() {
    assert_eq!(
        job().lay_out.parts,
        ["two new seals", "new dust cap", "4 new cover bolts"]
    );
}

/// A part in one line: what, number, quantity, whether always new, whether the old one goes back.
fn bought(part: &Part) -> String {
    let quantity = part.quantity.map(|it| it.to_string());
    let number = part.number.clone().unwrap_or_default();
    let new = if part.always_new { "new" } else { "" };
    let core = if part.core_return { "core" } else { "" };
    let quantity = quantity.unwrap_or_default();
    format!("{}|{number}|{quantity}|{new}|{core}", part.what)
}

fn bought_for(changes: &[(&str, &str)]) -> Vec<String> {
    let mut text = JOB.to_owned();
    for (from, to) in changes {
        assert!(text.contains(from), "{from}");
        text = text.replacen(from, to, 1);
    }
    let library = BTreeMap::from([("job", text.as_str())]);
    let job = Procedure::load("job", &library).unwrap();
    job.parts.iter().map(bought).collect()
}

#[test]
fn what_is_bought_has_the_number_of_the_thing_and_the_author_s_words() {
    // “Two” isn't understood, so how many there are is left to the words.
    assert_eq!(
        bought_for(&[]),
        [
            "two new seals|||new|",
            "dust cap||1|new|",
            "cover bolts||4|new|"
        ]
    );
    let cap = "name = \"dust cap\"\nonce_only = true";
    let bolts = "count = 4\ntorque = \"25 N·m\"\nonce_only = true";
    let parts = "[\"two new seals\"]";
    assert_eq!(
        bought_for(&[
            (
                parts,
                "[\"seal of the drum\", { what = \"cover bolts, in case\", quantity = 2 }]"
            ),
            (
                cap,
                &format!("{cap}\npart_number = \"SD 1-2\"\nquantity = 3\ncore_return = true")
            ),
            (
                bolts,
                &bolts.replace("once_only = true", "part_number = \"SD 7\"")
            ),
        ]),
        [
            "seal of the drum||1|new|",
            "cover bolts, in case|SD 7|2||",
            "dust cap|SD 1-2|3|new|core",
        ]
    );
    // What is used again is bought only where it has a number.
    assert_eq!(
        bought_for(&[
            (
                parts,
                "[{ what = \"shoe\", part_number = \"SD 9\", core_return = true }]"
            ),
            (bolts, "count = 4\ntorque = \"25 N·m\""),
        ]),
        ["shoe|SD 9|||core", "seal||1|new|", "dust cap||1|new|"]
    );
}

#[test]
fn a_number_and_a_quantity_are_not_told_when_things_are_laid_out() {
    let text = JOB.replace(
        "name = \"dust cap\"",
        "name = \"dust cap\"\npart_number = \"SD 1-2\"\ncore_return = true",
    );
    let library = BTreeMap::from([("job", text.as_str())]);
    let with = Procedure::load("job", &library).unwrap();
    assert_eq!(with.lay_out, job().lay_out);
}

#[test]
fn what_is_used_up_is_summed() {
    assert_eq!(
        job().lay_out.consumables,
        [
            "brake cleaner, up to 350 ml",
            "rags",
            "grease, 5 g",
            "cotter pin, 2"
        ]
    );
    let told = |brake: &str| -> Vec<String> {
        let sums = supplies(&job(), &chosen(brake));
        let told = sums.iter().map(|it| format!("{} {}", it.what, it.amount));
        told.collect()
    };
    assert_eq!(
        told("drum"),
        ["brake cleaner 350 ml", "grease 5 g", "cotter pin 2"]
    );
    assert_eq!(told("disc"), ["brake cleaner 100 ml", "cotter pin 2"]);
    let most = supplies_at_most(&job());
    assert_eq!(most[0].0.amount, "350 ml".parse::<UsedAmount>().unwrap());
    // By hand with NIST SP 811, Appendix B: the imperial pint is 568.26125 ml.
    let in_pints = most[0].0.amount.in_unit("imp pt".parse().unwrap());
    assert_eq!(in_pints.to_string(), "0.62 imp pt");
}

/// 60 minutes, of which 5 and 30 are told: 25 for the five others of a disc, six of a drum.
#[test]
fn the_time_is_the_authors_and_the_rest_is_spread() {
    let none = BTreeMap::new();
    for brake in ["drum", "disc"] {
        assert_eq!(expected(&job(), &chosen(brake), &none), minutes(60));
    }
    let left = |done: Option<&str>| {
        let done = done.map(Id::new);
        left_after(&job(), &chosen("disc"), &none, done.as_ref()).left
    };
    assert_eq!(left(None), minutes(60));
    assert_eq!(left(Some("off")), minutes(55));
    assert_eq!(left(Some("cap-off")), minutes(50));
    assert_eq!(left(Some("soak")), minutes(20));
    assert_eq!(left(Some("tighten")), Duration::ZERO);
    assert_eq!(left(Some("drum-wash")), minutes(60), "not met with a disc");
}

#[test]
fn earlier_jobs_go_before_the_author() {
    let medians = BTreeMap::from([
        (Id::new("off"), minutes(9)),
        (Id::new("tighten"), minutes(1)),
        (Id::new("no-such-step"), minutes(99)),
    ]);
    let whole = expected(&job(), &chosen("disc"), &medians);
    assert_eq!(whole, minutes(60 + 4 - 4));
    let left = left_after(&job(), &chosen("disc"), &medians, Some(&Id::new("cap-on")));
    assert_eq!((left.whole, left.left), (whole, minutes(1)));
}

/// A soak of 30 minutes that runs beside the work, and must be over before the bolts are tightened: of the 60 minutes
/// 55 are spread over the five silent steps, 11 each; the three between cover 33, so nothing is left to wait for.
#[test]
fn a_wait_beside_the_work_costs_only_what_the_work_leaves() {
    let beside = JOB
        .replace("minutes = 30\ntext", "minutes = 30\nruns_on = true\ntext")
        .replace(
            "[[step]]\nid = \"tighten\"",
            "[[step]]\nid = \"soaked\"\naction = \"wait\"\nuntil = \"soak\"\ntext = \"Wait for the soak.\"\n\n\
             [[step]]\nid = \"tighten\"",
        );
    let whole = |job: &str| {
        let library = BTreeMap::from([("job", job)]);
        let job = Procedure::load("job", &library).unwrap();
        expected(&job, &chosen("disc"), &BTreeMap::new())
    };
    assert_eq!(whole(&beside), minutes(60));
    let longer = beside.replace("minutes = 30\nruns_on", "minutes = 45\nruns_on");
    assert_eq!(whole(&longer), minutes(60 + 45 - 33));
}

#[test]
fn nobody_knows_it_to_the_minute() {
    for (is, told) in [
        (0, 0),
        (1, 1),
        (29, 29),
        (30, 30),
        (32, 30),
        (33, 35),
        (118, 120),
    ] {
        assert_eq!(TimeLeft::minutes(minutes(is)), told);
    }
    assert_eq!(TimeLeft::minutes(Duration::from_secs(1)), 1);
}

proptest! {
    #[test]
    fn what_is_left_only_falls(medians in proptest::collection::vec(0u64..10_000, 8), brake in 0usize..2) {
        let job = job();
        let chosen = chosen(["drum", "disc"][brake]);
        let medians: BTreeMap<Id, Duration> = job
            .steps
            .iter()
            .zip(medians)
            .map(|(step, seconds)| (step.id.clone(), Duration::from_secs(seconds)))
            .collect();
        let mut before = left_after(&job, &chosen, &medians, None);
        prop_assert_eq!(before.left, before.whole);
        for step in job.steps.iter().filter(|step| step.when.iter().all(|(v, o)| chosen.get(v) == Some(o))) {
            let now = left_after(&job, &chosen, &medians, Some(&step.id));
            prop_assert_eq!(now.whole, before.whole);
            prop_assert_eq!(before.left - now.left, medians[&step.id]);
            before = now;
        }
        prop_assert_eq!(before.left, Duration::ZERO);
    }
}
