//! Runs the program and looks at what came out.

use sayback::{library::Shelf, work::technician};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use steps::{Mode, Settings};

/// What a run of the program left.
#[derive(Debug)]
pub struct Ran {
    pub code: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    /// It ended with this exit code, and said so in words that aren't a panic.
    #[track_caller]
    pub fn exits(self, code: i32) -> Self {
        assert_eq!(
            self.code, code,
            "\n--- out\n{}\n--- err\n{}",
            self.out, self.err
        );
        self
    }

    /// What was printed is JSON.
    #[track_caller]
    pub fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error}\n{}", self.out))
    }

    /// The error in one line, without its drawing's colour and wrapping.
    pub fn told(&self) -> String {
        let plain = |c: char| {
            if "│×╰─▶├".contains(c) {
                ' '
            } else {
                c
            }
        };
        let text: String = self.err.chars().map(plain).collect();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// The error tells this.
    #[track_caller]
    pub fn tells(self, what: &str) -> Self {
        assert!(self.told().contains(what), "{what}\n--- err\n{}", self.err);
        self
    }

    /// The output holds this.
    #[track_caller]
    pub fn prints(self, what: &str) -> Self {
        assert!(self.out.contains(what), "{what}\n--- out\n{}", self.out);
        self
    }
}

/// Runs the program with these words. Whoever runs the tests may have tools and a key of their own, which it doesn't see.
pub fn sayback<S: AsRef<OsStr>>(words: impl IntoIterator<Item = S>) -> Ran {
    run(&mut command(Path::new("/dev/null/nowhere"), words))
}

/// The program with these words, and this folder for what is the user's own.
pub fn command<S: AsRef<OsStr>>(config: &Path, words: impl IntoIterator<Item = S>) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_sayback"));
    command
        .args(words)
        .env("XDG_CONFIG_HOME", config)
        .env_remove("SAYBACK_TOOLS");
    command
}

/// Runs a command that was put together from the program; nothing is typed into it.
pub fn run(command: &mut Command) -> Ran {
    let output = command.stdin(Stdio::null()).output().unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let ran = Ran {
        code: output.status.code().expect("it wasn't killed"),
        out: text(output.stdout),
        err: text(output.stderr),
    };
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    ran
}

/// A folder of records of its own, and what the program does with it.
pub struct Bay {
    folder: tempfile::TempDir,
}

impl Bay {
    pub fn new() -> Self {
        Self {
            folder: tempfile::tempdir().unwrap(),
        }
    }

    /// One with an empty folder of records.
    pub fn of_a_new_shop() -> Self {
        let bay = Self::new();
        drop(record::Archive::open(&bay.records()).unwrap());
        bay
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn records(&self) -> PathBuf {
        self.path("records")
    }

    /// Writes a file and says where it is.
    pub fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.path(name);
        std::fs::write(&path, bytes).unwrap();
        path
    }

    /// Runs the program with these words and the records of this bay.
    pub fn sayback(&self, words: &[&str]) -> Ran {
        let records = self.records();
        let with = words.iter().map(OsStr::new);
        let with = with.chain([OsStr::new("--records"), records.as_os_str()]);
        run(&mut command(&self.config(), with))
    }

    /// Runs the program with these words, as somebody in this bay who names no records.
    pub fn alone(&self, words: &[&str]) -> Ran {
        run(&mut command(&self.config(), words))
    }

    fn config(&self) -> PathBuf {
        self.path("config")
    }

    /// Rehearses a procedure with these lines, as a script.
    pub fn rehearse(&self, procedure: &str, lines: &[String]) -> Ran {
        let script = self.file("script.txt", lines.join("\n"));
        self.sayback(&["rehearse", procedure, "--script", text(&script)])
    }

    /// The names of the jobs on record, the newest first or last as the program lists them. Without a folder there are
    /// none.
    pub fn jobs(&self) -> Vec<String> {
        if !self.records().exists() {
            return Vec::new();
        }
        let list = self.sayback(&["records", "--json"]).exits(0).json();
        let jobs = list.as_array().unwrap().iter();
        jobs.map(|job| job["id"].as_str().unwrap().to_owned())
            .collect()
    }
}

pub fn text(path: &Path) -> &str {
    path.to_str().unwrap()
}

/// All that has to be typed in a rehearsal of a shipped procedure, to its end.
pub fn typed_to_the_end(procedure: &str) -> Vec<String> {
    let procedure = Shelf::Shipped.load(procedure).unwrap();
    let settings = Settings {
        mode: Mode::Rehearsal,
        in_fives: true,
        ..Settings::default()
    };
    let said = technician::said_in(&procedure, settings, &mut technician::Talk::default()).unwrap();
    let with_colour = |line: &String| {
        let mut gates = procedure.gates.values();
        gates.any(|gate| gate.is_hold_point() && gate.readback == *line)
    };
    said.into_iter()
        .map(|line| match with_colour(&line) {
            true => format!("{line} {{colour}}"),
            false => line,
        })
        .collect()
}
