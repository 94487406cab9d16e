//! Recordings as people bring them.

use ears::sound::endpoint::utterances;
use ears::sound::file::{self, FileError, MAXIMUM_BYTES};
use ears::sound::folder::{self, FolderError};
use hound::{SampleFormat, WavSpec, WavWriter};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A folder of the test's own, empty at first.
fn folder(name: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR"))
        .join("sound-files")
        .join(name);
    let _ = std::fs::remove_dir_all(&path);
    std::fs::create_dir_all(&path).unwrap();
    path
}

fn spec(rate: u32, channels: u16, bits: u16, format: SampleFormat) -> WavSpec {
    WavSpec {
        channels,
        sample_rate: rate,
        bits_per_sample: bits,
        sample_format: format,
    }
}

/// A second of a 440 Hz tone of this height in every channel.
fn tone(path: &Path, spec: WavSpec, height: f64) {
    let mut writer = WavWriter::create(path, spec).unwrap();
    for n in 0..spec.sample_rate {
        let phase = std::f64::consts::TAU * 440.0 * f64::from(n) / f64::from(spec.sample_rate);
        let value = (height * phase.sin()).clamp(-1.0, 1.0);
        for _ in 0..spec.channels {
            match spec.sample_format {
                SampleFormat::Float => writer.write_sample(value as f32).unwrap(),
                SampleFormat::Int => {
                    let full = 2f64.powi(i32::from(spec.bits_per_sample) - 1) - 1.0;
                    writer.write_sample((value * full) as i32).unwrap();
                }
            }
        }
    }
    writer.finalize().unwrap();
}

#[test]
fn every_rate_channel_count_and_format_gives_the_same_sound() {
    let folder = folder("kinds");
    let path = folder.join("kind.wav");
    let formats = [
        (8, SampleFormat::Int),
        (16, SampleFormat::Int),
        (24, SampleFormat::Int),
        (32, SampleFormat::Int),
        (32, SampleFormat::Float),
    ];
    for rate in [8_000, 16_000, 44_100, 96_000] {
        for channels in [1, 2, 6] {
            for (bits, format) in formats {
                tone(&path, spec(rate, channels, bits, format), 0.5);
                let read = file::read(&path).unwrap();
                let kind = format!("{rate} Hz, {channels} channels, {bits} bits {format:?}");
                assert_eq!((read.rate, read.channels), (rate, channels));
                assert_eq!(read.truncated, None, "{kind}");
                assert!(
                    read.samples.len().abs_diff(16_000) <= 1,
                    "{kind}: {}",
                    read.samples.len()
                );
                // A sine of height h has a root mean square of h/√2.
                let middle = &read.samples[2_000..14_000];
                let power = middle.iter().map(|s| s * s).sum::<f32>() / middle.len() as f32;
                let height = (2.0 * power).sqrt();
                assert!((height - 0.5).abs() < 0.01, "{kind}: height {height}");
            }
        }
    }
}

#[test]
fn channels_are_averaged() {
    let path = folder("stereo").join("stereo.wav");
    let mut writer = WavWriter::create(&path, spec(16_000, 2, 16, SampleFormat::Int)).unwrap();
    for _ in 0..1_600 {
        writer.write_sample(16_384i16).unwrap();
        writer.write_sample(0i16).unwrap();
    }
    writer.finalize().unwrap();
    assert!(
        file::read(&path)
            .unwrap()
            .samples
            .iter()
            .all(|s| *s == 0.25)
    );
}

#[test]
fn clipping_is_measured_and_harmless() {
    let path = folder("clipped").join("clipped.wav");
    tone(&path, spec(48_000, 1, 16, SampleFormat::Int), 4.0);
    let read = file::read(&path).unwrap();
    // |4 sin x| ≥ 0.99 for all but 4·asin(0.2475) of a turn: 84 %.
    assert!((read.clipped - 0.84).abs() < 0.01, "{}", read.clipped);
    assert!(read.samples.iter().all(|s| s.abs() <= 1.0));
    tone(&path, spec(48_000, 1, 16, SampleFormat::Int), 0.5);
    assert_eq!(file::read(&path).unwrap().clipped, 0.0);
}

#[test]
fn a_truncated_recording_is_read_as_far_as_it_goes() {
    let path = folder("truncated").join("truncated.wav");
    tone(&path, spec(16_000, 1, 16, SampleFormat::Int), 0.5);
    let whole = std::fs::read(&path).unwrap();
    std::fs::write(&path, &whole[..whole.len() / 2]).unwrap();
    let read = file::read(&path).unwrap();
    let truncated = read.truncated.expect("half of it is missing");
    assert_eq!(truncated.promised, 32_000);
    assert_eq!(read.samples.len() as u32, truncated.present / 2);
    assert!(truncated.to_string().contains("cut short"), "{truncated}");
}

