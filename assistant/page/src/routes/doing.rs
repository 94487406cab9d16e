//! What a viewer may do.

use super::{Desk, body_of, media_type};
use crate::problem::Problem;
use crate::room::ViewerAction;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Bytes of what asks for something harmless.
const MAX_ASKED: usize = 1024;

/// Something harmless to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(crate) struct Doing {
    /// What.
    #[serde(rename = "do")]
    what: ViewerAction,
}

/// Asks for something harmless: the last sentence again, or the voice to be silent. The job notices nothing of it.
#[utoipa::path(post, path = "/api/do", request_body = Doing, responses(
    (status = 202, description = "It will be done."),
    (status = 409, description = "No job is being worked.", body = Problem, content_type = "application/problem+json"),
    (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn ask(State(desk): State<Desk>, request: Request) -> Result<StatusCode, Problem> {
    if media_type(request.headers()) != Some("application/json") {
        return Err(Problem::new(
            StatusCode::UNSUPPORTED_MEDIA_TYPE,
            "Send JSON, and say so in Content-Type.",
        ));
    }
    let patience = desk.room.limits.patience;
    let body = body_of(request, MAX_ASKED, patience).await?;
    let doing: Doing = serde_json::from_slice(&body).map_err(|_| {
        Problem::new(
            StatusCode::UNPROCESSABLE_ENTITY,
            "Only “repeat”, “mute” and “unmute” can be asked for here. What moves the job is said aloud.",
        )
    })?;
    let Some(actions) = &desk.room.actions else {
        return Err(nobody_works());
    };
    match actions.try_send(doing.what) {
        Ok(()) => Ok(StatusCode::ACCEPTED),
        Err(crossbeam_channel::TrySendError::Full(_)) => Err(Problem::new(
            StatusCode::TOO_MANY_REQUESTS,
            "Too much at once. Wait a moment, then try again.",
        )),
        Err(crossbeam_channel::TrySendError::Disconnected(_)) => Err(nobody_works()),
    }
}

fn nobody_works() -> Problem {
    Problem::new(
        StatusCode::CONFLICT,
        "No job is being worked, so nothing is said. Start one with `sayback work`.",
    )
}
