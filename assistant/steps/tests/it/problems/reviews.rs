//! Proposals of an imported list: all that wait are told at once, and none lets the file be used.

use super::{Files, SOUND, drawn, problems};
use steps::procedure::Code;

#[test]
fn all_reviews_are_told_at_once_each_at_its_line() {
    let job = SOUND
        .replace(
            "minutes = 10",
            "minutes = 10\nreview = \"Name the vehicle.\"",
        )
        .replace(
            "count = 4",
            "count = 4\nreview = \"Compare count and torque.\"",
        )
        .replace(
            "text = \"Tag the trailer.\"",
            "text = \"Tag the trailer.\"\nreview = \"Make it safe.\"",
        );
    let problems = problems(&Files::job(job));
    assert!(
        problems
            .problems
            .iter()
            .all(|it| it.code == Code::ReviewWaiting)
    );
    let labelled: Vec<&str> = problems
        .problems
        .iter()
        .map(|it| &it.file.inner()[it.place.offset()..it.place.offset() + it.place.len()])
        .collect();
    assert_eq!(
        labelled,
        [
            "review = \"Name the vehicle.\"",
            "review = \"Compare count and torque.\"",
            "review = \"Make it safe.\""
        ]
    );
    insta::assert_snapshot!(drawn(&problems));
}

/// More of them than of any other kind are told, since each has to be gone through.
#[test]
fn a_long_list_is_told_whole() {
    let mut job = SOUND.to_owned();
    for at in 0..120 {
        job += &format!(
            "\n[[step]]\nid = \"s{at}\"\naction = \"do\"\ntext = \"Wipe it.\"\nreview = \"Compare it.\"\n"
        );
    }
    let problems = problems(&Files::job(job)).problems;
    assert_eq!(problems.len(), 120);
    assert!(problems[119].message.contains("120 of 120"));
}

/// The author's own words may be called so.
#[test]
fn a_word_or_a_name_called_review_is_none() {
    let job = SOUND.to_owned() + "\n[sounds_like]\nreview = \"re-view\"\n";
    assert!(steps::Procedure::load("job", &Files::job(job.clone())).is_ok());
    let slip = problems(&Files::job(
        job.replace("count = 4", "count = 4\ncolor = 1"),
    ))
    .problems;
    assert_eq!(slip.len(), 1);
    assert_eq!(slip[0].code, Code::Format);
}
