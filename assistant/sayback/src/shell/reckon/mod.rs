//! Answers the trade's questions without a job, for people and, with `--json`, for scripts.
//!
//! All arithmetic is `steps::quantity`'s; here it is only asked and worded.

mod adapter;
mod clamp;
mod convert;
mod fit;
mod pattern;
mod reading;
mod running;
mod stands;
mod wait;

use super::terminal;
use clap::Subcommand;
use miette::{IntoDiagnostic, miette};
use std::process::ExitCode;
use steps::Decimal;
use steps::quantity::{Amount, Measured, TorqueUnit, TorqueValue};
use uom::si::f64::{Length, Mass, Torque};

/// A question.
#[derive(Debug, Subcommand)]
pub enum Reckon {
    /// The same torque, length, pressure, mass, volume, voltage or temperature in other units
    Convert(convert::Convert),
    /// What to set on a torque wrench with a crow's-foot or another adapter on it
    Adapter(adapter::Adapter),
    /// The clamp load and share of proof load that a torque gives, or the torque for a share
    Clamp(clamp::Clamp),
    /// The order in which to tighten a circle or an array of fasteners, and a drawing of it
    Pattern(pattern::PatternOf),
    /// Whether a socket or spanner of one size fits a head of another
    Fit(fit::FitOf),
    /// The load on each stand under a lifted axle, and whether its rating holds
    Stands(stands::Stands),
    /// How long to wait at a temperature, from the source's own table
    Wait(wait::Wait),
    /// Whether a reading is within its limits
    Reading(reading::Reading),
    /// What to tighten to with a locking nut's running torque added, where the source says so
    Running(running::Running),
}

/// An answer in both forms.
pub struct Answer {
    lines: Vec<String>,
    json: serde_json::Value,
}

/// Answers a question. An answer is an answer, also “too weak” or “out of limits”: a script reads it from the
/// JSON, and a failure means that there is none.
pub fn reckon(question: &Reckon, as_json: bool) -> miette::Result<ExitCode> {
    let answer = match question {
        Reckon::Convert(it) => it.answer(),
        Reckon::Adapter(it) => it.answer(),
        Reckon::Clamp(it) => it.answer(),
        Reckon::Pattern(it) => it.answer(),
        Reckon::Fit(it) => it.answer(),
        Reckon::Stands(it) => it.answer(),
        Reckon::Wait(it) => it.answer(),
        Reckon::Reading(it) => it.answer(),
        Reckon::Running(it) => it.answer(),
    }?;
    if as_json {
        terminal::tell_json(&answer.json)?;
    } else {
        for line in &answer.lines {
            tell!("{line}");
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn length(given: Measured, what: &str) -> miette::Result<Length> {
    match given.amount() {
        Amount::Length(length) => Ok(length),
        Amount::Temperature(_)
        | Amount::Voltage(_)
        | Amount::Pressure(_)
        | Amount::Charge(_)
        | Amount::Mass(_)
        | Amount::Volume(_) => Err(miette!(
            help = "write it like “18 in” or “450 mm”",
            "{what} is a length, not “{given}”"
        )),
    }
}

fn mass(given: Measured, what: &str) -> miette::Result<Mass> {
    match given.amount() {
        Amount::Mass(mass) => Ok(mass),
        Amount::Length(_)
        | Amount::Temperature(_)
        | Amount::Voltage(_)
        | Amount::Pressure(_)
        | Amount::Charge(_)
        | Amount::Volume(_) => Err(miette!(
            help = "write it like “1800 kg” or “4000 lb”",
            "{what} is a mass, not “{given}”"
        )),
    }
}

/// A torque in a unit, as short as it can be within a thousandth.
fn told(torque: Torque, unit: TorqueUnit) -> miette::Result<TorqueValue> {
    let exact = unit.of(torque);
    let value = (0..=steps::MAX_PLACES)
        .filter_map(|places| Decimal::nearest(exact, places))
        .find(|rounded| (rounded.to_f64() - exact).abs() <= 0.001 * exact)
        .ok_or_else(|| miette!("{exact} {unit} can't be written with six decimal places"))?;
    TorqueValue::new(value, unit).into_diagnostic()
}

/// So many significant digits, and no exponent.
fn digits(value: f64, significant: i32) -> String {
    let before = value.abs().log10().floor() as i32 + 1;
    let places = (significant - before).clamp(0, 9) as usize;
    format!("{value:.places$}")
}
