//! Photos are taken into the record: what is kept of them, and what isn't.

use crate::harness::*;
use image::{DynamicImage, ImageFormat, Rgb, RgbImage};
use record::{Archive, RecordError, SoundState};
use std::io::Cursor;
use steps::Mode;

/// A picture that is dark on its left half and light on its right.
fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
    let picture = RgbImage::from_fn(width, height, |x, _| {
        if x < width / 2 {
            Rgb([20; 3])
        } else {
            Rgb([230; 3])
        }
    });
    let mut bytes = Cursor::new(Vec::new());
    DynamicImage::from(picture)
        .write_to(&mut bytes, format)
        .unwrap();
    bytes.into_inner()
}

/// A JPEG as a telephone makes it: turned by 90° (orientation 6), with a position and a maker's name in its
/// Exif. The form is CIPA DC-008's, "Exif", section 4.5 and 4.7.
fn from_a_telephone() -> Vec<u8> {
    let mut tiff = b"MM\0\x2a\0\0\0\x08".to_vec();
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| {
        [
            &tag.to_be_bytes()[..],
            &kind.to_be_bytes(),
            &count.to_be_bytes(),
            &value,
        ]
        .concat()
    };
    let first = [
        entry(0x010f, 2, 12, 62_u32.to_be_bytes()),
        entry(0x0112, 3, 1, [0, 6, 0, 0]),
        entry(0x8825, 4, 1, 74_u32.to_be_bytes()),
    ];
    // The position's table: N, and its place in the text after it.
    let position = [
        entry(1, 2, 2, *b"N\0\0\0"),
        entry(0x1d, 2, 11, 104_u32.to_be_bytes()),
    ];
    tiff.extend(3_u16.to_be_bytes());
    tiff.extend(first.concat());
    tiff.extend(0_u32.to_be_bytes());
    tiff.resize(62, 0);
    tiff.extend(b"MAKERSNAME!\0");
    tiff.extend(2_u16.to_be_bytes());
    tiff.extend(position.concat());
    tiff.extend(0_u32.to_be_bytes());
    tiff.extend(b"2026:03:02\0");
    let body = [b"Exif\0\0".as_slice(), &tiff].concat();
    let jpeg = picture(40, 20, ImageFormat::Jpeg);
    let segment = [
        &[0xff, 0xe1][..],
        &(body.len() as u16 + 2).to_be_bytes(),
        &body,
    ]
    .concat();
    [&jpeg[..2], &segment, &jpeg[2..]].concat()
}

fn holds(bytes: &[u8], what: &[u8]) -> bool {
    bytes.windows(what.len()).any(|it| it == what)
}

#[test]
fn where_and_with_what_a_photo_was_taken_is_not_kept_and_it_stands_upright() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    let given = from_a_telephone();
    assert!(holds(&given, b"Exif") && holds(&given, b"MAKERSNAME"));
    let photo = archive
        .attach(&id, Some(1), "IMG 1.jpg", &given, at(500))
        .unwrap();
    assert_eq!((photo.width, photo.height), (20, 40));

    let kept = std::fs::read(folder.path().join(&photo.path)).unwrap();
    for what in [&b"Exif"[..], b"MAKERSNAME", b"2026:03:02", b"http"] {
        assert!(!holds(&kept, what));
    }
    // Turned by 90° clockwise, what was left is on top.
    let upright = image::load_from_memory(&kept).unwrap().to_luma8();
    assert!(upright.get_pixel(10, 5).0[0] < 60 && upright.get_pixel(10, 35).0[0] > 190);

    let report = archive.report(&id).unwrap();
    assert_eq!(report.photos[0].photo, photo);
    let note = report
        .lines
        .iter()
        .find(|line| matches!(line.entry, steps::Entry::Noted { .. }));
    assert_eq!(report.photos[0].note, note.map(|line| line.seq));
}

