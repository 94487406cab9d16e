//! Where speech-dispatcher listens, and a daemon of our own when none does.

use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::VoiceError;

/// Where a speech-dispatcher listens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Address {
    /// A socket in the file system.
    Unix(PathBuf),
    /// Host and port.
    Inet(String),
}

impl Address {
    /// What the library `libspeechd` will use: `$SPEECHD_ADDRESS`, else the user's own socket.
    pub fn from_environment() -> Address {
        choose(|name| std::env::var(name).ok().filter(|value| !value.is_empty()))
    }

    /// Whether somebody answers there.
    pub fn listens(&self) -> bool {
        match self {
            Address::Unix(path) => UnixStream::connect(path).is_ok(),
            Address::Inet(host) => std::net::TcpStream::connect(host).is_ok(),
        }
    }
}

impl std::fmt::Display for Address {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Address::Unix(path) => write!(f, "unix_socket:{}", path.display()),
            Address::Inet(host) => write!(f, "inet_socket:{host}"),
        }
    }
}

/// As in the documentation of speech-dispatcher, "Address specification".
fn choose(variable: impl Fn(&str) -> Option<String>) -> Address {
    let default_socket = || {
        // GLib's user runtime directory, and what it falls back to.
        let folder = variable("XDG_RUNTIME_DIR")
            .map(PathBuf::from)
            .unwrap_or_else(|| {
                variable("XDG_CACHE_HOME")
                    .map(PathBuf::from)
                    .unwrap_or_else(|| {
                        Path::new(&variable("HOME").unwrap_or_default()).join(".cache")
                    })
            });
        Address::Unix(folder.join("speech-dispatcher/speechd.sock"))
    };
    let Some(given) = variable("SPEECHD_ADDRESS") else {
        return default_socket();
    };
    match given.split_once(':') {
        Some(("unix_socket", path)) => Address::Unix(path.into()),
        Some(("inet_socket", host)) if host.contains(':') => Address::Inet(host.to_owned()),
        Some(("inet_socket", host)) => Address::Inet(format!("{host}:6560")),
        _ if given == "inet_socket" => Address::Inet("127.0.0.1:6560".to_owned()),
        _ => default_socket(),
    }
}

/// A speech-dispatcher that we started, and that ends with us.
///
/// The library would start one by itself, but that one would stay behind.
pub struct Daemon {
    child: Child,
    socket: PathBuf,
}

impl Daemon {
    /// Starts a daemon that listens on `socket`, with its log next to it, and waits until it answers (5 s at most).
    ///
    /// `configuration` is a folder with a `speechd.conf`; without it the machine's own is used.
    pub fn start(socket: &Path, configuration: Option<&Path>) -> Result<Daemon, VoiceError> {
        let folder = socket.parent().unwrap_or(Path::new("."));
        std::fs::create_dir_all(folder)
            .map_err(|source| VoiceError::io(folder.display(), source))?;
        let mut command = Command::new("speech-dispatcher");
        command.args([
            "--run-single",
            "--timeout",
            "0",
            "--communication-method",
            "unix_socket",
        ]);
        command.arg("--socket-path").arg(socket);
        command
            .arg("--pid-file")
            .arg(folder.join("speechd-own.pid"));
        command.arg("--log-dir").arg(folder);
        if let Some(configuration) = configuration {
            command.arg("--config-dir").arg(configuration);
        }
        let child = command
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .map_err(|source| VoiceError::NotStarted {
                program: "speech-dispatcher",
                source,
            })?;
        let mut daemon = Daemon {
            child,
            socket: socket.to_owned(),
        };
        let patience = Instant::now() + Duration::from_secs(5);
        while !Address::Unix(socket.to_owned()).listens() {
            let ended = daemon.child.try_wait().is_ok_and(|status| status.is_some());
            if ended || Instant::now() > patience {
                return Err(VoiceError::Failed {
                    program: "speech-dispatcher".to_owned(),
                    reason: format!("it does not listen on {}", socket.display()),
                });
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        Ok(daemon)
    }

    /// Where it listens.
    pub fn address(&self) -> Address {
        Address::Unix(self.socket.clone())
    }

    /// Its process id.
    pub fn process_id(&self) -> u32 {
        self.child.id()
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // Asked first, so that it ends its modules; only our own child is meant.
        let asked = Command::new("kill")
            .arg(self.child.id().to_string())
            .status();
        let patience = Instant::now() + Duration::from_secs(2);
        while asked.is_ok() && Instant::now() < patience {
            if self.child.try_wait().is_ok_and(|status| status.is_some()) {
                return;
            }
            std::thread::sleep(Duration::from_millis(10));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn chosen(set: &[(&str, &str)]) -> String {
        choose(|name| {
            set.iter()
                .find(|(key, _)| *key == name)
                .map(|(_, value)| (*value).to_owned())
        })
        .to_string()
    }

    #[test]
    fn the_address_is_where_the_library_looks() {
        let home = ("HOME", "/h");
        assert_eq!(
            chosen(&[home]),
            "unix_socket:/h/.cache/speech-dispatcher/speechd.sock"
        );
        assert_eq!(
            chosen(&[home, ("XDG_RUNTIME_DIR", "/run/u")]),
            "unix_socket:/run/u/speech-dispatcher/speechd.sock"
        );
        assert_eq!(
            chosen(&[("SPEECHD_ADDRESS", "unix_socket:/a/b")]),
            "unix_socket:/a/b"
        );
        assert_eq!(
            chosen(&[("SPEECHD_ADDRESS", "inet_socket:bay")]),
            "inet_socket:bay:6560"
        );
        assert_eq!(
            chosen(&[("SPEECHD_ADDRESS", "inet_socket:bay:1")]),
            "inet_socket:bay:1"
        );
    }
}
