//! A procedure as a picture: its steps from top to bottom, its hold points, how long each fact holds, what comes off
//! and when it is back in place.

pub(crate) mod lanes;
mod svg;

use crate::names::{extra_heading, extra_steps, said};
use lanes::{Lane, lanes_of_facts, lanes_of_things};
use steps::Procedure;
use steps::procedure::{Action, Step, Thing, Weight};
use svg::{Drawing, LANE, LEADING, Lanes};

/// The procedure as SVG, in black on white: signs, words and thickness of line tell everything. A long one goes on in
/// columns side by side.
///
/// A line on the left runs from the step at which something is loosened or taken off to the one at which it is in
/// place again; a line on the right from where a fact is first asked for to where a step voids it.
pub fn flow_picture(procedure: &Procedure) -> String {
    let rows: Vec<Row> = procedure
        .steps
        .iter()
        .enumerate()
        .map(|(number, step)| Row::of(procedure, step, Some(number + 1)))
        .collect();
    let off = lanes_of_things(procedure);
    let facts = lanes_of_facts(procedure);
    let lanes = Lanes {
        left: LANE * columns(&off) as f32 + LANE / 2.0,
        right: LANE * columns(&facts) as f32 + svg::LABEL,
    };
    let mut blocks: Vec<Block> = rows.iter().map(|row| (None, row)).collect();
    let extra: Vec<(String, Vec<Row>)> = extra(procedure);
    for (heading, rows) in &extra {
        let headings = std::iter::once(Some(heading.as_str())).chain(std::iter::repeat(None));
        blocks.extend(headings.zip(rows));
    }
    let whole: f32 = blocks.iter().map(svg::height).sum();
    let count = (whole / TALL).ceil().max(1.0);

    let mut drawing = Drawing::new(lanes, count as usize);
    drawing.heading(&procedure.title);
    drawing.line(&format!("{} {}", procedure.vehicle, procedure.values));
    drawing.line(&procedure.language.usual_caution());
    drawing.gap();
    drawing.begin_columns();
    let mut middles = Vec::new();
    let mut drawn = 0.0;
    for block in &blocks {
        let height = svg::height(block);
        // Where its middle lies tells its column, so that all are of about one height.
        let column = ((drawn + height / 2.0) / whole * count) as usize;
        drawn += height;
        drawing.go_to_column(column.min(count as usize - 1));
        let (heading, row) = block;
        if let Some(heading) = heading {
            drawing.heading_in_column(heading);
        }
        let place = drawing.row(row);
        if row.number.is_some() {
            middles.push(place);
        }
    }
    for lane in &off {
        drawing.lane_of_thing(lane, &middles);
    }
    for lane in &facts {
        drawing.lane_of_fact(lane, &middles);
    }
    drawing.finish()
}

/// The height that a column may have, about.
const TALL: f32 = 2400.0;

/// A row, and the heading above it where it has one.
type Block<'a> = (Option<&'a str>, &'a Row);

/// Extra steps, and those that leave it safe.
fn extra(procedure: &Procedure) -> Vec<(String, Vec<Row>)> {
    let rows = |steps: &[Step]| {
        let rows = steps.iter().map(|step| Row::of(procedure, step, None));
        rows.collect::<Vec<_>>()
    };
    let branches = procedure.branches.iter().map(|(id, branch)| {
        let heading = extra_heading(procedure, id, branch);
        (heading, rows(&branch.steps))
    });
    let safe = (
        "When the job is given up".to_owned(),
        rows(&procedure.make_safe),
    );
    let all = branches.chain(std::iter::once(safe));
    all.filter(|(_, rows)| !rows.is_empty()).collect()
}

fn columns(lanes: &[Lane]) -> usize {
    lanes.iter().map(|lane| lane.column + 1).max().unwrap_or(0)
}

/// A step, ready to be drawn.
struct Row {
    number: Option<usize>,
    kind: &'static str,
    hold: bool,
    /// What is written, with whether it stands out.
    lines: Vec<(String, bool)>,
}

