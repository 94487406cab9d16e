//! Every code of a finding is explained, and a procedure brings it about.

use super::{Files, SOUND, changed};
use std::collections::BTreeSet;
use steps::Procedure;
use steps::procedure::{Code, Severity};

/// Procedures with a slip, and the code that each is found by.
fn slips() -> Vec<(Code, Files)> {
    let one = |code, from: &str, to: &str| (code, Files::job(changed(from, to)));
    let more = |code, text: &str| (code, Files::job(format!("{SOUND}\n{text}")));
    let m8 = |keys: &str| format!("torque = \"25 N·m\"\nthread = \"M8\"\n{keys}");
    vec![
        (Code::Unreadable, Files::default()),
        one(Code::Format, "count = 4", "count = 4\ntorq = \"25 N·m\""),
        one(Code::MissingKey, "reading = \"gap\"\n", ""),
        one(
            Code::StrayKey,
            "item = \"cover\"\n",
            "item = \"cover\"\nminutes = 5\n",
        ),
        one(Code::Name, "id = \"cover-off\"", "id = \"Cover off\""),
        one(Code::Duplicate, "id = \"cover-on\"", "id = \"cover-off\""),
        one(
            Code::Unknown,
            "needs = [\"supported\"]",
            "needs = [\"suported\"]",
        ),
        one(
            Code::Includes,
            "[[step]]\nid = \"unscrew\"",
            "[[step]]\ninclude = \"job\"\n\n[[step]]\nid = \"unscrew\"",
        ),
        (
            Code::Language,
            Files::job(changed(
                "[[step]]\nid = \"unscrew\"",
                "[[step]]\ninclude = \"part\"\n\n[[step]]\nid = \"unscrew\"",
            ))
            .with("part", "format = 1\nid = \"part\"\nlanguage = \"es\"\n"),
        ),
        one(Code::Value, "torque = \"25 N·m\"", "torque = \"25\""),
        one(Code::TorqueMissing, "torque = \"25 N·m\"\n", ""),
        one(
            Code::TorqueDisagrees,
            "torque = \"25 N·m\"",
            "torque = \"25 N·m\"\ntorque_also = \"25 lbf·ft\"",
        ),
        one(Code::Passes, "count = 4", "count = 4\npasses = [50, 80]"),
        one(
            Code::Stands,
            "ask = \"Shove it.\"",
            "ask = \"Shove it.\"\nload = { mass = \"9 t\", axle_share = \"55 %\", rating = \"1 t each\" }",
        ),
        one(
            Code::ReadbackForm,
            "Cover wiped bare, no dirt left there.",
            "Go on.",
        ),
        one(
            Code::GateWeight,
            "fact = \"supported\"\nask",
            "fact = \"supported\"\nsignal = \"danger\"\nweight = \"check\"\nask",
        ),
        one(
            Code::ReadbackShared,
            "Cover wiped bare, no dirt left there.",
            "Stands carry it and shoving moved nothing.",
        ),
        more(
            Code::FactGate,
            "[[fact]]\nid = \"dry\"\nmeans = \"it is dry\"",
        ),
        one(
            Code::FactCircle,
            "ask = \"Shove it.\"",
            "ask = \"Shove it.\"\nneeds = [\"cover-bare\"]",
        ),
        one(
            Code::NotRefitted,
            "action = \"refit\"\nitem = \"cover\"",
            "action = \"inspect\"",
        ),
        one(
            Code::NeverOff,
            "action = \"remove\"\nitem = \"cover\"",
            "action = \"do\"",
        ),
        more(
            Code::WaitUngathered,
            "[[step]]\nid = \"cure\"\naction = \"wait\"\nminutes = 5\nruns_on = true\ntext = \"Let it cure.\"",
        ),
        more(
            Code::AcceptedWrongly,
            "[[accepted]]\ncode = \"not-refitted\"\nat = \"cover-off\"\nreason = \"It stays off here.\"",
        ),
        one(
            Code::TorqueUnusual,
            "torque = \"25 N·m\"",
            &m8("class = \"8.8\"").replace("25", "250"),
        ),
        one(
            Code::ThreadOrClass,
            "torque = \"25 N·m\"",
            &m8("class = \"88\""),
        ),
        one(
            Code::ReasonUnneeded,
            "torque = \"25 N·m\"",
            &m8("class = \"8.8\"\nunusual_because = \"The seal sets it.\""),
        ),
        more(
            Code::BranchEndless,
            "[[branch]]\nid = \"round\"\n[[branch.step]]\nid = \"again\"\naction = \"ask\"\n\
             text = \"Again?\"\nyes = \"round\"\nno = \"round\"",
        ),
        more(
            Code::BranchUnreached,
            "[[branch]]\nid = \"alone\"\n[[branch.step]]\nid = \"wipe\"\naction = \"do\"\ntext = \"Wipe it.\"",
        ),
        one(
            Code::FactUnasked,
            "[[step]]\nid = \"cover-bare-hold\"\naction = \"hold\"\ngate = \"cover-bare\"\n\n",
            "",
        ),
        one(Code::FactUnneeded, "needs = [\"cover-bare\"]\n", ""),
        one(
            Code::ReadbackNear,
            "Cover wiped bare, no dirt left there.",
            "Stands carry it and shaking moved nothing.",
        ),
        one(
            Code::PromptLong,
            "ask = \"Look at the cover.\"",
            "ask = \"Look at the cover from above, from below and from behind.\"",
        ),
        one(
            Code::ReadbackLength,
            "Cover wiped bare, no dirt left there.",
            "Cover wiped bare all around and no dirt left there.",
        ),
        one(
            Code::TorqueUnsaid,
            "text = \"Lift the cover off.\"",
            "text = \"Tighten the plug.\"",
        ),
        one(
            Code::LimitUnsaid,
            "text = \"Lift the cover off.\"",
            "text = \"Check the gap of the cover.\"",
        ),
        one(
            Code::SizeUnsaid,
            "drive = { shape = \"hex\", size = \"13 mm\" }\n",
            "",
        ),
        one(
            Code::CautionInText,
            "text = \"Lift the cover off.\"",
            "text = \"Lift the cover off, be careful.\"",
        ),
        one(
            Code::TwoActions,
            "text = \"Lift the cover off.\"",
            "text = \"Lift the cover off. Wipe it.\"",
        ),
        one(
            Code::NoOrder,
            "text = \"Lift the cover off.\"",
            "text = \"The cover comes off.\"",
        ),
        one(
            Code::NoQuestion,
            "action = \"measure\"\nreading = \"gap\"",
            "action = \"ask\"",
        ),
        one(
            Code::TooLong,
            "text = \"Lift the cover off.\"",
            "text = \"Lift the cover off with both hands at its rim, straight up, evenly, little by little, \
             until its guide pins come free of their bores on either side.\"",
        ),
        one(
            Code::ReviewWaiting,
            "count = 4",
            "count = 4\nreview = \"Compare it.\"",
        ),
        more(
            Code::MakeSafeOff,
            "[[make_safe]]\nid = \"down\"\naction = \"do\"\ntext = \"Lower it.\"\nvoids = [\"supported\"]",
        ),
        more(
            Code::Sheet,
            "[[from_sheet]]\nname = \"bolt-torque\"\nmeans = \"torque of a cover bolt\"",
        ),
        more(
            Code::AcceptedStale,
            "[[accepted]]\ncode = \"torque-unusual\"\nat = \"cover-bolts\"\nreason = \"The seal sets it.\"",
        ),
    ]
}

