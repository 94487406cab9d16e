//! Lists and shows procedures.

use super::export::ExportOptions;
use super::terminal;
use miette::IntoDiagnostic;
use sayback::library::Shelf;
use serde_json::json;
use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;
use steps::Procedure;
use steps::procedure::{
    Action, Gate, Step, TimeLeft, Uses, expected, left_after, supplies_at_most,
};
use steps::quantity::MeasureUnit;

pub fn list(shelf: &Shelf, as_json: bool) -> miette::Result<ExitCode> {
    let names = super::work::names(shelf)?;
    let mut usable = Vec::new();
    let mut faulty = 0;
    for name in names {
        match shelf.load_to_list(&name) {
            Ok(procedure) => usable.push(procedure),
            Err(problems) => {
                faulty += 1;
                warn!("{name}: {problems}; see `sayback check`");
            }
        }
    }
    if as_json {
        let list: Vec<_> = usable.iter().map(brief).collect();
        terminal::tell_json(&list)?;
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
        let others = shelf.translations();
        if !others.is_empty() {
            warn!(
                "In another language, to be rehearsed: {}.",
                others.join(", ")
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
    it: &Procedure,
    amounts_in: Option<MeasureUnit>,
    as_json: bool,
    picture: Option<&Path>,
    parts: Option<&Path>,
    export: &ExportOptions,
) -> miette::Result<ExitCode> {
    let if_there = export.overwrite.if_there();
    if let Some(path) = picture {
        let drawing = report::flow_picture(it);
        files::write(path, drawing.as_bytes(), if_there).into_diagnostic()?;
    }
    if let Some(path) = parts {
        let list = report::purchase_list(it).into_diagnostic()?;
        files::write(path, list.as_bytes(), if_there).into_diagnostic()?;
    }
    let sheet = export.write(it)?;
    let written: Vec<&Path> = [picture, parts, sheet].into_iter().flatten().collect();
    if !as_json && !written.is_empty() {
        for path in written {
            tell!("{}", path.display());
        }
        return Ok(ExitCode::SUCCESS);
    }
    if as_json {
        let mut all = brief(it);
        all["steps"] = it.steps.iter().map(|step| step_json(it, step)).collect();
        all["parts"] = it
            .parts
            .iter()
            .map(|part| {
                json!({ "what": part.what, "part_number": part.number, "quantity": part.quantity,
                    "always_new": part.always_new, "core_return": part.core_return })
            })
            .collect();
        all["supplies"] = used_up(it, amounts_in)
            .map(|(uses, varies)| {
                json!({ "what": uses.what, "amount": uses.amount.to_string(), "at_most": varies })
            })
            .collect();
        all["gates"] = it
            .gates
            .iter()
            .map(|(id, gate)| json!({ "id": id, "fact": gate.fact, "readback": gate.readback_written, "alternatives": gate.alternatives, "weight": gate.weight.name() }))
            .collect();
        terminal::tell_json(&all)?;
        return Ok(ExitCode::SUCCESS);
    }
    tell!(
        "{}\n{}\n{}\n{}",
        it.title,
        it.vehicle,
        it.values,
        it.language.usual_caution()
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
    for (number, (uses, varies)) in used_up(it, amounts_in).enumerate() {
        let heading = if number == 0 {
            "\nUsed up:"
        } else {
            "        "
        };
        let at_most = if varies { "up to " } else { "" };
        tell!("{heading} {}, {at_most}{}", uses.what, uses.amount);
    }
    let whole = expected(it, &BTreeMap::new(), &BTreeMap::new());
    tell!(
        "\nAbout {} minutes, then step by step:\n",
        TimeLeft::minutes(whole)
    );
    for (number, step) in it.steps.iter().enumerate() {
        tell!("{:>3}  {}", number + 1, in_a_line(it, step));
    }
    tell!("\nWhen the job is given up:");
    for step in &it.make_safe {
        tell!("     {}", in_a_line(it, step));
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
            match gate.is_none_or(Gate::is_hold_point) {
                true => format!(
                    "HOLD POINT, say: {readback} {}",
                    it.language.then_the_check_word()
                ),
                false => format!("CHECK, say: {readback}"),
            }
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
            it.language.signal(warning.signal).to_uppercase(),
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