impl Row {
    fn of(procedure: &Procedure, step: &Step, number: Option<usize>) -> Self {
        let mut lines = Vec::new();
        let mut add = |text: &str, strong| {
            lines.extend(svg::wrapped(text).into_iter().map(|line| (line, strong)));
        };
        if let Some(only) = only_when(procedure, step) {
            add(&only, false);
        }
        // The warning before the action that it guards (DOE-STD-1029).
        if let Some(warning) = &step.warning {
            let text = procedure.with_every_option(step, &warning.text);
            add(
                &format!(
                    "{}: {text}",
                    procedure.language.signal(warning.signal).to_uppercase()
                ),
                true,
            );
        }
        match &step.action {
            Action::Hold(id) => {
                if let Some(gate) = procedure.gates.get(id) {
                    let ask = procedure.with_every_option(step, &gate.ask);
                    match gate.weight {
                        Weight::HoldPoint => {
                            let signal = procedure.language.signal(gate.signal).to_uppercase();
                            add(&format!("{signal}: {ask}"), false);
                        }
                        Weight::Check => add(&ask, false),
                    }
                    add(&format!("Say: {}", said(procedure.language, gate)), true);
                }
            }
            Action::Ask { yes, no } => {
                add(&procedure.action_of(step), false);
                for (answer, leads_to) in [("yes", yes), ("no", no)] {
                    if let Some(branch) = leads_to {
                        add(
                            &format!("{answer} → {}", extra_steps(procedure, branch)),
                            true,
                        );
                    }
                }
            }
            Action::Measure(id) => {
                add(&procedure.action_of(step), false);
                if let Some(reading) = procedure.readings.get(id) {
                    let limits = reading.limits().unwrap_or_else(|| "no limits".to_owned());
                    add(&format!("{}: {limits}", reading.name), true);
                    if let Some(branch) = &reading.out {
                        add(
                            &format!("outside → {}", extra_steps(procedure, branch)),
                            true,
                        );
                    }
                }
            }
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Tighten(_)
            | Action::Wait(_)
            | Action::Inspect => add(&procedure.action_of(step), false),
        }
        for branch in &step.helpers {
            add(
                &format!("trouble → {}", extra_steps(procedure, branch)),
                false,
            );
        }
        Self {
            number,
            kind: kind(procedure, step),
            hold: matches!(step.action, Action::Hold(_)),
            lines,
        }
    }

    fn height(&self) -> f32 {
        LEADING * (self.lines.len() as f32 + 1.0) + 10.0
    }
}

/// For which options, and while what is off, a step is done.
pub(crate) fn only_when(procedure: &Procedure, step: &Step) -> Option<String> {
    let chosen = step.when.iter().map(|(variant, option)| {
        let words = procedure
            .variants
            .iter()
            .find(|it| it.id == *variant)
            .and_then(|it| it.options.iter().find(|(id, _)| id == option))
            .map_or(option.as_str(), |(_, words)| words);
        format!("for “{words}”")
    });
    let off = step.when_off.iter();
    let off = off.map(|id| format!("while off: {}", lanes::name(procedure, id)));
    let all: Vec<String> = chosen.chain(off).collect();
    (!all.is_empty()).then(|| format!("only {}", all.join(" and ")))
}

/// The action in one word.
pub(crate) fn kind(procedure: &Procedure, step: &Step) -> &'static str {
    match &step.action {
        Action::Do => "DO",
        Action::Loosen(_) => "LOOSEN",
        Action::Remove(Thing::Item(_) | Thing::Fastener(_)) => "REMOVE",
        Action::Refit(Thing::Item(_) | Thing::Fastener(_)) => "REFIT",
        Action::Tighten(_) => "TIGHTEN",
        Action::Measure(_) => "MEASURE",
        Action::Wait(_) => "WAIT",
        Action::Inspect => "INSPECT",
        Action::Ask { .. } => "ASK",
        Action::Hold(gate) => match procedure.gates.get(gate).map(|gate| gate.weight) {
            Some(Weight::Check) => "CHECK",
            Some(Weight::HoldPoint) | None => "HOLD POINT",
        },
    }
}
