//! Which voice is chosen, in a process whose environment offers little.

use std::process::Command;

use voice::{Settings, best_available};

/// Runs the ignored test below with `PATH` set to `path` and nowhere for sound to go.
fn chosen(path: &str) -> String {
    let nowhere = tempfile::tempdir().unwrap();
    let output = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "best::inside_says_what_it_chose",
            "--ignored",
            "--nocapture",
        ])
        .env("PATH", path)
        .env(
            "SPEECHD_ADDRESS",
            format!("unix_socket:{}/none.sock", nowhere.path().display()),
        )
        .env("XDG_RUNTIME_DIR", nowhere.path())
        .env("VOICE_TEST_WAV", nowhere.path().join("said.wav"))
        .env_remove("PULSE_SERVER")
        .output()
        .unwrap();
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[test]
fn without_sound_it_is_a_file_and_without_espeak_it_is_print_and_both_say_why() {
    if std::path::Path::new("/dev/snd").exists() {
        let why = "this machine has a sound device, so a better voice is right";
        assert!(std::env::var_os("CI").is_none(), "{why}");
        println!("skipped: {why}");
        return;
    }
    let file = chosen(&std::env::var("PATH").unwrap());
    assert!(file.contains("chose espeak-ng into"), "{file}");
    assert!(
        file.contains("because no speech-dispatcher listens at unix_socket:"),
        "{file}"
    );
    let print = chosen("/nowhere");
    assert!(print.contains("chose print only"), "{print}");
    assert!(
        print.contains("because espeak-ng could not be started"),
        "{print}"
    );
}

#[test]
#[ignore = "run by the test above, with its environment"]
fn inside_says_what_it_chose() {
    let wav = std::env::var("VOICE_TEST_WAV").unwrap();
    let chosen = best_available(wav.as_ref(), Settings::default(), voice::ENGLISH);
    println!("chose {}", chosen.voice.name());
    for reason in chosen.because {
        println!("because {reason}");
    }
}
