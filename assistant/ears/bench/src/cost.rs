//! What hearing costs: the time from the end of an utterance to its verdict, and memory.

use super::hear::{Room, scene_of};
use super::kept::key;
use super::listening::Listening;
use super::material::{Set, Take};
use super::measure::Figure;
use ears::Recogniser;
use ears::sound::endpoint::Patience;
use ears::verdict::Bars;
use ears::whisper::{ClosedSet, default_model_dir};
use std::error::Error;
use std::hint::black_box;
use std::time::Instant;

/// Utterances that are timed.
const TIMED: usize = 200;

/// Threads of the ear, as on a machine with two cores.
const THREADS: usize = 2;

/// Times the ear on commands at a step, one after the other, with nothing else going on in this process.
///
/// # Errors
/// When a voice can't speak, or the ear can't hear.
pub fn figures(
    room: &Room<'_>,
    takes: &[Take],
) -> Result<Vec<Figure>, Box<dyn Error + Send + Sync>> {
    let commands = takes
        .iter()
        .filter(|take| take.set == Set::Commands && !take.development);
    let commands: Vec<&Take> = commands.take(TIMED).collect();
    let Some(first) = commands.first() else {
        return Ok(Vec::new());
    };
    let listening = Listening::new(first.context, room.gates)?;
    let patience = Patience::listening_for(&listening.set);
    let mut utterances = Vec::new();
    for take in commands {
        let (_, treated) = scene_of(room, take, patience, &key(take, &listening.set))?;
        utterances.extend(treated.turns.into_iter().map(|(turn, _)| turn.utterance));
    }
    let before = resident_mib();
    let mut ear = ClosedSet::load(&default_model_dir(), THREADS)?;
    // Without the folder it only takes longer.
    let _ = ear.keep_priors_in(&room.priors);
    ear.listen_for(&listening.set)?;
    let bars = Bars::default();
    let (mut took, mut speech) = (Vec::new(), 0.0);
    for utterance in &utterances {
        let start = Instant::now();
        let heard = ear.hear(utterance)?;
        black_box(heard.map(|heard| bars.judge(&heard)));
        took.push(start.elapsed().as_secs_f64() * 1000.0);
        speech += f64::from(utterance.seconds());
    }
    let all: f64 = took.iter().sum();
    took.sort_by(f64::total_cmp);
    let set = format!("{} phrases", listening.set.phrases.len());
    let figure = |metric: &str, [value, low95, high95]: [f64; 3]| Figure {
        system: "ear".to_owned(),
        set: set.clone(),
        noise: "all".to_owned(),
        snr_db: None,
        metric: metric.to_owned(),
        value,
        n: utterances.len() as f64,
        low95,
        high95,
    };
    // Measured once, so it has no bounds of its own.
    let once = |value: f64| [value; 3];
    Ok(vec![
        figure("ms to verdict, median", quantile(&took, 0.5)),
        figure("ms to verdict, p95", quantile(&took, 0.95)),
        figure("ms to verdict, p99", quantile(&took, 0.99)),
        figure("real-time factor", once(all / 1000.0 / speech)),
        figure("MiB of memory", once(resident_mib() - before)),
    ])
}

/// The value below which this share lies, with bounds at 95 %: order statistics by the normal approximation (W. J. Conover,
/// "Practical Nonparametric Statistics", section 3.2).
fn quantile(sorted: &[f64], share: f64) -> [f64; 3] {
    let n = sorted.len() as f64;
    let half = 1.959_964 * (n * share * (1.0 - share)).sqrt();
    let at = |rank: f64| {
        let place = (rank.ceil().max(1.0) as usize).min(sorted.len());
        place.checked_sub(1).map_or(f64::NAN, |place| sorted[place])
    };
    [at(n * share), at(n * share - half), at(n * share + half)]
}

/// What this process has in memory; nought where the system doesn't tell.
fn resident_mib() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let resident = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let kib = resident.and_then(|it| it.split_whitespace().next()?.parse::<f64>().ok());
    kib.unwrap_or_default() / 1024.0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// W. J. Conover, "Practical Nonparametric Statistics", section 3.2: of 16 values the bounds of the upper quartile by
    /// the normal approximation are the 9th and the 16th (ranks 8.6 and 15.4; the example's numbers from memory).
    #[test]
    fn bounds_of_a_quantile_are_order_statistics() {
        let values: Vec<f64> = (1..=16).map(f64::from).collect();
        assert_eq!(quantile(&values, 0.75), [12.0, 9.0, 16.0]);
        assert_eq!(quantile(&values, 0.5)[0], 8.0);
        assert!(quantile(&[], 0.5)[0].is_nan());
    }
}
