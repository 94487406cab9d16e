//! An exported job is verified by a stranger.

use crate::evidence::work_with_evidence;
use crate::harness::*;
use record::{Archive, BayKey, Exported, JobId, RecordError, Replay, successions};
use std::fs;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::Command;

/// A signed job with a sound and a photo, exported.
fn exported(folder: &Path) -> (Archive, JobId, String, PathBuf) {
    let keys = folder.join("key");
    let (key, _) = BayKey::open(&keys, "one").unwrap();
    let key = key.replace(at(0)).unwrap();
    let public = key.public();
    let archive = Archive::open(&folder.join("records"))
        .unwrap()
        .signed_by(key);
    let id = work_with_evidence(&archive);
    let path = folder.join("job.zip");
    let file = fs::File::create(&path).unwrap();
    archive
        .export(&id, &successions(&keys).unwrap(), file)
        .unwrap();
    (archive, id, public, path)
}

#[test]
fn it_verifies_on_its_own_and_tells_the_same() {
    let folder = tempfile::tempdir().unwrap();
    let (archive, id, public, path) = exported(folder.path());
    let (here, report) = (
        archive.verify(&id, None).unwrap(),
        archive.report(&id).unwrap(),
    );
    fs::remove_dir_all(folder.path().join("records")).unwrap();
    let exported = Exported::read(&path).unwrap();
    assert_eq!(exported.job(), &id);
    assert_eq!(exported.verify().unwrap(), here);
    assert_eq!(here.replay, Replay::Same);
    assert_eq!(here.signatures[0].key, public);
    assert_eq!(exported.report().unwrap(), report);
    assert_eq!(exported.successions.len(), 1);
}

/// The format as it is documented, read by another language and another library for each of its parts.
fn by_the_script(path: &Path, key: &str) -> (bool, String) {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("verify.py");
    let run = Command::new("python3")
        .arg(script)
        .arg(path)
        .arg(key)
        .output()
        .unwrap();
    let said = String::from_utf8(run.stdout).unwrap() + &String::from_utf8(run.stderr).unwrap();
    (run.status.success(), said)
}

/// The files in an archive, changed, and put together again, with a manifest that fits.
fn altered(path: &Path, to: &Path, how: impl FnOnce(&mut Vec<(String, Vec<u8>)>)) {
    let mut zip = zip::ZipArchive::new(fs::File::open(path).unwrap()).unwrap();
    let mut files = Vec::new();
    for place in 0..zip.len() {
        let mut file = zip.by_index(place).unwrap();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        files.push((file.name().to_owned(), bytes));
    }
    how(&mut files);
    let mut manifest: serde_json::Value = serde_json::from_slice(&files[0].1).unwrap();
    manifest["files"] = files[1..]
        .iter()
        .map(|(name, bytes)| {
            use sha2::Digest;
            (
                name.clone(),
                format!("{:x}", sha2::Sha256::digest(bytes)).into(),
            )
        })
        .collect::<serde_json::Map<_, _>>()
        .into();
    files[0].1 = manifest.to_string().into_bytes();
    let mut zip = zip::ZipWriter::new(fs::File::create(to).unwrap());
    for (name, bytes) in files {
        zip.start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        zip.write_all(&bytes).unwrap();
    }
    zip.finish().unwrap();
}

#[test]
fn a_script_that_knows_only_the_documented_format_agrees() {
    let folder = tempfile::tempdir().unwrap();
    let (_, id, public, path) = exported(folder.path());
    let (whole, said) = by_the_script(&path, &public);
    assert!(
        whole
            && said.contains(&format!(
                "{id} is whole: 33 entries, 32 of them signed by bay one"
            )),
        "{said}"
    );
    let (whole, said) = by_the_script(&path, &"0".repeat(64));
    assert!(whole && said.contains("unsigned"), "{said}");
    // Each of its files altered, with a manifest that fits: both find it.
    let spoilt = folder.path().join("spoilt.zip");
    for name in ["journal.jsonl", "procedures/", "sounds/", "photos/"] {
        altered(&path, &spoilt, |files| {
            let (_, bytes) = files
                .iter_mut()
                .find(|(it, _)| it.starts_with(name))
                .unwrap();
            let place = bytes.len() / 2;
            // Within a text: to another letter.
            bytes[place] = if bytes[place] == b'e' { b'a' } else { b'e' };
        });
        let (whole, said) = by_the_script(&spoilt, &public);
        assert!(!whole, "{name}: {said}");
        let verified = Exported::read(&spoilt).and_then(|it| it.verify());
        let noticed = verified
            .as_ref()
            .map_or(true, |it| !it.is_whole() || it.replay != Replay::Same);
        assert!(noticed, "{name}: {verified:?}");
    }
}

#[test]
fn what_is_no_exported_job_is_refused_with_its_reason() {
    let folder = tempfile::tempdir().unwrap();
    let (_, _, _, path) = exported(folder.path());
    let other = folder.path().join("other.zip");
    let refused = |what: &str| {
        let error = Exported::read(&other).unwrap_err();
        assert!(matches!(error, RecordError::Export { .. }), "{error}");
        assert!(error.to_string().contains(what), "{error}");
    };
    fs::write(&other, "bread, tea, wheel nuts").unwrap();
    refused("no ZIP archive");
    let bytes = fs::read(&path).unwrap();
    fs::write(&other, &bytes[..bytes.len() / 2]).unwrap();
    refused("no ZIP archive");
    altered(&path, &other, |files| {
        files.retain(|(name, _)| name != "journal.jsonl")
    });
    refused("journal.jsonl isn't in it");
    // The manifest as it was: whatever came in or changed on the way shows.
    let mut zip = zip::ZipWriter::new_append(
        fs::File::options()
            .read(true)
            .write(true)
            .open(&path)
            .unwrap(),
    )
    .unwrap();
    zip.start_file("sounds/more.wav", zip::write::SimpleFileOptions::default())
        .unwrap();
    zip.finish().unwrap();
    fs::copy(&path, &other).unwrap();
    refused("not in its manifest");
}
