//! From what was heard to figures with their bounds.

use super::kept::{Answer, Heard, Look};
use super::material::{Place, Set, TRIES};
use super::shop::Noise;
use ears::sound::Utterance;
use ears::turn::{self, Beside, Turn};
use ears::verdict::{Bars, Model, Verdict};
use ears::{Hypothesis, Stake};
use serde::Serialize;
use std::collections::BTreeMap;
use steps::Command;

/// One figure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Figure {
    /// Who heard.
    pub system: String,
    /// What was heard.
    pub set: String,
    /// In which noise.
    pub noise: String,
    /// Active speech to noise; none where it is quiet or all levels are together.
    pub snr_db: Option<f32>,
    /// What is counted.
    pub metric: String,
    /// The figure.
    pub value: f64,
    /// Of how many, or of how many hours.
    pub n: f64,
    /// Lower bound, 95 %.
    pub low95: f64,
    /// Upper bound, 95 %.
    pub high95: f64,
}

/// E. B. Wilson's interval for a share, "Probable Inference, the Law of Succession, and Statistical Inference"
/// (1927), at 95 %.
pub fn wilson(hits: usize, of: usize) -> (f64, f64) {
    if of == 0 {
        return (0.0, 1.0);
    }
    let (n, z) = (of as f64, 1.959_964);
    let share = hits as f64 / n;
    let middle = share + z * z / (2.0 * n);
    let half = z * (share * (1.0 - share) / n + z * z / (4.0 * n * n)).sqrt();
    let below = 1.0 + z * z / n;
    (
        ((middle - half) / below).max(0.0),
        ((middle + half) / below).min(1.0),
    )
}

/// Bounds of a count that comes by chance, 95 %: F. Garwood's (1936), by E. B. Wilson and M. M. Hilferty's
/// approximation of chi-square (1931); for none seen the exact 3.689.
pub fn poisson(count: usize) -> (f64, f64) {
    let (k, z) = (count as f64, 1.959_964);
    let bound = |k: f64, z: f64| k * (1.0 - 1.0 / (9.0 * k) + z / (3.0 * k.sqrt())).powi(3);
    if count == 0 {
        (0.0, -(0.025f64.ln()))
    } else {
        (bound(k, -z), bound(k + 1.0, z))
    }
}

/// What was taken of a take: each utterance's meaning and verdict.
pub fn taken(one: &Heard, system: System, bars: &Bars) -> Vec<(Option<String>, Verdict)> {
    let verdict = |(at, answer): (usize, &Answer)| match (&answer.hypothesis, system) {
        (None, _) => Verdict::Ignore,
        (Some(hypothesis), System::Ear) => {
            let turn = after(one, at, false);
            turn::judge(&turn, &judged(hypothesis), &parts(answer), bars)
        }
        (Some(hypothesis), System::Scorer) if hypothesis.decoy => Verdict::Ignore,
        (Some(_), System::Scorer) => Verdict::Accept,
    };
    let answers = one.answers.iter().enumerate();
    answers
        .map(|(at, answer)| match (system, taken_early(answer, bars)) {
            (System::Ear, Some(look)) => (look.meaning.clone(), Verdict::Accept),
            _ => (answer.meaning.clone(), verdict((at, answer))),
        })
        .collect()
}

/// What was heard at the pause at which a turn was taken, as at work: a command that is certain and can't go on. What follows
/// is the rest of the turn.
fn taken_early<'a>(answer: &'a Answer, bars: &Bars) -> Option<&'a Look> {
    let conclusive = |look: &&Look| {
        look.meaning.is_some()
            && !look.may_go_on
            && bars.judge(&judged(&look.hypothesis)) == Verdict::Accept
    };
    answer.looks.iter().find(conclusive)
}

/// The turn of an answer, as far as what was said beside it goes: where no words were in it, nobody talked.
fn after(one: &Heard, at: usize, opened: bool) -> Turn {
    let before = at.checked_sub(1).and_then(|at| one.answers.get(at));
    let talk = before.is_none_or(|before| before.hypothesis.is_some());
    let beside = one.answers.get(at).is_some_and(|answer| answer.beside) && talk;
    Turn {
        beside: match (beside, opened) {
            (false, _) => None,
            (true, false) => Some(Beside::Talk),
            (true, true) => Some(Beside::Opening),
        },
        ..Turn::alone(Utterance {
            pieces: one
                .answers
                .get(at)
                .map_or_else(Vec::new, |answer| answer.pieces.clone()),
            ..Utterance::whole(Vec::new())
        })
    }
}

/// The hypothesis with the present model's probability.
pub fn judged(hypothesis: &Hypothesis) -> Hypothesis {
    let mut judged = hypothesis.clone();
    judged.evidence.probability = Model::built_in().probability(hypothesis);
    judged
}

