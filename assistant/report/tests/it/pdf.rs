//! The PDF, read by poppler's tools, and its QR code by `rqrr`.

use crate::harness::{Bay, HOSTILE, Way, png};
use report::{Paper, Shop, TimeZone};
use std::path::PathBuf;
use std::process::Command;
use steps::{Mode, Moment};

/// A PDF in a folder of its own.
pub struct Printed {
    folder: tempfile::TempDir,
}

const BOOLEAN_SUSPECTS: &str = "Suspects object is wrong type (boolean)";

impl Printed {
    pub fn new(pdf: &[u8]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("report.pdf"), pdf).unwrap();
        Self { folder }
    }

    fn path(&self) -> PathBuf {
        self.folder.path().join("report.pdf")
    }

    /// What a tool of poppler's says about it, and it has nothing to complain of.
    pub fn asked(&self, tool: &str, before: &[&str], after: &[&str]) -> String {
        let output = Command::new(tool)
            .args(before)
            .arg(self.path())
            .args(after)
            .output();
        let output =
            output.unwrap_or_else(|error| panic!("{tool}: {error}; run `cargo xtask setup`"));
        let told = String::from_utf8_lossy(&output.stderr);
        // `Suspects` is a boolean by table 321 of ISO 32000-1; poppler up to 22.12 complains of each.
        let complaints = told.lines().filter(|it| !it.contains(BOOLEAN_SUSPECTS));
        let complaints = complaints.collect::<Vec<_>>().join("\n");
        assert!(
            output.status.success() && complaints.is_empty(),
            "{tool}: {complaints}"
        );
        String::from_utf8(output.stdout).unwrap()
    }

    pub fn pages(&self) -> Vec<String> {
        let text = self.asked("pdftotext", &["-layout"], &["-"]);
        let mut pages: Vec<String> = text.split('\u{c}').map(str::to_owned).collect();
        assert_eq!(pages.pop().as_deref(), Some(""));
        pages
    }

    pub fn fact(&self, name: &str) -> String {
        let facts = self.asked("pdfinfo", &[], &[]);
        let line = facts
            .lines()
            .find_map(|line| line.strip_prefix(&format!("{name}:")));
        line.unwrap_or_else(|| panic!("{name} in {facts}"))
            .trim()
            .to_owned()
    }

    /// Corners of each word's box, in points.
    pub fn boxes(&self) -> Vec<[f32; 4]> {
        self.boxes_between(&["-bbox"])
    }

    /// The same for one page.
    pub fn boxes_of_page(&self, page: usize) -> Vec<[f32; 4]> {
        let page = page.to_string();
        self.boxes_between(&["-bbox", "-f", &page, "-l", &page])
    }

    fn boxes_between(&self, options: &[&str]) -> Vec<[f32; 4]> {
        let xml = self.asked("pdftotext", options, &["-"]);
        let words = xml.lines().filter(|line| line.contains("<word "));
        words
            .map(|line| {
                ["xMin", "yMin", "xMax", "yMax"].map(|name| {
                    let after = line.split_once(&format!("{name}=\"")).unwrap().1;
                    after.split_once('"').unwrap().0.parse().unwrap()
                })
            })
            .collect()
    }
}

pub fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn each_page_tells_its_number_and_whose_it_is() {
    let bay = Bay::new();
    let long = "the grease has been thrown over the whole inside of the rim ".repeat(120);
    let id = bay.work(Mode::Work, Way::Deferred, &[&long, HOSTILE]);
    for (paper, size) in [
        (Paper::A4, "595.276 x 841.89 pts (A4)"),
        (Paper::Letter, "612 x 792 pts (letter)"),
    ] {
        let printed = Printed::new(
            &bay.report(&id)
                .pdf(&Shop::default(), &[], paper, &TimeZone::UTC)
                .unwrap(),
        );
        assert_eq!(printed.fact("Page size"), size);
        let pages = printed.pages();
        assert!(pages.len() > 2, "a note of pages goes on over pages");
        assert_eq!(printed.fact("Pages"), pages.len().to_string());
        for (number, page) in pages.iter().enumerate() {
            assert!(
                page.contains(&format!("page {} of {}", number + 1, pages.len())),
                "{page}"
            );
            assert!(page.contains(&format!("Job {id}")), "{page}");
            assert!(!page.contains("REHEARSAL"));
        }
        let whole = one_line(&pages.concat());
        assert_eq!(
            whole.matches("thrown").count(),
            120,
            "no word of a long note is lost"
        );
    }
}

#[test]
fn nothing_runs_over_the_edge() {
    let bay = Bay::new();
    let unbroken = "0123456789abcdef".repeat(40);
    let id = bay.work(
        Mode::Rehearsal,
        Way::GivenUp,
        &[
            &unbroken,
            HOSTILE,
            "long words: Donaudampfschifffahrtsgesellschaft",
        ],
    );
    for paper in [Paper::A4, Paper::Letter] {
        let printed = Printed::new(
            &bay.report(&id)
                .pdf(&Shop::default(), &[], paper, &TimeZone::UTC)
                .unwrap(),
        );
        let (width, height) = paper.points();
        let boxes = printed.boxes();
        assert!(boxes.len() > 200);
        for [left, top, right, bottom] in boxes {
            // Margins of 48 points left and right; the foot stands 34 points above the edge.
            let within =
                left >= 47.0 && right <= width - 47.0 && top >= 20.0 && bottom <= height - 28.0;
            assert!(within, "{left} {top} {right} {bottom}");
        }
    }
}

