//! Works a job: from the microphone, from recordings, by typing.

use super::options::{EarOptions, JobOptions, Speaks, known_job, near};
use super::page::Page;
use super::sound::recordings;
use super::{LEFT_OPEN, show};
use crossbeam_channel::{Receiver, Select, TryRecvError, after, never, unbounded};
use ears::sound::endpoint;
use miette::{IntoDiagnostic, WrapErr, miette};
use page::{BaySettings, Board};
use record::{Archive, IfChanged, JobId, JournaledJob};
use sayback::library::Shelf;
use sayback::view::showing::Showing;
use sayback::work::attention::Listening;
use sayback::work::conversation::{Conversation, Line, now};
use sayback::work::hearing::{Hearing, Meaning};
use sayback::work::live::Allowed;
use sayback::work::live::{
    self, Duplex, EARLY, Listener, Notice, Recordings, Setup, Source, Speech,
};
#[cfg(target_os = "linux")]
use sayback::work::press;
use sayback::work::screen::Screen;
use sayback::work::speech;
use sayback::work::viewers::ViewerRequests;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io::BufRead;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;
use steps::quantity::TorqueUnit;
use steps::{
    Command, Effect, Id, Input, Language, Lobby, Mode, Procedure, Sentence, SystemNotice, Tone,
};
use voice::Voice;

/// The largest script that is read, in bytes.
const MAX_SCRIPT_BYTES: u64 = 1_000_000;

pub fn work(
    procedure: Option<&str>,
    sound: Option<&Path>,
    microphone: Option<&str>,
    job: &JobOptions,
    ears: &EarOptions,
) -> miette::Result<ExitCode> {
    let shelf = job.shelf.shelf();
    // What is quickly found wrong comes first; the ear takes a moment to load.
    let mut sheet = job.sheet()?;
    let named = procedure
        .map(|name| load(&shelf, name, sheet.as_deref()))
        .transpose()?;
    let mode = match sound {
        Some(_) => Mode::Recordings,
        None => Mode::Work,
    };
    let mut settings = job.settings(mode)?;
    let mut listening = job.listening(named.as_ref())?;
    let mut source = source_of(sound, microphone, job)?;
    let language = named.as_ref().map(|it| it.language).unwrap_or_default();
    let mut hearing = ears.hearing(language)?;
    let mut voice = voice_for(job, language)?;
    tell!(
        "Listening with {}. Speaking with {}.",
        hearing.names().join(" and "),
        voice.name()
    );
    let by_voice = named.is_none();
    let mut choosing = Choosing {
        hearing: &mut hearing,
        voice: voice.as_mut(),
        duplex: job.duplex(),
        source: &mut source,
    };
    let mut procedure = match named {
        Some(procedure) => procedure,
        None => choosing.a_job(&shelf, sheet.as_deref())?,
    };
    // A shipped job that is named on the command line is practice; in a shop's own folder the vehicle must be named.
    let own = matches!(shelf, Shelf::Folder(_));
    if sheet.is_none() && (by_voice || own) {
        sheet = choosing.a_vehicle(&shelf, &procedure)?;
        if sheet.is_some() {
            procedure = load(&shelf, procedure.id.as_str(), sheet.as_deref())?;
        }
    }
    if own && procedure.is_practice {
        return Err(miette!(
            help = "enter its vehicle with `sayback new FOLDER/vehicles/NAME.toml`, or rehearse it; `sayback check` tells if a sheet that is there can't be used",
            "“{}” takes values from a vehicle's sheet, and no sheet here is for it",
            procedure.id
        ));
    }
    settings.released = match super::release::who_answers(&shelf, &procedure) {
        Ok(released) => released,
        Err(refused) => {
            // Whoever chose it by voice may not look at the screen.
            let told = words::wording::spoken(Language::English, &refused.to_string());
            voice.say(&told).into_diagnostic()?;
            voice.wait();
            return Err(refused);
        }
    };
    if by_voice || sheet.is_some() {
        listening = job.listening(Some(&procedure))?;
    }
    // A job that can't be listened to isn't begun: it would stay open on record.
    source.open(job.duplex(), voice.as_ref())?;
    let archive = job.records.archive()?;
    settings.usual_seconds = usual_seconds(&archive, &procedure);
    let unit = Some(settings.unit);
    let bay = bay(
        job,
        settings.mode,
        unit,
        voice.as_ref(),
        microphone,
        hearing.names(),
    );
    let page = job.page.open(&archive, shelf, bay)?;
    let (worked, first) =
        JournaledJob::begin(&archive, Arc::new(procedure), settings, now()).into_diagnostic()?;
    let ears = Some((hearing, listening));
    talk_through(worked, ears, voice, source, &first, job, page)
}

