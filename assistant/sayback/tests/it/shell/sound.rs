//! Working from recordings, the good and the bad.

use super::harness::{Bay, Ran, run, text};
use std::path::{Path, PathBuf};
use std::process::Command;
use voice::fixtures::{Speaker, cache_folder};

/// Works the half-shaft's job from recordings, with the answers in a file.
fn work(bay: &Bay, sound: &Path) -> Ran {
    let answers = bay.path("answers.wav");
    bay.sayback(&[
        "work",
        "front-half-shaft",
        "--sound",
        text(sound),
        "--answers",
        text(&answers),
        "--overwrite",
    ])
}

/// A neural voice's recording of these words: 16 kHz, mono.
pub fn spoken(words: &str) -> Vec<i16> {
    let voices = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../audio-fixtures/voices.toml"
    );
    let cache = cache_folder().expect("a cache folder");
    let clip = Speaker::open(&cache, Path::new(voices))
        .and_then(|speaker| speaker.wav("neural-man", words))
        .unwrap_or_else(|error| panic!("{error}\nThis test needs `cargo xtask setup`."));
    let sound = hound::WavReader::open(clip).unwrap();
    sound.into_samples().map(Result::unwrap).collect()
}

pub fn write(path: PathBuf, rate: u32, channels: u16, samples: &[i16]) -> PathBuf {
    let spec = hound::WavSpec {
        channels,
        sample_rate: rate,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut writer = hound::WavWriter::create(&path, spec).unwrap();
    for &sample in samples {
        writer.write_sample(sample).unwrap();
    }
    writer.finalize().unwrap();
    path
}

/// At another rate, by sox: a resampler that isn't the program's own.
fn at_rate(from: &Path, to: PathBuf, rate: &str) -> PathBuf {
    run(Command::new("sox").args(["-D", text(from), "-r", rate, text(&to)])).exits(0);
    to
}

#[test]
fn the_job_and_its_vehicle_are_chosen_by_voice() {
    let bay = Bay::new();
    let folder = bay.path("said");
    std::fs::create_dir(&folder).unwrap();
    for (number, words) in ["start front brake pads and discs", "van seven"]
        .into_iter()
        .enumerate()
    {
        write(
            folder.join(format!("{number}.wav")),
            16_000,
            1,
            &spoken(words),
        );
    }
    let answers = bay.path("answers.wav");
    bay.sayback(&[
        "work",
        "--sound",
        text(&folder),
        "--answers",
        text(&answers),
    ])
    .exits(3)
    .prints("Which vehicle? Say its name: van four; van seven; van two.")
    .prints("Van seven, heavy all-wheel-drive van");
}

#[test]
fn recordings_that_cannot_be_used_say_why_and_open_no_job() {
    let bay = Bay::new();
    let silent_header = {
        let whole = std::fs::read(write(bay.path("none.wav"), 16_000, 1, &[])).unwrap();
        bay.file("none.wav", whole)
    };
    let folder = bay.path("folder");
    std::fs::create_dir(&folder).unwrap();
    let half = {
        let whole = std::fs::read(write(bay.path("half.wav"), 16_000, 1, &[0; 400])).unwrap();
        bay.file("half.wav", &whole[..20])
    };
    for (path, why) in [
        (bay.file("empty.wav", ""), "empty.wav"),
        (silent_header, "holds no sound"),
        (half, "half.wav"),
        (
            bay.file("text.wav", "I am a letter, not a recording. ".repeat(9)),
            "isn't a WAV file",
        ),
        (folder, "no file in"),
        (bay.path("nowhere"), "there is no file"),
        (bay.path("nowhere.wav"), "there is no file"),
    ] {
        let ran = work(&bay, &path).exits(1).tells(why);
        assert!(
            ran.told()
                .contains(text(path.file_name().unwrap().as_ref())),
            "{} isn't named: {}",
            path.display(),
            ran.err
        );
        assert_eq!(ran.out, "");
    }
    assert!(!bay.records().exists(), "nothing is on record");
}

#[test]
fn without_the_ears_weights_it_says_how_to_get_them() {
    let bay = Bay::new();
    let recording = write(bay.path("next.wav"), 16_000, 1, &spoken("next"));
    let ear = bay.path("no-ear");
    let ran = bay
        .sayback(&[
            "work",
            "trailer-hub",
            "--sound",
            text(&recording),
            "--ear",
            text(&ear),
        ])
        .exits(1)
        .tells("run `cargo xtask setup`")
        .tells("sayback rehearse");
    assert_eq!(ran.out, "");
    assert!(!bay.records().exists(), "nothing is on record");
}

#[test]
fn silence_is_told_and_changes_nothing() {
    let bay = Bay::new();
    let silence = write(bay.path("silence.wav"), 16_000, 1, &[0; 48_000]);
    let ran = work(&bay, &silence).exits(1).tells("no speech");
    assert_eq!(ran.out, "");
    assert!(!bay.records().exists(), "nothing is on record");
}

/// One run of the program for all kinds of recording, because loading the ear takes longest: each is one
/// file of a folder and says the next thing of the job.
#[test]
fn recordings_of_any_rate_and_channel_count_are_heard() {
    let bay = Bay::new();
    let folder = bay.path("talk");
    std::fs::create_dir(&folder).unwrap();
    let plain = |name: &str, words: &str| write(bay.path(name), 16_000, 1, &spoken(words));

    at_rate(&plain("a.wav", "left"), folder.join("1.wav"), "8000");
    at_rate(&plain("b.wav", "steel"), folder.join("2.WAV"), "96000");
    // Stereo, the voice on one side only.
    let both: Vec<i16> = spoken("where am i")
        .iter()
        .flat_map(|&it| [it, 0])
        .collect();
    write(folder.join("3.wav"), 16_000, 2, &both);
    // Clipped: eight times too loud.
    let loud: Vec<i16> = spoken("next")
        .iter()
        .map(|&it| it.saturating_mul(8))
        .collect();
    write(folder.join("4.wav"), 16_000, 1, &loud);
    // Cut off in the silence after the last word: the header promises more.
    let whole = std::fs::read(plain("e.wav", "say again")).unwrap();
    std::fs::write(folder.join("5.wav"), &whole[..whole.len() - 4_001]).unwrap();
    // Not sound, and beside the point.
    std::fs::write(folder.join("notes.txt"), "left wheel next").unwrap();

    let ran = work(&bay, &folder)
        .exits(3)
        .tells("5.wav")
        .tells("cut short");
    for words in ["left", "steel", "where am i", "next", "say again"] {
        assert!(
            ran.out.contains(&format!("“{words}”")),
            "{words}\n{}",
            ran.out
        );
    }
    let id = bay.jobs().remove(0);
    bay.sayback(&["record", &id, "--verify"]).exits(0);
    let json = bay.sayback(&["record", &id, "--json"]).exits(0).json();
    assert_eq!(json["mode"], "recordings");
}

#[test]
fn a_gate_is_not_passed_by_typing_when_a_job_of_work_is_taken_up() {
    // The job of work was opened by sound; taking it up listens to sound again, whatever is piped in.
    let bay = Bay::new();
    let recording = write(bay.path("left.wav"), 16_000, 1, &spoken("left"));
    work(&bay, &recording).exits(3);
    let id = bay.jobs().remove(0);
    let typed = bay.file(
        "typed.txt",
        "next\nKey's in my pocket, brake set, both wheels chocked.\n",
    );
    let records = bay.records();
    let line = format!(
        "{} resume {id} --sound {} --answers {} --overwrite --records {} < {}",
        env!("CARGO_BIN_EXE_sayback"),
        text(&recording),
        text(&bay.path("answers.wav")),
        text(&records),
        text(&typed),
    );
    let ran = run(Command::new("bash").arg("-c").arg(line)).exits(3);
    assert!(!ran.out.contains("gate opened"), "{}", ran.out);
    assert!(!ran.out.contains("both wheels chocked"), "{}", ran.out);
}

#[test]
fn what_is_heard_is_kept_on_demand_and_judged_by_a_corrected_list() {
    let bay = Bay::of_a_new_shop();
    let (kept, out) = (bay.path("heard"), text(&bay.path("heard")).to_owned());
    bay.sayback(&["heard", "--out", &out])
        .exits(1)
        .tells("--keep-heard");
    let sound = write(bay.path("next.wav"), 16_000, 1, &spoken("say again"));
    let answers = bay.path("answers.wav");
    let work = ["work", "front-half-shaft", "--keep-heard", "--sound"];
    let work = [&work[..], &[text(&sound), "--answers", text(&answers)]].concat();
    bay.sayback(&work).exits(3);
    bay.sayback(&["heard", "--out", &out])
        .exits(0)
        .prints("1 clip.");
    assert!(kept.join("heard.html").is_file());
    let list = kept.join("said.tsv");
    let judge = ["heard", "--said", text(&list)];
    bay.sayback(&judge).exits(1).tells("take off the `#`");
    let listened = std::fs::read_to_string(&list).unwrap();
    std::fs::write(&list, listened.replace("#clips", "clips")).unwrap();
    bay.sayback(&judge).exits(0).prints("Listened to 1 clip.");
    // What was corrected is not written over.
    bay.sayback(&["heard", "--out", &out])
        .exits(1)
        .tells("is there already");
}
