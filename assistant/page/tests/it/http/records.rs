//! Records, reports, procedures, photos.

use super::harness::{Bay, Records, wash};
use image::{ImageFormat, RgbImage};
use std::io::Cursor;

fn picture(format: ImageFormat) -> Vec<u8> {
    let picture = RgbImage::from_fn(40, 30, |x, y| image::Rgb([x as u8 * 6, y as u8 * 8, 90]));
    let mut bytes = Vec::new();
    picture
        .write_to(&mut Cursor::new(&mut bytes), format)
        .unwrap();
    bytes
}

/// A JPEG with an Exif segment that holds a position (Exif 2.32, tags of the GPS IFD).
fn picture_with_position() -> Vec<u8> {
    let jpeg = picture(ImageFormat::Jpeg);
    let exif = [
        &b"Exif\0\0"[..],
        b"MM\0*\0\0\0\x08",
        b"\0\x01\x88\x25\0\x04\0\0\0\x01\0\0\0\x1a\0\0\0\0",
        b"\0\x01\0\x01\0\x02\0\0\0\x02N\0\0\0\0\0\0\0",
        b"SALTMARSH-POSITION",
    ]
    .concat();
    let length = u16::try_from(exif.len() + 2).unwrap().to_be_bytes();
    [&jpeg[..2], &[0xff, 0xe1], &length, &exif, &jpeg[2..]].concat()
}