pub fn resume(
    id: &str,
    changed: bool,
    sound: Option<&Path>,
    microphone: Option<&str>,
    job: &JobOptions,
    ears: &EarOptions,
) -> miette::Result<ExitCode> {
    job.refuse_what_is_on_record()?;
    let archive = job.records.archive_that_is_there()?;
    let name = known_job(&archive, id)?;
    let id = JobId::new(id);
    let kept = archive.procedure_of(&id).into_diagnostic()?;
    let sheet = kept
        .as_ref()
        .and_then(|it| it.sheet.as_ref().map(|sheet| sheet.id.to_string()));
    let not_kept = kept.is_none();
    let procedure = load(
        &job.shelf.shelf(),
        name.procedure.as_str(),
        sheet.as_deref(),
    )?;
    super::release::warn_of_withdrawn(&job.shelf.shelf(), &procedure)?;
    if changed && not_kept && procedure.is_practice {
        return Err(miette!(
            "which vehicle job “{id}” was begun on isn't kept, so it can't go on: begin it again"
        ));
    }
    if sound.is_some() && name.mode == Mode::Work {
        return Err(miette!(
            help = "go on with the microphone, or begin another job with `sayback work --sound`",
            "job “{id}” is worked at the vehicle: recordings can't go on with it"
        ));
    }
    // A job that is taken up says so on its record, so everything else must be there before.
    let rehearsal = name.mode == Mode::Rehearsal;
    let (mut source, hearing) = if rehearsal {
        (Heard::Lines(typed_lines()), None)
    } else {
        let listening = job.listening(Some(&procedure))?;
        (
            source_of(sound, microphone, job)?,
            Some((ears.hearing(procedure.language)?, listening)),
        )
    };
    let voice = voice_for(job, procedure.language)?;
    let names = hearing.as_ref().map(|(hearing, _)| hearing.names());
    let ears = names.unwrap_or_default();
    // In which unit it is worked is known once it is taken up, and the page shows it then.
    let bay = bay(job, name.mode, None, voice.as_ref(), microphone, ears);
    let page = job.page.open(&archive, job.shelf.shelf(), bay)?;
    source.open(job.duplex(), voice.as_ref())?;
    let if_changed = if changed {
        IfChanged::GoOn
    } else {
        IfChanged::Refuse
    };
    let again = JournaledJob::resume(&archive, &id, Arc::new(procedure), if_changed, now())
        .into_diagnostic()?;
    let mut first = again.effects;
    if again.changed {
        let told = SystemNotice::ProcedureChanged.told_in(again.worked.job().procedure().language);
        first.insert(0, Effect::Say(Sentence::new(Tone::Warning, told)));
    }
    talk_through(again.worked, hearing, voice, source, &first, job, page)
}

pub fn rehearse(
    procedure: &str,
    script: Option<&Path>,
    job: &JobOptions,
) -> miette::Result<ExitCode> {
    let procedure = load(&job.shelf.shelf(), procedure, job.sheet()?.as_deref())?;
    super::release::warn_of_withdrawn(&job.shelf.shelf(), &procedure)?;
    let mut settings = job.settings(Mode::Rehearsal)?;
    let voice: Box<dyn Voice> = match &job.answers {
        Some(_) => voice_for(job, procedure.language)?,
        None => Box::new(voice::PrintOnly::new(
            std::io::sink(),
            voice::Settings::default(),
        )),
    };
    let lines = match script {
        Some(path) => {
            let text = files::read_text(path, MAX_SCRIPT_BYTES).into_diagnostic()?;
            let (send, lines) = unbounded();
            let typed = text.lines().map(str::trim);
            for line in typed.filter(|line| !line.is_empty() && !is_comment(line)) {
                // The receiver is still here.
                let _ = send.send(Ok(line.to_owned()));
            }
            lines
        }
        None => typed_lines(),
    };
    let archive = job.records.archive()?;
    settings.usual_seconds = usual_seconds(&archive, &procedure);
    let unit = Some(settings.unit);
    let bay = bay(job, settings.mode, unit, voice.as_ref(), None, Vec::new());
    let page = job.page.open(&archive, job.shelf.shelf(), bay)?;
    let (worked, first) =
        JournaledJob::begin(&archive, Arc::new(procedure), settings, now()).into_diagnostic()?;
    talk_through(worked, None, voice, Heard::Lines(lines), &first, job, page)
}

