//! The report of a job is written, and photos are attached to it.

use super::harness::{Bay, text, typed_to_the_end};

/// A bay with one rehearsed job, and its name.
fn rehearsed(bay: &Bay, lines: usize) -> String {
    let typed = typed_to_the_end("trailer-hub");
    let notes = ["take a note".to_owned(), "the boot <b>is split".to_owned()];
    // The note is taken where the first step is told.
    let lines: Vec<String> = typed.into_iter().take(lines).chain(notes).collect();
    bay.rehearse("trailer-hub", &lines).exits(3);
    bay.jobs().remove(0)
}

#[test]
fn a_report_is_written_in_each_form_and_not_over_another_file() {
    let bay = Bay::new();
    let id = rehearsed(&bay, 12);
    let files = ["a.html", "a.pdf", "a.csv", "a.json"].map(|name| bay.path(name));
    let [html, pdf, csv, json] = &files;
    let words = [
        "report",
        &id,
        "--html",
        text(html),
        "--pdf",
        text(pdf),
        "--csv",
        text(csv),
        "--json",
        text(json),
        "--paper",
        "letter",
    ];
    let ran = bay.sayback(&words).exits(0);
    for file in &files {
        assert!(ran.out.contains(text(file)), "{}", ran.out);
    }
    let page = std::fs::read_to_string(html).unwrap();
    assert!(page.contains("REHEARSAL: NO PROOF OF WORK"));
    assert!(page.contains("The boot &lt;b&gt;is split"));
    assert!(page.contains("size: letter"));
    assert!(std::fs::read(pdf).unwrap().starts_with(b"%PDF-"));
    assert!(
        std::fs::read_to_string(csv)
            .unwrap()
            .starts_with("job,rehearsal,time_utc,kind,")
    );
    let told: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(json).unwrap()).unwrap();
    assert_eq!(told["job"], id.as_str());
    // Replayed with the procedure that comes with the program.
    assert!(
        told["proof"]["verified"]
            .as_str()
            .unwrap()
            .contains("led to the same"),
        "{told}"
    );

    bay.sayback(&words)
        .exits(1)
        .tells("is there already")
        .tells("--overwrite");
    bay.sayback(&[&words[..], &["--overwrite"]].concat())
        .exits(0);
    // Without a file the JSON is printed.
    assert_eq!(bay.sayback(&["report", &id]).exits(0).json(), told);
}

#[test]
fn what_cannot_be_written_or_is_not_there_is_said() {
    let bay = Bay::new();
    let id = rehearsed(&bay, 12);
    let nowhere = bay.path("nowhere/a.pdf");
    bay.sayback(&["report", &id, "--pdf", text(&nowhere)])
        .exits(1)
        .tells("a.pdf")
        .tells("can't be written");
    let missing = bay.path("a.html");
    bay.sayback(&["report", "2020-01-01-nothing", "--html", text(&missing)])
        .exits(1)
        .tells("no job");
    assert!(!missing.exists());
}

#[test]
fn a_photo_is_attached_by_its_path_or_refused_with_the_reason() {
    let bay = Bay::new();
    let id = rehearsed(&bay, 12);
    let fake = bay.file("boot.jpg", "no picture");
    bay.sayback(&["attach", &id, text(&fake), "--note", "1"])
        .exits(1)
        .tells("neither a JPEG nor a PNG");
    bay.sayback(&["attach", &id, text(&bay.path("gone.jpg"))])
        .exits(1)
        .tells("gone.jpg");
    // The smallest picture that PNG (Third Edition) allows: grey, one pixel.
    let png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x01\0\0\0\x01\x08\0\0\0\0\x3a\x7e\x9b\x55\0\0\0\x0aIDAT\x78\xda\x63\x60\0\0\0\x02\0\x01\xe5\x27\xde\xfc\0\0\0\0IEND\xae\x42\x60\x82";
    let photo = bay.file("boot.png", png);
    bay.sayback(&["attach", &id, text(&photo), "--note", "7"])
        .exits(1)
        .tells("has no note 7");
    bay.sayback(&["attach", &id, text(&photo), "--note", "1"])
        .exits(0)
        .prints("Attached to note 1");
    bay.sayback(&["record", &id, "--verify"]).exits(0);
    let told = bay.sayback(&["report", &id]).exits(0).json();
    assert_eq!(told["photos"][0]["note"], 1);
    assert_eq!(told["photos"][0]["given"], "boot.png");
}
