//! A workshop's sound without hardware: a private sound server, a microphone into which a technician's clips are played, and
//! a loudspeaker that is recorded.
//!
//! The sound system finds its server by the environment, so whoever needs the room runs itself again with
//! [`Room::environment`].

use std::io::{Read, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

const SETUP: &str = "is missing: run `cargo xtask setup`";

/// Samples a second of a [`Recording`].
pub const RATE: u32 = 16_000;

/// Without `norewinds` the first seconds of a capture are lost.
const SERVER: &str = "\
load-module module-native-protocol-unix auth-anonymous=1 socket=ROOM/native
load-module module-cli-protocol-unix socket=ROOM/cli
load-module module-null-sink sink_name=speaker rate=48000 norewinds=1
load-module module-null-sink sink_name=micfeed rate=48000 norewinds=1
load-module module-remap-source master=micfeed.monitor source_name=microphone
set-default-sink speaker
set-default-source microphone
";

const ALSA: &str = "\
pcm_type.pulse { lib \"PLUGINS/libasound_module_pcm_pulse.so\" }
ctl_type.pulse { lib \"PLUGINS/libasound_module_ctl_pulse.so\" }
pcm.!default { type pulse hint { show on description \"The usual device\" } }
ctl.!default { type pulse }
pcm.bench { type pulse device microphone hint { show on description \"The microphone at the bench\" } }
";

/// The private sound server and its files; both end with it.
pub struct Room {
    folder: PathBuf,
    server: Child,
    /// At which level the loudspeaker comes back into the microphone, in decibels, where it does.
    echo_db: Option<f64>,
}

impl Room {
    /// A room in which the loudspeaker comes back into the microphone at this level, in decibels; not at all without.
    pub fn new(echo_db: Option<f64>) -> Self {
        // Short: a socket's path has little room.
        let folder = tempfile::Builder::new().prefix("room-").tempdir();
        let folder = folder.expect("a folder for the room").keep();
        let write = |name: &str, text: String| {
            std::fs::write(folder.join(name), text).expect("the room's files");
        };
        let here = folder.to_str().expect("a plain path");
        write("server.pa", SERVER.replace("ROOM", here));
        write("alsa.conf", ALSA.replace("PLUGINS", &plugins()));
        let server = start(&folder);
        let room = Self {
            folder,
            server,
            echo_db,
        };
        room.let_echo();
        room
    }

    fn let_echo(&self) {
        let Some(db) = self.echo_db else { return };
        // Thirty milliseconds: the sound's way through the devices and the air.
        self.pactl(&[
            "load-module",
            "module-loopback",
            "source=speaker.monitor",
            "sink=micfeed",
            "latency_msec=30",
        ]);
        // The loopback's own stream is the only one yet.
        let streams = self.pactl(&["list", "short", "sink-inputs"]);
        let id = streams
            .split_whitespace()
            .next()
            .expect("the echo's stream");
        // PulseAudio's volumes are cubic: 100 % is no change.
        let linear = 10f64.powf(db / 20.0).cbrt();
        let volume = format!("{}%", (linear * 100.0).round());
        self.pactl(&["set-sink-input-volume", id, &volume]);
    }

    fn pactl(&self, arguments: &[&str]) -> String {
        control(Command::new("pactl").envs(self.environment()), arguments)
    }

    /// Where its files are.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// What a process needs in its environment to be in the room.
    pub fn environment(&self) -> Vec<(String, String)> {
        let at = |name: &str| self.folder.join(name).to_string_lossy().into_owned();
        [
            ("XDG_RUNTIME_DIR", at("")),
            ("PULSE_SERVER", format!("unix:{}", at("native"))),
            ("ALSA_CONFIG_PATH", at("alsa.conf")),
            (HERE, at("")),
            (SERVER_PROCESS, self.server.id().to_string()),
        ]
        .map(|(name, value)| (name.to_owned(), value))
        .to_vec()
    }

    /// Runs an ignored test of this program in the room, with this in its environment besides.
    ///
    /// # Panics
    /// With all that it printed, when it fails.
    pub fn run_inside_with(&self, name: &str, environment: &[(&str, &str)]) {
        let own = self.environment();
        let own = own
            .iter()
            .map(|(name, value)| (name.as_str(), value.as_str()));
        let all: Vec<(&str, &str)> = own.chain(environment.iter().copied()).collect();
        let told = child(name, &all);
        assert!(told.contains("test result: ok. 1 passed"), "{told}");
        println!("{told}");
    }

    /// The same, with nothing besides.
    ///
    /// # Panics
    /// As [`run_inside_with`](Self::run_inside_with).
    pub fn run_inside(&self, name: &str) {
        self.run_inside_with(name, &[]);
    }
}

/// Runs an ignored test of this program in a process of its own, and gives what it printed.
///
/// # Panics
/// When the process can't be started.
pub fn child(name: &str, environment: &[(&str, &str)]) -> String {
    let output = ahead_of_others()
        .arg(std::env::current_exe().expect("this program"))
        .args(["--exact", name, "--ignored", "--nocapture"])
        .envs(environment.iter().copied())
        .output()
        .expect("this program runs again");
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

impl Drop for Room {
    fn drop(&mut self) {
        let _ = self.server.kill();
        let _ = self.server.wait();
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}

/// Tells the sound server something, from inside the room.
pub fn pactl(arguments: &[&str]) -> String {
    control(&mut Command::new("pactl"), arguments)
}

fn control(pactl: &mut Command, arguments: &[&str]) -> String {
    let output = pactl.args(arguments).output();
    let output = output.unwrap_or_else(|error| panic!("pactl {SETUP} ({error})"));
    let told = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    assert!(
        output.status.success(),
        "pactl {arguments:?}: {}",
        told(&output.stderr)
    );
    told(&output.stdout)
}

/// Tells the process in the room where its files are, and which process the server is.
const HERE: &str = "WHOLE_JOBS_ROOM";
const SERVER_PROCESS: &str = "WHOLE_JOBS_SERVER";

/// Whether this process is in a room.
pub fn is_inside() -> bool {
    std::env::var_os(HERE).is_some()
}

/// A command whose arguments are a program to run before others, where this user may: sound that is played and recorded in
/// real time stutters when other tests keep all cores busy. Where he may not, `nice` says so and runs it all the same.
fn ahead_of_others() -> Command {
    let mut nice = Command::new("nice");
    nice.args(["-n", "-20"]);
    nice
}

fn start(folder: &Path) -> Child {
    let server = ahead_of_others()
        .args([
            "pulseaudio",
            "-n",
            "--daemonize=no",
            "--exit-idle-time=-1",
            "--use-pid-file=no",
            "-F",
        ])
        .arg(folder.join("server.pa"))
        .env("XDG_RUNTIME_DIR", folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| panic!("pulseaudio {SETUP} ({error})"));
    let patience = Instant::now() + Duration::from_secs(20);
    while !has_a_microphone(folder) {
        assert!(Instant::now() < patience, "the sound server doesn't listen");
        std::thread::sleep(Duration::from_millis(20));
    }
    server
}

/// Whether the server answers and the last thing that it is told to load is there.
fn has_a_microphone(folder: &Path) -> bool {
    let sources = Command::new("pactl")
        .args(["list", "short", "sources"])
        .env(
            "PULSE_SERVER",
            format!("unix:{}", folder.join("native").display()),
        )
        .output();
    let sources = sources.unwrap_or_else(|error| panic!("pactl {SETUP} ({error})"));
    let listed = String::from_utf8_lossy(&sources.stdout);
    listed.lines().any(|line| line.contains("\tmicrophone\t"))
}

fn plugins() -> String {
    ["/usr/lib", "/usr/lib64"]
        .iter()
        .flat_map(|root| std::fs::read_dir(root).into_iter().flatten().flatten())
        .map(|entry| entry.path().join("alsa-lib"))
        .chain(["/usr/lib/alsa-lib".into(), "/usr/lib64/alsa-lib".into()])
        .find(|folder| folder.join("libasound_module_pcm_pulse.so").exists())
        .map(|folder| folder.to_string_lossy().into_owned())
        .unwrap_or_else(|| panic!("the ALSA plugin for PulseAudio {SETUP}"))
}

/// The sound server dies, as with a cable that is pulled, and is back when this is told to end. From inside the room.
pub struct Outage(PathBuf);

impl Outage {
    /// Now.
    pub fn begin() -> Self {
        let process = std::env::var(SERVER_PROCESS).expect("in a room");
        let killed = Command::new("kill").args(["-KILL", &process]).status();
        assert!(killed.expect("kill").success(), "kill {process}");
        let folder = PathBuf::from(std::env::var(HERE).expect("in a room"));
        let _ = std::fs::remove_file(folder.join("native"));
        Self(folder)
    }

    /// The server is back, until what this gives goes.
    pub fn end(self) -> impl Drop {
        Ended(start(&self.0))
    }
}

/// Breaks all streams that play through the loudspeaker, as the server may that a busy machine let run dry, and gives how
/// many they were.
///
/// # Panics
/// When they don't end, or outside a room.
pub fn break_streams() -> usize {
    let streams = playing();
    let folder = PathBuf::from(std::env::var(HERE).expect("in a room"));
    let mut server = UnixStream::connect(folder.join("cli")).expect("the server listens");
    for stream in &streams {
        writeln!(server, "kill-sink-input {stream}").expect("the server is told");
    }
    let patience = Instant::now() + Duration::from_secs(20);
    while playing().iter().any(|stream| streams.contains(stream)) {
        assert!(Instant::now() < patience, "a stream doesn't end");
        std::thread::sleep(Duration::from_millis(10));
    }
    streams.len()
}

/// The streams that play through the loudspeaker, by number.
fn playing() -> Vec<String> {
    let streams = pactl(&["list", "short", "sink-inputs"]);
    let numbers = streams
        .lines()
        .filter_map(|line| line.split_whitespace().next());
    numbers.map(str::to_owned).collect()
}

/// A child process that is ended when this goes.
struct Ended(Child);

impl Drop for Ended {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Plays a clip into the microphone, at this share of its loudness, and waits until it was played.
pub fn say_clip(clip: &Path, loudness: f64) {
    let status = play(clip, loudness).wait();
    assert!(status.expect("paplay").success(), "{}", clip.display());
}

/// Plays a clip into the microphone until what this gives goes.
pub fn sounds_on(clip: &Path, loudness: f64) -> impl Drop {
    Ended(play(clip, loudness))
}

fn play(clip: &Path, loudness: f64) -> Child {
    Command::new("paplay")
        .args(["--device=micfeed", "--latency-msec=500"])
        .arg(format!("--volume={}", (65_536.0 * loudness.cbrt()) as u32))
        .arg(clip)
        .stdin(Stdio::null())
        .spawn()
        .unwrap_or_else(|error| panic!("paplay {SETUP} ({error})"))
}

/// What goes through a device, from now on.
pub struct Recording {
    recorder: Ended,
    taken: Arc<Mutex<Taken>>,
}

#[derive(Default)]
struct Taken {
    samples: Vec<i16>,
    /// When the first of them arrived.
    began: Option<Instant>,
}

impl Recording {
    /// Of the loudspeaker.
    pub fn of_loudspeaker() -> Self {
        Self::of("speaker.monitor", usize::MAX)
    }

    /// Of the loudspeaker, the last seconds alone: for what goes on for long.
    pub fn of_loudspeaker_lately() -> Self {
        Self::of("speaker.monitor", 10 * RATE as usize)
    }

    /// Of the microphone.
    pub fn of_microphone() -> Self {
        Self::of("micfeed.monitor", usize::MAX)
    }

    fn of(source: &str, kept: usize) -> Self {
        let mut recorder = Command::new("parec")
            .arg(format!("--device={source}"))
            .args(["--format=s16le", "--channels=1", "--latency-msec=10"])
            .arg(format!("--rate={RATE}"))
            .stdout(Stdio::piped())
            .spawn()
            .unwrap_or_else(|error| panic!("parec {SETUP} ({error})"));
        let mut out = recorder.stdout.take().expect("it was asked for");
        let taken = Arc::new(Mutex::new(Taken::default()));
        let into = Arc::clone(&taken);
        std::thread::spawn(move || {
            let mut block = [0; 640];
            let mut odd = None;
            while let Ok(read @ 1..) = out.read(&mut block) {
                let mut taken = into.lock().expect("nobody panics with it");
                taken.began.get_or_insert_with(Instant::now);
                for byte in &block[..read] {
                    match odd.take() {
                        None => odd = Some(*byte),
                        Some(low) => taken.samples.push(i16::from_le_bytes([low, *byte])),
                    }
                }
                let surplus = taken.samples.len().saturating_sub(kept);
                taken.samples.drain(..surplus);
            }
        });
        let recording = Self {
            recorder: Ended(recorder),
            taken,
        };
        let patience = Instant::now() + Duration::from_secs(20);
        while recording.taken.lock().expect("as above").began.is_none() {
            assert!(Instant::now() < patience, "nothing can be recorded");
            std::thread::sleep(Duration::from_millis(5));
        }
        recording
    }

    /// When a sample was recorded, to some ten milliseconds.
    pub fn time_of(&self, sample: usize) -> Instant {
        let began = self.taken.lock().expect("as above").began;
        let since = Duration::from_secs_f64(sample as f64 / f64::from(RATE));
        began.unwrap_or_else(Instant::now) + since
    }

    /// What was recorded from this sample on.
    pub fn since(&self, from: usize) -> Vec<i16> {
        let taken = self.taken.lock().expect("as above");
        taken.samples.get(from..).unwrap_or_default().to_vec()
    }

    /// How much was recorded.
    pub fn len(&self) -> usize {
        self.taken.lock().expect("as above").samples.len()
    }

    /// The same in seconds.
    pub fn seconds(&self) -> f64 {
        self.len() as f64 / f64::from(RATE)
    }

    /// Whether nothing was recorded.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// For how long nothing was to be heard.
    pub fn silent_for(&self) -> Duration {
        let taken = self.taken.lock().expect("as above");
        let silent = taken.samples.iter().rev().take_while(|it| !is_sound(**it));
        Duration::from_secs_f64(silent.count() as f64 / f64::from(RATE))
    }

    /// Ends it.
    pub fn finish(self) -> Vec<i16> {
        drop(self.recorder);
        std::mem::take(&mut self.taken.lock().expect("as above").samples)
    }
}

/// Whether a sample is sound.
pub fn is_sound(sample: i16) -> bool {
    sample.unsigned_abs() > 100
}
