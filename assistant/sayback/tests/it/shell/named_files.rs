//! The files that are named on the command line: nothing else is read, and nothing else is written over.
#![cfg(unix)]

use super::harness::{Bay, sayback, text, typed_to_the_end};
use std::os::unix::fs::symlink;
use std::path::PathBuf;
use std::process::Command;

fn pipe(bay: &Bay, name: &str) -> PathBuf {
    let path = bay.path(name);
    assert!(
        Command::new("mkfifo")
            .arg(&path)
            .status()
            .unwrap()
            .success()
    );
    path
}

const SHIPPED: &str = concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../procedures/trailer-hub.toml"
);

#[test]
fn what_is_written_goes_through_no_link_onto_no_device_and_over_nothing_unasked() {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &typed_to_the_end("trailer-hub"))
        .exits(0);
    let id = bay.jobs().remove(0);
    let list = bay.file("list.csv", "Undo the 4 cover bolts\nLift the cover off\n");
    let script = bay.file("next.txt", "next\n");
    let records = bay.records();
    let commands: [(&[&str], &str, &str); 11] = [
        (
            &["report", &id, "--records", text(&records), "--html"],
            "html",
            "--overwrite",
        ),
        (
            &["report", &id, "--records", text(&records), "--pdf"],
            "pdf",
            "--overwrite",
        ),
        (
            &["report", &id, "--records", text(&records), "--csv"],
            "csv",
            "--overwrite",
        ),
        (
            &["report", &id, "--records", text(&records), "--json"],
            "json",
            "--overwrite",
        ),
        (
            &["procedure", "front-brakes", "--picture"],
            "svg",
            "--overwrite",
        ),
        (
            &["procedure", "front-brakes", "--export"],
            "pdf",
            "--overwrite",
        ),
        (
            &[
                "statistics",
                "trailer-hub",
                "--records",
                text(&records),
                "--picture",
            ],
            "svg",
            "--overwrite",
        ),
        (
            &["reckon", "pattern", "--count", "5", "--svg"],
            "svg",
            "--overwrite",
        ),
        (&["import", text(&list), "--out"], "toml", "--overwrite"),
        (
            &[
                "rehearse",
                "trailer-hub",
                "--script",
                text(&script),
                "--records",
                text(&records),
                "--answers",
            ],
            "wav",
            "--overwrite",
        ),
        (&["new"], "toml", ""),
    ];
    for (number, (words, ending, overwrite)) in commands.into_iter().enumerate() {
        let at = |kind: &str| bay.path(&format!("{kind}-{number}.{ending}"));
        let kept = bay.file(&format!("kept-{number}.{ending}"), "kept");
        let (link, device) = (at("link"), at("device"));
        symlink(&kept, &link).unwrap();
        symlink("/dev/null", &device).unwrap();
        let folder = at("folder");
        std::fs::create_dir(&folder).unwrap();
        let fifo = pipe(&bay, &format!("fifo-{number}.{ending}"));
        let dangling = at("dangling");
        symlink(at("nowhere"), &dangling).unwrap();
        for (path, why) in [
            (&kept, "is there already"),
            (&link, "is a link"),
            (&device, "is a link"),
            (&dangling, "is a link"),
            (&folder, "is a folder"),
            (&fifo, "is a pipe"),
        ] {
            let ran = sayback(words.iter().copied().chain([text(path)]));
            ran.exits(1).tells(why);
            if overwrite.is_empty() || path == &kept {
                continue;
            }
            let ran = sayback(words.iter().copied().chain([text(path), overwrite]));
            ran.exits(1).tells(why);
        }
        assert!(!at("nowhere").exists());
        assert_eq!(std::fs::read(&kept).unwrap(), b"kept", "{words:?}");
        if !overwrite.is_empty() {
            sayback(words.iter().copied().chain([text(&kept), overwrite]));
            assert_ne!(std::fs::read(&kept).unwrap(), b"kept", "{words:?}");
        }
    }
    let untidy = bay.file("untidy.toml", "a   =   1\n");
    let link = bay.path("link.toml");
    symlink(&untidy, &link).unwrap();
    sayback(["fmt", text(&link)]).exits(1).tells("is a link");
    let left = std::fs::read_dir(bay.path("")).unwrap();
    let left = left.filter(|it| {
        it.as_ref()
            .unwrap()
            .file_name()
            .to_str()
            .unwrap()
            .starts_with('.')
    });
    assert_eq!(left.count(), 0, "nothing is left beside the files");
}

#[test]
fn pipes_devices_and_endless_files_are_refused_by_name() {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &["next".to_owned()]).exits(3);
    let id = bay.jobs().remove(0);
    let records = bay.records();
    for (number, ending) in ["toml", "csv", "wav", "txt", "png"].into_iter().enumerate() {
        let fifo = pipe(&bay, &format!("fifo-{number}.{ending}"));
        let endless = bay.path(&format!("endless-{number}.{ending}"));
        symlink("/dev/zero", &endless).unwrap();
        for (path, why) in [(&fifo, "is a pipe"), (&endless, "is a device")] {
            let path = text(path);
            let commands: &[&[&str]] = match ending {
                "toml" => &[
                    &["check", path],
                    &["fmt", path],
                    &["diff", path, SHIPPED],
                    &["rehearse", "trailer-hub", "--tools", path],
                    &["rehearse", "trailer-hub", "--people", path],
                    &["demo", "--talk", path],
                ],
                "csv" => &[&["import", path, "--out", "drafted.toml"]],
                "wav" => &[
                    &[
                        "work",
                        "trailer-hub",
                        "--records",
                        text(&records),
                        "--sound",
                        path,
                    ],
                    &["work", "trailer-hub", "--tools", path],
                ],
                "txt" => &[&["rehearse", "trailer-hub", "--script", path]],
                _ => &[&["attach", &id, path, "--records", text(&records)]],
            };
            for words in commands {
                sayback(*words).exits(1).tells(why);
            }
        }
    }
}

