//! What the jobs on a vehicle come to.

use crate::small_job::*;
use record::{Archive, JournaledJob, WholeRecord};
use report::VehicleHistory;
use steps::{Command, Decimal, Input, Mode, Moment, Settings};

const DAY: u64 = 86_400;

/// The small job, whose wheel nuts are tightened again after 50 km.
fn again() -> String {
    TEXT.replacen(
        "pattern = \"star\"",
        "pattern = \"star\"\nagain_after = \"50 km\"",
        1,
    )
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

    /// Works the job on this day, with this depth of the tread, as far as so many inputs lead.
    fn work(&self, mode: Mode, day: u64, depth: &str, inputs: usize) {
        let settings = Settings {
            mode,
            ..Settings::default()
        };
        let begin = Moment(NINE + 1000 * DAY * day);
        let (mut worked, _) =
            JournaledJob::begin(&self.archive, procedure(&again()), settings, begin).unwrap();
        for (number, input) in whole_job().into_iter().take(inputs).enumerate() {
            let input = match input {
                Input::Said {
                    command: Command::Reading { .. },
                    heard,
                } => {
                    let value = depth.parse::<Decimal>().unwrap();
                    let command = Command::Reading { value };
                    Input::Said { command, heard }
                }
                other => other,
            };
            let at = Moment(begin.0 + 10_000 * (number as u64 + 1));
            worked.take(input, at).unwrap();
        }
    }

    fn history(&self) -> VehicleHistory {
        let jobs = self.archive.jobs().unwrap();
        let whole = jobs.iter().map(|job| self.archive.whole(&job.id).unwrap());
        let whole: Vec<WholeRecord> = whole.collect();
        VehicleHistory::of(&whole)
    }

    fn due(&self) -> Vec<String> {
        self.history().due.into_iter().map(|it| it.what).collect()
    }
}

const WHOLE: usize = 13;
/// Up to the closing, with the reading and the torque.
const RETORQUE: &str = "Re-torque the wheel nuts after 50 km, to 110 N·m";

#[test]
fn a_job_leaves_what_it_said_is_still_to_be_done() {
    let bay = Bay::new();
    bay.work(Mode::Work, 0, "1.4", WHOLE);
    assert_eq!(
        bay.due(),
        [
            RETORQUE,
            "Out of limits: tread depth 1.4 mm (at least 1.6 mm)"
        ]
    );
    let [measured] = &bay.history().measured[..] else {
        panic!("one reading");
    };
    assert_eq!(
        (measured.name.as_str(), measured.value.as_str()),
        ("tread depth", "1.4 mm")
    );
    assert!(!measured.within);
}

#[test]
fn a_later_job_settles_what_it_did_and_leaves_its_own() {
    let bay = Bay::new();
    bay.work(Mode::Work, 0, "1.4", WHOLE);
    // Measured again, and left open before anything was tightened.
    bay.work(Mode::Work, 1, "4.0", 6);
    assert_eq!(bay.due(), [RETORQUE]);
    let history = bay.history();
    assert_eq!(history.measured.len(), 1, "the last value of each reading");
    assert_eq!(history.measured[0].value, "4.0 mm");
    assert!(history.measured[0].within);
    bay.work(Mode::Work, 2, "4.0", WHOLE);
    let due = bay.history().due;
    assert_eq!(due.len(), 1, "{due:?}");
    assert!(
        due[0].since > Moment(NINE + 1000 * DAY * 2),
        "the newer job's"
    );
}

#[test]
fn rehearsals_and_recordings_leave_nothing_and_settle_nothing() {
    let bay = Bay::new();
    for mode in [Mode::Rehearsal, Mode::Recordings] {
        bay.work(mode, 0, "1.4", WHOLE);
    }
    assert_eq!(bay.history(), VehicleHistory::default());
    bay.work(Mode::Work, 1, "1.4", WHOLE);
    bay.work(Mode::Recordings, 2, "4.0", WHOLE);
    assert_eq!(bay.due().len(), 2);
}
