//! Lists, shows and checks procedures.

use ears::verdict::Bars;
use ears::whisper;
use miette::{IntoDiagnostic, WrapErr, miette};
use sayback::library::Shelf;
use sayback::separation::{Apart, separations};
use sayback::technician;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;
use steps::Procedure;
use steps::procedure::{Action, Step, TimeLeft, Uses, expected, left_after, supplies_at_most};
use steps::quantity::MeasureUnit;

pub fn list(shelf: &Shelf, as_json: bool) -> miette::Result<ExitCode> {
    let names = super::work::names(shelf)?;
    let mut usable = Vec::new();
    let mut faulty = 0;
    for name in names {
        match shelf.load(&name) {
            Ok(procedure) => usable.push(procedure),
            Err(problems) => {
                faulty += 1;
                eprintln!("{name}: {problems}; see `sayback check`");
            }
        }
    }
    if as_json {
        let list: Vec<_> = usable.iter().map(brief).collect();
        tell!("{}", serde_json::to_string_pretty(&list).into_diagnostic()?);
    } else {
        for it in &usable {
            let minutes = it.usual_time.as_secs() / 60;
            tell!(
                "{:<20} {} ({} steps, {} gates, about {minutes} min)",
                it.id,
                it.title,
                it.steps.len(),
                it.gates.len()
            );
        }
    }
    Ok(if faulty == 0 {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

fn brief(it: &Procedure) -> serde_json::Value {
    json!({
        "id": it.id, "title": it.title, "vehicle": it.vehicle, "values": it.values,
        "minutes": it.usual_time.as_secs() / 60, "steps": it.steps.len(), "gates": it.gates.len(),
        "sha256": it.sha256,
    })
}

pub fn show(
    shelf: &Shelf,
    name: &str,
    amounts_in: Option<MeasureUnit>,
    as_json: bool,
    picture: Option<&Path>,
) -> miette::Result<ExitCode> {
    let it = super::work::load(shelf, name)?;
    if let Some(path) = picture {
        std::fs::write(path, report::flow_picture(&it))
            .into_diagnostic()
            .wrap_err_with(|| {
                format!(
                    "the picture can't be written to {}: name another file",
                    path.display()
                )
            })?;
    }
    if as_json {
        let mut all = brief(&it);
        all["steps"] = it.steps.iter().map(|step| step_json(&it, step)).collect();
        all["supplies"] = used_up(&it, amounts_in)
            .map(|(uses, varies)| {
                json!({ "what": uses.what, "amount": uses.amount.to_string(), "at_most": varies })
            })
            .collect();
        all["gates"] = it
            .gates
            .iter()
            .map(|(id, gate)| json!({ "id": id, "fact": gate.fact, "readback": gate.readback_written, "colour": gate.colour }))
            .collect();
        tell!("{}", serde_json::to_string_pretty(&all).into_diagnostic()?);
        return Ok(ExitCode::SUCCESS);
    }
    tell!(
        "{}\n{}\n{}\n{}",
        it.title,
        it.vehicle,
        it.values,
        steps::job::USUAL_CAUTION
    );
    let all = &it.lay_out;
    for (heading, list) in [
        ("Put on", &all.protection),
        ("Tools", &all.tools),
        ("Parts", &all.parts),
        ("Consumables", &all.consumables),
    ] {
        if !list.is_empty() {
            tell!("\n{heading}: {}", list.join("; "));
        }
    }
    for (number, (uses, varies)) in used_up(&it, amounts_in).enumerate() {
        let heading = if number == 0 {
            "\nUsed up:"
        } else {
            "        "
        };
        let at_most = if varies { "up to " } else { "" };
        tell!("{heading} {}, {at_most}{}", uses.what, uses.amount);
    }
    let whole = expected(&it, &BTreeMap::new(), &BTreeMap::new());
    tell!(
        "\nAbout {} minutes, then step by step:\n",
        TimeLeft::minutes(whole)
    );
    for (number, step) in it.steps.iter().enumerate() {
        tell!("{:>3}  {}", number + 1, in_a_line(&it, step));
    }
    tell!("\nWhen the job is given up:");
    for step in &it.make_safe {
        tell!("     {}", in_a_line(&it, step));
    }
    Ok(ExitCode::SUCCESS)
}

fn used_up(it: &Procedure, amounts_in: Option<MeasureUnit>) -> impl Iterator<Item = (Uses, bool)> {
    let all = supplies_at_most(it).into_iter();
    all.map(move |(uses, varies)| {
        let amount = amounts_in.map_or(uses.amount, |unit| uses.amount.in_unit(unit));
        (Uses { amount, ..uses }, varies)
    })
}

fn in_a_line(it: &Procedure, step: &Step) -> String {
    let line = match &step.action {
        Action::Hold(gate) => {
            let gate = it.gates.get(gate);
            let readback = gate.map_or("", |gate| &gate.readback_written);
            let colour = match gate.is_some_and(|gate| gate.colour) {
                true => " And the colour that is asked for.",
                false => "",
            };
            format!("HOLD POINT, say: {readback}{colour}")
        }
        Action::Do
        | Action::Loosen(_)
        | Action::Remove(_)
        | Action::Refit(_)
        | Action::Tighten(_)
        | Action::Measure(_)
        | Action::Wait(_)
        | Action::Inspect
        | Action::Ask { .. } => it.action_of(step),
    };
    match &step.warning {
        Some(warning) => format!(
            "{} {}\n     {line}",
            warning.signal.word().to_uppercase(),
            warning.text
        ),
        None => line,
    }
}

fn step_json(it: &Procedure, step: &Step) -> serde_json::Value {
    let group = step.fastener.as_ref().and_then(|id| it.fasteners.get(id));
    let torque = group.and_then(|group| group.torque.as_ref());
    let none_chosen = BTreeMap::new();
    let time = left_after(it, &none_chosen, &BTreeMap::new(), Some(&step.id));
    json!({
        "id": step.id, "text": in_a_line(it, step), "minutes_left": TimeLeft::minutes(time.left), "needs": step.needs, "voids": step.voids,
        "torque": torque.map(|torque| torque.all().iter().map(ToString::to_string).collect::<Vec<_>>()),
    })
}

/// Checks a file: that it can be read and used, and that everything to be said in it can be heard apart. What looks
/// like a slip is drawn, and no failure.
pub fn check(file: &Path, heard: bool) -> miette::Result<ExitCode> {
    let folder = file
        .parent()
        .filter(|folder| !folder.as_os_str().is_empty())
        .unwrap_or(Path::new("."));
    let name = file
        .file_name()
        .and_then(|name| name.to_str())
        .and_then(|name| name.strip_suffix(".toml"))
        .ok_or_else(|| miette!("{} is not a .toml file", file.display()))?;
    let (it, doubts) = Shelf::Folder(folder.to_owned())
        .load_for_its_author(name)
        .map_err(|problems| miette::Report::new(*problems))?;
    let said = technician::goes_through(&it).into_diagnostic()?;
    let look_again = match doubts.len() {
        0 => String::new(),
        count => format!(", {count} thing(s) to look at again"),
    };
    for doubt in doubts {
        eprintln!("{:?}", miette::Report::new(doubt));
    }
    tell!(
        "{}: nothing to put right{look_again}. {} steps, {} gates, {} things to say on the straight way through.",
        it.title,
        it.steps.len(),
        it.gates.len(),
        said.len()
    );
    if heard {
        return told_apart(&it);
    }
    Ok(ExitCode::SUCCESS)
}

/// Has the readbacks spoken and heard, and says of each whether it can be told from its denials.
fn told_apart(it: &Procedure) -> miette::Result<ExitCode> {
    let cache = voice::fixtures::cache_folder()
        .ok_or_else(|| miette!("no cache folder: set SAYBACK_CACHE or HOME"))?;
    let mut ear = whisper::ClosedSet::load(&whisper::default_model_dir(), 2).into_diagnostic()?;
    // Without the folder it only takes longer.
    let _ = ear.keep_priors_in(&cache.join("priors"));
    let all = separations(it, &mut ear, &Bars::default(), &cache, |found| {
        tell!("\n“{}”", found.readback);
        tell!("  taken at once from {} of {} voices", found.taken, found.voices);
        if let Some((margin, other)) = &found.nearest {
            tell!("  nearest to it: “{other}”, by {margin:.1}");
        }
        for opening in &found.opening {
            tell!("  “{opening}” would open it");
        }
        tell!(
            "  {}",
            match found.verdict() {
                Apart::Well => "well told apart from its denials",
                Apart::Hardly => "hardly heard: shorter, plainer words that don't rhyme with each other help",
                Apart::No => "not told apart: reword it, so that its denial changes more than one short word",
            }
        );
    })
    .into_diagnostic()?;
    tell!("\nVoices made by programs stand for people here. Say the words yourself too.");
    let fails = all.iter().any(|found| found.verdict() == Apart::No);
    Ok(if fails {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    })
}