/// How the bay is set up, for whoever looks.
fn bay(
    job: &JobOptions,
    mode: Mode,
    unit: Option<TorqueUnit>,
    voice: &dyn Voice,
    microphone: Option<&str>,
    ears: Vec<String>,
) -> BaySettings {
    let mode = match mode {
        Mode::Work => "work",
        Mode::Rehearsal => "rehearsal",
        Mode::Recordings => "recordings",
    };
    BaySettings {
        unit: unit.map(|it| it.to_string()),
        voice: Some(voice.name()),
        mode: Some(mode.to_owned()),
        microphone: microphone.map(str::to_owned),
        answers: job.answers.as_ref().map(|path| path.display().to_string()),
        ears,
        version: env!("CARGO_PKG_VERSION").to_owned(),
    }
}

/// Each press of Enter and of the switch that was named, as it comes.
fn presses(options: &JobOptions) -> miette::Result<Option<Receiver<()>>> {
    if !options.on_press() {
        return Ok(None);
    }
    let (send, presses) = unbounded();
    #[cfg(target_os = "linux")]
    if let Some(device) = &options.press_device {
        press::watch(device, send.clone(), switch_changed)
            .into_diagnostic()
            .wrap_err_with(|| {
                format!(
                    "{} can't be read; `/dev/input/by-id` lists what there is, and the group `input` may read it",
                    device.display()
                )
            })?;
    }
    std::thread::spawn(move || {
        for _ in std::io::stdin().lock().lines() {
            if send.send(()).is_err() {
                break;
            }
        }
    });
    Ok(Some(presses))
}

#[cfg(target_os = "linux")]
fn switch_changed(switch: press::Switch<'_>) {
    match switch {
        press::Switch::Gone(error) => {
            warn!("The switch is gone ({error}): press Enter instead, or plug it in again.");
        }
        press::Switch::Back => warn!("The switch is back."),
    }
}

/// The lines that are typed, as they come: read apart, so that viewers and waits are attended to meanwhile.
fn typed_lines() -> Receiver<std::io::Result<String>> {
    let (send, lines) = unbounded();
    std::thread::spawn(move || {
        for line in std::io::stdin().lock().lines() {
            // A script may be piped in.
            if line.as_deref().is_ok_and(is_comment) {
                continue;
            }
            if send.send(line).is_err() {
                break;
            }
        }
    });
    lines
}

fn is_comment(line: &str) -> bool {
    line.trim_start().starts_with('#')
}

/// How long each step usually took in this archive. Records that can't be read only make that less known; what
/// is wrong with them shows when the new one is begun.
fn usual_seconds(archive: &Archive, procedure: &Procedure) -> BTreeMap<Id, u64> {
    let usual = report::statistics::usual_minutes(archive, procedure).unwrap_or_default();
    usual
        .into_iter()
        .map(|(step, minutes)| (step, (minutes * 60.0).round() as u64))
        .collect()
}

/// Where what is said comes from.
enum Heard<'a> {
    /// Its name, what is pressed, and the microphone itself once it is open.
    Microphone(Option<&'a str>, Option<Receiver<()>>, Option<Box<Listener>>),
    Recordings(Box<Recordings>),
    Lines(Receiver<std::io::Result<String>>),
}

impl Heard<'_> {
    /// Makes it ready for a room in which this voice speaks.
    fn open(&mut self, duplex: Duplex, voice: &dyn Voice) -> miette::Result<()> {
        if let Self::Microphone(name, _, open) = self {
            let listener = Listener::open(&setup(*name, duplex), voice).into_diagnostic()?;
            *open = Some(Box::new(listener));
        }
        Ok(())
    }
}

/// How this microphone is listened to.
fn setup(device: Option<&str>, duplex: Duplex) -> Setup<'_> {
    Setup {
        device,
        duplex,
        ..Setup::default()
    }
}

