//! A microphone that isn't there: a private sound server whose microphone hears what is played into it.
//!
//! The sound system finds its server by the environment, so the test runs itself again with an environment
//! of its own. `pulseaudio`, its ALSA plugin and `espeak-ng` are placed by `cargo xtask setup`.

#![cfg(target_os = "linux")]

use crossbeam_channel::Receiver;
use ears::sound::endpoint::Event;
use ears::sound::microphone::{Microphone, MicrophoneError, MicrophoneEvent, devices};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Far longer than anything here takes, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(30);

const SETUP: &str = "is missing: run `cargo xtask setup`";

/// Files of the server, removed with it.
struct Room(PathBuf);

impl Room {
    fn new() -> Self {
        // Short: a socket's path has little room.
        let path = std::env::temp_dir().join(format!("ears-room-{}", std::process::id()));
        std::fs::create_dir(&path).unwrap();
        std::fs::write(
            path.join("server.pa"),
            SERVER.replace("ROOM", path.to_str().unwrap()),
        )
        .unwrap();
        std::fs::write(path.join("alsa.conf"), ALSA.replace("PLUGINS", &plugins())).unwrap();
        Self(path)
    }
}

impl Drop for Room {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Without `norewinds` the first seconds of a capture are lost.
const SERVER: &str = "\
load-module module-native-protocol-unix auth-anonymous=1 socket=ROOM/native
load-module module-null-sink sink_name=speaker norewinds=1
load-module module-null-sink sink_name=micfeed norewinds=1
load-module module-remap-source master=micfeed.monitor source_name=microphone
set-default-sink speaker
set-default-source microphone
";

const ALSA: &str = "\
pcm_type.pulse { lib \"PLUGINS/libasound_module_pcm_pulse.so\" }
ctl_type.pulse { lib \"PLUGINS/libasound_module_ctl_pulse.so\" }
pcm.!default { type pulse hint { show on description \"The usual microphone\" } }
ctl.!default { type pulse }
pcm.bench { type pulse device microphone hint { show on description \"The microphone at the bench\" } }
";

fn plugins() -> String {
    ["/usr/lib", "/usr/lib64"]
        .iter()
        .flat_map(|root| std::fs::read_dir(root).into_iter().flatten().flatten())
        .map(|entry| entry.path().join("alsa-lib"))
        .chain([
            PathBuf::from("/usr/lib/alsa-lib"),
            PathBuf::from("/usr/lib64/alsa-lib"),
        ])
        .find(|folder| folder.join("libasound_module_pcm_pulse.so").exists())
        .map(|folder| folder.to_str().unwrap().to_owned())
        .unwrap_or_else(|| panic!("the ALSA plugin for PulseAudio {SETUP}"))
}

#[test]
fn what_is_said_arrives_and_a_vanished_device_is_an_event() {
    let room = Room::new();
    let status = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "in_the_room", "--ignored", "--nocapture"])
        .env("EARS_ROOM", &room.0)
        .env("XDG_RUNTIME_DIR", &room.0)
        .env("PULSE_SERVER", format!("unix:{}/native", room.0.display()))
        .env("ALSA_CONFIG_PATH", room.0.join("alsa.conf"))
        .status()
        .unwrap();
    assert!(status.success(), "see above");
}

/// The server, ended by its process id whatever happens.
struct Server(Child);

impl Server {
    fn start(room: &Path) -> Self {
        let child = Command::new("pulseaudio")
            .args([
                "-n",
                "--daemonize=no",
                "--exit-idle-time=-1",
                "--use-pid-file=no",
                "-F",
            ])
            .arg(room.join("server.pa"))
            .stderr(Stdio::null())
            .spawn()
            .unwrap_or_else(|_| panic!("pulseaudio {SETUP}"));
        let server = Self(child);
        let until = Instant::now() + PATIENCE;
        while !server.answers() {
            assert!(Instant::now() < until, "the sound server doesn't answer");
            std::thread::sleep(Duration::from_millis(20));
        }
        server
    }

    /// Whether the last thing that it is told to load is there.
    fn answers(&self) -> bool {
        let sources = Command::new("pactl")
            .args(["list", "short", "sources"])
            .output();
        let sources = sources.unwrap_or_else(|_| panic!("pactl {SETUP}"));
        String::from_utf8_lossy(&sources.stdout)
            .lines()
            .any(|line| line.contains("\tmicrophone\t"))
    }

    fn end(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.end();
    }
}

/// The first event of which `wanted` makes something.
fn wait_for<T>(
    events: &Receiver<MicrophoneEvent>,
    what: &str,
    mut wanted: impl FnMut(MicrophoneEvent) -> Option<T>,
) -> T {
    let until = Instant::now() + PATIENCE;
    loop {
        match events.recv_deadline(until) {
            Ok(event) => {
                if let Some(found) = wanted(event) {
                    return found;
                }
            }
            Err(error) => panic!("no {what}: {error}"),
        }
    }
}

fn sound_comes(event: MicrophoneEvent) -> Option<()> {
    matches!(event, MicrophoneEvent::Level { .. }).then_some(())
}

#[test]
#[ignore = "runs in the room that the other test makes"]
fn in_the_room() {
    let room = PathBuf::from(std::env::var_os("EARS_ROOM").expect("started by the other test"));
    let mut server = Server::start(&room);

    let listed = devices().unwrap();
    assert!(
        listed.iter().any(|d| d.name == "bench" && !d.usual),
        "{listed:?}"
    );
    assert!(
        listed.iter().any(|d| d.name == "default" && d.usual),
        "{listed:?}"
    );
    match Microphone::open(Some("no such microphone")) {
        Err(MicrophoneError::NoSuchDevice { known, .. }) => assert!(known.contains("bench")),
        other => panic!("{other:?}"),
    }

    // Dropping one ends it, while the other goes on.
    let (usual, usual_events) = Microphone::open(None).unwrap();
    let (bench, events) = Microphone::open(Some("bench")).unwrap();
    wait_for(
        &usual_events,
        "sound from the usual microphone",
        sound_comes,
    );
    drop(usual);
    assert!(
        usual_events.iter().count() <= 64,
        "what waits is taken, then the events end"
    );

    wait_for(
        &events,
        "sound from the microphone at the bench",
        sound_comes,
    );
    let said = say_into_the_microphone(&room);
    let mut began = false;
    let heard = wait_for(&events, "utterance", |event| {
        began |= event == MicrophoneEvent::Heard(Event::SpeechBegan);
        event.into_utterance()
    });
    assert!(began, "speech begins before it ends");
    let likeness = likeness(&said, &heard.samples);
    assert!(
        likeness > 0.9,
        "what was heard is like what was said only by {likeness:.2}"
    );

    server.end();
    let reason = wait_for(&events, "news of the loss", |event| match event {
        MicrophoneEvent::Lost { reason } => Some(reason),
        MicrophoneEvent::Heard(_)
        | MicrophoneEvent::Level { .. }
        | MicrophoneEvent::Overrun { .. } => None,
    });
    assert!(!reason.is_empty());
    println!("lost: {reason}");
    assert!(events.recv().is_err(), "nothing follows a loss");
    drop(bench);
}

/// Plays a sentence into the microphone and returns it.
fn say_into_the_microphone(room: &Path) -> Vec<f32> {
    let path = room.join("said.wav");
    let spoke = Command::new("espeak-ng")
        .args(["-v", "en", "-w"])
        .args([path.as_os_str(), "what torque for the wheel bolts".as_ref()])
        .status();
    assert!(
        spoke
            .unwrap_or_else(|_| panic!("espeak-ng {SETUP}"))
            .success()
    );
    let played = Command::new("paplay")
        .arg("--device=micfeed")
        .arg(&path)
        .status();
    assert!(
        played
            .unwrap_or_else(|_| panic!("paplay {SETUP}"))
            .success()
    );
    ears::sound::file::read(&path).unwrap().samples
}

/// The largest normalised cross-correlation of two sounds, 1 for the same sound at any level and place.
fn likeness(said: &[f32], heard: &[f32]) -> f32 {
    // The middle of what was said: its ends may be cut.
    let part = &said[said.len() / 4..said.len() / 4 * 3];
    let power = |s: &[f32]| s.iter().map(|x| x * x).sum::<f32>();
    heard
        .windows(part.len())
        .map(|window| {
            let product: f32 = window.iter().zip(part).map(|(a, b)| a * b).sum();
            product / (power(window) * power(part)).sqrt().max(1e-9)
        })
        .fold(0.0, f32::max)
}
