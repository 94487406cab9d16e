//! How long a job took by its phases, and what it was put down for.

use crate::small_job::*;
use record::{Archive, IfChanged, JobId, JournaledJob, Wanted};
use report::statistics::statistics;
use report::{Course, JobReport, Shop};
use steps::{Command, Input, Moment, PauseReason, Settings};

const HOUR: u64 = 3600;

/// The small job in two phases, the second without an estimate.
fn in_phases() -> String {
    let phases = "[[phase]]\nname = \"Wheel off\"\nfrom = \"hold\"\nminutes = 8\n\n\
                  [[phase]]\nname = \"Wheel on\"\nfrom = \"on\"\n\n[[step]]\nid = \"hold\"";
    TEXT.replacen("[[step]]\nid = \"hold\"", phases, 1)
}

struct Bay {
    _folder: tempfile::TempDir,
    archive: Archive,
}

impl Bay {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let archive = Archive::open(folder.path()).unwrap();
        Self {
            _folder: folder,
            archive,
        }
    }

    /// The job with the wheel off: ten inputs, one a minute.
    fn wheel_off(&self) -> JournaledJob {
        let settings = Settings {
            pauses: true,
            ..Settings::default()
        };
        let procedure = procedure(&in_phases());
        let (mut worked, _) =
            JournaledJob::begin(&self.archive, procedure, settings, at(0)).unwrap();
        for (number, input) in whole_job().into_iter().take(10).enumerate() {
            worked.take(input, at(60 * (number as u64 + 1))).unwrap();
        }
        worked
    }

    /// The two steps of the second phase and the end, at these times.
    fn wheel_on(&self, mut worked: JournaledJob, times: [Moment; 3]) -> JobId {
        for (input, at) in whole_job().into_iter().skip(10).zip(times) {
            worked.take(input, at).unwrap();
        }
        assert!(worked.job().outcome().is_some());
        worked.id().clone()
    }

    fn report(&self, id: &JobId) -> JobReport {
        JobReport::of(&self.archive.report(id).unwrap())
    }

    /// Each phase in a line: name, seconds, estimate, whether some of it is unknown.
    fn phases(&self, id: &JobId) -> Vec<String> {
        let phases = self.report(id).phases.into_iter();
        phases
            .map(|it| {
                let estimate = it.estimate_minutes.map(|it| it.to_string());
                let unknown = if it.unknown { "?" } else { "" };
                let estimate = estimate.unwrap_or_default();
                format!("{} {}{unknown} {estimate}", it.name, it.seconds)
            })
            .collect()
    }

    fn pauses(&self, id: &JobId) -> Vec<String> {
        let pauses = self.report(id).pauses.into_iter();
        pauses
            .map(|it| {
                let reason = it.reason.unwrap_or_else(|| "-".to_owned());
                format!("{reason} {} {} {}", it.times, it.seconds, it.unknown)
            })
            .collect()
    }
}

#[test]
fn each_phase_has_its_time_and_the_procedure_s_estimate() {
    let bay = Bay::new();
    let id = bay.wheel_on(bay.wheel_off(), [at(660), at(720), at(780)]);
    assert_eq!(bay.phases(&id), ["Wheel off 600 8", "Wheel on 120 "]);
    assert_eq!(bay.pauses(&id), Vec::<String>::new());
}

#[test]
fn a_procedure_without_phases_is_one() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let id = work(&archive, steps::Mode::Work).unwrap();
    let report = JobReport::of(&archive.report(&id).unwrap());
    let [whole] = &report.phases[..] else {
        panic!("{:?}", report.phases);
    };
    assert_eq!(whole.name, "The whole job");
    assert_eq!((whole.seconds, whole.estimate_minutes), (120, Some(30)));
}

#[test]
fn what_the_job_was_held_for_is_no_work() {
    let bay = Bay::new();
    let mut worked = bay.wheel_off();
    worked
        .take(said(Command::HoldOn, "hold on"), at(630))
        .unwrap();
    worked
        .take(said(Command::CarryOn, "carry on"), at(630 + 4 * HOUR))
        .unwrap();
    let reason = PauseReason::Tool;
    let why = said(Command::PauseReason { reason }, "i needed a tool");
    worked.take(why, at(640 + 4 * HOUR)).unwrap();
    // The pause has voided the stands.
    let stands = whole_job().remove(3);
    worked.take(stands, at(650 + 4 * HOUR)).unwrap();
    let after = |seconds| at(seconds + 4 * HOUR);
    let id = bay.wheel_on(worked, [after(660), after(720), after(780)]);
    assert_eq!(bay.phases(&id), ["Wheel off 600 8", "Wheel on 120 "]);
    assert_eq!(bay.pauses(&id), ["a tool 1 14400 0"]);
}

