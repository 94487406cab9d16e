//! Which voice is chosen, in a process whose environment offers little.

use std::process::Command;

use voice::{Settings, best_available};

/// Runs the ignored test below with `PATH` set to `path`, nowhere for sound to go, and a WAV file if one is to be named.
fn chosen(path: &str, wav: bool) -> String {
    let nowhere = tempfile::tempdir().unwrap();
    let mut command = Command::new(std::env::current_exe().unwrap());
    if wav {
        command.env("VOICE_TEST_WAV", nowhere.path().join("said.wav"));
    }
    let output = command
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
        .env("TMPDIR", nowhere.path())
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
    let file = chosen(&std::env::var("PATH").unwrap(), true);
    assert!(file.contains("said.wav"), "{file}");
    assert!(
        file.contains("because no speech-dispatcher listens at unix_socket:"),
        "{file}"
    );
    // Two without a name of their own: neither can be foreseen, and neither is the other's.
    let into = |_| {
        let told = chosen(&std::env::var("PATH").unwrap(), false);
        let chose = told
            .lines()
            .find(|line| line.contains("chose espeak-ng into"));
        chose.expect(&told).rsplit('/').nth(1).map(str::to_owned)
    };
    assert_ne!(into(1), into(2));
    let print = chosen("/nowhere", true);
    assert!(print.contains("chose print only"), "{print}");
    assert!(
        print.contains("because espeak-ng could not be started"),
        "{print}"
    );
}

#[test]
#[ignore = "run by the test above, with its environment"]
fn inside_says_what_it_chose() {
    let wav = std::env::var_os("VOICE_TEST_WAV").map(std::path::PathBuf::from);
    let chosen = best_available(wav.as_deref(), Settings::default(), voice::ENGLISH);
    println!("chose {}", chosen.voice.name());
    for reason in chosen.because {
        println!("because {reason}");
    }
}