/// What was heard in parts of the turn, with the present model's probability.
fn parts(answer: &Answer) -> Vec<Hypothesis> {
    answer.parts.iter().map(judged).collect()
}

/// Which part of the ear answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// As at work.
    Ear,
    /// What scores best is taken.
    Scorer,
}

impl System {
    /// Its name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Ear => "ear",
            Self::Scorer => "scorer without verdict",
        }
    }
}

/// What one take came to.
#[derive(Debug, Clone, Copy, Default)]
pub struct Outcome {
    /// What was meant was taken or asked about, and nothing else taken.
    pub right: bool,
    /// What was meant was taken without asking.
    pub accepted: bool,
    /// Something else was taken.
    pub wrong: bool,
    /// A gate opened.
    pub opened: bool,
    /// A command or number was taken.
    pub command: bool,
}

/// What one take came to for the whole ear or for its scorer.
pub fn outcome(one: &Heard, system: System, bars: &Bars) -> Outcome {
    let mut outcome = Outcome::default();
    for (meaning, verdict) in taken(one, system, bars) {
        let Some(meaning) = meaning else { continue };
        let meant = one.truth.as_ref() == Some(&meaning);
        let gate = meaning.starts_with("Readback");
        match verdict {
            Verdict::Accept => {
                outcome.accepted |= meant;
                outcome.wrong |= !meant;
                outcome.opened |= gate;
                outcome.command |= !gate;
            }
            Verdict::Ask => outcome.right |= meant,
            Verdict::Ignore => {}
        }
    }
    outcome.right = (outcome.right || outcome.accepted) && !outcome.wrong;
    outcome.opened &= system == System::Scorer || stays_open(one, bars);
    outcome
}

/// Whether a gate is open in the end: what is said soon after a readback may close it again, as at work.
fn stays_open(one: &Heard, bars: &Bars) -> bool {
    let corrections = [
        Command::No,
        Command::NotYet,
        Command::NotSo,
        Command::HoldOn,
        Command::TakeBack,
    ];
    let corrections = corrections.map(|command| Some(format!("{command:?}")));
    let (mut open, mut opened) = (false, false);
    for (at, answer) in one.answers.iter().enumerate() {
        let turn = after(one, at, opened);
        let hypothesis = answer.hypothesis.as_ref().map(judged);
        let verdict = hypothesis.as_ref().map_or(Verdict::Ignore, |it| {
            turn::judge(&turn, it, &parts(answer), bars)
        });
        let gate = hypothesis
            .as_ref()
            .is_some_and(|it| it.stake == Stake::Gate);
        opened = gate && verdict == Verdict::Accept;
        let nearly = gate && verdict == Verdict::Ignore;
        let correction = verdict != Verdict::Ignore && corrections.contains(&answer.meaning);
        if opened {
            open = true;
        } else if nearly || correction || turn::spoils_what_opened(&turn, hypothesis.as_ref(), bars)
        {
            open = false;
        }
    }
    open
}

/// The name that a noise is told under: the shop's are told together.
pub fn told_as(noise: Noise) -> &'static str {
    if Noise::SHOP.contains(&noise) {
        "shop"
    } else {
        noise.name()
    }
}

const WRONGLY_TAKEN: &str = "wrongly taken";

const TAKEN_FOR_YES: &str = "taken for yes";

/// Hits, and of how many, by set, noise, level and metric.
type Tally = BTreeMap<(String, String, i32, &'static str), (usize, usize)>;

fn is_taken_for_yes(one: &Heard, system: System, bars: &Bars) -> bool {
    let yes = format!("{:?}", steps::Command::Yes);
    taken(one, system, bars)
        .into_iter()
        .any(|(meaning, verdict)| verdict == Verdict::Accept && meaning.as_ref() == Some(&yes))
}

/// How often a number stands wrong on the record: it was taken for another, and the "no" to what was said back for a "yes".
/// As if the one didn't hang on the other, over all noises together; in a loud one both are likelier. The bounds are the
/// products of both bounds.
fn after_read_back(tally: &Tally, system: System) -> Option<Figure> {
    let share = |set: Set, metric: &'static str| {
        let all = (name_of(set), "all".to_owned(), 99, metric);
        tally.get(&all).filter(|(_, of)| *of > 0)
    };
    let (wrong, numbers) = share(Set::Numbers, WRONGLY_TAKEN)?;
    let (yes, denials) = share(Set::Denials, TAKEN_FOR_YES)?;
    let (wrong_bounds, yes_bounds) = (wilson(*wrong, *numbers), wilson(*yes, *denials));
    let of = |hits: &usize, of: &usize| *hits as f64 / *of as f64;
    Some(Figure {
        system: system.name().to_owned(),
        set: name_of(Set::Numbers),
        noise: "all".to_owned(),
        snr_db: None,
        metric: "wrong after their read-back".to_owned(),
        value: of(wrong, numbers) * of(yes, denials),
        n: *numbers as f64,
        low95: wrong_bounds.0 * yes_bounds.0,
        high95: wrong_bounds.1 * yes_bounds.1,
    })
}

