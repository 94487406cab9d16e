//! A procedure on paper, for the wall or for whoever reads before the job.

mod sides;
mod values;

use crate::flow::lanes::lanes_of_things;
use crate::flow::{kind, only_when};
use crate::gather::capital;
use crate::names::{extra_heading, extra_steps, said};
use crate::sheet::{Cell, Column, Part, Sheet, StepLine, Table, clean};
use crate::{Paper, ReportError, html, markdown, pdf};
use steps::Procedure;
use steps::procedure::{Action, Signal, Step, Weight, supplies_at_most};

/// A procedure's step sheet: what to lay out, sizes and torques in both units, what comes off, the hold points and
/// their words, and every step with its warning before it. It proves nothing and passes no hold point.
///
/// ```
/// # let text = r#"
/// # format = 1
/// # id = "wash-van"
/// # title = "Washing the van"
/// # vehicle = "van of the Saltmarsh ferry depot"
/// # values = "Invented."
/// # minutes = 20
/// # [[step]]
/// # id = "rinse"
/// # action = "do"
/// # text = "Rinse the van."
/// # [[make_safe]]
/// # id = "tap"
/// # action = "do"
/// # text = "Close the tap."
/// # "#;
/// # let library = std::collections::BTreeMap::from([("wash-van", text)]);
/// # let procedure = steps::Procedure::load("wash-van", &library)?;
/// let sheet = report::StepSheet::of(&procedure, report::Paper::A4);
/// assert!(sheet.pdf()?.starts_with(b"%PDF-"));
/// assert!(sheet.markdown().contains("Rinse the van."));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct StepSheet(Sheet);

impl StepSheet {
    /// Sets a procedure for this paper.
    pub fn of(procedure: &Procedure, paper: Paper) -> Self {
        let mut parts = Parts {
            procedure,
            parts: Vec::new(),
        };
        parts.before();
        parts.fasteners();
        parts.readings();
        parts.off();
        parts.gates();
        parts.steps();
        Self(Sheet {
            logo: None,
            kind: "Step sheet",
            title: clean(&procedure.title),
            subtitle: clean(&procedure.vehicle),
            foot: clean(&format!(
                "{}, SHA-256 {}. No record of work.",
                procedure.id,
                procedure.sha256.get(..16).unwrap_or_default()
            )),
            on_each_page: clean(&format!(
                "{} {}",
                procedure.values,
                procedure.language.usual_caution_on_paper()
            )),
            mark: None,
            paper,
            parts: parts.parts,
        })
    }

    /// The sheet as PDF.
    ///
    /// # Errors
    /// When the library can't write it, which is a bug in Sayback.
    pub fn pdf(&self) -> Result<Vec<u8>, ReportError> {
        pdf::written(&self.0)
    }

    /// The sheet as one HTML file: no script, no outside address.
    pub fn html(&self) -> String {
        html::page(&self.0)
    }

    /// The sheet as Markdown.
    pub fn markdown(&self) -> String {
        markdown::page(&self.0)
    }
}

struct Parts<'a> {
    procedure: &'a Procedure,
    parts: Vec<Part>,
}

