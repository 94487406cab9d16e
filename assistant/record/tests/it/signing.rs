//! A bay signs its records, and who can say so.

use crate::evidence::photo;
use crate::harness::*;
use record::{Archive, BayKey, Fault, Found, JournaledJob, Keyring, RecordError, successions};
use std::fs;
use std::path::Path;
use steps::{Input, Mode, Moment, Settings};

fn signing(records: &Path, keys: &Path) -> Archive {
    let (key, _) = BayKey::open(keys, "one").unwrap();
    Archive::open(records).unwrap().signed_by(key)
}

#[test]
fn a_closed_job_is_signed_to_its_end() {
    let folder = tempfile::tempdir().unwrap();
    let (records, keys) = (folder.path().join("records"), folder.path().join("key"));
    let archive = signing(&records, &keys);
    let id = work(&archive, Mode::Work).unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert!(verified.is_whole(), "{verified}");
    let [signed] = verified.signatures.as_slice() else {
        panic!("{:?}", verified.signatures);
    };
    assert_eq!(
        (signed.bay.as_str(), signed.entries),
        ("one", verified.entries - 1)
    );
    let ring = Keyring::of_bay(&keys).unwrap();
    assert_eq!(ring.whose(&signed.key), Some("this bay’s"));
    assert!(
        verified
            .to_string()
            .contains("Bay “one” signed the first 30")
    );
    // What is added later is signed, too.
    let photo = photo();
    archive
        .attach(&id, None, "hub.png", &photo, at(9000))
        .unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert_eq!(verified.signatures[0].entries, verified.entries - 1);
    // Without a key it is whole, and unsigned.
    let unsigned = Archive::open(&records).unwrap();
    let id = work(&unsigned, Mode::Work).unwrap();
    let verified = unsigned.verify(&id, None).unwrap();
    assert!(verified.is_whole() && verified.signatures.is_empty());
    assert!(verified.to_string().contains("It is unsigned."));
}

#[test]
fn an_open_job_is_signed_each_hour_also_by_a_clock_that_was_set_back() {
    let folder = tempfile::tempdir().unwrap();
    let archive = signing(&folder.path().join("records"), &folder.path().join("key"));
    let (mut worked, _) =
        JournaledJob::begin(&archive, procedure(TEXT), Settings::default(), at(0)).unwrap();
    let id = worked.id().clone();
    let signed = || {
        let verified = archive.verify(&id, None).unwrap();
        assert!(verified.is_whole(), "{verified}");
        verified.signatures.last().map(|it| it.at)
    };
    let mut woke = |seconds: i64| {
        let now = Moment(NINE.saturating_add_signed(1000 * seconds));
        worked.take(Input::Woke, now).unwrap();
        now
    };
    woke(3599);
    assert_eq!(signed(), None);
    let first = woke(3600);
    assert_eq!(signed(), Some(first));
    woke(5000);
    assert_eq!(signed(), Some(first));
    // Two hours back: by that clock the next hour begins at once.
    let back = woke(-4000);
    assert_eq!(signed(), Some(back));
    let next = woke(-400);
    assert_eq!(signed(), Some(next));
}

#[test]
fn a_signature_taken_off_the_end_shows_where_an_earlier_one_stands() {
    let folder = tempfile::tempdir().unwrap();
    let (records, keys) = (folder.path().join("records"), folder.path().join("key"));
    let archive = signing(&records, &keys);
    let (mut worked, _) =
        JournaledJob::begin(&archive, procedure(TEXT), Settings::default(), at(0)).unwrap();
    let id = worked.id().clone();
    worked.take(Input::Woke, at(3600)).unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert!(!verified.end_unsigned, "it is open: {verified}");
    for (number, input) in whole_job().into_iter().enumerate() {
        worked.take(input, at(3610 + 10 * number as u64)).unwrap();
    }
    drop(worked);
    let verified = archive.verify(&id, None).unwrap();
    assert!(verified.is_whole() && !verified.end_unsigned, "{verified}");
    forger(&records)
        .execute_batch(
            "DELETE FROM entries WHERE kind = 'signed' AND seq = (SELECT max(seq) FROM entries);
             UPDATE ends SET (seq, hash) = (SELECT seq, hash FROM entries ORDER BY seq DESC LIMIT 1);",
        )
        .unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert!(verified.is_whole() && verified.end_unsigned, "{verified}");
    assert!(verified.to_string().contains("Its end isn't signed"));
    let report = archive.report(&id).unwrap();
    assert!(report.verified.contains("Its end isn't signed"));
}