/// The takes that opened a gate without being its readback.
pub fn openings<'h>(heard: &'h [Heard], bars: &Bars) -> Vec<&'h Heard> {
    let opened = |one: &&Heard| {
        let shut = matches!(
            one.take.set,
            Set::NearMisses | Set::SplitMisses | Set::Talk | Set::NoiseAlone
        );
        shut && outcome(one, System::Ear, bars).opened
    };
    heard.iter().filter(opened).collect()
}

/// All figures of what was heard to report.
pub fn figures(heard: &[Heard], bars: &Bars) -> Vec<Figure> {
    let mut all = Vec::new();
    for system in [System::Ear, System::Scorer] {
        let mut tally = Tally::new();
        let (mut hours, mut opened, mut commands) = (0.0, 0, 0);
        for one in heard.iter().filter(|one| !one.take.development) {
            let outcome = outcome(one, system, bars);
            if one.take.said_before > 0 {
                continue;
            }
            let set = told_set(one.take.set, one.take.place);
            let mut count = |metric: &'static str, hit: bool| {
                let quiet = one.take.noise == Noise::Clean;
                let level = if quiet { 99 } else { one.take.snr_db as i32 };
                let own = (
                    set.clone(),
                    told_as(one.take.noise).to_owned(),
                    level,
                    metric,
                );
                for key in [own, (set.clone(), "all".to_owned(), 99, metric)] {
                    let (hits, of) = tally.entry(key).or_default();
                    *hits += usize::from(hit);
                    *of += 1;
                }
            };
            match one.take.set {
                Set::NearMisses | Set::SplitMisses => count("false openings", outcome.opened),
                Set::Talk | Set::NoiseAlone => {
                    count("false openings", outcome.opened);
                    count("false commands", outcome.command);
                    hours += f64::from(one.seconds) / 3600.0;
                    opened += usize::from(outcome.opened);
                    commands += usize::from(outcome.command);
                }
                Set::PeopleOther => count("false commands", outcome.command),
                Set::Denials => {
                    count("right", outcome.right);
                    count(TAKEN_FOR_YES, is_taken_for_yes(one, system, bars));
                }
                Set::Commands
                | Set::Numbers
                | Set::Readbacks
                | Set::PausedReadbacks
                | Set::PeopleWords
                | Set::PeopleDigits
                | Set::PeopleThreeDigits
                | Set::PeopleThreeWords => {
                    count("right", outcome.right);
                    count("accepted", outcome.accepted && !outcome.wrong);
                    count(WRONGLY_TAKEN, outcome.wrong);
                }
            }
        }
        if system == System::Ear {
            all.extend(tries(heard, bars));
        }
        all.extend(after_read_back(&tally, system));
        for ((set, noise, level, metric), (hits, of)) in tally {
            let (low95, high95) = wilson(hits, of);
            all.push(Figure {
                system: system.name().to_owned(),
                set,
                noise,
                snr_db: (level != 99).then_some(level as f32),
                metric: metric.to_owned(),
                value: hits as f64 / of.max(1) as f64,
                n: of as f64,
                low95,
                high95,
            });
        }
        if hours > 0.0 {
            for (metric, count) in [
                ("false openings an hour", opened),
                ("false commands an hour", commands),
            ] {
                let (low, high) = poisson(count);
                all.push(Figure {
                    system: system.name().to_owned(),
                    set: "talk and noise".to_owned(),
                    noise: "all".to_owned(),
                    snr_db: None,
                    metric: metric.to_owned(),
                    value: count as f64 / hours,
                    n: hours,
                    low95: low / hours,
                    high95: high / hours,
                });
            }
        }
    }
    all
}

