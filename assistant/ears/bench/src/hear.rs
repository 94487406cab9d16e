//! Speaks takes, has them heard by the ear as at work (end-pointer, then scorer), and keeps the evidence.

use super::before::{Before, Treated};
use super::gates::Gate;
use super::kept::{Answer, Heard, Kept, Look, key};
use super::listening::{Context, Listening};
use super::material::Take;
use super::scene;
use super::shop::{Noise, RATE};
use ears::Recogniser;
use ears::sound::endpoint::Patience;
use ears::sound::{Utterance, file};
use ears::turn::Turn;
use ears::whisper::{ClosedSet, default_model_dir};
use hearing_bench::join::with_pauses;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::error::Error;
use std::path::PathBuf;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;
use voice::fixtures::Speaker;

/// Takes that are spoken for each ear before they are heard.
const BATCH: usize = 120;

/// Seconds of a scene in which nobody speaks.
const NOISE_ALONE: f32 = 30.0;

/// What hearing needs besides the takes.
pub struct Room<'a> {
    /// The gates that contexts name.
    pub gates: &'a [Gate],
    /// Who speaks.
    pub speaker: &'a Speaker,
    /// Voices in the background, of development and of report.
    pub background: [Vec<Vec<f32>>; 2],
    /// How many ears work at once.
    pub at_once: usize,
    /// Where phrases' priors are kept.
    pub priors: PathBuf,
    /// What is put before the ear.
    pub before: Before,
}

type Failure = Box<dyn Error + Send + Sync>;

/// What was kept or heard, in the takes' order, and what was listened for.
pub type Found = (Vec<Heard>, HashMap<Context, Listening>);

/// Hears what isn't kept yet, or leaves it out.
///
/// # Errors
/// When a voice can't speak, a recording can't be read, or the ear can't hear.
pub fn hear(
    room: &Room<'_>,
    takes: &[Take],
    kept: &mut Kept,
    only_kept: bool,
) -> Result<Found, Failure> {
    let mut listenings: HashMap<Context, Listening> = HashMap::new();
    for take in takes {
        if let Entry::Vacant(place) = listenings.entry(take.context) {
            place.insert(Listening::new(take.context, room.gates)?);
        }
    }
    let listening = |take: &Take| &listenings[&take.context];
    let keys: Vec<String> = takes
        .iter()
        .map(|take| key(take, &listening(take).set))
        .collect();
    let missing: Vec<usize> = (0..takes.len())
        .filter(|at| !only_kept && !kept.heard.contains_key(&keys[*at]))
        .collect();
    eprintln!(
        "{} takes, {} of them not heard yet",
        takes.len(),
        missing.len()
    );
    let mut ears = (0..room.at_once)
        .filter(|_| !missing.is_empty())
        .map(|_| {
            let mut ear = ClosedSet::load(&default_model_dir(), 1)?;
            // Without the folder it only takes longer.
            let _ = ear.keep_priors_in(&room.priors);
            Ok(ear)
        })
        .collect::<Result<Vec<ClosedSet>, Failure>>()?;
    let mut done = 0;
    for batch in missing.chunks(BATCH * room.at_once.max(1)) {
        let spoken: Vec<(&str, &str)> = batch
            .iter()
            .map(|at| &takes[*at])
            .filter(|take| take.recordings.is_empty() && !take.words.is_empty())
            .flat_map(|take| take.parts().map(|part| (take.speaker.as_str(), part)))
            .collect();
        room.speaker.prepare(&spoken)?;
        // The same set again and again costs less than another each time.
        let mut batch = batch.to_vec();
        batch.sort_by_key(|at| takes[*at].context);
        let next = AtomicUsize::new(0);
        let kept = Mutex::new(&mut *kept);
        let failure: Mutex<Option<Failure>> = Mutex::new(None);
        std::thread::scope(|scope| {
            for ear in &mut ears {
                scope.spawn(|| {
                    let ear = ear;
                    let mut context = None;
                    while let Some(at) = batch.get(next.fetch_add(1, Ordering::Relaxed)) {
                        let take = &takes[*at];
                        let one = one(room, ear, &mut context, take, listening(take), &keys[*at]);
                        let stored = one.and_then(|one| {
                            let mut kept = kept.lock().unwrap_or_else(PoisonError::into_inner);
                            kept.add(one).map_err(Failure::from)
                        });
                        if let Err(error) = stored {
                            *failure.lock().unwrap_or_else(PoisonError::into_inner) = Some(error);
                            return;
                        }
                    }
                });
            }
        });
        if let Some(error) = failure.into_inner().unwrap_or_else(PoisonError::into_inner) {
            return Err(error);
        }
        done += batch.len();
        eprintln!("heard {done} of {}", missing.len());
    }
    let heard = keys.iter().filter_map(|key| kept.heard.get(key).cloned());
    Ok((heard.collect(), listenings))
}

