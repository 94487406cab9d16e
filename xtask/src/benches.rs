//! `cargo xtask bench`: what can be measured.

use crate::Failure;

/// One benchmark.
pub struct Bench {
    /// What it is called on the command line.
    pub name: &'static str,
    /// The question that it answers.
    answers: &'static str,
    /// About how long it runs on two cores once it is built.
    pub takes: &'static str,
    /// Its own options and where its figures go.
    more: &'static str,
    /// How it is run.
    pub run: Run,
}

/// How a benchmark is run.
pub enum Run {
    /// As a program of this package.
    Program(&'static str),
    /// As a bench target of a package.
    Target {
        package: &'static str,
        bench: &'static str,
    },
    /// By cargo-fuzz, which needs nothing of set-up.
    Fuzz,
}

const BENCHES: [Bench; 9] = [
    Bench {
        name: "ears",
        answers: "How well does it hear: commands, readbacks, numbers, near-misses, in quiet and in noise?",
        takes: "hours; with --quick a tenth of that",
        more: "Tables, pictures and target/bench/ears.json. Options: assistant/ears/bench/README.md",
        run: Run::Program("hearing-bench"),
    },
    Bench {
        name: "closed-set",
        answers: "How long does the ear think after the end of speech?",
        takes: "a minute",
        more: "Prints milliseconds for the encoder and for a set of 60 phrases.",
        run: Run::Target {
            package: "ears",
            bench: "closed_set",
        },
    },
    Bench {
        name: "answer",
        answers: "How soon does an answer sound after the last word, live, and where does the time go?",
        takes: "10 minutes",
        more: "Tables, a picture and target/bench/answer.json.",
        run: Run::Target {
            package: "whole-jobs",
            bench: "answer",
        },
    },
    Bench {
        name: "gates",
        answers: "How much is said at the gates of each shipped job, and how much must be recited?",
        takes: "a second",
        more: "Prints a table. Each job is worked straight through, with the first option of each choice.",
        run: Run::Target {
            package: "whole-jobs",
            bench: "gates",
        },
    },
    Bench {
        name: "first-sound",
        answers: "How soon does a sentence sound, by espeak-ng and by the neural voice?",
        takes: "a few minutes",
        more: "Prints medians.",
        run: Run::Target {
            package: "voice",
            bench: "first_sound",
        },
    },
    Bench {
        name: "soak",
        answers: "Does anything grow during a shift: memory, threads, open files?",
        takes: "about half an hour",
        more: "Eight hours of sound without waiting for them, and ten minutes live: target/bench/soak.json.\n--hours N and --minutes N for others.",
        run: Run::Target {
            package: "whole-jobs",
            bench: "soak",
        },
    },
    Bench {
        name: "growth",
        answers: "What does an entry of the record cost on disk, and how does that grow with the jobs kept?",
        takes: "minutes",
        more: "target/bench/record.json and record.svg. SAYBACK_BENCH_JOBS=1,1000 for other numbers of jobs.",
        run: Run::Target {
            package: "record",
            bench: "growth",
        },
    },
    Bench {
        name: "viewers",
        answers: "How fast do many viewers see a change on the page, and what do they cost?",
        takes: "a minute",
        more: "target/bench/page.json and page.svg. SAYBACK_BENCH_VIEWERS=1,200 for other numbers of viewers.",
        run: Run::Target {
            package: "page",
            bench: "viewers",
        },
    },
    Bench {
        name: "fuzz",
        answers: "Does any changed procedure, grammar, number or list crash or stall what reads it?",
        takes: "2 minutes, half a minute for each of four",
        more: "--seconds N, and names of targets. Needs a nightly compiler and cargo-fuzz.",
        run: Run::Fuzz,
    },
];

/// The benchmark of this name.
pub fn named(name: &str) -> Result<&'static Bench, Failure> {
    BENCHES
        .iter()
        .find(|bench| bench.name == name)
        .ok_or_else(|| {
            let names: Vec<&str> = BENCHES.iter().map(|bench| bench.name).collect();
            Failure::new(format!(
                "there is no benchmark `{name}`: name one of {}.",
                names.join(", ")
            ))
        })
}

/// All benchmarks, for reading.
pub fn list() -> String {
    let mut text = "Benchmarks, run as `cargo xtask bench NAME [OPTION…]`. The first one also builds everything optimised, which takes\nsome ten minutes on two cores.\n".to_owned();
    for bench in &BENCHES {
        text.push_str(&format!(
            "\n  {:11}  {}\n{:15}Takes {}.\n",
            bench.name, bench.answers, "", bench.takes
        ));
        for line in bench.more.lines() {
            text.push_str(&format!("{:15}{line}\n", ""));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use std::path::Path;
    use std::process::Command;

    use super::*;

    #[test]
    fn every_benchmark_is_there() {
        let workspace = Path::new(env!("CARGO_MANIFEST_DIR")).join("..");
        let metadata = Command::new(env!("CARGO"))
            .args(["metadata", "--no-deps", "--offline", "--format-version=1"])
            .current_dir(workspace)
            .output()
            .unwrap();
        let metadata = String::from_utf8_lossy(&metadata.stdout).into_owned();
        for bench in &BENCHES {
            match bench.run {
                Run::Program(package) => {
                    assert!(metadata.contains(&format!("\"name\":\"{package}\"")));
                }
                Run::Target { package, bench } => {
                    assert!(metadata.contains(&format!("\"name\":\"{package}\"")));
                    let target = format!(
                        "\"kind\":[\"bench\"],\"crate_types\":[\"bin\"],\"name\":\"{bench}\""
                    );
                    assert!(metadata.contains(&target), "{bench}");
                }
                Run::Fuzz => {}
            }
        }
    }

    #[test]
    fn each_is_found_by_its_name_and_another_name_is_told_them_all() {
        assert_eq!(named("ears").unwrap().name, "ears");
        let told = named("eyes").err().unwrap().to_string();
        assert!(told.contains("ears, closed-set, answer"), "{told}");
        assert!(list().contains("How well does it hear"));
    }
}
