//! Many jobs side by side.

use crate::small_job::*;
use record::{Archive, IfChanged, JournaledJob, Wanted};
use report::statistics::{Quartiles, statistics, usual_minutes, usual_minutes_of_parts};
use report::{Course, Labour, Part, Stage};
use steps::{Id, Mode, Moment, Outcome};

#[test]
fn quartiles_are_those_of_a_general_statistics_library() {
    // statistics.quantiles(values, n=4, method='inclusive') of Python 3.
    let reference: [(&[f64], [f64; 3]); 5] = [
        (&[15.0, 20.0, 35.0, 40.0, 50.0], [20.0, 35.0, 40.0]),
        (&[3.0, 1.0, 2.0, 4.0], [1.75, 2.5, 3.25]),
        (&[7.0, 7.5], [7.125, 7.25, 7.375]),
        (
            &[12.5, 3.25, 88.0, 41.0, 0.5, 19.75, 6.0, 6.0, 240.0, 33.0],
            [6.0, 16.125, 39.0],
        ),
        (&[1.0, 2.0, 4.0, 8.0, 16.0, 32.0, 64.0], [3.0, 8.0, 24.0]),
    ];
    for (values, [first, median, third]) in reference {
        let expected = Quartiles {
            first,
            median,
            third,
        };
        assert_eq!(Quartiles::of(values), Some(expected), "{values:?}");
    }
    let alone = Quartiles::of(&[9.0]).unwrap();
    assert_eq!((alone.first, alone.median, alone.third), (9.0, 9.0, 9.0));
    assert_eq!(Quartiles::of(&[]), None);
}

/// Works the small job, each input this many seconds after the one before.
fn paced(archive: &Archive, mode: Mode, pace: u64) -> record::JobId {
    let mut worked = begin(archive, mode);
    for (number, input) in whole_job().into_iter().enumerate() {
        worked.take(input, at(pace * (number as u64 + 1))).unwrap();
    }
    worked.id().clone()
}

fn seconds(archive: &Archive, part: &Part) -> Quartiles {
    let statistics = statistics(archive, &"trailer-wheel".into(), &Wanted::default()).unwrap();
    let found = statistics.parts.iter().find(|it| it.part == *part);
    found.unwrap().seconds.unwrap()
}

#[test]
fn each_part_has_its_time_its_questions_its_refusals_and_its_readings_out_of_limits() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    for pace in [15, 20, 35, 40, 50] {
        paced(&archive, Mode::Work, pace);
    }
    paced(&archive, Mode::Rehearsal, 1);
    let statistics = statistics(&archive, &"trailer-wheel".into(), &Wanted::default()).unwrap();
    assert_eq!(statistics.jobs, 5, "rehearsals don't count");
    let part = |part: &Part| statistics.parts.iter().find(|it| it.part == *part).unwrap();
    // Four inputs lead through the gate: the choice, "next", a wrong readback, the right one.
    let gate = part(&Part::Gate("supported".into()));
    // statistics.quantiles([60, 80, 140, 160, 200], n=4, method='inclusive') of Python 3.
    let expected = Quartiles {
        first: 80.0,
        median: 140.0,
        third: 160.0,
    };
    assert_eq!(gate.seconds, Some(expected));
    assert_eq!((gate.jobs, gate.refusals), (5, 10));
    assert_eq!(gate.questions, [("(not understood)", 5)]);
    let depth = part(&Part::Reading("depth".into()));
    assert_eq!(
        (depth.out_of_limits, depth.refusals, depth.asked()),
        (5, 0, 0)
    );
    let order: Vec<_> = statistics
        .parts
        .iter()
        .map(|it| it.part.to_string())
        .collect();
    assert_eq!(
        order,
        [
            "hold point supported",
            "reading depth",
            "loosen",
            "off",
            "on",
            "tighten"
        ]
    );
    assert_eq!(statistics.left_out, []);

    let usual = usual_minutes(&archive, &procedure(TEXT)).unwrap();
    assert_eq!(usual.len(), 6);
    assert_eq!(usual[&Id::new("hold")], 140.0 / 60.0);
    assert_eq!(usual[&Id::new("off")], 35.0 / 60.0);
}