/// The recordings that were named, or the microphone.
fn source_of<'a>(
    sound: Option<&Path>,
    microphone: Option<&'a str>,
    options: &JobOptions,
) -> miette::Result<Heard<'a>> {
    let Some(path) = sound else {
        return Ok(Heard::Microphone(microphone, presses(options)?, None));
    };
    let all = recordings(path)?;
    if all.iter().all(|clip| endpoint::utterances(clip).is_empty()) {
        return Err(miette!(
            "no speech is in {}: record it louder, or closer to your mouth",
            path.display()
        ));
    }
    Ok(Heard::Recordings(Box::new(Recordings::new(
        all,
        Some(EARLY),
    ))))
}

fn talk_through(
    worked: JournaledJob,
    ears: Option<(Hearing, Listening)>,
    voice: Box<dyn Voice>,
    source: Heard<'_>,
    first: &[Effect],
    options: &JobOptions,
    page: Option<Page>,
) -> miette::Result<ExitCode> {
    let nothing = ViewerRequests::default();
    let requests = page.as_ref().map_or(&nothing, |page| &page.requests);
    let typed = matches!(source, Heard::Lines(_));
    let board = match &page {
        Some(page) => page.board().clone(),
        None => Board::default(),
    };
    let screen = match options.screen && !typed {
        true => Screen::open(&board).into_diagnostic()?,
        false => None,
    };
    let looked_at = page.is_some() || screen.is_some();
    let showing = looked_at.then(|| Showing::new(board, worked.id().as_str()));
    let showing = RefCell::new(showing);
    let mut print = show::printer(options.quiet, worked.job().procedure().language);
    // A job is opened with what was kept, so it reads.
    let mut speech = speech::Speech::kept()?;
    let mut show = |line: Line<'_>| {
        if let Line::Manner(manner, voice) = &line {
            speech.changed(*manner, *voice);
            if let Err(error) = speech.keep() {
                warn!("It holds for this job only: {error:?}");
            }
        }
        if let Some(showing) = showing.borrow_mut().as_mut() {
            showing.line(&line);
        }
        if screen.is_none() {
            print(line);
        }
    };
    let (hearing, listening) = ears.unzip();
    let mut talk = Conversation::new(worked, hearing, voice, &mut show).into_diagnostic()?;
    if options.keep_heard {
        talk.keep_what_is_heard();
    }
    if let Some(listening) = listening {
        talk.set_attention(listening).into_diagnostic()?;
    }
    talk.act_on(first).into_diagnostic()?;
    let mut tell = |told: Notice<'_>| {
        if let Some(showing) = showing.borrow_mut().as_mut() {
            show::notice(&told, showing);
        }
        if screen.is_none() {
            notice(told);
        }
    };
    match source {
        Heard::Microphone(name, presses, open) => {
            let setup = Setup {
                presses: presses.as_ref(),
                ..setup(name, options.duplex())
            };
            match open {
                Some(open) => live::work_with(&mut talk, *open, &setup, requests, &mut tell)
                    .into_diagnostic()?,
                None => live::work(&mut talk, &setup, requests, &mut tell).into_diagnostic()?,
            }
        }
        Heard::Recordings(mut recordings) => {
            live::play(&mut talk, recordings.as_mut(), requests, &mut tell).into_diagnostic()?;
        }
        Heard::Lines(lines) => type_through(&mut talk, &lines, requests)?,
    }
    talk.voice().wait();
    let id = talk.worked().id().clone();
    let closed = talk.job().outcome().is_some();
    drop(talk);
    drop(screen);
    if closed {
        tell!(
            "The record: sayback record {id}{}",
            options.records.as_typed()
        );
        Ok(ExitCode::SUCCESS)
    } else {
        tell!(
            "The job is open. Resume it: sayback resume {id}{}{}",
            options.shelf.as_typed(),
            options.records.as_typed()
        );
        Ok(ExitCode::from(LEFT_OPEN))
    }
}

