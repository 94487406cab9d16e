//! What the journal's work costs, and how that grows with the number of stored jobs.
//!
//! `cargo bench -p record`. Writes `target/bench/record.json` and `target/bench/record.svg`, and a table to
//! standard output. `SAYBACK_BENCH_JOBS=1,1000` takes other numbers of stored jobs. The disk is the one that
//! the build folder is on.

#[path = "../../tests/it/harness/mod.rs"]
mod harness;

mod drawn;
mod stored;

use drawn::Measured;
use harness::{TEXT, at, procedure};
use record::{Archive, Checkpoint, IfChanged, ListPage};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::time::Instant;
use steps::{Input, Settings};
use stored::{LONG, LONG_ENTRIES};

type Outcome = Result<(), Box<dyn Error>>;

fn main() -> Outcome {
    let numbers =
        std::env::var("SAYBACK_BENCH_JOBS").unwrap_or_else(|_| "1,1000,100000".to_owned());
    let numbers: Vec<usize> = numbers
        .split(',')
        .map(|it| it.trim().parse())
        .collect::<Result<_, _>>()?;
    let out = bench_folder();
    std::fs::create_dir_all(&out)?;
    let mut all = Vec::new();
    for stored in numbers {
        let folder = tempfile::tempdir_in(&out)?;
        let start = Instant::now();
        stored::jobs(folder.path(), stored)?;
        println!(
            "{stored} stored jobs, put there in {:.1} s",
            start.elapsed().as_secs_f64()
        );
        measure(folder.path(), stored, &mut all)?;
    }
    drawn::table(&all);
    std::fs::write(out.join("record.json"), serde_json::to_string_pretty(&all)?)?;
    std::fs::write(out.join("record.svg"), drawn::picture(&all))?;
    println!("{}", out.join("record.json").display());
    Ok(())
}

/// `bench` in the build folder, which this program lies in (`target/release/deps`).
fn bench_folder() -> PathBuf {
    let own = std::env::current_exe().unwrap_or_default();
    let target = own.ancestors().nth(3).unwrap_or(Path::new("target"));
    target.join("bench")
}

fn measure(folder: &Path, stored: usize, all: &mut Vec<Measured>) -> Outcome {
    let mut keep = |operation: &'static str,
                    metric: &'static str,
                    value: f64,
                    unit: &'static str,
                    n: usize| {
        all.push(Measured {
            operation,
            stored_jobs: stored,
            metric,
            value,
            unit,
            n,
        });
    };
    let mut times =
        |operation, n, run: &mut dyn FnMut() -> Outcome| -> Result<f64, Box<dyn Error>> {
            let mut times = Vec::with_capacity(n);
            for _ in 0..n {
                let start = Instant::now();
                run()?;
                times.push(start.elapsed().as_secs_f64() * 1000.0);
            }
            times.sort_by(f64::total_cmp);
            let median = times[n / 2];
            keep(operation, "median", median, "ms", n);
            if n >= 100 {
                keep(operation, "p99", times[(n * 99).div_ceil(100) - 1], "ms", n);
            }
            Ok(median)
        };

    times("open the records", 20, &mut || {
        let _: () = drop(Archive::open(folder)?);
        Ok(())
    })?;
    let archive = Archive::open(folder)?;
    let long = record::JobId::new(LONG);
    // Before a job is begun: no procedure is kept yet, so nothing is replayed.
    let read = times("verify the chain of 10 000 entries", 7, &mut || {
        assert!(archive.verify(&long, None)?.is_whole());
        Ok(())
    })?;
    let mut number = 0;
    times("begin a job", 30, &mut || {
        number += 1;
        drop(archive.begin(&procedure(TEXT), Settings::default(), at(86_400 * number))?);
        Ok(())
    })?;
    let mut open = archive.begin(&procedure(TEXT), Settings::default(), at(1))?;
    let reached = Checkpoint {
        state: "0".repeat(64),
        entries: Vec::new(),
    };
    times("append an entry to durable", 500, &mut || {
        open.append(&Input::Woke, at(2))?;
        Ok(open.seal(&reached)?)
    })?;
    drop(open);
    times("list all jobs", 5, &mut || {
        let _: () = drop(archive.jobs()?);
        Ok(())
    })?;
    let page = ListPage {
        most: Some(50),
        ..ListPage::default()
    };
    times("list the newest 50 jobs", 20, &mut || {
        let _: () = drop(archive.page(&page)?);
        Ok(())
    })?;
    let of = procedure(TEXT);
    let replayed = times("verify and replay 10 000 entries", 7, &mut || {
        assert!(archive.verify(&long, Some(of.clone()))?.is_whole());
        Ok(())
    })?;
    times("resume a job of 10 000 entries", 7, &mut || {
        drop(archive.resume(&long, of.clone(), IfChanged::Refuse, at(100_000))?);
        Ok(())
    })?;
    let short = stored::first();
    times("JSON report of a whole job", 100, &mut || {
        let _: () = drop(archive.report(&short)?.json()?);
        Ok(())
    })?;
    times("JSON report of 10 000 entries", 7, &mut || {
        let _: () = drop(archive.report(&long)?.json()?);
        Ok(())
    })?;
    let rate = |milliseconds: f64| LONG_ENTRIES as f64 / milliseconds * 1000.0;
    keep("verify", "rate", rate(read), "entries/s", 7);
    keep(
        "replay",
        "rate",
        rate((replayed - read).max(f64::MIN_POSITIVE)),
        "entries/s",
        7,
    );
    Ok(())
}
