//! A private speech-dispatcher in a room without hardware, ended by its own process id.

use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use room::Room;
use voice::{Address, Daemon};

/// The environment variable that names the daemon's configuration to the test inside.
const CONFIGURATION: &str = "VOICE_TEST_SPEECHD_CONFIGURATION";

/// A room, and what a speech-dispatcher needs to speak into it.
///
/// The daemon itself is started by the test inside: it takes the sound server's address from its
/// environment, and this process's own environment is shared with the other tests.
pub struct Private(Room);

impl Private {
    pub fn start() -> Private {
        let room = Room::new(None);
        let configuration = room.folder().join("speechd");
        std::fs::create_dir_all(configuration.join("modules")).unwrap();
        std::fs::write(configuration.join("modules/espeak-ng.conf"), "Debug 0\n").unwrap();
        std::fs::write(
            configuration.join("speechd.conf"),
            "LogLevel 2\nLogDir \"default\"\nAudioOutputMethod \"pulse\"\n\
             AddModule \"espeak-ng\" \"sd_espeak-ng\" \"espeak-ng.conf\"\n\
             DefaultModule espeak-ng\nDefaultLanguage \"en-US\"\n",
        )
        .unwrap();
        Private(room)
    }

    /// Runs the ignored test `name` of this file in a process that sees only the private servers.
    pub fn run_inside(&self, name: &str) {
        let at = |name: &str| {
            let path = self.0.folder().join(name);
            path.to_string_lossy().into_owned()
        };
        let address = format!("unix_socket:{}", at("run/speechd.sock"));
        let environment = [
            ("SPEECHD_ADDRESS", address.as_str()),
            (CONFIGURATION, &at("speechd")),
        ];
        self.0.run_inside_with(name, &environment);
    }
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

/// Root of the mean square, in units of one step of 16 bits.
pub fn rms(samples: &[i16]) -> f64 {
    let squares: f64 = samples
        .iter()
        .map(|&sample| f64::from(sample).powi(2))
        .sum();
    (squares / samples.len().max(1) as f64).sqrt()
}