/// Takes lines that are typed until there are no more or the job is closed.
fn type_through(
    talk: &mut Conversation<'_>,
    lines: &Receiver<std::io::Result<String>>,
    requests: &ViewerRequests,
) -> miette::Result<()> {
    while talk.job().outcome().is_none() {
        let waits = talk.until_due().map_or_else(never, after);
        // What is typed goes before a wait that ends at the same time, so that a script always goes the same way.
        let line = lines.try_recv().map(Some).or_else(|empty| match empty {
            TryRecvError::Empty => Ok(None),
            TryRecvError::Disconnected => Err(empty),
        });
        match line {
            Ok(Some(line)) => {
                if talk.is_due() {
                    talk.take(Input::Woke).into_diagnostic()?;
                }
                let line = with_colour(&line.into_diagnostic()?, talk.job());
                talk.typed(&line).into_diagnostic()?;
            }
            Ok(None) => {
                let mut ready = Select::new();
                ready.recv(lines);
                let wait = ready.recv(&waits);
                ready.recv(&requests.actions);
                ready.recv(&requests.photos);
                if ready.ready() == wait {
                    talk.take(Input::Woke).into_diagnostic()?;
                }
                talk.attend(requests);
            }
            Err(_) => break,
        }
    }
    Ok(())
}

/// A line in which `{colour}` stands for the colour that a hold point asks for: whoever writes a script can't know it.
fn with_colour(line: &str, job: &steps::Job) -> String {
    let language = job.procedure().language;
    let colour = job.colour_asked().map(|colour| colour.word(language));
    line.replace("{colour}", &colour.unwrap_or_default())
}

fn notice(notice: Notice<'_>) {
    match notice {
        Notice::Listening(name) => tell!("Listening to {name}."),
        Notice::Lost(reason) => {
            warn!("The microphone is gone ({reason}). The job holds until it is back.")
        }
        Notice::Overrun(frames) => {
            warn!("{frames} frames of sound were lost: this machine was too busy.")
        }
        Notice::Level(_) | Notice::Heard(_) => {}
    }
}

/// The names on the shelf.
pub fn names(shelf: &Shelf) -> miette::Result<Vec<String>> {
    let which = match shelf {
        Shelf::Shipped => "the program's own procedures".to_owned(),
        Shelf::Folder(folder) => format!("the procedures folder {}", folder.display()),
    };
    shelf
        .names()
        .into_diagnostic()
        .wrap_err_with(|| format!("{which} can't be read: name another with --procedures"))
}

/// Reads a procedure by its name on the shelf, with the values of a vehicle's sheet where one is named.
pub fn load(shelf: &Shelf, name: &str, sheet: Option<&str>) -> miette::Result<Procedure> {
    let mut names = names(shelf)?;
    names.extend(shelf.translations());
    if !names.iter().any(|known| known == name) {
        let near = near(name, names.iter().map(String::as_str));
        let help = match near.is_empty() {
            true => format!("`sayback procedures` lists them: {}", names.join(", ")),
            false => format!("did you mean {}?", near.join(", ")),
        };
        return Err(miette!(
            help = help,
            "there is no procedure called “{name}”"
        ));
    }
    shelf
        .load_with(name, sheet)
        .map_err(|problems| miette::Report::new(*problems))
}

/// The voice, and which one it is when it isn't the first choice.
fn voice_for(job: &JobOptions, language: Language) -> miette::Result<Box<dyn Voice>> {
    let settings = speech::Speech::kept()?.voice();
    if let Some(path) = &job.answers {
        return Ok(Box::new(
            voice::EspeakWav::create(
                path,
                settings,
                spoken_by(language),
                job.overwrite.if_there(),
            )
            .into_diagnostic()?,
        ));
    }
    Ok(match job.voice {
        Some(Speaks::Loudspeaker) => {
            Box::new(voice::Loudspeaker::open(spoken_by(language), settings).into_diagnostic()?)
        }
        Some(Speaks::Neural | Speaks::SpeechDispatcher) if !language.is_default() => {
            return Err(miette!(
                help = "take `--voice loudspeaker`, which speaks with espeak-ng's own voice for it",
                "the neural voice and speech-dispatcher speak only English, and the procedure is in {}",
                language.name()
            ));
        }
        Some(Speaks::Neural) => {
            Box::new(voice::Loudspeaker::open_neural(settings).into_diagnostic()?)
        }
        Some(Speaks::SpeechDispatcher) => {
            Box::new(voice::SpeechDispatcher::open_or_start(settings).into_diagnostic()?)
        }
        Some(Speaks::Nothing) => Box::new(voice::PrintOnly::new(std::io::sink(), settings)),
        None => best_voice(settings, language),
    })
}

/// The voice of espeak-ng that speaks a language.
fn spoken_by(language: Language) -> &'static str {
    match language {
        Language::English => voice::ENGLISH,
        Language::Spanish => language.code(),
    }
}

