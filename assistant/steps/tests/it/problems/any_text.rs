//! No text makes reading panic or take long.

use super::{Files, SOUND, changed, drawn};
use proptest::prelude::*;
use std::time::{Duration, Instant};
use steps::Procedure;

fn shipped_text() -> String {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("../../procedures/front-half-shaft.toml");
    std::fs::read_to_string(path).unwrap()
}

/// Whatever is wrong can be drawn, and neither takes long.
fn bears(text: &[u8]) {
    let before = Instant::now();
    if let Err(problems) = Procedure::load("job", &Files::job(text)) {
        assert!(!problems.problems.is_empty());
        drawn(&problems);
    }
    assert!(
        before.elapsed() < Duration::from_secs(2),
        "{:?}",
        before.elapsed()
    );
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn no_bytes_make_it_panic(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        bears(&bytes);
    }

    #[test]
    fn no_text_makes_it_panic(text in ".{0,400}") {
        bears(text.as_bytes());
    }

    /// Lines of a sound procedure left out, doubled, put elsewhere.
    #[test]
    fn no_shuffled_lines_make_it_panic(
        edits in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0u8..3), 1..12),
        large in any::<bool>(),
    ) {
        let text = if large { shipped_text() } else { SOUND.to_owned() };
        let mut lines: Vec<&str> = text.lines().collect();
        for (from, to, how) in edits {
            let line = lines[from.index(lines.len())];
            match how {
                0 => { lines.remove(from.index(lines.len())); }
                1 => lines.insert(to.index(lines.len()), line),
                _ => { let place = to.index(lines.len()); lines[place] = line; }
            }
        }
        bears(lines.join("\n").as_bytes());
    }

    /// Single characters and bytes of a sound procedure replaced.
    #[test]
    fn no_slip_of_the_keys_makes_it_panic(
        edits in prop::collection::vec((any::<prop::sample::Index>(), "[a-z0-9{}\"\\[\\]=.·\n -]"), 1..10),
    ) {
        let mut text: Vec<char> = SOUND.chars().collect();
        for (place, with) in edits {
            let place = place.index(text.len());
            text.splice(place..=place, with.chars());
        }
        bears(text.into_iter().collect::<String>().as_bytes());
    }

    /// Quantities and limits that no one would write.
    #[test]
    fn no_quantity_makes_it_panic(text in "[-−+0-9.eE ]{0,14}(N·m|lbf·ft|mm)?", count in any::<i64>()) {
        let quoted = format!("{text:?}");
        for (from, to) in [
            ("\"25 N·m\"", quoted.clone()),
            ("\"0.0\"", quoted.clone()),
            ("\"5.0\"", quoted.clone()),
            ("\"2.0\"", quoted),
            ("count = 4", format!("count = {count}")),
            ("minutes = 10", format!("minutes = {count}")),
        ] {
            bears(changed(from, &to).as_bytes());
        }
    }
}

/// The worst that fits into the largest file: as many names, unknown names, gates and needs as possible.
#[test]
fn the_largest_files_are_read_in_bounded_time() {
    let many = |entry: &dyn Fn(usize) -> String| {
        let mut text = SOUND.to_owned();
        let mut number = 0;
        while text.len() < 990_000 {
            text += &entry(number);
            number += 1;
        }
        text
    };
    let name = "n".repeat(60);
    let texts = [
        many(&|n| format!("[[fact]]\nid = \"f{n}\"\nmeans = \"m\"\n")),
        many(&|n| {
            format!(
                "[[gate]]\nid = \"g{n}\"\nfact = \"supported\"\nask = \"a\"\nreadback = \"a b c d {n}\"\n"
            )
        }),
        many(&|n| {
            format!(
                "[[step]]\nid = \"s{n}\"\naction = \"do\"\ntext = \"{{x}}\"\nneeds = [\"{name}{n}\"]\n"
            )
        }),
        many(&|n| {
            format!(
                "[[variant]]\nid = \"v{n}\"\nask = \"a\"\noptions = [{{ id = \"a\", say = \"a\" }}, {{ id = \"b\", say = \"b\" }}]\n"
            )
        }),
        many(&|n| {
            format!(
                "[[branch]]\nid = \"b{n}\"\nsay = [\"it is stuck\"]\n[[branch.step]]\nid = \"bs{n}\"\naction = \"do\"\ntext = \"t\"\n"
            )
        }),
        format!(
            "{SOUND}\n[[step]]\nid = \"long\"\naction = \"do\"\ntext = \"t\"\nneeds = [{}]\n",
            format!("\"{name}\",").repeat(14_000)
        ),
        format!(
            "{SOUND}\n[[item]]\nid = \"long\"\nname = \"{}\"\n",
            "{".repeat(900_000)
        ),
        format!("{SOUND}\nx = {}", "[".repeat(900_000)),
        format!(
            "{SOUND}\n[[item]]\nid = \"{}\"\nname = \"n\"\n[[step]]\nid = \"odd\"\naction = \"remove\"\ntext = \"t\"\nitem = \"{}\"\n",
            "a".repeat(400_000),
            "b".repeat(400_000)
        ),
    ];
    for (number, text) in texts.into_iter().enumerate() {
        let before = Instant::now();
        let problems = Procedure::load("job", &Files::job(text)).unwrap_err();
        let read = before.elapsed();
        drawn(&problems);
        println!(
            "{number}: read {read:?}, drawn {:?}",
            before.elapsed() - read
        );
        assert!(before.elapsed() < Duration::from_secs(10), "{number}");
    }
}
