//! The procedures, to read.

use super::{Answer, Desk, Named};
use crate::glance::{SignalShown, StepKind, WarningShown};
use crate::problem::Problem;
use axum::extract::State;
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use report::circle_drawing;
use serde::Serialize;
use steps::procedure::{Action, FastenerGroup, Signal, Step};
use steps::{Id, Procedure};
use utoipa::ToSchema;

/// A drawing, and nothing else.
const PICTURE_POLICY: &str =
    "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'self'; sandbox";

/// One procedure in the list.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ProcedureListed {
    /// Its name.
    id: String,
    /// What the job is called.
    title: String,
    /// The vehicle or machine.
    vehicle: String,
    /// How many steps it has.
    steps: usize,
}

/// A procedure.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct ProcedureShown {
    /// Its name.
    id: String,
    /// What the job is called.
    title: String,
    /// The vehicle or machine.
    vehicle: String,
    /// Where its values come from.
    values: String,
    /// What to be careful of.
    cautions: Vec<String>,
    /// Its steps, in order.
    steps: Vec<StepListed>,
    /// Where a drawing of its steps is: its gates, its facts, what comes off and goes back.
    picture: String,
    /// Where a drawing of its tightening order is.
    order: Option<String>,
}

/// One step of a procedure.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct StepListed {
    /// Its number, from 1.
    number: usize,
    /// What kind of action it is.
    kind: StepKind,
    /// The action; of a hold point or check what to look at.
    text: String,
    /// Of a hold point or check the words to say.
    readback: Option<String>,
    /// Said before the action.
    warning: Option<WarningShown>,
    /// For which answers at the start only: "front".
    only_for: Vec<String>,
}

impl From<Signal> for SignalShown {
    fn from(signal: Signal) -> Self {
        match signal {
            Signal::Danger => Self::Danger,
            Signal::Warning => Self::Warning,
            Signal::Caution => Self::Caution,
            Signal::Notice => Self::Notice,
        }
    }
}

impl From<&Action> for StepKind {
    fn from(action: &Action) -> Self {
        match action {
            Action::Do => Self::Do,
            Action::Loosen(_) => Self::Loosen,
            Action::Remove(_) => Self::Remove,
            Action::Refit(_) => Self::Refit,
            Action::Tighten(_) => Self::Tighten,
            Action::Measure(_) => Self::Measure,
            Action::Wait(_) => Self::Wait,
            Action::Inspect => Self::Inspect,
            Action::Ask { .. } => Self::Ask,
            Action::Hold(_) => Self::HoldPoint,
        }
    }
}

fn step_of(procedure: &Procedure, number: usize, step: &Step) -> StepListed {
    let gate = procedure.gate_of(step);
    let words = |(variant, option): (&Id, &Id)| {
        let variants = procedure.variants.iter().filter(|it| it.id == *variant);
        variants
            .flat_map(|it| &it.options)
            .find(|(id, _)| id == option)
            .map(|(_, words)| words.clone())
    };
    StepListed {
        number,
        kind: match gate {
            Some(gate) if !gate.is_hold_point() => StepKind::Check,
            Some(_) | None => StepKind::from(&step.action),
        },
        text: procedure.with_every_option(step, gate.map_or(&step.text, |gate| &gate.ask)),
        readback: gate.map(|gate| gate.readback_written.clone()),
        warning: step.warning.as_ref().map(|warning| WarningShown {
            signal: warning.signal.into(),
            text: procedure.with_every_option(step, &warning.text),
        }),
        only_for: step.when.iter().filter_map(words).collect(),
    }
}

/// The first group that is tightened in an order, in the order of the steps.
fn drawn(procedure: &Procedure) -> Option<&FastenerGroup> {
    let tightened = procedure
        .steps
        .iter()
        .filter_map(|step| match &step.action {
            Action::Tighten(id) => procedure.fasteners.get(id),
            Action::Do
            | Action::Loosen(_)
            | Action::Remove(_)
            | Action::Refit(_)
            | Action::Measure(_)
            | Action::Wait(_)
            | Action::Inspect
            | Action::Ask { .. }
            | Action::Hold(_) => None,
        });
    tightened
        .into_iter()
        .find(|group| group.pattern.is_some() && group.count > 2)
}