#[test]
fn every_code_is_found_in_some_procedure() {
    let mut reached = BTreeSet::new();
    for (code, files) in slips() {
        let findings = Procedure::examine("job", &files).findings;
        let codes: Vec<Code> = findings.iter().map(|it| it.code).collect();
        assert!(codes.contains(&code), "{code}: only {codes:?}");
        for it in &findings {
            assert_eq!(it.is_mistake(), it.code.severity() == Severity::Mistake);
            assert!(!it.remedy.is_empty() && !it.label.is_empty(), "{code}");
        }
        reached.insert(code);
    }
    // These are found by who looks at the words with a dictionary, or works the job: `sayback/tests/it/shell/checks.rs`.
    let beyond = [Code::CannotBeHeard, Code::SoundsNear, Code::WordUnknown];
    let all = Code::ALL.iter().copied();
    let all: BTreeSet<Code> = all.filter(|code| !beyond.contains(code)).collect();
    assert_eq!(
        reached, all,
        "a code without a procedure that it is found in"
    );
}

#[test]
fn every_code_is_explained() {
    for code in Code::ALL {
        let it = code.explanation();
        for text in [it.means, it.matters, it.remedy] {
            assert!(text.ends_with('.'), "{code}: {text}");
            assert!(text.split_whitespace().count() >= 3, "{code}: {text}");
            assert!(!text.contains("  "), "{code}: {text}");
        }
        assert!(!it.example.is_empty(), "{code}");
        assert_eq!(Code::named(code.name()), Some(*code));
    }
    let names: BTreeSet<&str> = Code::ALL.iter().map(|code| code.name()).collect();
    assert_eq!(names.len(), Code::ALL.len());
}

#[test]
fn codes_like_a_wrong_one_are_found() {
    assert_eq!(Code::near("torque-unusal")[0], Code::TorqueUnusual);
    assert!(Code::near("readback").contains(&Code::ReadbackShared));
    assert!(Code::near("zzzzzzzzz").is_empty());
}
