//! Sizes, torques and times as a sheet has them.

use steps::Procedure;
use steps::procedure::{ByVariant, FastenerGroup, Wait, WaitTime};
use steps::quantity::{Limits, Pattern, Stage, TorqueSpec, TorqueUnit};
use uom::si::torque::newton_meter;

/// Below this a pound-force inch tells more than a pound-force foot (common practice, no source).
const SMALL_NEWTON_METRES: f64 = 20.0;

/// “21 mm hex, deep”.
pub(super) fn size(group: &FastenerGroup) -> Option<String> {
    let drive = group.drive?;
    let depth = drive.depth.map_or("", |depth| match depth {
        steps::quantity::Depth::Standard => "",
        steps::quantity::Depth::Deep => ", deep socket",
    });
    Some(format!("{} {}{depth}", drive.size, drive.shape.name()))
}

/// The torque in its source's unit and in the other one, for each option.
pub(super) fn torques(it: &Procedure, group: &FastenerGroup) -> Vec<String> {
    match &group.torque {
        None => Vec::new(),
        Some(ByVariant::Always(spec)) => vec![in_both(*spec)],
        Some(ByVariant::By(variant, values)) => values
            .iter()
            .map(|(option, spec)| {
                let asked = it.variants.iter().find(|it| it.id == *variant);
                let words = asked.and_then(|it| it.options.iter().find(|(id, _)| id == option));
                let words = words.map_or(option.as_str(), |(_, words)| words);
                format!("{words}: {}", in_both(*spec))
            })
            .collect(),
    }
}

fn in_both(spec: TorqueSpec) -> String {
    let target = spec.target();
    let other = match target.unit {
        TorqueUnit::NewtonMetre | TorqueUnit::NewtonCentimetre
            if target.quantity().get::<newton_meter>() < SMALL_NEWTON_METRES =>
        {
            TorqueUnit::PoundInch
        }
        TorqueUnit::NewtonMetre | TorqueUnit::NewtonCentimetre => TorqueUnit::PoundFoot,
        TorqueUnit::PoundFoot
        | TorqueUnit::PoundInch
        | TorqueUnit::KilogramForceMetre
        | TorqueUnit::KilogramForceCentimetre => TorqueUnit::NewtonMetre,
    };
    let set = target.on_a_scale_of(other).set;
    match spec.limits() {
        Limits::Range(..) => format!("{spec} (aim at {target}, {set})"),
        Limits::Unstated | Limits::PlusMinus(_) | Limits::Uneven(..) | Limits::Percent(_) => {
            format!("{spec} ({set})")
        }
    }
}

/// Passes, order, turn and what goes on the threads.
pub(super) fn manner(it: &Procedure, group: &FastenerGroup) -> Vec<String> {
    let mut all = Vec::new();
    if group.passes.len() > 1 {
        let passes = group.passes.iter().map(|stage| match stage {
            Stage::Percent(share) => format!("{share} %"),
            Stage::Torque(torque) => torque.to_string(),
            Stage::Angle(degrees) => format!("{degrees}°"),
        });
        let passes: Vec<String> = passes.collect();
        all.push(format!("passes: {}", passes.join(", ")));
    }
    if group.count > 1
        && let Some(pattern) = group.pattern
    {
        all.push(
            match pattern {
                Pattern::CrissCross => "across the circle each time",
                Pattern::Star => "in a star",
                Pattern::InTurn => "one beside the other",
            }
            .to_owned(),
        );
    }
    if let Some(angle) = group.angle {
        let to_yield = if group.to_yield {
            ", beyond the yield point"
        } else {
            ""
        };
        all.push(format!("then a turn of {angle}°{to_yield}"));
    }
    if let Some(reading) = group.running.as_ref().and_then(|id| it.readings.get(id)) {
        all.push(format!("add the {}", reading.name));
    }
    if let Some(threadlocker) = &group.threadlocker {
        all.push(format!("threadlocker: {threadlocker}"));
    }
    if let Some(lubrication) = &group.lubrication {
        all.push(format!("threads: {lubrication}"));
    }
    if group.once_only {
        all.push("new ones each time".to_owned());
    }
    if let Some(settling) = group.again_after {
        all.push(format!("tighten again after {settling}"));
    }
    all
}

/// How long a wait is.
pub(super) fn time(it: &Procedure, wait: &Wait) -> String {
    match &wait.time {
        WaitTime::Fixed(time) => match time.as_secs() / 60 {
            1 => "1 minute".to_owned(),
            minutes => format!("{minutes} minutes"),
        },
        WaitTime::ByTemperature { reading, rows } => {
            let rows: Vec<String> = rows
                .iter()
                .map(|(at, minutes)| format!("{at}: {minutes} minutes"))
                .collect();
            let name = it.readings.get(reading).map_or("", |it| &it.name);
            format!("by the {name}: {}", rows.join(", "))
        }
        WaitTime::Until(step) => {
            let place = it.steps.iter().position(|it| it.id == *step);
            match place {
                Some(place) => format!("until the wait of step {} is over", place + 1),
                None => format!("until the wait “{step}” is over"),
            }
        }
    }
}
