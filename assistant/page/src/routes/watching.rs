//! The job at hand, as it changes.

use super::{Answer, Desk};
use crate::board::Shown;
use crate::glance::Glance;
use crate::problem::Problem;
use crate::room::BaySettings;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::{HeaderName, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use futures_util::{StreamExt, stream};
use std::convert::Infallible;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::sync::{OwnedSemaphorePermit, watch};
use tokio::time::{Instant, Interval, MissedTickBehavior, interval_at};

/// How often the time is told, so that both ends know that the other is there: a page that hears nothing for two of
/// these and a little says that what it shows may be old.
const TICK: Duration = Duration::from_secs(5);

/// How the job stands now.
#[utoipa::path(get, path = "/api/glance", responses(
    (status = 200, description = "How the job stands.", body = Glance),
    (status = "4XX", description = "Not let in.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn glance(State(desk): State<Desk>) -> Response {
    let json = desk.room.board.glances().borrow().json.clone();
    let kind = HeaderValue::from_static("application/json");
    ([(header::CONTENT_TYPE, kind)], json).into_response()
}

/// How the job stands, now and whenever it changes: server-sent events.
///
/// Events named `glance` hold a Glance, the first at once; those named `level` hold a Level, ten a second at most;
/// `tick`, first of all and each 5 s, holds the assistant's time as `at_ms`: by it a page counts waits down, and knows
/// that the line lives.
#[utoipa::path(get, path = "/api/events", responses(
    (status = 200, description = "Events without end.", body = String, content_type = "text/event-stream"),
    (status = 503, description = "Too many viewers.", body = Problem, content_type = "application/problem+json"),
    (status = "4XX", description = "Not let in.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn events(State(desk): State<Desk>) -> Result<Response, Problem> {
    let Ok(place) = desk.viewers.clone().try_acquire_owned() else {
        return Err(Problem::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "Too many look already. Close the page elsewhere, then load it again.",
        ));
    };
    let mut glances = desk.room.board.glances();
    glances.mark_changed();
    let mut levels = desk.room.board.levels();
    levels.mark_changed();
    let mut tick = interval_at(Instant::now() + TICK, TICK);
    tick.set_missed_tick_behavior(MissedTickBehavior::Delay);
    let viewer = Viewer {
        glances,
        levels,
        ended: desk.ended.clone(),
        tick,
        _place: place,
    };
    let changes = stream::unfold(viewer, |mut viewer| async {
        let event = viewer.next().await?;
        Some((Ok::<_, Infallible>(event), viewer))
    });
    // Before the first glance, so that its waits are counted by the right clock from the start.
    let events = stream::once(async { Ok(time_now()) }).chain(changes);
    let headers = [
        (
            header::CONTENT_TYPE,
            HeaderValue::from_static("text/event-stream"),
        ),
        // A proxy in between must not wait for the end.
        (
            HeaderName::from_static("x-accel-buffering"),
            HeaderValue::from_static("no"),
        ),
    ];
    Ok((headers, Body::from_stream(events)).into_response())
}

/// One viewer's place at the board.
struct Viewer {
    glances: watch::Receiver<Shown>,
    levels: watch::Receiver<Option<Bytes>>,
    ended: watch::Receiver<bool>,
    tick: Interval,
    _place: OwnedSemaphorePermit,
}

impl Viewer {
    /// What to send next; none at the end.
    async fn next(&mut self) -> Option<Bytes> {
        loop {
            tokio::select! {
                biased;
                _ = self.ended.changed() => return None,
                changed = self.glances.changed() => {
                    changed.ok()?;
                    return Some(self.glances.borrow_and_update().event.clone());
                }
                changed = self.levels.changed() => {
                    changed.ok()?;
                    if let Some(level) = self.levels.borrow_and_update().clone() {
                        return Some(level);
                    }
                }
                _ = self.tick.tick() => return Some(time_now()),
            }
        }
    }
}

/// The time now, as an event.
fn time_now() -> Bytes {
    // A clock before 1970 is told as 1970; waits are then over at once, which nobody takes for a running one.
    let now = SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_millis());
    Bytes::from(format!("event: tick\ndata: {{\"at_ms\":{now}}}\n\n"))
}

/// How the bay is set up.
#[utoipa::path(get, path = "/api/settings", responses(
    (status = 200, description = "How the bay is set up.", body = BaySettings),
    (status = "4XX", description = "Not let in.", body = Problem, content_type = "application/problem+json"),
))]
pub(crate) async fn settings(State(desk): State<Desk>) -> Response {
    let mut settings = desk.room.settings.clone();
    // A job may have been begun in another unit than the bay's, and can be changed to one by voice.
    if let Some(unit) = desk
        .room
        .board
        .newest()
        .job
        .as_ref()
        .and_then(|job| job.unit.clone())
    {
        settings.unit = Some(unit);
    }
    Answer(settings).into_response()
}
