//! All ways side by side, over the same takes.

use super::super::kept::{Answer, Heard};
use super::super::material::{Set, Take};
use super::super::measure::{Outcome, System, name_of, outcome, wilson};
use super::super::shop::Noise;
use super::Before;
use ears::verdict::Bars;
use std::collections::{BTreeMap, HashMap};
use std::fmt::Write as _;

/// Development's takes that are compared, some thousand: all readbacks, every second number, every fourth command and
/// sentence, every sixth near-miss; none at 0 dB.
pub fn share(takes: Vec<Take>) -> Vec<Take> {
    let mut seen: BTreeMap<Set, usize> = BTreeMap::new();
    takes
        .into_iter()
        .filter(|take| take.development && take.snr_db > 0.0)
        .filter(|take| {
            let every = match take.set {
                Set::Numbers => 2,
                Set::Commands | Set::Talk => 4,
                Set::NearMisses => 6,
                _ => 1,
            };
            let number = seen.entry(take.set).or_default();
            *number += 1;
            number.is_multiple_of(every)
        })
        .collect()
}

/// What was heard one way.
pub struct Tried {
    /// Its name.
    pub name: String,
    /// By key.
    heard: HashMap<String, Heard>,
}

impl Tried {
    /// Each way, and after them what comes of hearing a thing twice, as it is and some other way.
    pub fn all(ways: Vec<(Before, Vec<Heard>)>) -> Vec<Self> {
        let mut all: Vec<Self> = ways
            .into_iter()
            .map(|(way, heard)| Self {
                name: way.name().to_owned(),
                heard: heard
                    .into_iter()
                    .map(|one| (one.key.clone(), one))
                    .collect(),
            })
            .collect();
        let named = |name: &str| all.iter().find(|tried| tried.name == name);
        let mut both = Vec::new();
        for way in [
            Before::Denoised,
            Before::Gated,
            Before::Tighter,
            Before::Wider,
        ] {
            if let (Some(usual), Some(other)) = (named(Before::Nothing.name()), named(way.name())) {
                both.push(usual.with(other, "better of", better));
                both.push(usual.with(other, "agreed with", agreed));
            }
        }
        all.extend(both);
        all
    }

    /// Both heard, and one answer for each utterance chosen.
    fn with(&self, other: &Self, how: &str, choose: fn(&Answer, &Answer) -> Answer) -> Self {
        let both = self.heard.iter().filter_map(|(key, one)| {
            let other = other.heard.get(key)?;
            let pairs = one.answers.iter().zip(&other.answers);
            let chosen = Heard {
                answers: pairs.map(|(one, other)| choose(one, other)).collect(),
                before: one.before + other.before,
                ..one.clone()
            };
            Some((key.clone(), chosen))
        });
        Self {
            name: format!("{how} {}", other.name),
            heard: both.collect(),
        }
    }
}

fn score(answer: &Answer) -> f32 {
    let hypothesis = answer.hypothesis.as_ref();
    hypothesis
        .and_then(|it| it.evidence.score)
        .unwrap_or(f32::NEG_INFINITY)
}

fn better(one: &Answer, other: &Answer) -> Answer {
    let milliseconds = one.milliseconds + other.milliseconds;
    let best = if score(other) > score(one) {
        other
    } else {
        one
    };
    Answer {
        milliseconds,
        ..best.clone()
    }
}

/// The worse of two that say the same; nothing where they don't.
fn agreed(one: &Answer, other: &Answer) -> Answer {
    let words = |answer: &Answer| answer.hypothesis.as_ref().map(|it| it.words.clone());
    let milliseconds = one.milliseconds + other.milliseconds;
    if words(one) != words(other) {
        return Answer {
            parts: Vec::new(),
            hypothesis: None,
            beside: false,
            pieces: Vec::new(),
            looks: Vec::new(),
            meaning: None,
            milliseconds,
        };
    }
    let worse = if score(other) < score(one) {
        other
    } else {
        one
    };
    Answer {
        milliseconds,
        ..worse.clone()
    }
}

/// What is asked of a take.
struct Question {
    set: Set,
    what: &'static str,
    system: System,
    /// Whether it was so.
    hit: fn(&Outcome) -> bool,
    /// Whether it should be.
    wanted: bool,
}