#[test]
fn a_part_that_is_a_link_to_elsewhere_shows_nothing_of_it() {
    let bay = Bay::new();
    let folder = bay.path("procedures");
    std::fs::create_dir_all(folder.join("parts")).unwrap();
    let secret = bay.file("secret", "the secret of the ferry = 1");
    symlink(&secret, folder.join("parts/mine.toml")).unwrap();
    let job = std::fs::read_to_string(SHIPPED).unwrap() + "\n[[step]]\ninclude = \"parts/mine\"\n";
    std::fs::write(folder.join("trailer-hub.toml"), job).unwrap();
    let ran = sayback(["check", text(&folder)])
        .exits(1)
        .tells("is a link out of");
    assert!(!ran.err.contains("secret of"), "{}", ran.err);
    // A link that stays inside is as good as a file.
    std::fs::remove_file(folder.join("parts/mine.toml")).unwrap();
    std::fs::write(
        folder.join("parts/real.toml"),
        "format = 1\nid = \"mine\"\n",
    )
    .unwrap();
    symlink("real.toml", folder.join("parts/mine.toml")).unwrap();
    sayback(["check", text(&folder)]).exits(0);
}

#[test]
fn a_mistyped_folder_of_records_is_not_made() {
    let bay = Bay::new();
    let photo = bay.file("photo.png", "");
    for words in [
        &["records"][..],
        &["record", "job"],
        &["record", "job", "--verify"],
        &["report", "job"],
        &["statistics", "trailer-hub"],
        &["discard", "--days", "1"],
        &["heard", "--out", "heard"],
        &["attach", "job", text(&photo)],
        &["resume", "job"],
        &["page", "127.0.0.1:0"],
    ] {
        bay.sayback(words).exits(1).tells("there are no records in");
        assert!(!bay.records().exists(), "{words:?}");
    }
}

#[test]
fn a_folder_that_others_can_read_is_told_of_with_what_to_type() {
    use std::os::unix::fs::PermissionsExt;
    let bay = Bay::new();
    std::fs::create_dir(bay.records()).unwrap();
    let open = std::fs::Permissions::from_mode(0o755);
    std::fs::set_permissions(bay.records(), open).unwrap();
    let ran = bay.sayback(&["records"]).exits(0);
    let typed = format!("chmod -R go= {}", text(&bay.records()));
    assert!(ran.err.contains(&typed), "{}", ran.err);
    let ran = Command::new("sh").args(["-c", &typed]).status().unwrap();
    assert!(ran.success());
    assert_eq!(bay.sayback(&["records"]).exits(0).err, "");
}

#[test]
fn a_file_where_records_should_be_is_told_of_and_nothing_else() {
    use std::os::unix::fs::PermissionsExt;
    let bay = Bay::new();
    std::fs::write(bay.records(), "").unwrap();
    let open = std::fs::Permissions::from_mode(0o644);
    std::fs::set_permissions(bay.records(), open).unwrap();
    let ran = bay.sayback(&["records"]).exits(1);
    assert!(!ran.err.contains("Other accounts"), "{}", ran.err);
    assert!(ran.told().contains("Not a directory"), "{}", ran.err);
}

#[test]
fn only_jobs_of_a_near_name_are_offered_not_others_of_the_day() {
    let bay = Bay::new();
    for procedure in ["trailer-hub", "front-brakes"] {
        bay.rehearse(procedure, &["next".to_owned()]).exits(3);
    }
    let jobs = bay.jobs();
    let job = |name: &str| jobs.iter().find(|id| id.ends_with(name)).unwrap();
    let hub = job("trailer-hub");
    let unknown = hub.replace("trailer-hub", "gearbox");
    let told = bay.sayback(&["record", &unknown]).exits(1).told();
    assert!(!told.contains("did you mean"), "{told}");
    let mistyped = hub.replace("trailer-hub", "trailer-hb");
    let told = bay.sayback(&["record", &mistyped]).exits(1).told();
    let told = told.replace([' ', '\n'], "");
    assert!(told.contains(&format!("didyoumean{hub}?")), "{told}");
    let without_date = bay.sayback(&["record", "front-brakes"]).exits(1).told();
    let told = without_date.replace([' ', '\n'], "");
    let brakes = job("front-brakes");
    assert!(told.contains(&format!("didyoumean{brakes}?")), "{told}");
}

#[test]
fn a_mistyped_name_is_answered_with_the_one_that_was_meant() {
    let bay = Bay::new();
    sayback(["procedure", "front-brake"])
        .exits(1)
        .tells("did you mean front-brakes");
    bay.rehearse("trailer-hub", &["next".to_owned()]).exits(3);
    let id = bay.jobs().remove(0);
    let mistyped = id.replacen('-', "", 1);
    for words in [
        &["record", mistyped.as_str()][..],
        &["report", &mistyped],
        &["resume", &mistyped],
    ] {
        let told = bay.sayback(words).exits(1).told().replace(' ', "");
        assert!(told.contains(&format!("didyoumean{id}?")), "{told}");
    }
}

#[test]
fn a_sheet_or_a_picture_is_written_without_printing_the_procedure() {
    let bay = Bay::new();
    let (sheet, picture) = (bay.path("sheet.md"), bay.path("picture.svg"));
    let words = [
        "procedure",
        "front-brakes",
        "--export",
        text(&sheet),
        "--picture",
        text(&picture),
    ];
    let ran = sayback(words).exits(0);
    assert_eq!(ran.out, format!("{}\n{}\n", text(&picture), text(&sheet)));
}
