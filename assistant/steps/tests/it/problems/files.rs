//! Files, includes and keys.

use super::{Files, SOUND, changed, drawn, mistake, points_at, problems};
use std::time::{Duration, Instant};
use steps::procedure::Code;

#[test]
fn include_loop() {
    let job = format!("{SOUND}\n[[step]]\ninclude = \"parts/a\"\n");
    let part = |id: &str, other: &str| {
        format!("format = 1\nid = \"{id}\"\n\n[[step]]\ninclude = \"parts/{other}\"\n")
    };
    let files = Files::job(job)
        .with("parts/a", part("a", "b"))
        .with("parts/b", part("b", "a"));
    let text = points_at(&files, Code::Includes, r#""parts/a""#);
    insta::assert_snapshot!(text);
}

#[test]
fn missing_include() {
    let job = format!("{SOUND}\n[[step]]\ninclude = \"parts/raise\"\n");
    let text = points_at(&Files::job(job), Code::Unreadable, r#""parts/raise""#);
    insta::assert_snapshot!(text);
}

#[test]
fn include_with_other_keys() {
    let part =
        "format = 1\nid = \"a\"\n[[step]]\nid = \"wipe\"\naction = \"do\"\ntext = \"Wipe it.\"\n";
    let job = format!("{SOUND}\n[[step]]\ninclude = \"parts/a\"\nneeds = [\"supported\"]\n");
    let files = Files::job(job).with("parts/a", part);
    let text = points_at(&files, Code::StrayKey, r#""parts/a""#);
    insta::assert_snapshot!(text);
}

#[test]
fn includes_that_multiply() {
    let mut files = Files::job(format!("{SOUND}\n[[step]]\ninclude = \"parts/p0\"\n"));
    for level in 0..7 {
        let next = format!("[[step]]\ninclude = \"parts/p{}\"\n", level + 1).repeat(50);
        let part = format!("format = 1\nid = \"p{level}\"\n{next}");
        files = files.with(&format!("parts/p{level}"), part);
    }
    let files = files.with("parts/p7", "format = 1\nid = \"p7\"\n");
    let before = Instant::now();
    let problems = problems(&files);
    assert!(before.elapsed() < Duration::from_secs(5));
    assert!(problems.problems.iter().all(|it| it.code == Code::Includes));
}

#[test]
fn not_utf_8() {
    let mut bytes = SOUND.as_bytes().to_vec();
    let place = SOUND.find("Shove it.").unwrap();
    bytes[place + 2] = 0xe9;
    let problems = problems(&Files::job(bytes));
    let [problem] = &problems.problems[..] else {
        panic!("{}", drawn(&problems));
    };
    assert_eq!(problem.code, Code::Unreadable);
    let label = &problem.file.inner()[place + 2..][..problem.place.len()];
    assert_eq!((problem.place.offset(), label), (place + 2, "\u{fffd}"));
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn ten_megabytes() {
    let before = Instant::now();
    let job = format!("{SOUND}# {}\n", "x".repeat(10_000_000));
    let problems = problems(&Files::job(job));
    assert!(before.elapsed() < Duration::from_secs(1));
    assert_eq!(problems.problems[0].code, Code::Unreadable);
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn no_such_procedure() {
    let problems = problems(&Files::default());
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn unknown_key() {
    let text = mistake(
        "count = 4",
        "count = 4\ncolour = \"red\"",
        Code::Format,
        "colour",
    );
    insta::assert_snapshot!(text);
}

#[test]
fn not_toml() {
    let problems = problems(&Files::job(changed("count = 4", "count = four")));
    assert_eq!(problems.problems[0].code, Code::Format);
    insta::assert_snapshot!(drawn(&problems));
}

#[test]
fn file_that_calls_itself_otherwise() {
    let text = mistake(r#"id = "job""#, r#"id = "jbo""#, Code::Name, r#""jbo""#);
    insta::assert_snapshot!(text);
}

#[test]
fn missing_values_and_way_out() {
    let job = changed("values = \"Invented.\"\n", "");
    let job = job.split("[[make_safe]]").next().unwrap().to_owned();
    insta::assert_snapshot!(drawn(&problems(&Files::job(job))));
}
