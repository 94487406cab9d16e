//! Plays a whole job with spoken recordings, from sound to sound.

use super::page::PageOptions;
use super::{options::EarOptions, show};
use clap::Parser;
use ears::sound::file;
use files::IfThere;
use miette::{IntoDiagnostic, WrapErr, miette};
use page::BaySettings;
use record::{Archive, JournaledJob};
use sayback::library::Shelf;
use sayback::view::showing::Showing;
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::live::{self, EARLY, Notice, Recordings};
use sayback::work::technician::{Talk, place, said_in};
use sayback::work::viewers::ViewerRequests;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use std::time::Instant;
use steps::{Mode, Settings};
use voice::Voice;
use voice::fixtures::{Speaker, cache_folder};

/// The job that is played.
const PROCEDURE: &str = "front-half-shaft";

/// Ears as they are without any option.
#[derive(Parser)]
struct Plain {
    #[command(flatten)]
    ears: EarOptions,
}

/// How what wasn't understood is said again: a recording says it the same way each time, and a person doesn't.
const OTHERWISE: [&str; 3] = ["flite-man-fast", "espeak-us-man", "flite-woman"];

/// So often something is said again.
const MAX_IN_A_ROW: usize = 9;

pub fn run(
    talk: Option<&Path>,
    fixtures: &Path,
    voice_id: &str,
    out: &Path,
    aloud: bool,
    page: &PageOptions,
) -> miette::Result<ExitCode> {
    let talk_file = talk.map_or_else(
        || fixtures.join("front-half-shaft.talk.toml"),
        Path::to_owned,
    );
    let text = files::read_text(&talk_file, 1_000_000).into_diagnostic()?;
    let mut talk: Talk = toml::from_str(&text)
        .into_diagnostic()
        .wrap_err_with(|| format!("the talk {} can't be used", talk_file.display()))?;
    let procedure = super::work::load(&Shelf::Shipped, PROCEDURE, None)?;
    let settings = Settings {
        mode: Mode::Recordings,
        colours: true,
        corrections: true,
        in_fives: true,
        ..Settings::default()
    };

    let cache =
        cache_folder().ok_or_else(|| miette!("no home folder is set: set SAYBACK_CACHE"))?;
    let speaker = Speaker::open(&cache, &fixtures.join("voices.toml")).into_diagnostic()?;
    let said = said_in(&procedure, settings.clone(), &mut talk.clone()).into_diagnostic()?;
    tell!(
        "The technician's {} sentences are spoken by the voice {voice_id}.",
        said.len()
    );
    let wanted: Vec<(&str, &str)> = said
        .iter()
        .map(|words| (voice_id, words.as_str()))
        .collect();
    speaker.prepare(&wanted).into_diagnostic()?;

    std::fs::create_dir_all(out).into_diagnostic()?;
    let answers = out.join("answers.wav");
    let mut because = Vec::new();
    let voice: Box<dyn Voice> = if aloud {
        let chosen =
            voice::best_available(Some(&answers), voice::Settings::default(), voice::ENGLISH);
        because = chosen.because;
        chosen.voice
    } else {
        let settings = voice::Settings::default();
        let (voice, again) = (voice::ENGLISH, IfThere::Replace);
        Box::new(voice::EspeakWav::create(&answers, settings, voice, again).into_diagnostic()?)
    };
    for why in because {
        tell!("{why}");
    }
    let hearing = Plain::parse_from(["demo"])
        .ears
        .hearing(procedure.language)?;
    tell!(
        "Listening with {}. Speaking with {}.\n",
        hearing.names().join(" and "),
        voice.name()
    );

    let archive = Archive::open(&out.join("records")).into_diagnostic()?;
    let bay = BaySettings {
        unit: Some(settings.unit.to_string()),
        voice: Some(voice.name()),
        mode: Some("demonstration".to_owned()),
        ears: hearing.names(),
        version: env!("CARGO_PKG_VERSION").to_owned(),
        ..BaySettings::default()
    };
    let page = page.open(&archive, Shelf::Shipped, bay)?;
    let (worked, first) =
        JournaledJob::begin(&archive, Arc::new(procedure), settings, now()).into_diagnostic()?;
    let mut showing = page
        .as_ref()
        .map(|page| Showing::new(page.board().clone(), worked.id().as_str()));
    let nothing = ViewerRequests::default();
    let requests = page.as_ref().map_or(&nothing, |page| &page.requests);
    let mut print = show::printer(false, worked.job().procedure().language);
    let mut show = |line: Line<'_>| {
        if let Some(showing) = &mut showing {
            showing.line(&line);
        }
        print(line);
    };
    let mut conversation =
        Conversation::new(worked, Some(hearing), voice, &mut show).into_diagnostic()?;
    conversation.act_on(&first).into_diagnostic()?;
    let (mut turns, mut hearing_time) = (0u32, std::time::Duration::ZERO);
    let (mut last, mut in_a_row) = (String::new(), 0);
    while let Some(words) = talk.says(conversation.job()) {
        // The technician says it again when nothing came of it; not for ever.
        in_a_row = if words == last { in_a_row + 1 } else { 0 };
        let said_by = match in_a_row {
            0 => voice_id,
            again => OTHERWISE[(again - 1) % OTHERWISE.len()],
        };
        let clip = speaker.wav(said_by, &words).into_diagnostic()?;
        let recording = file::read(&clip).into_diagnostic()?;
        let before = (place(conversation.job()), conversation.job().digest());
        let mut recordings = Recordings::new([recording.samples], Some(EARLY));
        let mut count = |notice: Notice<'_>| turns += u32::from(matches!(notice, Notice::Heard(_)));
        conversation.voice().wait();
        let began = Instant::now();
        live::play(&mut conversation, &mut recordings, requests, &mut count).into_diagnostic()?;
        hearing_time += began.elapsed();
        let got_on = (place(conversation.job()), conversation.job().digest()) != before;
        if !got_on && in_a_row >= MAX_IN_A_ROW {
            return Err(miette!(
                "the job doesn't get on at {}: “{words}” isn't heard",
                before.0
            ));
        }
        last = if got_on { String::new() } else { words };
    }
    conversation.voice().wait();
    let id = conversation.worked().id().clone();
    tell!(
        "\n{turns} turns, heard and acted on in {:.0} ms each on average.",
        hearing_time.as_secs_f64() * 1e3 / f64::from(turns.max(1))
    );
    if !aloud {
        tell!("The spoken answers: {}", answers.display());
    }
    drop(conversation);
    let report = archive.report(&id).into_diagnostic()?;
    tell!("\n==== The journal\n");
    for line in report.journal_lines() {
        tell!("{line}");
    }
    tell!("\n==== The record\n\n{}", report::Summary(&report));
    Ok(ExitCode::SUCCESS)
}