fn questions() -> Vec<Question> {
    let mut all = Vec::new();
    let mut ask = |set, what, system, wanted, hit: fn(&Outcome) -> bool| {
        all.push(Question {
            set,
            what,
            system,
            hit,
            wanted,
        });
    };
    let (ear, scorer) = (System::Ear, System::Scorer);
    for set in [Set::Readbacks, Set::Commands, Set::Numbers] {
        ask(set, "accepted", ear, true, |it| it.accepted && !it.wrong);
        ask(set, "right", ear, true, |it| it.right);
        ask(set, "right", scorer, true, |it| it.right);
    }
    ask(Set::NearMisses, "opened", ear, false, |it| it.opened);
    ask(Set::NearMisses, "opened", scorer, false, |it| it.opened);
    ask(Set::Talk, "opened", ear, false, |it| it.opened);
    ask(Set::Talk, "command taken", ear, false, |it| it.command);
    all
}

/// One figure of one way, and how it differs from the first way's, take by take.
pub struct Line {
    way: String,
    set: String,
    what: &'static str,
    system: &'static str,
    noise: String,
    hits: usize,
    of: usize,
    better: usize,
    worse: usize,
}

/// All figures: question by question, noise by noise, way by way.
pub fn lines(tried: &[Tried], bars: &Bars) -> Vec<Line> {
    let mut all = Vec::new();
    let Some(usual) = tried.first() else {
        return all;
    };
    for question in questions() {
        let asked = |one: &Heard| (question.hit)(&outcome(one, question.system, bars));
        let mut tally: BTreeMap<(String, usize), [usize; 4]> = BTreeMap::new();
        for (way, tried) in tried.iter().enumerate() {
            for one in tried
                .heard
                .values()
                .filter(|one| one.take.set == question.set)
            {
                let Some(before) = usual.heard.get(&one.key) else {
                    continue;
                };
                let (hit, was) = (asked(one), asked(before));
                for noise in conditions(&one.take) {
                    let counts = tally.entry((noise, way)).or_default();
                    counts[0] += usize::from(hit);
                    counts[1] += 1;
                    counts[2] += usize::from(hit != was && hit == question.wanted);
                    counts[3] += usize::from(hit != was && hit != question.wanted);
                }
            }
        }
        all.extend(tally.into_iter().map(|((noise, way), counts)| Line {
            way: tried[way].name.clone(),
            set: name_of(question.set),
            what: question.what,
            system: question.system.name(),
            noise,
            hits: counts[0],
            of: counts[1],
            better: counts[2],
            worse: counts[3],
        }));
    }
    all
}

/// What a take counts for.
fn conditions(take: &Take) -> Vec<String> {
    let all = "all".to_owned();
    if take.noise == Noise::Clean {
        return vec![all, "clean".to_owned()];
    }
    let (noise, level) = (take.noise.name(), format!("{:.0} dB", take.snr_db));
    vec![
        all,
        "noise".to_owned(),
        noise.to_owned(),
        format!("{noise} {level}"),
        level,
    ]
}

/// As comma-separated values.
pub fn csv(lines: &[Line]) -> String {
    let mut text = "way,set,what,system,noise,hits,of,low95,high95,better,worse\n".to_owned();
    for it in lines {
        let (low, high) = wilson(it.hits, it.of);
        // Writing to a string can't fail.
        let _ = writeln!(
            text,
            "{},{},{},{},{},{},{},{low:.4},{high:.4},{},{}",
            it.way, it.set, it.what, it.system, it.noise, it.hits, it.of, it.better, it.worse,
        );
    }
    text
}