#[test]
fn a_rehearsal_is_marked_on_each_page() {
    let bay = Bay::new();
    let long = "once more ".repeat(600);
    for way in [Way::Finished, Way::GivenUp] {
        let id = bay.work(Mode::Rehearsal, way, &[&long]);
        let printed = Printed::new(
            &bay.report(&id)
                .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
                .unwrap(),
        );
        let pages = printed.pages();
        assert!(pages.len() > 2);
        for page in pages {
            assert!(page.contains("REHEARSAL: NO PROOF OF WORK"), "{page}");
        }
    }
}

#[test]
fn it_says_what_html_says_and_what_was_said_stays_text() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Deferred, &[HOSTILE]);
    let printed = Printed::new(
        &bay.report(&id)
            .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
            .unwrap(),
    );
    let text = one_line(&printed.asked("pdftotext", &["-raw"], &["-"]));
    // Lines may break within a word that is wider than its column.
    let text = text.replace(' ', "");
    for words in [
        HOSTILE,
        "Trailer wheel & <b>brake</b>",
        "1.4 mm",
        "at least 1.6 mm",
        "OUT OF LIMITS",
        "110 N·m",
        "“trailer rests on two stands and stays put”",
        "Recommended work",
        "None in the store",
        "Do what was left for later: dust cap off.",
    ] {
        let words = words.replace([' ', '\u{202e}'], "");
        assert!(text.contains(&words), "{words}\n{text}");
    }
    assert_eq!(printed.fact("JavaScript"), "no");
    assert_eq!(printed.fact("Encrypted"), "no");
}

#[test]
fn a_table_s_head_stays_with_its_first_two_rows() {
    let bay = Bay::new();
    let mut places = std::collections::BTreeSet::new();
    for lines in (0..50).step_by(3) {
        let long = "the grease has been thrown over the whole inside of the rim and it sticks "
            .repeat(lines);
        let id = bay.work(Mode::Work, Way::Finished, &[&long, "the second note"]);
        let report = bay.report(&id);
        let printed = Printed::new(
            &report
                .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
                .unwrap(),
        );
        let pages = printed.pages();
        let head = pages.iter().position(|it| it.contains("Notes (heard"));
        let second = pages.iter().position(|it| it.contains("second note"));
        assert_eq!(head, second, "after {lines} lines");
        places.insert(head);
    }
    assert!(places.len() > 1, "it comes to a page's end");
}

#[test]
fn all_fonts_are_inside() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Finished, &[]);
    let printed = Printed::new(
        &bay.report(&id)
            .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
            .unwrap(),
    );
    let fonts = printed.asked("pdffonts", &[], &[]);
    let lines: Vec<&str> = fonts.lines().skip(2).collect();
    assert_eq!(lines.len(), 2, "{fonts}");
    for line in lines {
        // Columns: name, type, encoding, embedded, subset, to Unicode, object.
        let words: Vec<&str> = line.split_whitespace().rev().take(5).collect();
        assert_eq!(words[2..], ["yes", "yes", "yes"], "{line}");
    }
}

#[test]
fn the_qr_code_is_the_hash_of_the_record() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Finished, &[]);
    let report = bay.report(&id);
    let printed = Printed::new(
        &report
            .pdf(&Shop::default(), &[], Paper::Letter, &TimeZone::UTC)
            .unwrap(),
    );
    let last = printed.fact("Pages");
    let out = printed.folder.path().join("page");
    printed.asked(
        "pdftoppm",
        &[
            "-gray",
            "-r",
            "200",
            "-f",
            &last,
            "-l",
            &last,
            "-singlefile",
        ],
        &[out.to_str().unwrap()],
    );
    let (width, height, grey) = pgm(&std::fs::read(out.with_extension("pgm")).unwrap());
    let mut image =
        rqrr::PreparedImage::prepare_from_greyscale(width, height, |x, y| grey[y * width + x]);
    let codes: Vec<String> = image
        .detect_grids()
        .iter()
        .map(|grid| grid.decode().unwrap().1)
        .collect();
    let verified = bay.archive.verify(&id, None).unwrap();
    assert!(verified.is_whole());
    assert_eq!(codes, [verified.head]);
}

/// A grey picture as netpbm's "pgm" has it, 8 bits, without comments.
fn pgm(bytes: &[u8]) -> (usize, usize, Vec<u8>) {
    let mut rest = bytes;
    let mut word = || {
        let end = rest.iter().position(u8::is_ascii_whitespace).unwrap();
        let word = std::str::from_utf8(&rest[..end]).unwrap().to_owned();
        rest = &rest[end + 1..];
        word
    };
    assert_eq!(word(), "P5");
    let (width, height) = (word().parse().unwrap(), word().parse().unwrap());
    assert_eq!(word(), "255");
    (width, height, rest.to_vec())
}

#[test]
fn photos_are_inside_scaled_down() {
    let bay = Bay::new();
    let id = bay.work(Mode::Work, Way::Finished, &["look at this"]);
    bay.archive
        .attach(&id, Some(1), "boot.png", &png(), Moment(1_772_450_000_000))
        .unwrap();
    let report = bay.report(&id);
    let printed = Printed::new(
        &report
            .pdf(
                &Shop::default(),
                &bay.pictures(&id),
                Paper::A4,
                &TimeZone::UTC,
            )
            .unwrap(),
    );
    let images = printed.asked("pdfimages", &["-list"], &[]);
    assert_eq!(images.lines().count(), 3, "{images}");
    assert!(images.contains("jpeg"), "{images}");
    let text = printed.pages().concat();
    assert!(
        text.contains("(photo 1)") && text.contains("boot.png"),
        "{text}"
    );

    // One that is gone is named all the same.
    let printed = Printed::new(
        &report
            .pdf(&Shop::default(), &[], Paper::A4, &TimeZone::UTC)
            .unwrap(),
    );
    assert!(one_line(&printed.pages().concat()).contains("It is not kept any more"));
}