#[test]
fn jobs_of_the_same_millisecond_are_all_listed_page_by_page() {
    let records = Records::new();
    let at = steps::Moment(1_772_409_600_000);
    for _ in 0..4 {
        record::JournaledJob::begin(&records.archive, wash(), steps::Settings::default(), at)
            .unwrap();
    }
    let bay = records.bay();
    let names = |jobs: serde_json::Value| -> Vec<String> {
        let jobs = jobs.as_array().unwrap().iter();
        jobs.map(|job| job["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let all = names(bay.get("/api/jobs").json());
    assert_eq!(all.len(), 5);
    let mut seen = names(bay.get("/api/jobs?limit=2").json());
    while let Some(last) = seen.last().cloned() {
        let more = names(bay.get(&format!("/api/jobs?limit=2&after={last}")).json());
        if more.is_empty() {
            break;
        }
        seen.extend(more);
    }
    assert_eq!(seen, all);
    assert_eq!(names(bay.get("/api/jobs?after=nobody").json()), [""; 0]);
}

#[test]
fn jobs_are_listed_the_newest_first_and_page_by_page() {
    let records = Records::new();
    let bay = records.bay();
    let all = bay.get("/api/jobs").json();
    assert_eq!(all.as_array().unwrap().len(), 1);
    assert_eq!(all[0]["name"], records.job.as_str());
    assert_eq!(all[0]["rehearsal"], false);
    assert!(all[0]["outcome"].is_null());
    let started = all[0]["started_ms"].as_u64().unwrap();
    assert_eq!(
        bay.get(&format!("/api/jobs?before={started}")).json(),
        serde_json::json!([])
    );
    assert_eq!(
        bay.get(&format!("/api/jobs?limit=1&before={}", started + 1))
            .json(),
        all
    );
    for wrong in [
        "limit=0",
        "limit=501",
        "limit=-1",
        "limit=x",
        "before=-1",
        "before=1.5",
        "limit=1&limit=2",
    ] {
        let answer = bay.get(&format!("/api/jobs?{wrong}"));
        assert_eq!(answer.status, 400, "{wrong}: {}", answer.text());
        assert_eq!(
            answer.header("content-type"),
            Some("application/problem+json")
        );
    }
}

#[test]
fn of_damaged_records_what_can_be_read_is_shown_and_what_is_lost_is_named() {
    let whole = Records::new();
    let job = whole.job.clone();
    assert_eq!(whole.bay().get("/api/lost").json(), serde_json::json!([]));
    let Records {
        folder, archive, ..
    } = whole;
    drop(archive);
    let file = folder.path().join(record::sqlite::FILE);
    let bytes = std::fs::read(&file).unwrap();
    // Its last page holds an index and no entry.
    std::fs::write(&file, &bytes[..bytes.len() - 4096]).unwrap();
    let archive = record::Archive::open_damaged(folder.path()).unwrap();
    let bay = Bay::with(|room| room.with_records(archive));
    let lost = bay.get("/api/lost").json();
    assert!(lost[0].as_str().unwrap().contains("4096 of its"), "{lost}");
    assert_eq!(bay.get("/api/jobs").json()[0]["name"], job.as_str());
    assert_eq!(bay.get(&format!("/api/jobs/{job}")).status, 200);
}

#[test]
fn a_record_is_read_entry_by_entry() {
    let records = Records::new();
    let record = records
        .bay()
        .get(&format!("/api/jobs/{}", records.job))
        .json();
    assert_eq!(record["vehicle"], "van of the Saltmarsh ferry depot");
    assert_eq!(record["whole"], true);
    let entries = record["entries"].as_array().unwrap();
    let kinds: Vec<&str> = entries
        .iter()
        .map(|it| it["kind"].as_str().unwrap())
        .collect();
    assert_eq!(kinds, ["opened", "noted", "done"]);
    assert_eq!(entries[1]["note"], 1);
    assert!(
        entries[1]["text"]
            .as_str()
            .unwrap()
            .contains("the <b>hose</b> drips")
    );
}

#[test]
fn a_record_grows_while_it_is_read() {
    let records = Records::new();
    let bay = records.bay();
    let path = format!("/api/jobs/{}", records.job);
    let before = bay.get(&path).json()["entries"].as_array().unwrap().len();
    let _worked = records.worked();
    let after = bay.get(&path).json()["entries"].as_array().unwrap().len();
    assert!(after > before, "taking it up is an entry");
}

#[test]
fn the_report_is_had_in_each_form() {
    let records = Records::new();
    let bay = records.bay();
    let get = |end: &str| bay.get(&format!("/api/jobs/{}/report{end}", records.job));
    let html = get("");
    assert_eq!(
        html.header("content-type"),
        Some("text/html; charset=utf-8")
    );
    assert!(
        html.text().contains("Washing the &lt;van&gt;"),
        "{}",
        html.text()
    );
    assert!(!html.text().contains("<b>hose") && !html.text().contains("<script"));
    assert!(get(".pdf").body.starts_with(b"%PDF-"));
    assert!(get(".csv").text().contains("hose"));
    assert_eq!(get(".json").json()["job"], records.job.as_str());
    for end in ["", ".pdf", ".csv", ".json"] {
        let unknown = bay.get(&format!("/api/jobs/2026-01-01-nothing/report{end}"));
        assert_eq!((unknown.status, end), (404, end));
    }
}

#[test]
fn procedures_are_read_with_their_drawing() {
    let records = Records::new();
    let bay = records.bay();
    let all = bay.get("/api/procedures").json();
    assert_eq!(all[0]["id"], "wash-van");
    let one = bay.get("/api/procedures/wash-van").json();
    assert_eq!(one["steps"][1]["kind"], "tighten");
    assert_eq!(one["steps"][1]["text"], "Tighten the lid bolts to 20 N·m.");
    assert!(
        one["cautions"][0]
            .as_str()
            .unwrap()
            .contains("service information")
    );
    let order = bay.get(one["order"].as_str().unwrap());
    assert_eq!(order.header("content-type"), Some("image/svg+xml"));
    assert_eq!(order.text().matches("<circle").count(), 4);
    let drawing = bay.get(one["picture"].as_str().unwrap());
    assert_eq!(drawing.header("content-type"), Some("image/svg+xml"));
    assert!(
        drawing.text().contains("Tighten the lid bolts"),
        "{}",
        drawing.text()
    );
    assert_eq!(bay.get("/api/procedures/other").status, 404);
}

#[test]
fn a_photo_goes_to_its_note_without_where_it_was_taken() {
    let records = Records::new();
    let bay = records.bay();
    let path = format!("/api/jobs/{}/notes/1/photo", records.job);
    let given = picture_with_position();
    assert!(given.windows(9).any(|it| it == b"SALTMARSH"));
    let answer = bay.post(&path, "image/jpeg", &given);
    assert_eq!(answer.status, 201, "{}", answer.text());
    assert_eq!(
        answer.json(),
        serde_json::json!({"width": 40, "height": 30})
    );
    assert_eq!(
        bay.post(&path, "image/png", &picture(ImageFormat::Png))
            .status,
        201
    );
    let record = records.archive.report(&records.job).unwrap();
    assert_eq!(record.photos.len(), 2);
    assert!(record.whole);
    for attached in &record.photos {
        let kept = std::fs::read(records.folder.path().join(&attached.photo.path)).unwrap();
        assert!(!kept.windows(4).any(|it| it == b"Exif" || it == b"SALT"));
        assert_eq!(
            attached.note,
            record
                .lines
                .iter()
                .find(|it| it.words(record.language).contains("hose"))
                .map(|it| it.seq)
        );
    }
}

#[test]
fn what_is_no_photo_is_refused_by_its_content() {
    let records = Records::new();
    let bay = records.bay();
    let path = format!("/api/jobs/{}/notes/1/photo", records.job);
    let svg = b"<svg xmlns=\"http://www.w3.org/2000/svg\"><script>alert(1)</script></svg>";
    for kind in ["image/jpeg", "image/png"] {
        for bytes in [
            &svg[..],
            b"GIF89a\x01\0\x01\0\0\0\0;",
            b"%PDF-1.7",
            b"\xff\xd8\xff",
            b"\x89PNG\r\n\x1a\n",
            b"x",
        ] {
            assert_eq!(bay.post(&path, kind, bytes).status, 422);
        }
        assert_eq!(bay.post(&path, kind, b"").status, 422);
    }
    for kind in [
        "image/svg+xml",
        "image/gif",
        "text/html",
        "application/octet-stream",
    ] {
        assert_eq!(
            bay.post(&path, kind, &picture(ImageFormat::Png)).status,
            415,
            "{kind}"
        );
    }
    assert_eq!(
        records.archive.report(&records.job).unwrap().photos.len(),
        0
    );
    assert!(!records.folder.path().join("photos").exists());
}

#[test]
fn a_photo_for_nobodys_note_or_a_job_that_is_being_worked_is_refused() {
    let records = Records::new();
    let bay = records.bay();
    let png = picture(ImageFormat::Png);
    let post = |job: &str, note: &str| {
        bay.post(
            &format!("/api/jobs/{job}/notes/{note}/photo"),
            "image/png",
            &png,
        )
        .status
    };
    let job = records.job.as_str();
    assert_eq!(post(job, "2"), 404);
    assert_eq!(post(job, "0"), 404);
    assert_eq!(post(job, "99999999999999999999999"), 404);
    assert_eq!(post(job, "x"), 404);
    assert_eq!(post("2026-01-01-nothing", "1"), 404);
    let worked = records.worked();
    assert_eq!(post(job, "1"), 409);
    drop(worked);
    assert_eq!(post(job, "1"), 201);
}

#[test]
fn without_records_there_is_nothing_to_read() {
    let bay = Bay::new();
    for path in [
        "/api/jobs",
        "/api/jobs/any",
        "/api/lost",
        "/api/vehicles",
        "/api/vehicle?name=any",
        "/api/jobs/any/report",
        "/api/jobs/any/report.pdf",
    ] {
        assert_eq!(bay.get(path).status, 404, "{path}");
    }
    assert_eq!(bay.get("/api/procedures").json(), serde_json::json!([]));
}

#[test]
fn jobs_are_found_by_their_words_and_vehicle_and_listed_with_them() {
    let records = Records::new();
    let bay = records.bay();
    let found = |asked: &str| bay.get(&format!("/api/jobs?{asked}")).json();
    let all = found("limit=5");
    assert_eq!(all[0]["vehicle"], "van of the Saltmarsh ferry depot");
    assert!(all[0]["by"].is_null());
    for words in ["text=HOSE", "text=saltmarsh", "text=washing", "text=%20"] {
        assert_eq!(found(words), all, "{words}");
    }
    assert_eq!(found("text=hovercraft"), serde_json::json!([]));
    let long = format!("/api/jobs?text={}", "x".repeat(201));
    assert_eq!(bay.get(&long).status, 400);
}

#[test]
fn jobs_are_found_by_vehicle_person_procedure_and_day() {
    let records = Records::new();
    let settings = steps::Settings {
        people: steps::People::new(Vec::new(), Some("Mara".to_owned())).unwrap(),
        ..steps::Settings::default()
    };
    let (first, day) = (1_772_409_600_000, 86_400_000_u64);
    let at = steps::Moment(first + day);
    record::JournaledJob::begin(&records.archive, wash(), settings, at).unwrap();
    let bay = records.bay();
    let found = |asked: &str| {
        let jobs = bay.get(&format!("/api/jobs?{asked}")).json();
        jobs.as_array().unwrap().len()
    };
    for (asked, count) in [
        ("vehicle=SALTMARSH", 2),
        ("vehicle=hovercraft", 0),
        ("person=mara", 1),
        ("person=tobias", 0),
        ("procedure=wash-van", 2),
        ("procedure=wash", 0),
        (format!("from={}", first + 1).as_str(), 1),
        (format!("from={first}&before={}", first + 1).as_str(), 1),
        (format!("person=mara&before={}", first + 1).as_str(), 0),
        ("vehicle=%20&person=", 2),
    ] {
        assert_eq!(found(asked), count, "{asked}");
    }
    for wrong in ["from=x", "from=253402300800000", "vehicle=a&vehicle=b"] {
        assert_eq!(
            bay.get(&format!("/api/jobs?{wrong}")).status,
            400,
            "{wrong}"
        );
    }
    for field in ["vehicle", "person", "procedure"] {
        let long = format!("/api/jobs?{field}={}", "x".repeat(201));
        assert_eq!(bay.get(&long).status, 400, "{field}");
    }
}

#[test]
fn a_vehicle_has_its_jobs_the_newest_first() {
    let records = Records::new();
    let at = steps::Moment(1_772_409_600_000 + 86_400_000);
    record::JournaledJob::begin(&records.archive, wash(), steps::Settings::default(), at).unwrap();
    let bay = records.bay();
    let name = "van of the Saltmarsh ferry depot";
    let vehicles = bay.get("/api/vehicles").json();
    assert_eq!(
        vehicles,
        serde_json::json!([{ "name": name, "jobs": 2, "open": 2, "last_ms": at.0 }])
    );
    let path = format!("/api/vehicle?name={}", name.replace(' ', "%20"));
    let vehicle = bay.get(&path).json();
    assert_eq!(vehicle["name"], name);
    assert_eq!(vehicle["jobs"], bay.get("/api/jobs").json());
    assert_eq!(vehicle["older"], 0);
    assert_eq!(vehicle["due"], serde_json::json!([]));
    assert_eq!(bay.get("/api/vehicle?name=another").status, 404);
    assert_eq!(bay.get("/api/vehicle").status, 400);
    let long = format!("/api/vehicle?name={}", "x".repeat(501));
    assert_eq!(bay.get(&long).status, 400);
}

#[test]
fn a_job_that_waits_for_a_part_is_listed_with_it() {
    let records = Records::new();
    let mut worked = records.worked();
    let at = steps::Moment(1_772_409_800_000);
    let heard = |words: &str| steps::Heard {
        certainty: steps::Certainty::Sure,
        ..steps::Heard::typed(words)
    };
    for (command, words) in [
        (
            steps::Command::PartMissing { thing: None },
            "a part is missing",
        ),
        (steps::Command::Yes, "yes"),
    ] {
        let heard = heard(words);
        worked
            .take(steps::Input::Said { command, heard }, at)
            .unwrap();
    }
    let waiting = |bay: &Bay| bay.get("/api/jobs").json()[0]["waiting"].clone();
    let bay = records.bay();
    assert_eq!(
        waiting(&bay),
        serde_json::json!({ "part": null, "since_ms": at.0 })
    );
    let heard = heard("the part is here");
    let command = steps::Command::PartHere;
    let later = steps::Moment(at.0 + 1000);
    worked
        .take(steps::Input::Said { command, heard }, later)
        .unwrap();
    assert_eq!(waiting(&bay), serde_json::Value::Null);
}

#[test]
fn a_listed_job_names_whoever_has_it_now() {
    let records = Records::new();
    let bay = records.bay();
    assert!(bay.get("/api/jobs").json()[0]["by"].is_null());
    let settings = steps::Settings {
        people: steps::People::new(Vec::new(), Some("Mara".to_owned())).unwrap(),
        ..steps::Settings::default()
    };
    let at = steps::Moment(1_772_409_800_000);
    record::JournaledJob::begin(&records.archive, wash(), settings, at).unwrap();
    let jobs = bay.get("/api/jobs").json();
    assert_eq!(jobs[0]["by"], "Mara");
    assert_eq!(bay.get("/api/jobs?text=mara").json()[0], jobs[0]);
}

#[test]
fn a_record_is_told_without_identifiers_and_keeps_them_as_proof() {
    let records = Records::new();
    let path = format!("/api/jobs/{}", records.job);
    let record = records.bay().get(&path).json();
    let opened = &record["entries"][0];
    assert_eq!(opened["text"], "job opened: Washing the <van>");
    assert!(opened["proof"].as_str().unwrap().contains("SHA-256"));
    let done = &record["entries"][2];
    assert_eq!(done["text"], "done: Rinse the van.");
    assert_eq!(done["proof"], "done: Rinse the van. (rinse)");
}