impl Parts<'_> {
    fn heading(&mut self, text: &str) {
        self.parts.push(Part::Heading(clean(text)));
    }

    fn facts(&mut self, facts: Vec<(String, String)>) {
        let facts = facts
            .into_iter()
            .map(|(name, fact)| (clean(&name), clean(&fact)))
            .collect();
        self.parts.push(Part::Facts {
            facts,
            beside: None,
        });
    }

    fn table(&mut self, tells: &str, columns: &[(&'static str, f32)], rows: Vec<Vec<Cell>>) {
        if rows.is_empty() {
            return;
        }
        self.heading(tells);
        let columns = columns.iter().map(|(name, share)| Column {
            name: (*name).to_owned(),
            share: *share,
        });
        self.parts.push(Part::Table(Table {
            tells: tells.to_owned(),
            columns: columns.collect(),
            rows,
        }));
    }

    fn before(&mut self) {
        let it = self.procedure;
        self.heading("Before the job");
        let cautions = it.cautions.iter().map(|caution| clean(caution));
        self.parts.push(Part::List(cautions.collect()));
        let mut facts = vec![(
            "Usual time".to_owned(),
            format!("{} minutes", it.usual_time.as_secs() / 60),
        )];
        for variant in &it.variants {
            let options: Vec<&str> = variant
                .options
                .iter()
                .map(|(_, say)| say.as_str())
                .collect();
            facts.push((
                "Asked first".to_owned(),
                format!("{} ({})", variant.ask, options.join(", ")),
            ));
        }
        let all = &it.lay_out;
        for (name, list) in [
            ("Put on", &all.protection),
            ("Tools", &all.tools),
            ("Parts", &all.parts),
            ("Consumables", &all.consumables),
        ] {
            if !list.is_empty() {
                facts.push((name.to_owned(), list.join("; ")));
            }
        }
        let used: Vec<String> = supplies_at_most(it)
            .into_iter()
            .map(|(uses, varies)| {
                let at_most = if varies { "up to " } else { "" };
                format!("{}, {at_most}{}", uses.what, uses.amount)
            })
            .collect();
        if !used.is_empty() {
            facts.push(("Used up".to_owned(), used.join("; ")));
        }
        self.facts(facts);
    }

    fn fasteners(&mut self) {
        let rows = self.procedure.fasteners.values().map(|group| {
            let thread = group.thread.iter().cloned();
            let class = group.class.iter().map(|class| match class.parse::<f32>() {
                Ok(_) => format!("class {class}"),
                Err(_) => class.clone(),
            });
            let size = values::size(group).into_iter().chain(thread).chain(class);
            vec![
                Cell::strong(capital(&group.counted())),
                Cell::plain(size.collect::<Vec<_>>().join("; ")),
                Cell::strong(values::torques(self.procedure, group).join("; ")),
                Cell::plain(capital(&values::manner(self.procedure, group).join("; "))),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Sizes and torques",
            &[
                ("Fasteners", 0.23),
                ("Size", 0.2),
                ("Torque", 0.26),
                ("How", 0.31),
            ],
            rows,
        );
    }

    fn readings(&mut self) {
        let rows = self.procedure.readings.values().map(|reading| {
            let limits = reading.limits();
            vec![
                Cell::plain(capital(&reading.name)),
                Cell::strong(limits.unwrap_or_else(|| format!("no limits; in {}", reading.unit))),
            ]
        });
        let rows = rows.collect();
        self.table("Readings", &[("What", 0.5), ("Limits", 0.5)], rows);
    }

    fn off(&mut self) {
        let rows = lanes_of_things(self.procedure).into_iter().map(|lane| {
            let to = lane.to.map_or_else(
                || "see the extra steps".to_owned(),
                |to| (to + 1).to_string(),
            );
            vec![
                Cell::plain(capital(&lane.name)),
                Cell::plain((lane.from + 1).to_string()),
                Cell::plain(to),
            ]
        });
        let rows = rows.collect();
        self.table(
            "What comes loose or off, and is in place again",
            &[
                ("What", 0.6),
                ("From step", 0.15),
                ("In place again at step", 0.25),
            ],
            rows,
        );
    }

    fn gates(&mut self) {
        let it = self.procedure;
        let mut gates: Vec<_> = it
            .gates
            .iter()
            .map(|(id, gate)| {
                let numbered = it.steps.iter().enumerate();
                let places: Vec<usize> = numbered
                    .filter(|(_, step)| matches!(&step.action, Action::Hold(held) if held == id))
                    .map(|(at, _)| at + 1)
                    .collect();
                (places, gate)
            })
            .collect();
        // Those that only a branch or the giving up holds at come last.
        gates.sort_by_key(|(places, _)| places.first().copied().unwrap_or(usize::MAX));
        let rows = gates.into_iter().map(|(places, gate)| {
            let places: Vec<String> = places.iter().map(ToString::to_string).collect();
            let fact = it.facts.get(&gate.fact);
            vec![
                Cell::plain(places.join(", ")),
                match gate.weight {
                    Weight::HoldPoint => {
                        Cell::strong(it.language.signal(gate.signal).to_uppercase())
                    }
                    Weight::Check => Cell::plain("check"),
                },
                Cell::plain(capital(fact.map_or("", |fact| &fact.means))),
                Cell::strong(said(it.language, gate)),
            ]
        });
        let rows = rows.collect();
        self.table(
            "Hold points and checks: nobody goes on before it is so and was said",
            &[
                ("Step", 0.09),
                ("Signal", 0.14),
                ("What must be so", 0.37),
                ("Say", 0.4),
            ],
            rows,
        );
    }

    fn steps(&mut self) {
        let it = self.procedure;
        self.heading("Steps");
        let lines = it.steps.iter().enumerate();
        let lines = lines.map(|(at, step)| line(it, step, (at + 1).to_string()));
        let all: Vec<StepLine> = lines.collect();
        let count = all.len();
        let once = sides::once(all);
        if once.len() < count {
            self.parts.push(Part::Words {
                text:
                    "A step with two numbers is worked for each side, in the order of the numbers."
                        .to_owned(),
                strong: true,
            });
        }
        self.parts.push(Part::Steps(once));
        for (id, branch) in &it.branches {
            if branch.steps.is_empty() {
                continue;
            }
            self.heading(&extra_heading(it, id, branch));
            let lines = branch
                .steps
                .iter()
                .map(|step| line(it, step, String::new()));
            self.parts.push(Part::Steps(lines.collect()));
        }
        if !it.make_safe.is_empty() {
            self.heading("If the job is given up");
            let lines = it
                .make_safe
                .iter()
                .map(|step| line(it, step, String::new()));
            self.parts.push(Part::Steps(lines.collect()));
        }
    }
}

fn injures(signal: Signal) -> bool {
    match signal {
        Signal::Notice => false,
        Signal::Caution | Signal::Warning | Signal::Danger => true,
    }
}

fn line(it: &Procedure, step: &Step, number: String) -> StepLine {
    let group = step.fastener.as_ref().and_then(|id| it.fasteners.get(id));
    let size = || group.and_then(values::size).into_iter().collect::<Vec<_>>();
    let mut line = StepLine {
        number,
        kind: kind(it, step),
        only: only_when(it, step).map(|only| clean(&capital(&only))),
        warning: step.warning.as_ref().map(|warning| {
            let text = it.with_every_option(step, &warning.text);
            (
                it.language.signal(warning.signal).to_uppercase(),
                clean(&text),
            )
        }),
        injures: match step.warning.as_ref().map(|warning| warning.signal) {
            Some(signal) => injures(signal),
            None => false,
        },
        text: clean(&it.action_of(step)),
        ..StepLine::default()
    };
    match &step.action {
        Action::Hold(id) => {
            line.hold = true;
            if let Some(gate) = it.gates.get(id) {
                let ask = clean(&it.with_every_option(step, &gate.ask));
                match gate.weight {
                    Weight::HoldPoint => {
                        let signal = it.language.signal(gate.signal).to_uppercase();
                        line.injures = injures(gate.signal);
                        line.warning = Some((signal, ask));
                    }
                    Weight::Check => line.text = ask,
                }
                let said = said(it.language, gate);
                line.strong.push(clean(&format!("Say: {said}")));
            }
        }
        Action::Tighten(_) => {
            line.values = size();
            if let Some(group) = group {
                line.values.extend(values::torques(it, group));
                line.values.extend(values::manner(it, group));
            }
        }
        Action::Loosen(_) | Action::Remove(_) | Action::Refit(_) | Action::Do | Action::Inspect => {
            line.values = size();
        }
        Action::Measure(id) => {
            if let Some(reading) = it.readings.get(id) {
                line.values.extend(reading.limits());
                if let Some(branch) = &reading.out {
                    line.strong.push(format!(
                        "Outside of the limits: {}",
                        extra_steps(it, branch)
                    ));
                }
            }
        }
        Action::Wait(wait) => line.values.push(values::time(it, wait)),
        Action::Ask { yes, no } => {
            for (answer, leads_to) in [("Yes", yes), ("No", no)] {
                if let Some(branch) = leads_to {
                    line.strong
                        .push(format!("{answer}: {}", extra_steps(it, branch)));
                }
            }
        }
    }
    line.values = line.values.iter().map(|value| clean(value)).collect();
    line
}