/// The mean number of tries until a readback was taken, and the share of gates that took more than two. One that wasn't taken
/// at the last try counts as one try more. Each try is the same clip over another stretch of the noise; people who repeat
/// themselves also speak up, or wait.
fn tries(heard: &[Heard], bars: &Bars) -> Vec<Figure> {
    let mut gates: BTreeMap<(String, i32, String, String), [bool; TRIES as usize]> =
        BTreeMap::new();
    for one in heard.iter().filter(|one| !one.take.development) {
        let take = &one.take;
        let in_noise = take.noise != Noise::Clean && take.place == Place::Close;
        if take.set != Set::Readbacks || !in_noise {
            continue;
        }
        let (noise, level) = (told_as(take.noise).to_owned(), take.snr_db as i32);
        let key = (noise, level, take.speaker.clone(), take.words.clone());
        if let Some(it) = gates
            .entry(key)
            .or_default()
            .get_mut(usize::from(take.said_before))
        {
            *it |= outcome(one, System::Ear, bars).accepted;
        }
    }
    let mut by_noise: BTreeMap<(String, i32), Vec<usize>> = BTreeMap::new();
    for ((noise, level, ..), taken) in gates {
        let said = taken.iter().position(|it| *it).unwrap_or(taken.len()) + 1;
        by_noise.entry((noise, level)).or_default().push(said);
    }
    let figures = by_noise.into_iter().flat_map(|((noise, level), said)| {
        let n = said.len();
        let mean = said.iter().sum::<usize>() as f64 / n as f64;
        let spread = said
            .iter()
            .map(|it| (*it as f64 - mean).powi(2))
            .sum::<f64>()
            / n as f64;
        // The normal approximation's bounds of a mean.
        let half = 1.959_964 * (spread / n as f64).sqrt();
        let often = said.iter().filter(|it| **it > 2).count();
        let (low, high) = wilson(often, n);
        let figure = |metric: &str, [value, low95, high95]: [f64; 3]| Figure {
            system: System::Ear.name().to_owned(),
            set: name_of(Set::Readbacks),
            noise: noise.clone(),
            snr_db: Some(level as f32),
            metric: metric.to_owned(),
            value,
            n: n as f64,
            low95,
            high95,
        };
        [
            figure(TRIES_A_GATE, [mean, mean - half, mean + half]),
            figure("more than two tries", [often as f64 / n as f64, low, high]),
        ]
    });
    figures.collect()
}

/// The metric of [`tries`] that is no share.
pub const TRIES_A_GATE: &str = "tries a gate";

/// The name that a take's set is told under: with the place, unless it is the usual one.
pub fn told_set(set: Set, place: Place) -> String {
    let set = name_of(set);
    match place {
        Place::Close => set,
        place => format!("{set} ({})", name_of(place)),
    }
}

/// A set's name in tables.
pub fn name_of(one: impl serde::Serialize) -> String {
    let name = serde_json::to_value(one).ok();
    name.as_ref()
        .and_then(|name| name.as_str())
        .unwrap_or_default()
        .to_owned()
}

/// How well probabilities keep their word: for each class, tenths of probability with the share that was true.
pub fn calibration(heard: &[Heard]) -> Vec<(super::fit::Class, Vec<Tenth>)> {
    use super::fit::{Class, examples};
    let report: Vec<Heard> = heard
        .iter()
        .filter(|one| !one.take.development)
        .cloned()
        .collect();
    let of = |class: Class| {
        let model = Model::built_in();
        let regression = match class {
            Class::Command => &model.command,
            Class::Number => &model.number,
            Class::Gate => &model.gate,
        };
        let mut tenths = vec![Tenth::default(); 10];
        for example in examples(&report, class) {
            let probability = f64::from(regression.probability(&example.features));
            let tenth = &mut tenths[((probability * 10.0) as usize).min(9)];
            tenth.sum += probability;
            tenth.true_ones += usize::from(example.said);
            tenth.count += 1;
        }
        (class, tenths)
    };
    [Class::Command, Class::Number, Class::Gate]
        .map(of)
        .to_vec()
}

/// What fell into a tenth of the probabilities.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tenth {
    /// Sum of the probabilities.
    pub sum: f64,
    /// How many were true.
    pub true_ones: usize,
    /// How many there were.
    pub count: usize,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// R. G. Newcombe, "Two-sided confidence intervals for the single proportion" (1998), table I, method 3:
    /// 81 of 263, 15 of 148, 0 of 20, 1 of 29.
    #[test]
    fn wilsons_bounds_are_those_of_a_published_table() {
        let table = [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ];
        for (hits, of, low, high) in table {
            let found = wilson(hits, of);
            assert!(
                (found.0 - low).abs() < 6e-5 && (found.1 - high).abs() < 6e-5,
                "{hits} of {of}: {found:?}"
            );
        }
    }

    /// F. Garwood's exact bounds for 10 seen are 4.795 and 18.390 (standard tables of the Poisson distribution,
    /// from memory).
    #[test]
    fn poissons_bounds_are_near_the_exact_ones() {
        let (low, high) = poisson(10);
        assert!(
            (low - 4.795).abs() < 0.01 && (high - 18.390).abs() < 0.01,
            "{low} {high}"
        );
        assert!((poisson(0).1 - 3.689).abs() < 1e-3);
    }
}
