//! Photos for the notes of a job.

use super::records::{id_of, of_record};
use super::{Desk, Named, body_of, media_type};
use crate::problem::Problem;
use crate::room::Attaching;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use crossbeam_channel::bounded;
use record::{KeptPhoto, RecordError};
use serde::Serialize;
use steps::Moment;
use utoipa::ToSchema;

/// A photo that was attached.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Attached {
    /// Pixels across.
    width: u32,
    /// Pixels down.
    height: u32,
}

/// Attaches a photo to a note of a job: of the one that is worked here, or of one that nobody is working.
///
/// What it is, is told by its content. It is encoded anew, so where and with what it was taken is not kept.
#[utoipa::path(post, path = "/api/jobs/{name}/notes/{number}/photo",
    params(
        ("name" = String, Path, description = "The job's name."),
        ("number" = usize, Path, description = "The note's number, from 1."),
    ),
    request_body(content(([u8] = "image/jpeg"), ([u8] = "image/png"))),
    responses(
        (status = 201, description = "It is on the record.", body = Attached),
        (status = 409, description = "Another program is working the job.", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "It is larger than 10 MB.", body = Problem, content_type = "application/problem+json"),
        (status = "4XX", description = "Refused, and why.", body = Problem, content_type = "application/problem+json"),
        (status = "5XX", description = "It can't be kept.", body = Problem, content_type = "application/problem+json"),
    ))]
pub(crate) async fn attach(
    State(desk): State<Desk>,
    Named((name, number)): Named<(String, usize)>,
    request: Request,
) -> Result<Response, Problem> {
    let kind = match media_type(request.headers()) {
        Some("image/jpeg") => "photo.jpg",
        Some("image/png") => "photo.png",
        Some(_) | None => {
            return Err(Problem::new(
                StatusCode::UNSUPPORTED_MEDIA_TYPE,
                "Send a JPEG or PNG picture, and say which in Content-Type.",
            ));
        }
    };
    let patience = desk.room.limits.patience;
    let body = body_of(request, desk.room.limits.photo_bytes, patience).await?;
    // Waits for its turn; the semaphore is never closed.
    let Ok(_turn) = desk.photo_permit.clone().acquire_owned().await else {
        return Err(Problem::not_found("page"));
    };
    desk.aside(move |desk| {
        let records = desk.records()?;
        let id = id_of(&name)?;
        let photo = match records.attach(&id, Some(number), kind, &body, now()) {
            Err(RecordError::InUse { .. }) if desk.room.works(&name) => {
                let kept = records
                    .keep_photo(&id, number, kind, &body)
                    .map_err(|error| of_record(&error))?;
                let photo = kept.photo().clone();
                through_the_job(desk, kept)?;
                photo
            }
            attached => attached.map_err(|error| of_record(&error))?,
        };
        let attached = Attached {
            width: photo.width,
            height: photo.height,
        };
        Ok((StatusCode::CREATED, super::Answer(attached)).into_response())
    })
    .await
}

/// Has a photo put on the record by whoever works the job.
fn through_the_job(desk: &Desk, kept: KeptPhoto) -> Result<(), Problem> {
    let busy = || {
        Problem::new(
            StatusCode::SERVICE_UNAVAILABLE,
            "The job is busy. See in its report whether the photo came; if not, send it again.",
        )
    };
    let ask = desk.room.attaching.as_ref().ok_or_else(busy)?;
    let (done, told) = bounded(1);
    let patience = desk.room.limits.patience;
    ask.send_timeout(Attaching { kept, done }, patience)
        .map_err(|_| busy())?;
    let attached = told.recv_timeout(patience).map_err(|_| busy())?;
    attached.map_err(|error| of_record(&error))
}

fn now() -> Moment {
    let since = std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .unwrap_or_default();
    Moment(u64::try_from(since.as_millis()).unwrap_or(u64::MAX))
}