/// To read: all takes, the clean ones, those in noise; and what each way costs.
pub fn table(lines: &[Line], tried: &[Tried]) -> String {
    let mut text = format!(
        "{:<20} {:<11} {:<13} {:<22} {:<6} {:>9} {:>8}  {:<18} {:>6} {:>5}\n",
        "way", "set", "what", "system", "noise", "takes", "share", "95 % bounds", "better", "worse",
    );
    for it in lines
        .iter()
        .filter(|it| ["all", "clean", "noise"].contains(&it.noise.as_str()))
    {
        let (low, high) = wilson(it.hits, it.of);
        let share = 100.0 * it.hits as f64 / it.of.max(1) as f64;
        let _ = writeln!(
            text,
            "{:<20} {:<11} {:<13} {:<22} {:<6} {:>4}/{:<4} {share:>6.1} %  {:>5.1} to {:<8.1} {:>6} {:>5}",
            it.way,
            it.set,
            it.what,
            it.system,
            it.noise,
            it.hits,
            it.of,
            100.0 * low,
            100.0 * high,
            it.better,
            it.worse,
        );
    }
    for it in tried {
        let heard = it.heard.values();
        let answers: Vec<&Answer> = heard.clone().flat_map(|one| &one.answers).collect();
        let of = answers.len().max(1) as f32;
        let before = heard.map(|one| one.before).sum::<f32>() / of;
        let hearing = answers
            .iter()
            .map(|answer| answer.milliseconds)
            .sum::<f32>()
            / of;
        let _ = writeln!(
            text,
            "{:<20} {before:.1} ms before hearing, {hearing:.0} ms hearing, {} utterances",
            it.name,
            answers.len(),
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use super::super::super::material::Place;
    use super::*;
    use crate::listening::Context;
    use ears::{Description, Evidence, Hypothesis, Stake};

    fn answer(words: &str, score: f32) -> Answer {
        Answer {
            parts: Vec::new(),
            hypothesis: Some(Hypothesis {
                words: words.to_owned(),
                stake: Stake::Ask,
                decoy: false,
                evidence: Evidence {
                    heard_by: Description {
                        recogniser: String::new(),
                        model: String::new(),
                        model_sha256: String::new(),
                    },
                    score: Some(score),
                    margin_runner_up: None,
                    margin_decoy: None,
                    margin_free: None,
                    free_transcription: None,
                    free_score: None,
                    runner_up: None,
                    probability: None,
                    nearest_decoy: None,
                    ending: None,
                    margin_decoy_by_sound: None,
                    confidence: None,
                    snr_db: None,
                    seconds: 1.0,
                },
            }),
            beside: false,
            pieces: Vec::new(),
            looks: Vec::new(),
            meaning: Some(words.to_owned()),
            milliseconds: 1.0,
        }
    }

    fn heard(key: &str, words: &str) -> Heard {
        Heard {
            key: key.to_owned(),
            take: Take {
                set: Set::Commands,
                development: true,
                speaker: String::new(),
                words: "next".to_owned(),
                pause_s: 0.0,
                recordings: Vec::new(),
                context: Context::Commands,
                meant: true,
                noise: Noise::Brown,
                snr_db: 10.0,
                place: Place::Close,
                said_before: 0,
            },
            truth: Some("next".to_owned()),
            seconds: 1.0,
            before: 0.0,
            answers: vec![answer(words, 1.0)],
        }
    }

    #[test]
    fn changes_are_counted_take_by_take() {
        let usual = ["next", "next", "stop", "stop"];
        let other = ["next", "stop", "next", "next"];
        let of = |words: [&str; 4]| {
            let numbered = words.iter().enumerate();
            numbered
                .map(|(key, words)| heard(&key.to_string(), words))
                .collect()
        };
        let tried = Tried::all(vec![
            (Before::Nothing, of(usual)),
            (Before::Levelled, of(other)),
        ]);
        let lines = lines(&tried, &Bars::default());
        let line = lines.iter().find(|it| {
            (it.way.as_str(), it.what, it.system, it.noise.as_str())
                == ("levelled", "right", System::Scorer.name(), "brown 10 dB")
        });
        let counts = line.map(|it| (it.hits, it.of, it.better, it.worse));
        assert_eq!(counts, Some((3, 4, 2, 1)));
    }

    #[test]
    fn of_two_the_better_or_what_both_say_is_taken() {
        let (one, other) = (answer("next", 1.0), answer("stop", 2.0));
        assert_eq!(better(&one, &other).meaning.as_deref(), Some("stop"));
        assert_eq!(better(&one, &other).milliseconds, 2.0);
        assert_eq!(agreed(&one, &other).meaning, None);
        let same = answer("next", 0.5);
        assert_eq!(score(&agreed(&one, &same)), 0.5);
    }
}
