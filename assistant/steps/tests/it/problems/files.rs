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

#[test]
fn a_hidden_control_character_is_pointed_at_however_it_is_written() {
    for hidden in [
        "\\u001b[2J",
        "\\u202e",
        "\u{9b}2J",
        "\u{202e}",
        "\\u0000",
        "\\r",
    ] {
        let title = format!("\"A small {hidden} job\"");
        let text = mistake("\"A small job\"", &title, Code::Format, &title);
        assert!(text.contains("a control character"), "{text}");
    }
}

#[test]
fn what_is_filled_in_may_not_grow_without_bound() {
    // 900 kB of words into 100 000 places.
    let words = "x".repeat(900_000);
    let part = format!(
        "format = 1\nid = \"a\"\n[[step]]\nid = \"wipe\"\naction = \"do\"\ntext = \"{}\"\n",
        "{w}".repeat(100_000)
    );
    let job = format!("{SOUND}\n[[step]]\ninclude = \"parts/a\"\nwith = {{ w = \"{words}\" }}\n");
    let files = Files::job(job).with("parts/a", part);
    let before = Instant::now();
    points_at(&files, Code::Includes, "\"parts/a\"");
    // Each part doubles the words for the next: 2^8 times 100 kB.
    let include = |level: usize| {
        let with = "{w}".repeat(9);
        format!(
            "format = 1\nid = \"p{level}\"\n[[step]]\ninclude = \"parts/p{}\"\nwith = {{ w = \"{with}\" }}\n",
            level + 1
        )
    };
    let words = "x".repeat(100_000);
    let job = format!("{SOUND}\n[[step]]\ninclude = \"parts/p0\"\nwith = {{ w = \"{words}\" }}\n");
    let mut files = Files::job(job);
    for level in 0..8 {
        files = files.with(&format!("parts/p{level}"), include(level));
    }
    let found = problems(&files);
    assert!(found.problems.iter().all(|it| it.code == Code::Includes));
    // The option of a variant, which is filled in while the job is worked.
    let say = format!("say = \"{}\" }}, {{", "y".repeat(400_000));
    let text = changed("say = \"left\" }, {", &say);
    let text = text.replace("Lift the cover off.", &"{side}".repeat(60_000));
    let found = problems(&Files::job(text));
    assert!(
        found.problems.iter().any(|it| it.code == Code::Includes),
        "{}",
        drawn(&found)
    );
    assert!(before.elapsed() < Duration::from_secs(20));
}
