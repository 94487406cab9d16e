//! The program `vosk-ear`, which runs as a child process: started, asked, and started again when it ends or hangs.

#[path = "../../../vosk-ear/src/protocol.rs"]
pub(super) mod protocol;

use super::model::Undithered;
use crate::RecogniserError;
use crossbeam_channel::{Receiver, RecvTimeoutError, Sender, unbounded};
use protocol::{Answer, Request};
use std::ffi::OsString;
use std::io::{self, BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStderr, ChildStdin, ChildStdout, Command, ExitStatus, Stdio};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// So often it is started again. What ends it once may be a bad moment; what ends it so often ends it always.
const MAX_RESTARTS: u8 = 3;

/// It has loaded its model by then. A small one takes a second, the 260 MB of the largest tried four.
const LOADING: Duration = Duration::from_secs(60);

/// One that has closed its output is gone by then.
const ENDING: Duration = Duration::from_secs(2);

/// Where the program is looked for: `$SAYBACK_VOSK_EAR`, or `vosk/vosk-ear` in the cache, beside the library.
///
/// Without a cache folder it is nowhere: a program that lies in the working folder is somebody else's.
pub fn program_path() -> PathBuf {
    chosen(std::env::var_os("SAYBACK_VOSK_EAR"), cache::folder())
}

fn chosen(named: Option<OsString>, cache: Option<PathBuf>) -> PathBuf {
    let named = named.filter(|path| !path.is_empty()).map(PathBuf::from);
    named
        .or_else(|| Some(cache?.join("vosk/vosk-ear")))
        .unwrap_or_default()
}

/// The program on one model.
pub(super) struct Program {
    path: PathBuf,
    model: PathBuf,
    /// The one that runs now, or what ended the last.
    now: Result<Running, String>,
    /// How often it was started.
    starts: u8,
}

impl Program {
    /// Starts it and waits until it has loaded the model in this folder.
    pub(super) fn start(model: &Path) -> Result<Self, RecogniserError> {
        let path = program_path();
        if !path.exists() {
            return Err(RecogniserError::Missing {
                what: "the program that runs Vosk".to_owned(),
                path,
                remedy:
                    "run `cargo xtask setup`, or name the program vosk-ear in SAYBACK_VOSK_EAR; \
                         without it the other recogniser still works"
                        .to_owned(),
            });
        }
        let mut program = Self {
            now: Running::start(&path, model),
            path,
            model: model.to_owned(),
            starts: 1,
        };
        let loaded = match &mut program.now {
            Ok(running) => running.finish_loading(),
            Err(reason) => Err(NotLoaded::Program(reason.clone())),
        };
        match loaded {
            Ok(()) => Ok(program),
            Err(NotLoaded::Program(reason)) => Err(program.failed(reason, true)),
            Err(NotLoaded::Model(reason)) => Err(RecogniserError::Unusable {
                path: model.to_owned(),
                reason,
            }),
        }
    }

    /// How often it was started: what it was told to listen for is forgotten when this changes.
    pub(super) fn starts(&self) -> u8 {
        self.starts
    }

    /// Its process, while one runs.
    pub(super) fn process_id(&self) -> Option<u32> {
        self.now.as_ref().ok().map(|running| running.child.id())
    }

    /// Asks for something, with sound where the request announces it. Where the program fails it, it is started again, and
    /// loads its model while whoever asked goes on.
    pub(super) fn ask(
        &mut self,
        request: &Request,
        sound: &[i16],
        limit: Duration,
    ) -> Result<Answer, RecogniserError> {
        let answer = match &mut self.now {
            Ok(running) => running.ask(request, sound, limit),
            Err(reason) => {
                let reason = reason.clone();
                return Err(self.failed(reason, true));
            }
        };
        answer.map_err(|reason| self.start_again(reason))
    }

    /// Ends it and starts it again, unless that was done too often.
    pub(super) fn start_again(&mut self, reason: String) -> RecogniserError {
        // First, because there may not be memory for two models.
        self.now = Err(String::new());
        self.now = match self.starts <= MAX_RESTARTS {
            true => {
                self.starts += 1;
                Running::start(&self.path, &self.model)
            }
            false => Err(format!(
                "{reason}; it was started {} times and isn't started again",
                self.starts
            )),
        };
        match &self.now {
            Ok(_) => self.failed(reason, false),
            Err(last) => self.failed(last.clone(), true),
        }
    }

    fn failed(&self, reason: String, for_good: bool) -> RecogniserError {
        RecogniserError::ProgramFailed {
            program: self.path.clone(),
            reason,
            for_good,
        }
    }
}

/// Why the program isn't ready.
enum NotLoaded {
    /// It doesn't run, or isn't the one that was built with this crate.
    Program(String),
    /// It fails at the model.
    Model(String),
}

/// A running program. Its pipes are served by threads, so that none of them can make anybody wait for ever.
struct Running {
    child: Child,
    requests: Sender<Vec<u8>>,
    answers: Receiver<io::Result<Answer>>,
    /// The last line that it writes to its standard error.
    complaint: Option<JoinHandle<String>>,
    ready: bool,
    /// The model's folder, as long as it is loaded from there.
    loads: Option<Undithered>,
}