#[test]
fn a_job_that_was_left_open_was_paused() {
    let bay = Bay::new();
    let worked = bay.wheel_off();
    let id = worked.id().clone();
    drop(worked);
    let monday = 600 + 3 * 24 * HOUR;
    let again = JournaledJob::resume(
        &bay.archive,
        &id,
        procedure(&in_phases()),
        IfChanged::Refuse,
        at(monday),
    );
    let mut worked = again.unwrap().worked;
    // Whatever else is said skips the question.
    worked
        .take(said(Command::Next, "next"), at(monday + 10))
        .unwrap();
    let stands = whole_job().remove(3);
    worked.take(stands, at(monday + 20)).unwrap();
    let times = [monday + 60, monday + 120, monday + 180].map(at);
    bay.wheel_on(worked, times);
    assert_eq!(bay.phases(&id), ["Wheel off 600 8", "Wheel on 120 "]);
    assert_eq!(
        bay.pauses(&id),
        [format!("- 1 {} 0", 3 * 24 * HOUR)],
        "{:?}",
        bay.report(&id).course
    );
}

#[test]
fn a_machine_that_slept_and_a_clock_that_was_set_back_leave_a_time_unknown() {
    let bay = Bay::new();
    let slept = at(660 + 9 * HOUR);
    let later = |moment: Moment, seconds: u64| Moment(moment.0 + 1000 * seconds);
    let set_back = Moment(at(660).0 - 1000 * 2 * HOUR);
    for jumped in [slept, set_back] {
        let id = bay.wheel_on(bay.wheel_off(), [at(660), jumped, later(jumped, 60)]);
        assert_eq!(bay.phases(&id), ["Wheel off 600 8", "Wheel on 60? "]);
        let html = bay.report(&id).html(
            &Shop::default(),
            &[],
            report::Paper::A4,
            &report::TimeZone::UTC,
        );
        assert!(html.contains("1 min 00 s, and an unknown time"), "{html}");
    }
    let statistics = statistics(&bay.archive, &"trailer-wheel".into(), &Wanted::default()).unwrap();
    assert_eq!((statistics.seconds, statistics.unknown), (None, 2));
    let [off, on] = &statistics.phases[..] else {
        panic!("{:?}", statistics.phases);
    };
    assert_eq!((off.jobs, off.seconds.unwrap().median), (2, 600.0));
    assert_eq!(off.estimate_minutes, Some(8));
    assert_eq!((on.jobs, on.seconds), (0, None));
    let tightened = statistics
        .parts
        .iter()
        .find(|it| it.part.to_string() == "tighten");
    assert_eq!(tightened.unwrap().seconds, None);
}

#[test]
fn a_wait_of_the_procedure_may_be_long() {
    let folder = tempfile::tempdir().unwrap();
    let archive = Archive::open(folder.path()).unwrap();
    let wait = "[[step]]\nid = \"cure\"\naction = \"wait\"\nminutes = 300\ntext = \"Let it cure.\"\n\n\
                [[step]]\nid = \"tighten\"";
    let text = TEXT.replacen("[[step]]\nid = \"tighten\"", wait, 1);
    let procedure = procedure(&text);
    let settings = Settings::default();
    let (mut worked, _) =
        JournaledJob::begin(&archive, procedure.clone(), settings, at(0)).unwrap();
    let inputs = whole_job();
    for (number, input) in inputs[..11].iter().enumerate() {
        worked.take(input.clone(), at(60 * number as u64)).unwrap();
    }
    let over = 600 + 5 * HOUR;
    worked.take(Input::Woke, at(over)).unwrap();
    for (number, input) in [&inputs[9], &inputs[11]].into_iter().enumerate() {
        worked
            .take(input.clone(), at(over + 60 * number as u64))
            .unwrap();
    }
    let id = worked.id().clone();
    let known = Course::read(&archive, &id, Some(&procedure)).unwrap();
    assert!(known.stages.iter().all(|stage| !stage.unknown));
    let cured = known.stages.iter().find(|it| it.part.to_string() == "cure");
    assert_eq!(cured.unwrap().milliseconds, 1000 * 5 * HOUR);
    // Nobody can tell it from a machine that slept without knowing the procedure.
    let unknown = Course::read(&archive, &id, None).unwrap();
    assert!(unknown.stages.iter().any(|stage| stage.unknown));
}

#[test]
fn waiting_for_a_part_is_a_pause_and_making_safe_is_told_apart() {
    let bay = Bay::new();
    let mut worked = bay.wheel_off();
    let missing = Command::PartMissing { thing: None };
    let yes = || said(Command::Yes, "yes");
    worked
        .take(said(missing, "a part is missing"), at(610))
        .unwrap();
    worked.take(yes(), at(620)).unwrap();
    worked.take(said(Command::Next, "next"), at(660)).unwrap();
    assert!(worked.job().waits_for_part());
    let wednesday = 660 + 48 * HOUR;
    worked
        .take(said(Command::PartHere, "the part is here"), at(wednesday))
        .unwrap();
    let stands = whole_job().remove(3);
    worked.take(stands, at(wednesday + 30)).unwrap();
    let times = [wednesday + 60, wednesday + 120, wednesday + 180].map(at);
    let id = bay.wheel_on(worked, times);
    assert_eq!(
        bay.phases(&id),
        ["Wheel off 600 8", "Wheel on 120 ", "Making safe 60 "]
    );
    assert_eq!(bay.pauses(&id), [format!("a part 1 {} 0", 48 * HOUR)]);
}
