//! A foot switch, a headset's button or a key as a device of Linux's evdev: heard wherever the terminal is.
//!
//! # Why read from `/dev/input`?
//!
//! A terminal has to be in front to receive Enter, and nobody under a vehicle can see to that. This module reads
//! plain events from any file descriptor, so its test can write them into a FIFO. It has not been tried with a real
//! foot switch.

use crossbeam_channel::Sender;
use input_linux::{EvdevHandle, EventKind};
use std::fs::File;
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How often a device that is gone is looked for.
const AGAIN: Duration = Duration::from_secs(1);

/// What an event's value says of a key that went down; 0 is its release, 2 that it is still held.
const DOWN: i32 = 1;

/// Whether the device can be heard, told when that changes.
#[derive(Debug)]
pub enum Switch<'a> {
    /// It is gone. It is looked for until it is back.
    Gone(&'a io::Error),
    Back,
}

/// Sends each press of any key of this device, for as long as somebody takes them.
///
/// # Errors
/// When the device can't be opened, or is a plain file or a folder.
pub fn watch(
    device: &Path,
    presses: Sender<()>,
    mut tell: impl FnMut(Switch<'_>) + Send + 'static,
) -> io::Result<()> {
    let device = PathBuf::from(device);
    let file = File::open(&device)?;
    let kind = file.metadata()?.file_type();
    if kind.is_file() || kind.is_dir() {
        let what = "it is no input device";
        return Err(io::Error::new(io::ErrorKind::InvalidInput, what));
    }
    let mut handle = EvdevHandle::new(file);
    std::thread::spawn(move || {
        while let Err(gone) = send_presses(&handle, &presses) {
            tell(Switch::Gone(&gone));
            handle = EvdevHandle::new(opened_again(&device));
            tell(Switch::Back);
        }
    });
    Ok(())
}

/// Until nobody takes them, or the device is gone.
fn send_presses(handle: &EvdevHandle<File>, presses: &Sender<()>) -> io::Result<()> {
    loop {
        let event = handle.read_input_event()?;
        let pressed = event.kind == EventKind::Key && event.value == DOWN;
        if pressed && presses.send(()).is_err() {
            return Ok(());
        }
    }
}

fn opened_again(device: &Path) -> File {
    loop {
        std::thread::sleep(AGAIN);
        if let Ok(file) = File::open(device) {
            return file;
        }
    }
}

#[cfg(test)]
#[cfg(target_pointer_width = "64")]
mod tests {
    use super::*;
    use crossbeam_channel::unbounded;
    use std::fs::OpenOptions;
    use std::io::Write;
    use std::process::Command;

    /// How long a test waits for what must come.
    const LONG: Duration = Duration::from_secs(20);

    /// An event as the kernel writes it: two words of time, type, code, value ("Linux Input Subsystem userspace API",
    /// section 1.3.2.1, `struct input_event`, docs.kernel.org/input/input.html).
    fn event(kind: u16, code: u16, value: i32) -> Vec<u8> {
        let mut bytes = vec![0; 16];
        bytes.extend(kind.to_ne_bytes());
        bytes.extend(code.to_ne_bytes());
        bytes.extend(value.to_ne_bytes());
        bytes
    }

    // Types and codes of linux/input-event-codes.h.
    const SYN: u16 = 0;
    const KEY: u16 = 1;
    const REL: u16 = 2;
    const KEY_ENTER: u16 = 28;
    const KEY_PLAYPAUSE: u16 = 164;

    #[test]
    fn a_press_is_sent_once_and_a_device_that_was_gone_is_found_again() {
        let folder = tempfile::tempdir().unwrap();
        let device = folder.path().join("event7");
        let made = Command::new("mkfifo").arg(&device).status().unwrap();
        assert!(made.success());
        // Whoever opens a FIFO waits for the other end.
        let other_end = device.clone();
        let writer = std::thread::spawn(move || OpenOptions::new().write(true).open(other_end));
        let (send, presses) = unbounded();
        let (send_told, told) = unbounded();
        let tell = move |switch: Switch<'_>| {
            let gone = matches!(switch, Switch::Gone(_));
            send_told.send(gone).unwrap();
        };
        watch(&device, send, tell).unwrap();
        let mut switch = writer.join().unwrap().unwrap();
        let held = [1, 2, 2, 0].map(|value| [event(KEY, KEY_ENTER, value), event(SYN, 0, 0)]);
        switch.write_all(&held.concat().concat()).unwrap();
        switch.write_all(&event(REL, 0, 1)).unwrap();
        drop(switch);
        assert!(
            told.recv_timeout(LONG).unwrap(),
            "it is told that it's gone"
        );
        assert_eq!(presses.try_iter().count(), 1);

        let mut switch = OpenOptions::new().write(true).open(&device).unwrap();
        assert!(
            !told.recv_timeout(LONG).unwrap(),
            "it is told that it's back"
        );
        switch.write_all(&event(KEY, KEY_PLAYPAUSE, 1)).unwrap();
        presses.recv_timeout(LONG).unwrap();
    }

    #[test]
    fn what_is_no_device_is_an_error_at_once() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("event0");
        std::fs::write(&file, event(KEY, KEY_ENTER, 1)).unwrap();
        for (path, kind) in [
            (Path::new("/no/such/event0"), io::ErrorKind::NotFound),
            (folder.path(), io::ErrorKind::InvalidInput),
            (&file, io::ErrorKind::InvalidInput),
        ] {
            let (send, _presses) = unbounded();
            let error = watch(path, send, |_| ()).unwrap_err();
            assert_eq!(error.kind(), kind, "{}", path.display());
        }
    }
}