impl Running {
    fn start(program: &Path, model: &Path) -> Result<Self, String> {
        let loads = Undithered::of(model);
        let folder = loads.as_ref().map_or(model, Undithered::folder);
        let mut command = Command::new(program);
        command
            .arg(folder)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped());
        // Ctrl-C is for the assistant, which ends the program by the end of its input.
        #[cfg(unix)]
        std::os::unix::process::CommandExt::process_group(&mut command, 0);
        let mut child = command
            .spawn()
            .map_err(|error| format!("it can't be started: {error}"))?;
        let (requests, to_write) = unbounded();
        let (read, answers) = unbounded();
        if let Some(input) = child.stdin.take() {
            std::thread::spawn(move || write_requests(input, &to_write));
        }
        if let Some(output) = child.stdout.take() {
            std::thread::spawn(move || read_answers(output, &read));
        }
        let errors = child.stderr.take();
        Ok(Self {
            child,
            requests,
            answers,
            complaint: errors.map(|errors| std::thread::spawn(|| last_line(errors))),
            ready: false,
            loads,
        })
    }

    fn finish_loading(&mut self) -> Result<(), NotLoaded> {
        if self.ready {
            return Ok(());
        }
        match self.answer(LOADING) {
            Ok(Answer::Loading {
                version: protocol::VERSION,
            }) => {}
            Ok(_) => {
                let told = "it was built for another version; run `cargo xtask setup`";
                return Err(NotLoaded::Program(told.to_owned()));
            }
            Err(reason) => return Err(NotLoaded::Program(reason)),
        }
        match self.answer(LOADING) {
            Ok(Answer::Ready) => {
                self.ready = true;
                self.loads = None;
                Ok(())
            }
            Ok(Answer::Failed { reason }) => Err(NotLoaded::Model(reason)),
            Ok(other) => Err(NotLoaded::Program(unexpected(&other))),
            Err(reason) => Err(NotLoaded::Model(format!(
                "the library failed while it loaded it: {reason}"
            ))),
        }
    }

    fn ask(&mut self, request: &Request, sound: &[i16], limit: Duration) -> Result<Answer, String> {
        self.finish_loading().map_err(|why| match why {
            NotLoaded::Program(reason) | NotLoaded::Model(reason) => reason,
        })?;
        let mut message = Vec::new();
        protocol::write(&mut message, request).map_err(|error| error.to_string())?;
        message.extend(sound.iter().flat_map(|sample| sample.to_le_bytes()));
        // Where nobody takes it any more, no answer comes either.
        let _ = self.requests.send(message);
        self.answer(limit)
    }

    fn answer(&mut self, limit: Duration) -> Result<Answer, String> {
        match self.answers.recv_timeout(limit) {
            Ok(Ok(answer)) => Ok(answer),
            Ok(Err(error)) => Err(format!("its answer can't be read: {error}")),
            Err(RecvTimeoutError::Timeout) => {
                Err(format!("it gave no answer in {} s", limit.as_secs()))
            }
            Err(RecvTimeoutError::Disconnected) => Err(self.how_it_ended()),
        }
    }

    fn how_it_ended(&mut self) -> String {
        let status = self.ended_by_itself().map_or_else(|| self.end(), Ok);
        let status = status.map_or_else(|error| error.to_string(), |status| status.to_string());
        let complaint = self.complaint.take().and_then(|it| it.join().ok());
        match complaint.filter(|it| !it.is_empty()) {
            Some(complaint) => format!("it ended ({status}): {complaint}"),
            None => format!("it ended ({status})"),
        }
    }

    /// How it ended, where it does so within [`ENDING`]: its output is closed a moment before it is gone.
    fn ended_by_itself(&mut self) -> Option<ExitStatus> {
        let until = Instant::now() + ENDING;
        loop {
            match self.child.try_wait() {
                Ok(None) if Instant::now() < until => std::thread::sleep(Duration::from_millis(5)),
                Ok(status) => return status,
                Err(_) => return None,
            }
        }
    }

    fn end(&mut self) -> io::Result<ExitStatus> {
        // It may have ended by itself.
        let _ = self.child.kill();
        self.child.wait()
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // There is nobody left to tell.
        let _ = self.end();
    }
}

/// What an answer is that answers something else.
pub(super) fn unexpected(answer: &Answer) -> String {
    format!("its answer answers something else: {answer:?}")
}

fn write_requests(mut input: ChildStdin, requests: &Receiver<Vec<u8>>) {
    for request in requests {
        if input.write_all(&request).is_err() {
            // It ended, which is noticed where its answers are read.
            return;
        }
    }
}

fn read_answers(output: ChildStdout, answers: &Sender<io::Result<Answer>>) {
    let mut output = BufReader::new(output);
    while let Some(answer) = protocol::read(&mut output).transpose() {
        let last = answer.is_err();
        if answers.send(answer).is_err() || last {
            return;
        }
    }
}

fn last_line(errors: ChildStderr) -> String {
    let lines = BufReader::new(errors).split(b'\n').map_while(Result::ok);
    // Behind a panic stands how to see more of it.
    let says = |line: &Vec<u8>| !line.trim_ascii().is_empty() && !line.starts_with(b"note: ");
    let lines = lines.filter(says);
    let last = lines.last().unwrap_or_default();
    String::from_utf8_lossy(last.trim_ascii()).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_a_cache_no_program_of_the_working_folder_is_run() {
        assert_eq!(chosen(None, None), PathBuf::new());
        assert!(!chosen(Some("".into()), None).exists());
        assert_eq!(
            chosen(None, Some("/c".into())),
            Path::new("/c/vosk/vosk-ear")
        );
        assert_eq!(
            chosen(Some("/e".into()), Some("/c".into())),
            Path::new("/e")
        );
    }
}