fn one(
    room: &Room<'_>,
    ear: &mut ClosedSet,
    context: &mut Option<Context>,
    take: &Take,
    listening: &Listening,
    key: &str,
) -> Result<Heard, Failure> {
    if context.replace(take.context) != Some(take.context) {
        ear.listen_for(&listening.set)?;
    }
    let (sound, treated) = scene_of(room, take, Patience::listening_for(&listening.set), key)?;
    let mut answers = Vec::new();
    for (turn, said) in treated.turns {
        let mut looks = Vec::new();
        for utterance in &said {
            looks.extend(ear.hear(utterance)?.map(|hypothesis| Look {
                meaning: listening.meaning(&hypothesis.words),
                may_go_on: listening.may_go_on(&hypothesis.words),
                hypothesis,
            }));
        }
        let start = Instant::now();
        let ears::turn::HeardTurn { whole, parts } = ears::turn::hear(ear, &turn)?;
        answers.push(Answer {
            milliseconds: start.elapsed().as_secs_f32() * 1000.0,
            parts,
            meaning: whole.as_ref().and_then(|it| listening.meaning(&it.words)),
            hypothesis: whole,
            beside: turn.beside.is_some(),
            pieces: turn.utterance.pieces,
            looks,
        });
    }
    Ok(Heard {
        key: key.to_owned(),
        take: take.clone(),
        truth: take.meant.then(|| listening.meaning(&take.words)).flatten(),
        seconds: sound.len() as f32 / RATE as f32,
        before: treated.milliseconds,
        answers,
    })
}

/// The sound of a take, and what is heard of it.
///
/// # Errors
/// When a voice can't speak or a recording can't be read.
pub fn scene_of(
    room: &Room<'_>,
    take: &Take,
    patience: Patience,
    key: &str,
) -> Result<(Vec<f32>, Treated), Failure> {
    let mut speech = Vec::new();
    if take.recordings.is_empty() && !take.words.is_empty() {
        let clips = take
            .parts()
            .map(|part| Ok(file::read(&room.speaker.wav(&take.speaker, part)?)?.samples))
            .collect::<Result<Vec<_>, Failure>>()?;
        speech = with_pauses(&clips, take.pause_s);
    }
    for recording in &take.recordings {
        speech.extend(file::read(recording)?.samples);
    }
    let seed = u64::from_str_radix(key.get(..15).unwrap_or("1"), 16).unwrap_or(1);
    let background = &room.background[usize::from(!take.development)];
    let sound = scene::sound(take, &speech, NOISE_ALONE, seed, background);
    let mut treated = room.before.hear(&sound, patience)?;
    // A people's clip of one second often begins and ends within the word: it is taken whole.
    if !take.recordings.is_empty() && take.noise == Noise::Clean && treated.turns.len() != 1 {
        treated.turns = vec![(Turn::alone(Utterance::whole(sound.clone())), Vec::new())];
    }
    Ok((sound, treated))
}
