//! Lists the vehicles that there are sheets of, and finds one by its name.

use super::options::near;
use super::terminal;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::library::Shelf;
use serde_json::json;
use std::process::ExitCode;
use steps::procedure::as_heard;

pub fn list(shelf: &Shelf, as_json: bool) -> miette::Result<ExitCode> {
    let (usable, faulty) = shelf.vehicles().into_diagnostic().wrap_err(UNREADABLE)?;
    for problems in &faulty {
        warn!("{problems}; see `sayback check`");
    }
    if as_json {
        let list: Vec<_> = usable
            .iter()
            .map(|it| json!({ "id": it.id, "names": it.names, "vehicle": it.vehicle, "fits": it.fits }))
            .collect();
        terminal::tell_json(&list)?;
    } else {
        // A type is no vehicle.
        for it in usable.iter().filter(|it| !it.names.is_empty()) {
            let fits: Vec<&str> = it.fits.iter().map(String::as_str).collect();
            tell!("{:<16} {}: {}", it.id.as_str(), it.vehicle, fits.join(", "));
        }
    }
    Ok(match faulty.is_empty() {
        true => ExitCode::SUCCESS,
        false => ExitCode::FAILURE,
    })
}

const UNREADABLE: &str = "the vehicle sheets can't be read: name another folder with --procedures";

/// The sheet of the vehicle of this name: that of the sheet, or what people call the vehicle.
///
/// # Errors
/// When no vehicle, or more than one, is called so.
pub fn sheet_of(shelf: &Shelf, named: &str) -> miette::Result<String> {
    let sheets = shelf.sheets().into_diagnostic().wrap_err(UNREADABLE)?;
    if sheets.iter().any(|sheet| sheet == named) {
        return Ok(named.to_owned());
    }
    let heard = as_heard(named);
    let (vehicles, _) = shelf.vehicles().into_diagnostic().wrap_err(UNREADABLE)?;
    let called: Vec<&str> = vehicles
        .iter()
        .filter(|it| it.names.contains(&heard))
        .map(|it| it.id.as_str())
        .collect();
    match called.as_slice() {
        [sheet] => Ok((*sheet).to_owned()),
        [] => {
            let near = near(named, sheets.iter().map(String::as_str));
            let help = match near.is_empty() {
                true => "`sayback vehicles` lists them".to_owned(),
                false => format!("did you mean {}?", near.join(", ")),
            };
            Err(miette!(help = help, "there is no vehicle called “{named}”"))
        }
        several => Err(miette!(
            help = "give each vehicle a name of its own in the `names` of its sheet",
            "more than one vehicle is called “{named}”: {}",
            several.join(", ")
        )),
    }
}