#[test]
fn a_photo_joins_the_chain_also_after_the_closing_and_a_change_in_it_shows() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    let before = archive.verify(&id, Some(procedure(TEXT))).unwrap();
    let closed = archive.report(&id).unwrap();
    let png = picture(3000, 1000, ImageFormat::Png);
    let photo = archive
        .attach(&id, None, "wide.png", &png, at(500))
        .unwrap();
    assert_eq!((photo.width, photo.height), (1600, 533));

    let after = archive.verify(&id, Some(procedure(TEXT))).unwrap();
    assert!(after.is_whole() && after.fault.is_none());
    assert_eq!(after.entries, before.entries + 1);
    assert_ne!(after.head, before.head);
    // The job's own end stays where it was.
    assert_eq!(archive.report(&id).unwrap().last, closed.last);
    assert_eq!(
        archive.jobs().unwrap()[0].outcome,
        Some(steps::Outcome::Finished)
    );
    assert!(matches!(
        archive.resume(&id, procedure(TEXT), record::IfChanged::Refuse, at(600)),
        Err(RecordError::Closed { .. })
    ));
    let (_, width, height) = archive.shown(&photo, 900).unwrap();
    assert_eq!((width, height), (900, 300));

    let file = folder.path().join(&photo.path);
    let mut bytes = std::fs::read(&file).unwrap();
    bytes[300] ^= 1;
    std::fs::write(&file, bytes).unwrap();
    let verified = archive.verify(&id, None).unwrap();
    assert!(!verified.is_whole());
    assert_eq!(verified.sounds, [(photo.path.clone(), SoundState::Changed)]);
    assert!(verified.to_string().contains("The photo"), "{verified}");
    assert_eq!(archive.shown(&photo, 900), None);
}

#[test]
fn a_job_that_was_put_down_takes_photos_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    let id = worked.id().clone();
    for (number, input) in whole_job().into_iter().take(8).enumerate() {
        worked.take(input, at(number as u64)).unwrap();
    }
    let png = picture(8, 8, ImageFormat::Png);
    // Whoever works the job has it alone.
    let busy = archive
        .attach(&id, None, "a.png", &png, at(20))
        .unwrap_err();
    assert!(matches!(busy, RecordError::InUse { .. }));
    let none = archive.keep_photo(&id, 2, "a.png", &png).unwrap_err();
    assert!(matches!(none, RecordError::NoSuchNote { .. }));
    let kept = archive.keep_photo(&id, 1, "a.png", &png).unwrap();
    let mut other = begin(&archive, Mode::Work);
    let strange = other.attach(kept.clone(), at(20)).unwrap_err();
    assert!(matches!(strange, RecordError::NoSuchJob { .. }));
    worked.attach(kept, at(20)).unwrap();
    drop(worked);
    archive.attach(&id, None, "b.png", &png, at(21)).unwrap();
    let again = record::JournaledJob::resume(
        &archive,
        &id,
        procedure(TEXT),
        record::IfChanged::Refuse,
        at(60),
    )
    .unwrap();
    let mut worked = again.worked;
    worked
        .take(said(steps::Command::WhereAmI, "where am i"), at(61))
        .unwrap();
    drop(worked);
    assert!(
        archive
            .verify(&id, Some(procedure(TEXT)))
            .unwrap()
            .is_whole()
    );
    assert_eq!(archive.report(&id).unwrap().photos.len(), 2);
}

#[test]
fn what_is_no_photo_is_refused_and_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, Mode::Work).unwrap();
    let before = archive.verify(&id, None).unwrap();
    let whole = picture(64, 64, ImageFormat::Jpeg);
    let huge = vec![0xff; usize::try_from(record::MAX_PHOTO_BYTES).unwrap() + 1];
    let cases: [(&str, &[u8]); 6] = [
        ("empty.jpg", b""),
        ("text.jpg", b"this is no picture"),
        ("moving.gif", b"GIF89a\x01\0\x01\0\0\0\0;"),
        ("drawing.svg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"),
        ("cut.jpg", &whole[..40]),
        ("huge.jpg", &huge),
    ];
    for (name, bytes) in cases {
        let error = archive.attach(&id, None, name, bytes, at(500)).unwrap_err();
        assert!(
            matches!(error, RecordError::Photo { .. }),
            "{name}: {error}"
        );
        assert!(error.to_string().contains(name), "{error}");
    }
    let error = archive
        .attach(&id, Some(2), "a.jpg", &whole, at(500))
        .unwrap_err();
    assert!(
        matches!(
            error,
            RecordError::NoSuchNote {
                note: 2,
                notes: 1,
                ..
            }
        ),
        "{error}"
    );
    assert!(!folder.path().join("photos").exists());
    assert_eq!(archive.verify(&id, None).unwrap(), before);
}