#[test]
fn a_forger_without_the_key_can_sign_only_as_somebody_else() {
    let folder = tempfile::tempdir().unwrap();
    let (records, keys) = (folder.path().join("records"), folder.path().join("key"));
    let archive = signing(&records, &keys);
    let id = work(&archive, Mode::Work).unwrap();
    // All hashes made to fit, and the old signature kept.
    let forger = forger(&records);
    let rehash = |forger: &rusqlite::Connection| {
        use record::journal::Journal;
        let (rows, _) = record::sqlite::Records::open(&records)
            .unwrap()
            .rows(&id)
            .unwrap();
        let mut previous = String::new();
        for mut row in rows {
            row.event = row.event.replace("one point four", "one point eight");
            row.previous = previous;
            row.hash = row.hashed();
            previous = row.hash.clone();
            forger
                .execute(
                    "UPDATE entries SET event = ?2, previous = ?3, hash = ?4 WHERE seq = ?1",
                    rusqlite::params![row.seq as i64, row.event, row.previous, row.hash],
                )
                .unwrap();
        }
        forger
            .execute("UPDATE ends SET hash = ?1", [previous])
            .unwrap();
    };
    rehash(&forger);
    let verified = archive.verify(&id, None).unwrap();
    assert_eq!(verified.fault, Some((30, Fault::Signature)));
    // The signature taken off: what was heard can't be replayed, so it is whole, but unsigned.
    forger
        .execute_batch(
            "DELETE FROM entries WHERE seq = 30;
             UPDATE ends SET seq = 29, hash = (SELECT hash FROM entries WHERE seq = 29);",
        )
        .unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert!(verified.signatures.is_empty(), "{verified}");
    // And a key of the forger's own is not the bay's.
    let (theirs, _) = BayKey::open(&folder.path().join("theirs"), "one").unwrap();
    let ring = Keyring::of_bay(&keys).unwrap();
    assert_eq!(ring.whose(&theirs.public()), None);
}

#[test]
fn a_replaced_key_is_believed_by_whoever_knows_the_old_one_and_a_lost_one_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let keys = folder.path().join("key");
    let (first, found) = BayKey::open(&keys, "one").unwrap();
    assert_eq!(found, Found::New);
    let old = first.public();
    let known = folder.path().join("known.pub");
    fs::write(&known, first.public_pem().unwrap()).unwrap();
    let second = first.replace(at(100)).unwrap();
    let third = second.replace(at(200)).unwrap();
    let new = third.public();
    assert_ne!(old, new);
    let (again, found) = BayKey::open(&keys, "one").unwrap();
    assert_eq!((again.public(), found), (new.clone(), Found::Known));

    let mut ring = Keyring::default();
    ring.add(&known, "bay one’s").unwrap();
    let mut all = successions(&keys).unwrap();
    assert_eq!(all.len(), 2);
    assert!(all.iter().all(record::Succession::holds));
    all.reverse();
    assert_eq!(ring.whose(&new), None);
    let mut stranger = ring.clone();
    ring.follow(&all);
    assert_eq!(ring.whose(&new), Some("bay one’s"));
    // One that was altered leads nowhere.
    for spoil in [0, 1] {
        let mut spoilt = all.clone();
        spoilt[spoil].at = Moment(0);
        let mut ring = stranger.clone();
        ring.follow(&spoilt);
        assert_eq!(ring.whose(&new), None);
    }

    fs::remove_file(keys.join("bay.key")).unwrap();
    let (lost, found) = BayKey::open(&keys, "one").unwrap();
    assert_eq!(found, Found::Lost);
    stranger.follow(&successions(&keys).unwrap());
    assert_eq!(stranger.whose(&lost.public()), None);
    // Here the former ones are still known as this bay's.
    let own = Keyring::of_bay(&keys).unwrap();
    assert!(
        [&old, &new, &lost.public()]
            .iter()
            .all(|it| own.whose(it).is_some())
    );
}

#[cfg(unix)]
#[test]
fn only_its_owner_reads_the_key_and_names_are_names() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let keys = folder.path().join("key");
    let (key, _) = BayKey::open(&keys, "one").unwrap();
    assert!(!format!("{key:?}").contains("PRIVATE"));
    let path = keys.join("bay.key");
    let mode = |path: &Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!((mode(&keys), mode(&path)), (0o700, 0o600));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o640)).unwrap();
    let error = BayKey::open(&keys, "one").unwrap_err();
    assert!(error.to_string().contains("chmod 600"), "{error}");
    fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
    fs::write(&path, "no key").unwrap();
    let error = BayKey::open(&keys, "one").unwrap_err();
    assert!(matches!(error, RecordError::Key { .. }), "{error}");
    for name in ["", " ", "one\nhead 0", "bay\u{1b}[2J"] {
        assert!(BayKey::open(&keys, name).is_err(), "{name:?}");
    }
}
