//! Other ways to hear the same: PocketSphinx with the same phrases, and the free transcription matched to the
//! grammar.

use super::hear::{Room, scene_of};
use super::kept::Heard;
use super::listening::{Context, Listening};
use super::material::{Place, Set};
use super::measure::{Figure, told_as, told_set, wilson};
use super::shop::{Noise, RATE};
use ears::Recogniser;
use ears::sound::Utterance;
use ears::sound::endpoint::Patience;
use ears::vosk::Vosk;
use std::collections::{BTreeMap, HashMap};
use std::error::Error;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

type Failure = Box<dyn Error + Send + Sync>;

/// What a rival is asked about: what was meant to be taken.
fn is_asked(one: &Heard) -> bool {
    !one.take.development
        && matches!(
            one.take.set,
            Set::Commands | Set::Numbers | Set::Readbacks | Set::NearMisses
        )
}

/// Whether what a system returned is right, or for a near-miss whether it opens the gate.
fn counts(one: &Heard, meaning: Option<&String>) -> bool {
    if one.take.set == Set::NearMisses {
        meaning.is_some_and(|meaning| meaning.starts_with("Readback"))
    } else {
        meaning.is_some() && meaning == one.truth.as_ref()
    }
}

type Tally = BTreeMap<(Set, Place, &'static str, i32), (usize, usize)>;

fn count(tally: &mut Tally, one: &Heard, hit: bool) {
    let quiet = one.take.noise == Noise::Clean;
    let level = if quiet { 99 } else { one.take.snr_db as i32 };
    let (set, place) = (one.take.set, one.take.place);
    let own = (set, place, told_as(one.take.noise), level);
    for key in [own, (set, place, "all", 99)] {
        let (hits, of) = tally.entry(key).or_default();
        *hits += usize::from(hit);
        *of += 1;
    }
}

fn told(system: &str, tally: Tally) -> Vec<Figure> {
    tally
        .into_iter()
        .map(|((set, place, noise, level), (hits, of))| {
            let (low95, high95) = wilson(hits, of);
            Figure {
                system: system.to_owned(),
                set: told_set(set, place),
                noise: noise.to_owned(),
                snr_db: (level != 99).then_some(level as f32),
                metric: if set == Set::NearMisses {
                    "false openings"
                } else {
                    "right"
                }
                .to_owned(),
                value: hits as f64 / of.max(1) as f64,
                n: of as f64,
                low95,
                high95,
            }
        })
        .collect()
}

/// The free transcription, where it is one of the phrases word by word.
pub fn free_transcription(
    heard: &[Heard],
    listenings: &HashMap<Context, Listening>,
) -> Vec<Figure> {
    let mut tally = Tally::new();
    for one in heard.iter().filter(|one| is_asked(one)) {
        let meanings: Vec<String> = one
            .answers
            .iter()
            .filter_map(|answer| {
                answer
                    .hypothesis
                    .as_ref()?
                    .evidence
                    .free_transcription
                    .clone()
            })
            .filter_map(|text| listenings.get(&one.take.context)?.meaning(&text))
            .collect();
        count(&mut tally, one, counts(one, meanings.first()));
    }
    told("free transcription", tally)
}

/// Has every `every`th take heard by a system that returns what it took an utterance for.
fn asked(
    system: &str,
    room: &Room<'_>,
    heard: &[Heard],
    listenings: &HashMap<Context, Listening>,
    every: usize,
    mut hear: impl FnMut(Context, &Listening, &Utterance) -> Result<Option<String>, Failure>,
) -> Result<Vec<Figure>, Failure> {
    let mut asked: Vec<&Heard> = heard
        .iter()
        .filter(|one| is_asked(one))
        .step_by(every.max(1))
        .collect();
    // The same set again and again costs less than another each time.
    asked.sort_by_key(|one| one.take.context);
    let mut tally = Tally::new();
    for one in asked {
        let listening = &listenings[&one.take.context];
        let patience = Patience::listening_for(&listening.set);
        let (_, treated) = scene_of(room, &one.take, patience, &one.key)?;
        let mut meaning = None;
        for (turn, _) in treated.turns {
            let words = hear(one.take.context, listening, &turn.utterance)?;
            meaning = meaning.or_else(|| listening.meaning(words.as_deref()?));
        }
        count(&mut tally, one, counts(one, meaning.as_ref()));
    }
    Ok(told(system, tally))
}

/// PocketSphinx 5.1.1 on the same utterances, every `every`th take.
///
/// # Errors
/// When the Python environment or a voice is missing.
pub fn pocketsphinx(
    room: &Room<'_>,
    heard: &[Heard],
    listenings: &HashMap<Context, Listening>,
    python: &Path,
    folder: &Path,
    every: usize,
) -> Result<Vec<Figure>, Failure> {
    std::fs::create_dir_all(folder)?;
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("rival.py");
    let mut child = Command::new(python)
        .arg(script)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()?;
    let (Some(mut orders), Some(answers)) = (child.stdin.take(), child.stdout.take()) else {
        return Err("the rival's pipes can't be had".into());
    };
    let mut answers = BufReader::new(answers).lines();
    let wav = folder.join("utterance.wav");
    let name = "PocketSphinx 5.1.1";
    let figures = asked(
        name,
        room,
        heard,
        listenings,
        every,
        |_, listening, said| {
            write(&wav, &said.samples)?;
            let phrases = listening.set.phrases.iter();
            let phrases: Vec<&String> = phrases.flat_map(|phrase| &phrase.spoken).collect();
            let order = serde_json::json!({ "phrases": phrases, "wav": wav });
            writeln!(orders, "{order}")?;
            let answer = answers.next().ok_or("the rival gave up")??;
            Ok(Some(answer))
        },
    )?;
    drop(orders);
    child.wait()?;
    Ok(figures)
}

/// A Vosk model on the same utterances, every `every`th take; decoys are in its grammar as in the ear's set.
///
/// # Errors
/// When the library or the model is missing, a voice can't speak, or the model knows no phrase of a set.
pub fn vosk(
    room: &Room<'_>,
    heard: &[Heard],
    listenings: &HashMap<Context, Listening>,
    model: &Path,
    every: usize,
) -> Result<Vec<Figure>, Failure> {
    let mut ear = Vosk::load(model)?;
    let name = format!("Vosk {}", ear.description().model);
    let mut listens_in = None;
    asked(
        &name,
        room,
        heard,
        listenings,
        every,
        |context, listening, said| {
            if listens_in.replace(context) != Some(context) {
                ear.listen_for(&listening.set)?;
            }
            let hypothesis = ear.hear(said)?.filter(|it| !it.decoy);
            Ok(hypothesis.map(|it| it.words))
        },
    )
}

fn write(path: &Path, samples: &[f32]) -> Result<(), Failure> {
    let spec = hound::WavSpec {
        channels: 1,
        sample_rate: RATE as u32,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(path, spec)?;
    for sample in samples {
        writer.write_sample((sample.clamp(-1.0, 1.0) * 32767.0) as i16)?;
    }
    Ok(writer.finalize()?)
}
