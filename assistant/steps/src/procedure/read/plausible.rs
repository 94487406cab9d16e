//! Torques that don't suit their thread: a slip of the author or the source, drawn before anyone tightens to it.
//!
//! No value is refused for it, since a torque may be set by something else than the thread, a bearing or a seal.

use super::Reader;
use crate::procedure::code::Code;
use crate::procedure::file::{FastenerFile, Text};
use crate::quantity::{
    Agreement, Finish, NutFactor, Plausibility, Strength, Thread, ThreadError, TorqueSpec,
    TorqueValue, agreement, plausibility,
};

const LOOK_AGAIN: &str =
    "look at the source again; if the value is right, say why: `unusual_because = \"…\"`";

/// The nut factors that a fastener's threads may have.
struct NutFactors {
    least: NutFactor,
    most: NutFactor,
}

impl Reader<'_> {
    /// Looks at every torque.
    pub(super) fn plausible(&mut self) {
        let gathered = self.gathered;
        for (loaded, it) in gathered.files.iter().enumerate() {
            for group in &it.file.fastener {
                self.compared(loaded, group);
                self.judged(loaded, group);
            }
        }
    }

    /// A torque and the same in a second unit must agree: nobody can tell which of two is right.
    fn compared(&mut self, loaded: usize, group: &FastenerFile) {
        let Some(also) = &group.torque_also else {
            return;
        };
        let place = self.at(loaded, also.span());
        let Some(torque) = group.torque.as_ref() else {
            self.desk.problem(
                Code::MissingKey,
                &place,
                "`torque_also` is the second unit of a `torque`, and there is none",
                "beside nothing",
                "give the source's torque as `torque`",
            );
            return;
        };
        // A torque that can't be read was drawn when the group was read.
        let Some(first) = target(torque) else {
            return;
        };
        let Some(second) = self.parsed::<TorqueValue>(loaded, also, "write it like “103 lbf·ft”")
        else {
            return;
        };
        let label = match agreement(first, second) {
            Agreement::Same => return,
            Agreement::Slip(slip) => format!("in {}, {slip}", first.unit),
            Agreement::Different(times) => format!("{times:.2} times the other"),
        };
        self.desk.problem(
            Code::TorqueDisagrees,
            &place,
            format!(
                "the torque of “{}” is {first}, and {second} is another one",
                self.own(loaded, &group.id)
            ),
            label,
            "look at the source again: both must be the same torque",
        );
    }

    fn judged(&mut self, loaded: usize, group: &FastenerFile) {
        let (Some(thread), Some(class)) = (&group.thread, &group.class) else {
            return;
        };
        let about = self.own(loaded, &group.id);
        let (Some(thread), Some(strength)) = (
            self.thread(loaded, &about, thread),
            self.strength(loaded, &about, class),
        ) else {
            return;
        };
        if let Err(error) = strength.proof_load(thread) {
            let place = self.at(loaded, class.span());
            self.desk.doubt(
                Code::ThreadOrClass,
                &about,
                &place,
                error.to_string(),
                "on another kind of thread",
                "correct the class or the thread; as it stands the torque can't be judged",
            );
            return;
        }
        let Some(k) = self.nut_factors(loaded, group) else {
            return;
        };
        let finish = match group.angle.as_ref().map(|angle| *angle.as_ref()) {
            Some(angle) if group.once_only => Finish::ThenAngleToYield(angle),
            Some(angle) => Finish::ThenAngle(angle),
            None => Finish::AtTorque,
        };
        let by_variant = group.torque_by.iter().flat_map(|by| by.values.values());
        for text in group.torque.iter().chain(by_variant) {
            let Some(torque) = target(text) else {
                continue;
            };
            // Low only by the most clamping friction there may be, high only by the least.
            let judge = |k| plausibility(torque, thread, strength, k, finish);
            let (Ok(least), Ok(most)) = (judge(k.most), judge(k.least)) else {
                continue;
            };
            let odd = match (least, most) {
                (Plausibility::High(_), _) => least,
                (_, Plausibility::Low(_)) => most,
                (
                    Plausibility::Plausible { .. } | Plausibility::Low(_),
                    Plausibility::Plausible { .. } | Plausibility::High(_),
                ) => {
                    self.usual(loaded, group);
                    continue;
                }
            };
            if group.unusual_because.is_some() {
                continue;
            }
            let (unusual, side) = match odd {
                Plausibility::High(unusual) => (unusual, "over"),
                Plausibility::Low(unusual) => (unusual, "under"),
                // Only the other two are odd.
                Plausibility::Plausible { .. } => continue,
            };
            let place = self.at(loaded, text.span());
            let label = match unusual.slip {
                Some(slip) => slip.to_string(),
                None => format!("{side} {:.0} %", unusual.bound * 100.0),
            };
            self.desk.doubt(
                Code::TorqueUnusual,
                &about,
                &place,
                format!(
                    "{torque} for “{about}”: {odd} ({thread}, {strength})",
                    odd = share(odd),
                ),
                label,
                LOOK_AGAIN,
            );
        }
    }

    /// An explanation of something usual would hide the next slip.
    fn usual(&mut self, loaded: usize, group: &FastenerFile) {
        let only_one = group.torque.is_some();
        if let Some(because) = group.unusual_because.as_ref().filter(|_| only_one) {
            let about = self.own(loaded, &group.id);
            let place = self.at(loaded, because.span());
            self.desk.doubt(
                Code::ReasonUnneeded,
                &about,
                &place,
                format!("the torque of “{about}” is usual for its thread"),
                "explains nothing",
                "take `unusual_because` out, or a later slip stays hidden",
            );
        }
    }

    /// A thread that is known here. Pipe threads and the like are left alone; a metric one with a slip isn't.
    fn thread(&mut self, loaded: usize, about: &str, text: &Text) -> Option<Thread> {
        let error = match text.as_ref().parse() {
            Ok(thread) => return Some(thread),
            Err(error) => error,
        };
        let told = match error {
            ThreadError::Designation(_) | ThreadError::Size(_) => {
                text.as_ref().trim_start().starts_with('M')
            }
            ThreadError::Diameter(_)
            | ThreadError::NoCoarsePitch(_)
            | ThreadError::Pitch { .. }
            | ThreadError::ThreadsPerInch { .. } => true,
        };
        if told {
            let place = self.at(loaded, text.span());
            self.desk.doubt(
                Code::ThreadOrClass,
                about,
                &place,
                error.to_string(),
                "no such thread",
                "look at the source again; as it stands the torque can't be judged",
            );
        }
        None
    }

    fn strength(&mut self, loaded: usize, about: &str, text: &Text) -> Option<Strength> {
        match text.as_ref().parse() {
            Ok(strength) => Some(strength),
            Err(error) => {
                let place = self.at(loaded, text.span());
                self.desk.doubt(
                    Code::ThreadOrClass,
                    about,
                    &place,
                    format!("{error}"),
                    "no known mark",
                    "look at the mark on the head; as it stands the torque can't be judged",
                );
                None
            }
        }
    }

    fn nut_factors(&mut self, loaded: usize, group: &FastenerFile) -> Option<NutFactors> {
        let both = |k| NutFactors { least: k, most: k };
        if let Some(given) = &group.nut_factor {
            return match NutFactor::new(*given.as_ref()) {
                Ok(k) => Some(both(k)),
                Err(error) => {
                    let place = self.at(loaded, given.span());
                    self.desk.problem(
                        Code::Value,
                        &place,
                        error.to_string(),
                        "here",
                        "give the source's nut factor, or leave it out",
                    );
                    None
                }
            };
        }
        Some(match group.lubrication.as_deref().map(str::trim) {
            Some("dry") => both(NutFactor::DRY),
            // A threadlocker lubricates too while it is wet (common practice, no source); unstated may be either.
            Some(_) | None => NutFactors {
                least: NutFactor::LUBRICATED,
                most: NutFactor::DRY,
            },
        })
    }
}

/// What is aimed at; `None` for a text that is no torque.
fn target(text: &Text) -> Option<TorqueValue> {
    let spec: TorqueSpec = text.as_ref().parse().ok()?;
    Some(spec.target())
}

/// The share alone, and the bound that it passes; the slip stands in the label.
fn share(judged: Plausibility) -> String {
    let told = judged.to_string();
    told.split_once(": ")
        .map_or(told.clone(), |(share, _)| share.to_owned())
}