fn found<'d>(desk: &'d Desk, id: &str) -> Result<&'d Procedure, Problem> {
    let found = desk.procedures().iter().find(|it| it.id.as_str() == id);
    found
        .map(|it| &**it)
        .ok_or_else(|| Problem::not_found("procedure"))
}

/// The procedures that there are.
#[utoipa::path(get, path = "/api/procedures", responses(
    (status = 200, description = "The procedures.", body = Vec<ProcedureListed>),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn list(
    State(desk): State<Desk>,
) -> Result<Answer<Vec<ProcedureListed>>, Problem> {
    desk.aside(|desk| {
        let all = desk.procedures().iter().map(|procedure| ProcedureListed {
            id: procedure.id.to_string(),
            title: procedure.title.clone(),
            vehicle: procedure.vehicle.clone(),
            steps: procedure.steps.len(),
        });
        Ok(Answer(all.collect()))
    })
    .await
}

/// A procedure and its steps.
#[utoipa::path(get, path = "/api/procedures/{id}",
    params(("id" = String, Path, description = "The procedure's name.")),
    responses(
        (status = 200, description = "The procedure.", body = ProcedureShown),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn one(
    State(desk): State<Desk>,
    Named(id): Named<String>,
) -> Result<Answer<ProcedureShown>, Problem> {
    desk.aside(move |desk| {
        let procedure = found(desk, &id)?;
        let steps = procedure.steps.iter().zip(1..);
        Ok(Answer(ProcedureShown {
            id: procedure.id.to_string(),
            title: procedure.title.clone(),
            vehicle: procedure.vehicle.clone(),
            values: procedure.values.clone(),
            cautions: std::iter::once(procedure.language.usual_caution())
                .chain(procedure.cautions.iter().cloned())
                .collect(),
            steps: steps
                .map(|(step, number)| step_of(procedure, number, step))
                .collect(),
            picture: format!("/api/procedures/{}/picture.svg", procedure.id),
            order: drawn(procedure).map(|_| format!("/api/procedures/{}/order.svg", procedure.id)),
        }))
    })
    .await
}

/// A drawing of a procedure: its steps and gates, which facts hold when, what comes off and goes back.
#[utoipa::path(get, path = "/api/procedures/{id}/picture.svg",
    params(("id" = String, Path, description = "The procedure's name.")),
    responses(
        (status = 200, description = "The drawing.", body = String, content_type = "image/svg+xml"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn picture(
    State(desk): State<Desk>,
    Named(id): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| Ok(svg(report::flow_picture(found(desk, &id)?))))
        .await
}

/// A drawing of the order in which a procedure's fasteners are tightened.
#[utoipa::path(get, path = "/api/procedures/{id}/order.svg",
    params(("id" = String, Path, description = "The procedure's name.")),
    responses(
        (status = 200, description = "The drawing.", body = String, content_type = "image/svg+xml"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn order(
    State(desk): State<Desk>,
    Named(id): Named<String>,
) -> Result<Response, Problem> {
    desk.aside(move |desk| {
        let group = drawn(found(desk, &id)?).ok_or_else(|| Problem::not_found("drawing"))?;
        // `drawn` finds only groups that have one.
        let pattern = group.pattern.unwrap_or(steps::quantity::Pattern::InTurn);
        let title = format!("{}: order of tightening", group.counted());
        Ok(svg(circle_drawing(pattern, group.count, &title)))
    })
    .await
}

fn svg(drawing: String) -> Response {
    let headers = [
        (
            header::CONTENT_TYPE,
            HeaderValue::from_static("image/svg+xml"),
        ),
        (
            header::CONTENT_SECURITY_POLICY,
            HeaderValue::from_static(PICTURE_POLICY),
        ),
    ];
    (headers, drawing).into_response()
}
