//! The fuzzer's targets over their seeds, over changed seeds, and over the largest inputs that are taken: nothing
//! panics, and nothing goes on for ever. How long it takes is measured by `cargo xtask bench fuzz`.

#[path = "../../../fuzz/bodies.rs"]
mod bodies;

use proptest::prelude::*;
use proptest::sample::Index;
use std::path::{Path, PathBuf};
use std::sync::LazyLock;

/// A target and its seeds.
struct Target {
    body: fn(&[u8]),
    seeds: Vec<Vec<u8>>,
}

fn seeds(folders: &[&str], ending: &str) -> Vec<Vec<u8>> {
    let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut paths: Vec<PathBuf> = folders
        .iter()
        .flat_map(|folder| std::fs::read_dir(workspace.join(folder)).unwrap())
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_file() && path.to_str().unwrap().ends_with(ending))
        .collect();
    paths.sort();
    assert!(!paths.is_empty(), "{folders:?}");
    paths
        .iter()
        .map(|path| std::fs::read(path).unwrap())
        .collect()
}

static TARGETS: LazyLock<[Target; 4]> = LazyLock::new(|| {
    [
        Target {
            body: bodies::procedures,
            seeds: seeds(&["procedures", "procedures/parts"], ".toml"),
        },
        Target {
            body: bodies::grammars,
            seeds: seeds(&["grammars/en"], ".jsgf"),
        },
        Target {
            body: bodies::numbers,
            seeds: seeds(&["assistant/fuzz/seeds/numbers"], ".txt"),
        },
        Target {
            body: bodies::imports,
            seeds: seeds(&["assistant/fuzz/seeds/imports"], ""),
        },
    ]
});

#[test]
fn no_seed_makes_a_target_panic_whosever_it_is() {
    for target in TARGETS.iter() {
        for seed in TARGETS.iter().flat_map(|other| &other.seeds) {
            (target.body)(seed);
        }
    }
}

/// What is done to a seed.
#[derive(Debug, Clone)]
enum Change {
    Byte(Index, u8),
    Cut(Index, Index),
    Doubled(Index, Index),
    Words(Index, String),
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    let words = "[ -~\n°·–é]{0,12}|\\[\\[step\\]\\]\n|id = \"|<[a-z]{1,4}>|\\(|\\| | Nm|then |point | hundred ";
    let change = prop_oneof![
        (any::<Index>(), any::<u8>()).prop_map(|(at, byte)| Change::Byte(at, byte)),
        (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Change::Cut(from, to)),
        (any::<Index>(), any::<Index>()).prop_map(|(from, to)| Change::Doubled(from, to)),
        (any::<Index>(), words).prop_map(|(at, words)| Change::Words(at, words)),
    ];
    prop::collection::vec(change, 1..12)
}

/// How much is cut or doubled at once.
const MAX_MOVED: usize = 200;

fn changed(seed: &[u8], changes: &[Change]) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for change in changes {
        if bytes.is_empty() {
            break;
        }
        match change {
            Change::Byte(at, byte) => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
            }
            Change::Cut(from, long) => {
                let from = from.index(bytes.len());
                let to = bytes.len().min(from + long.index(MAX_MOVED));
                bytes.drain(from..to);
            }
            Change::Doubled(from, long) => {
                let from = from.index(bytes.len());
                let to = bytes.len().min(from + long.index(MAX_MOVED));
                let piece = bytes[from..to].to_vec();
                bytes.splice(from..from, piece);
            }
            Change::Words(at, words) => {
                let at = at.index(bytes.len());
                bytes.splice(at..at, words.bytes());
            }
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    #[test]
    fn no_changed_seed_makes_a_target_panic(which in any::<Index>(), changes in changes()) {
        for target in TARGETS.iter() {
            (target.body)(&changed(&target.seeds[which.index(target.seeds.len())], &changes));
        }
    }

    #[test]
    fn no_bytes_make_a_target_panic(bytes in prop::collection::vec(any::<u8>(), 0..200), text in "\\PC{0,80}") {
        for target in TARGETS.iter() {
            (target.body)(&bytes);
            (target.body)(text.as_bytes());
        }
    }
}

/// As many of a piece as a file of one megabyte holds.
fn megabyte_of(piece: &str) -> Vec<u8> {
    piece.repeat(1_000_000 / piece.len()).into_bytes()
}

#[test]
fn a_megabyte_of_anything_comes_to_an_end() {
    for (target, pieces) in TARGETS.iter().zip([
        &[
            "a",
            "[",
            "\"",
            "[[step]]\nid = \"a\"\n",
            "{",
            "#\n",
            "= \n",
            "é",
        ][..],
        &[
            "a ",
            "(",
            "<a>",
            "#JSGF V1.0; grammar a;\n",
            "public <a> = (a|b) [c];\n",
            "|",
            "/*",
            "{",
        ][..],
        &[
            "one ",
            "1 ",
            "point ",
            "a-",
            "ft-lb ",
            "N·",
            "-",
            "9",
            "N·m ",
            "hundred and ",
            "3/8 in ",
        ][..],
        &[
            "a",
            "\n",
            "- a\n",
            "1. Tighten 5 nuts to 100 ft-lb in a star\n",
            "Remove the a\n",
            "> ",
            "|a|\n",
            "\"",
            ",",
            "* * ",
            "[",
            "`",
            "<",
            "1 N ",
            "Remove the z1 a\n",
            "&amp;",
            "é",
        ][..],
    ]) {
        for piece in pieces {
            (target.body)(&megabyte_of(piece));
        }
        // The head of a seed, then the longest that it can go on for.
        for seed in target.seeds.iter().take(3) {
            let times = 1_000_000 / seed.len().max(1);
            (target.body)(&seed.repeat(times.max(1)));
        }
    }
    // As many rows as a draft may have, each as long as it can be, with names of its own.
    let piece = "5 z bolts to 9 Nm, ";
    let rows: String = (0..1_000)
        .map(|number| {
            format!(
                "Remove the thing{number} {}\n",
                piece.repeat(980 / piece.len())
            )
        })
        .collect();
    bodies::imports(rows.as_bytes());
}