#[test]
fn what_gives_no_sound_says_why() {
    let folder = folder("bad");
    let path = folder.join("bad.wav");
    assert!(matches!(file::read(&path), Err(FileError::Missing(_))));
    assert!(matches!(file::read(&folder), Err(FileError::NotAFile(_))));
    #[cfg(unix)]
    {
        let endless = folder.join("endless.wav");
        std::os::unix::fs::symlink("/dev/zero", &endless).unwrap();
        assert!(matches!(file::read(&endless), Err(FileError::NotAFile(_))));
    }

    std::fs::write(&path, b"").unwrap();
    assert!(matches!(file::read(&path), Err(FileError::Empty(_))));

    std::fs::write(&path, "Torque the wheel nuts in a star.\n".repeat(20)).unwrap();
    assert!(matches!(file::read(&path), Err(FileError::NotWav { .. })));

    WavWriter::create(&path, spec(16_000, 1, 16, SampleFormat::Int))
        .unwrap()
        .finalize()
        .unwrap();
    assert!(matches!(file::read(&path), Err(FileError::Empty(_))));
    let header = std::fs::read(&path).unwrap();
    std::fs::write(&path, &header[..20]).unwrap();
    assert!(matches!(file::read(&path), Err(FileError::NotWav { .. })));

    for rate in [0, u32::MAX] {
        tone(&path, spec(16_000, 1, 16, SampleFormat::Int), 0.5);
        let mut bytes = std::fs::read(&path).unwrap();
        bytes[24..28].copy_from_slice(&rate.to_le_bytes());
        // The bytes a second must fit the rate, or the file is refused for that.
        bytes[28..32].copy_from_slice(&rate.wrapping_mul(2).to_le_bytes());
        std::fs::write(&path, bytes).unwrap();
        let refused = file::read(&path);
        assert!(
            matches!(
                refused,
                Err(FileError::Rate { .. } | FileError::NotWav { .. })
            ),
            "{rate}: {refused:?}"
        );
    }

    // Sparse: it takes no room on the disk.
    std::fs::File::create(&path)
        .unwrap()
        .set_len(MAXIMUM_BYTES + 1)
        .unwrap();
    assert!(matches!(file::read(&path), Err(FileError::TooLarge { .. })));
}

#[test]
fn a_folder_is_read_in_name_order_and_a_bad_file_does_not_end_it() {
    let folder = folder("folder");
    assert!(matches!(
        folder::wav_files(&folder),
        Err(FolderError::NoWav(_))
    ));
    assert!(matches!(
        folder::wav_files(&folder.join("nowhere")),
        Err(FolderError::Unreadable { .. })
    ));
    for name in ["03.wav", "01.WAV"] {
        tone(
            &folder.join(name),
            spec(16_000, 1, 16, SampleFormat::Int),
            0.5,
        );
    }
    std::fs::write(folder.join("02.wav"), "no sound").unwrap();
    std::fs::write(folder.join("notes.txt"), "no sound either").unwrap();
    std::fs::create_dir(folder.join("00.wav")).unwrap();
    let read: Vec<_> = folder::read(&folder)
        .unwrap()
        .map(|(path, read)| {
            (
                path.file_name().unwrap().to_string_lossy().into_owned(),
                read.is_ok(),
            )
        })
        .collect();
    let expected = [("01.WAV", true), ("02.wav", false), ("03.wav", true)];
    assert_eq!(read, expected.map(|(name, good)| (name.to_owned(), good)));
}

#[test]
fn speech_is_found_whatever_the_file_was_recorded_as() {
    let folder = folder("speech");
    let said = folder.join("said.wav");
    let status = Command::new("espeak-ng")
        .args(["-v", "en", "-w"])
        .args([said.as_os_str(), "what size".as_ref()])
        .status()
        .expect("espeak-ng is missing: run `cargo xtask setup`");
    assert!(status.success());
    for (rate, channels, gain) in [
        ("8000", "1", "1"),
        ("96000", "2", "1"),
        ("44100", "2", "30"),
    ] {
        let path = folder.join(format!("{rate}.wav"));
        let status = Command::new("sox")
            .arg(&said)
            .args(["-r", rate, "-c", channels])
            .arg(&path)
            .args(["vol", gain, "pad", "0.5", "1"])
            .stderr(std::process::Stdio::null())
            .status()
            .expect("sox is missing: run `cargo xtask setup`");
        assert!(status.success());
        let found = utterances(&file::read(&path).unwrap().samples);
        assert_eq!(found.len(), 1, "{rate} Hz");
        assert_eq!(
            gain == "30",
            found[0].clipped > 0.1,
            "{rate} Hz: {}",
            found[0].clipped
        );
    }
}
