//! Jobs are found among many.

use crate::harness::*;
use record::{Archive, Ended, JournaledJob, Wanted};
use steps::{Command, Mode};

#[test]
fn jobs_are_found_by_each_thing_that_may_be_wanted() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let finished = work(&archive, Mode::Work).unwrap();
    let mut worked = JournaledJob::begin(&archive, procedure(TEXT), Default::default(), at(86_400))
        .unwrap()
        .0;
    worked
        .take(said(Command::Abandon, "abandon"), at(86_410))
        .unwrap();
    let later = worked.id().clone();
    let found = |wanted: Wanted| -> Vec<_> {
        let jobs = archive.search(&wanted).unwrap();
        jobs.into_iter().map(|job| job.id).collect()
    };
    let any = Wanted::default;
    let text = |text: &str| {
        found(Wanted {
            text: Some(text.into()),
            ..any()
        })
    };
    assert_eq!(found(any()), [later.clone(), finished.clone()]);
    assert_eq!(
        found(Wanted {
            procedure: Some("boat".into()),
            ..any()
        }),
        []
    );
    assert_eq!(
        found(Wanted {
            procedure: Some("trailer-wheel".into()),
            from: Some(at(1)),
            ..any()
        }),
        std::slice::from_ref(&later)
    );
    assert_eq!(
        found(Wanted {
            before: Some(at(86_400)),
            ..any()
        }),
        std::slice::from_ref(&finished)
    );
    assert_eq!(
        found(Wanted {
            ended: Some(Ended::Finished),
            ..any()
        }),
        std::slice::from_ref(&finished)
    );
    assert_eq!(
        found(Wanted {
            ended: Some(Ended::Open),
            ..any()
        }),
        std::slice::from_ref(&later)
    );
    assert_eq!(
        found(Wanted {
            ended: Some(Ended::GivenUp),
            ..any()
        }),
        []
    );
    assert_eq!(text("RIM is bent"), std::slice::from_ref(&finished));
    assert_eq!(text("trailer WHEEL"), [later, finished]);
    assert_eq!(text("gearbox"), []);
}

#[test]
fn jobs_are_found_by_who_worked_on_them() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    work(&archive, Mode::Work).unwrap();
    let settings = steps::Settings {
        people: steps::People::new(vec!["Mara".into()], Some("Mara".into())).unwrap(),
        ..Default::default()
    };
    let worked = JournaledJob::begin(&archive, procedure(TEXT), settings, at(5))
        .unwrap()
        .0;
    let by = |name: &str| {
        let person = Some(name.to_owned());
        archive
            .search(&Wanted {
                person,
                ..Wanted::default()
            })
            .unwrap()
    };
    assert_eq!(by("mara").len(), 1);
    assert_eq!(by("mara")[0].id, *worked.id());
    assert!(by("Jonas").is_empty());
}