#[test]
fn time_in_which_the_program_did_not_run_is_not_counted() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    let inputs = whole_job();
    for (number, input) in inputs[..2].iter().enumerate() {
        worked
            .take(input.clone(), at(10 * (number as u64 + 1)))
            .unwrap();
    }
    let id = worked.id().clone();
    drop(worked);
    let day = 86_400;
    let mut worked = JournaledJob::resume(
        &archive,
        &id,
        procedure(TEXT),
        IfChanged::Refuse,
        at(day + 20),
    )
    .unwrap()
    .worked;
    worked.take(inputs[3].clone(), at(day + 30)).unwrap();
    assert_eq!(
        seconds(&archive, &Part::Gate("supported".into())).median,
        30.0
    );
}

#[test]
fn a_clock_set_back_takes_no_time_away() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let mut worked = begin(&archive, Mode::Work);
    for (input, second) in whole_job().into_iter().zip([10, 20, 30, 40, 15, 25]) {
        worked.take(input, at(second)).unwrap();
    }
    // 40 s to the gate; then the clock is set back by 25 s, and 10 s pass to the reading.
    assert_eq!(
        seconds(&archive, &Part::Gate("supported".into())).median,
        40.0
    );
    assert_eq!(
        seconds(&archive, &Part::Reading("depth".into())).median,
        10.0
    );
}

#[test]
fn only_finished_work_tells_what_is_usual_and_a_step_done_twice_counts_once() {
    let stage = |step: &str, seconds: u64| Stage {
        part: Part::Step(step.into()),
        milliseconds: 1000 * seconds,
        unknown: false,
        making_safe: false,
        questions: Vec::new(),
        refusals: 0,
        out_of_limits: false,
    };
    let course = |mode, outcome, stages| Course {
        job: record::JobId::new("some"),
        procedure: "trailer-wheel".into(),
        mode,
        opened: Moment(NINE),
        outcome,
        stages,
        labour: Labour::default(),
    };
    let done = Some(Outcome::Finished);
    let courses = [
        course(
            Mode::Work,
            done,
            vec![stage("off", 60), stage("on", 5), stage("off", 60)],
        ),
        course(Mode::Work, done, vec![stage("off", 240)]),
        course(Mode::Rehearsal, done, vec![stage("off", 1)]),
        course(Mode::Work, Some(Outcome::Abandoned), vec![stage("off", 1)]),
        course(Mode::Work, None, vec![stage("off", 1)]),
    ];
    let usual = usual_minutes_of_parts(&courses);
    assert_eq!(usual[&Part::Step("off".into())], 3.0);
    assert!(usual_minutes_of_parts(&courses[2..]).is_empty());
}

#[test]
fn a_record_that_is_not_whole_is_left_out_and_named() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let whole = paced(&archive, Mode::Work, 10);
    let forged = paced(&archive, Mode::Work, 20);
    forger(folder.path())
        .execute(
            "UPDATE entries SET at = at + 1 WHERE job = ?1 AND seq = 5",
            [forged.as_str()],
        )
        .unwrap();
    let statistics = statistics(&archive, &"trailer-wheel".into(), &Wanted::default()).unwrap();
    assert_eq!(statistics.jobs, 1);
    let [(left_out, why)] = &statistics.left_out[..] else {
        panic!("{:?}", statistics.left_out);
    };
    assert_eq!(*left_out, forged);
    assert!(why.contains("entry 5 was changed"), "{why}");
    assert!(Course::read(&archive, &whole, None).is_ok());
}

#[test]
fn the_picture_is_whole_xml_with_a_row_for_each_part() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    for pace in [15, 20, 35] {
        paced(&archive, Mode::Work, pace);
    }
    let statistics = statistics(&archive, &"trailer-wheel".into(), &Wanted::default()).unwrap();
    insta::assert_snapshot!(statistics.picture());
}