/// The best voice that works here, and why no better one does.
fn best_voice(settings: voice::Settings, language: Language) -> Box<dyn Voice> {
    let chosen = voice::best_available(None, settings, spoken_by(language));
    for why in &chosen.because {
        warn!("{}", steps::with_causes(why));
    }
    chosen.voice
}

/// What is chosen by voice before a job begins.
struct Choosing<'a, 'm> {
    hearing: &'a mut Hearing,
    voice: &'a mut dyn Voice,
    duplex: Duplex,
    source: &'a mut Heard<'m>,
}

impl Choosing<'_, '_> {
    /// Asks which job it is to be.
    fn a_job(&mut self, shelf: &Shelf, sheet: Option<&str>) -> miette::Result<Procedure> {
        let names = names(shelf)?;
        let procedures: Vec<Procedure> = names
            .iter()
            .filter_map(|name| match sheet {
                Some(_) => shelf.load_with(name, sheet).ok(),
                None => shelf.load_to_list(name).ok(),
            })
            // The question and its answers are English.
            .filter(|procedure| procedure.language.is_default())
            .collect();
        let chosen = self.ask(&Lobby::new(&procedures))?;
        let mut procedures = procedures.into_iter();
        chosen
            .and_then(|id| procedures.find(|it| it.id == id))
            .ok_or_else(|| miette!("no job was chosen"))
    }

    /// Asks which vehicle it is done on, where there are sheets for it.
    fn a_vehicle(
        &mut self,
        shelf: &Shelf,
        procedure: &Procedure,
    ) -> miette::Result<Option<String>> {
        let vehicles = shelf
            .vehicles_for(procedure.id.as_str())
            .into_diagnostic()?;
        if vehicles.is_empty() {
            return Ok(None);
        }
        if !procedure.language.is_default() {
            return Err(miette!(
                "the question which vehicle it is can be asked in English only: name it with --vehicle"
            ));
        }
        let chosen = self.ask(&Lobby::of_vehicles(&vehicles))?;
        chosen
            .map(|id| Some(id.to_string()))
            .ok_or_else(|| miette!("no vehicle was named: say its name, or give it with --vehicle"))
    }

    /// Asks, until something is chosen or there is nothing more to hear.
    fn ask(&mut self, lobby: &Lobby) -> miette::Result<Option<Id>> {
        let (hearing, voice) = (&mut *self.hearing, &mut *self.voice);
        hearing.listen_for(&lobby.listen()).into_diagnostic()?;
        let say = |voice: &mut dyn Voice, sentence: &steps::Sentence| {
            tell!("  ? {}", sentence.text);
            voice
                .say(&words::wording::spoken(Language::English, &sentence.text))
                .into_diagnostic()
        };
        let mut opened;
        let source: &mut dyn Source = match &mut *self.source {
            Heard::Microphone(name, ..) => {
                opened = Listener::open(&setup(*name, self.duplex), voice).into_diagnostic()?;
                &mut opened
            }
            Heard::Recordings(recordings) => recordings.as_mut(),
            Heard::Lines(_) => return Ok(None),
        };
        say(voice, &lobby.opening())?;
        loop {
            let speech = live::next_turn(source, hearing.patience(), voice)
                .map_err(|reason| miette!("the microphone is gone: {reason}"))?;
            let Some(Speech { turn, trust, .. }) = speech else {
                return Ok(None);
            };
            let speaking = voice.is_speaking();
            let understood = hearing.hear(&turn).into_diagnostic()?;
            if understood.meaning == Meaning::Told(Command::Stop) {
                voice.stop();
                continue;
            }
            match trust.allows(&understood, false, &BTreeMap::new()) {
                Allowed::Counts => {}
                Allowed::Hushes => {
                    voice.stop();
                    continue;
                }
                Allowed::Nothing => continue,
            }
            // A doubtful start is asked again rather than begun.
            let sure = understood.heard.certainty == steps::Certainty::Sure;
            match understood.meaning {
                Meaning::Told(command) if sure => match lobby.take(&command) {
                    Ok(id) => return Ok(Some(id)),
                    Err(sentence) => say(voice, &sentence)?,
                },
                Meaning::Told(_) | Meaning::NotUnderstood => say(voice, &lobby.opening())?,
                Meaning::Called | Meaning::Ignored => {}
            }
            source.answered(speaking || voice.is_speaking());
        }
    }
}
