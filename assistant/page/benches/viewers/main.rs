//! How fast many viewers see a change, and what they cost.
//!
//! `cargo bench -p page`. Viewers on loopback, in a process of their own, follow a board; each glance carries the time
//! at which it was published. Writes `target/bench/page.json` and `target/bench/page.svg`, and a table to standard
//! output. `SAYBACK_BENCH_VIEWERS=1,200` takes other numbers of viewers; `SAYBACK_BENCH_CHANGES=100` another number
//! of changes.

mod drawn;
mod looking;

use drawn::Measured;
use page::{Board, Glance, Limits, Reach, Room, Server};
use std::error::Error;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Between two changes: as fast as nobody talks.
const BETWEEN: Duration = Duration::from_millis(50);

/// What tells the program to look rather than to serve: the address, viewers and changes.
const LOOK: &str = "SAYBACK_BENCH_LOOK";

fn main() -> Result<(), Box<dyn Error>> {
    if let Ok(what) = std::env::var(LOOK) {
        return looking::look(&what);
    }
    let numbers =
        std::env::var("SAYBACK_BENCH_VIEWERS").unwrap_or_else(|_| "1,50,200,400".to_owned());
    let numbers: Vec<usize> = numbers
        .split(',')
        .map(|it| it.trim().parse())
        .collect::<Result<_, _>>()?;
    let changes = std::env::var("SAYBACK_BENCH_CHANGES").unwrap_or_else(|_| "100".to_owned());
    let changes: usize = changes.parse()?;
    let out = bench_folder();
    std::fs::create_dir_all(&out)?;
    // What the first connection of all costs is no viewer's.
    measure(1, 1)?;
    let all = numbers
        .into_iter()
        .map(|viewers| measure(viewers, changes))
        .collect::<Result<Vec<_>, _>>()?;
    drawn::table(&all);
    std::fs::write(out.join("page.json"), serde_json::to_string_pretty(&all)?)?;
    std::fs::write(out.join("page.svg"), drawn::picture(&all))?;
    println!("{}", out.join("page.json").display());
    Ok(())
}

/// `bench` in the build folder, which this program lies in (`target/release/deps`).
fn bench_folder() -> PathBuf {
    let own = std::env::current_exe().unwrap_or_default();
    let target = own.ancestors().nth(3).unwrap_or(Path::new("target"));
    target.join("bench")
}

fn measure(viewers: usize, changes: usize) -> Result<Measured, Box<dyn Error>> {
    let board = Board::default();
    let limits = Limits {
        viewers: viewers.max(1),
        ..Limits::default()
    };
    let room = Room::new(board.clone()).with_limits(limits);
    let server = Server::start(room, "127.0.0.1:0".parse()?, Reach::Loopback)?;
    board.publish(glance());
    let before = resident_bytes();
    let mut looking = Command::new(std::env::current_exe()?)
        .env(LOOK, format!("{},{viewers},{changes}", server.address()))
        .stdout(Stdio::piped())
        .spawn()?;
    let told = looking.stdout.take().ok_or("no output")?;
    let mut told = BufReader::new(told);
    let mut ready = String::new();
    told.read_line(&mut ready)?;
    let with_viewers = resident_bytes();
    for _ in 0..changes {
        std::thread::sleep(BETWEEN);
        board.publish(glance());
    }
    let mut rest = String::new();
    told.read_to_string(&mut rest)?;
    if !looking.wait()?.success() {
        return Err("the viewers failed".into());
    }
    let mut latencies: Vec<f64> = rest.lines().map(str::parse).collect::<Result<_, _>>()?;
    latencies.sort_by(f64::total_cmp);
    let share = |share: f64| {
        let place = (latencies.len() as f64 * share).ceil() as usize;
        latencies[place.clamp(1, latencies.len()) - 1]
    };
    let more = with_viewers
        .zip(before)
        .map(|(with, before)| with.saturating_sub(before));
    Ok(Measured {
        viewers,
        changes,
        received: latencies.len(),
        p50_ms: share(0.5),
        p99_ms: share(0.99),
        most_ms: share(1.0),
        kilobytes_a_viewer: more.map(|more| more as f64 / 1000.0 / viewers as f64),
    })
}

/// A glance as large as a usual one, with the time at which it is published.
fn glance() -> Glance {
    let since = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .unwrap_or_default();
    let mut say_now = vec![format!("at {}", since.as_nanos())];
    say_now.extend((0..60).map(|number| format!("something that can be said, number {number}")));
    Glance {
        say_now,
        ..Glance::default()
    }
}

/// This process's memory, where the system tells it (proc(5)).
fn resident_bytes() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status
        .lines()
        .find_map(|line| line.strip_prefix("VmRSS:"))?;
    let kibibytes: u64 = line.trim().trim_end_matches(" kB").trim().parse().ok()?;
    Some(kibibytes * 1024)
}
