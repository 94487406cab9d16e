//! A private sound server and a private speech-dispatcher, both ended by their own process ids.

use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use voice::{Address, Daemon};

/// Samples per second of what [`Recording`] records.
pub const RATE: u32 = 16_000;

/// Environment variables that name the private servers to the test inside.
const CONFIGURATION: &str = "VOICE_TEST_SPEECHD_CONFIGURATION";

/// And the folder of the sound server's files, with its process.
const FOLDER: &str = "VOICE_TEST_FOLDER";
const PROCESS: &str = "VOICE_TEST_PULSE";

/// ALSA's own configuration would look for hardware.
const ALSA: &str = "\
pcm_type.pulse { lib \"PLUGINS/libasound_module_pcm_pulse.so\" }
ctl_type.pulse { lib \"PLUGINS/libasound_module_ctl_pulse.so\" }
pcm.!default { type pulse hint { show on description \"The usual loudspeaker\" } }
ctl.!default { type pulse }
";

fn plugins() -> String {
    ["/usr/lib", "/usr/lib64"]
        .iter()
        .flat_map(|root| std::fs::read_dir(root).into_iter().flatten().flatten())
        .map(|entry| entry.path().join("alsa-lib"))
        .chain(["/usr/lib/alsa-lib".into(), "/usr/lib64/alsa-lib".into()])
        .find(|folder| folder.join("libasound_module_pcm_pulse.so").exists())
        .map(|folder| folder.to_string_lossy().into_owned())
        .expect("the ALSA plugin for PulseAudio is missing: run `cargo xtask setup`")
}

/// A sound server with a null sink, and what a speech-dispatcher needs to speak into it.
///
/// The daemon itself is started by the test inside: it takes the sound server's address from its
/// environment, and this process's own environment is shared with the other tests.
pub struct Private {
    folder: tempfile::TempDir,
    pulse: Ended,
}

/// A child process that is ended when this goes.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Private {
    pub fn start() -> Private {
        let folder = tempfile::tempdir().unwrap();
        let pulse = start_pulse(folder.path());
        let configuration = folder.path().join("speechd");
        std::fs::create_dir_all(configuration.join("modules")).unwrap();
        std::fs::write(configuration.join("modules/espeak-ng.conf"), "Debug 0\n").unwrap();
        std::fs::write(
            configuration.join("speechd.conf"),
            "LogLevel 2\nLogDir \"default\"\nAudioOutputMethod \"pulse\"\n\
             AddModule \"espeak-ng\" \"sd_espeak-ng\" \"espeak-ng.conf\"\n\
             DefaultModule espeak-ng\nDefaultLanguage \"en-US\"\n",
        )
        .unwrap();
        std::fs::write(
            folder.path().join("alsa.conf"),
            ALSA.replace("PLUGINS", &plugins()),
        )
        .unwrap();
        Private { folder, pulse }
    }

    /// Runs the ignored test `name` of this file in a process that sees only the private servers.
    pub fn run_inside(&self, name: &str) {
        let at = |name: &str| self.folder.path().join(name).to_string_lossy().into_owned();
        let told = child(
            name,
            &[
                (
                    "SPEECHD_ADDRESS",
                    &format!("unix_socket:{}", at("run/speechd.sock")),
                ),
                ("PULSE_SERVER", &pulse_server(self.folder.path())),
                (CONFIGURATION, &at("speechd")),
                ("ALSA_CONFIG_PATH", &at("alsa.conf")),
                (FOLDER, &at("")),
                (PROCESS, &self.pulse.0.id().to_string()),
            ],
        );
        assert!(told.contains("test result: ok. 1 passed"), "{told}");
    }
}

/// Runs one ignored test of this file in a process of its own and returns what it printed.
pub fn child(name: &str, environment: &[(&str, &str)]) -> String {
    let output = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", name, "--ignored", "--nocapture"])
        .envs(environment.iter().copied())
        .output()
        .unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

/// Starts a daemon at the address in the environment; called by the test inside.
pub fn daemon() -> Daemon {
    let Address::Unix(socket) = Address::from_environment() else {
        panic!("a socket was given")
    };
    let configuration = std::env::var(CONFIGURATION).unwrap();
    Daemon::start(&socket, Some(Path::new(&configuration))).unwrap_or_else(|error| {
        panic!("no private speech-dispatcher ({error}); `cargo xtask setup` installs it")
    })
}

/// Ends a daemon without a good-bye.
pub fn kill(daemon: &Daemon) {
    let id = daemon.process_id().to_string();
    assert!(
        Command::new("kill")
            .args(["-KILL", &id])
            .status()
            .unwrap()
            .success()
    );
    let gone = Instant::now() + Duration::from_secs(2);
    while daemon.address().listens() && Instant::now() < gone {
        std::thread::sleep(Duration::from_millis(10));
    }
}

/// Ends the sound server, from the test inside, and starts it again when told to.
pub struct Outage(std::path::PathBuf);

impl Outage {
    pub fn begin() -> Outage {
        let id = std::env::var(PROCESS).unwrap();
        let killed = Command::new("kill").args(["-KILL", &id]).status().unwrap();
        assert!(killed.success());
        let folder = std::path::PathBuf::from(std::env::var(FOLDER).unwrap());
        let _ = std::fs::remove_file(folder.join("pulse.sock"));
        Outage(folder)
    }

    /// The server is back until what this gives goes.
    pub fn end(self) -> impl Drop {
        start_pulse(&self.0)
    }
}

fn pulse_server(folder: &Path) -> String {
    format!("unix:{}", folder.join("pulse.sock").display())
}

fn start_pulse(folder: &Path) -> Ended {
    let script = folder.join("pulse.pa");
    std::fs::write(
        &script,
        format!(
            "load-module module-native-protocol-unix auth-anonymous=1 socket={}\n\
             load-module module-null-sink sink_name=speaker norewinds=1\n\
             set-default-sink speaker\n",
            folder.join("pulse.sock").display()
        ),
    )
    .unwrap();
    let child = Command::new("pulseaudio")
        .args([
            "-n",
            "--daemonize=no",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            "-F",
        ])
        .arg(&script)
        .env("XDG_RUNTIME_DIR", folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| {
            panic!("no private sound server ({error}); `cargo xtask setup` installs pulseaudio")
        });
    let pulse = Ended(child);
    let patience = Instant::now() + Duration::from_secs(10);
    while !folder.join("pulse.sock").exists() {
        assert!(
            Instant::now() < patience,
            "the private sound server does not listen"
        );
        std::thread::sleep(Duration::from_millis(20));
    }
    pulse
}

/// What comes out of the null sink, from now on.
pub struct Recording {
    recorder: Ended,
    bytes: Arc<Mutex<Vec<u8>>>,
    count: Arc<AtomicUsize>,
}

impl Recording {
    pub fn start() -> Recording {
        let mut recorder = Command::new("parec")
            .args([
                "--device=speaker.monitor",
                "--format=s16le",
                "--channels=1",
                "--latency-msec=20",
            ])
            .arg(format!("--rate={RATE}"))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut out = recorder.stdout.take().unwrap();
        let bytes = Arc::new(Mutex::new(Vec::new()));
        let count = Arc::new(AtomicUsize::new(0));
        let (into, counted) = (Arc::clone(&bytes), Arc::clone(&count));
        std::thread::spawn(move || {
            let mut block = [0; 640];
            while let Ok(read @ 1..) = out.read(&mut block) {
                into.lock().unwrap().extend_from_slice(&block[..read]);
                counted.fetch_add(read, Ordering::Relaxed);
            }
        });
        let patience = Instant::now() + Duration::from_secs(5);
        while count.load(Ordering::Relaxed) == 0 {
            assert!(Instant::now() < patience, "nothing can be recorded");
            std::thread::sleep(Duration::from_millis(10));
        }
        Recording {
            recorder: Ended(recorder),
            bytes,
            count,
        }
    }

    /// How much was recorded until now.
    pub fn seconds(&self) -> f64 {
        self.count.load(Ordering::Relaxed) as f64 / 2.0 / f64::from(RATE)
    }

    pub fn finish(self) -> Vec<i16> {
        drop(self.recorder);
        let bytes = self.bytes.lock().unwrap();
        bytes
            .chunks_exact(2)
            .map(|pair| i16::from_le_bytes([pair[0], pair[1]]))
            .collect()
    }
}

/// Root of the mean square, in units of one step of 16 bits.
pub fn rms(samples: &[i16]) -> f64 {
    let squares: f64 = samples
        .iter()
        .map(|&sample| f64::from(sample).powi(2))
        .sum();
    (squares / samples.len().max(1) as f64).sqrt()
}
