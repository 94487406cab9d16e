//! Photos for the notes of a job.

use super::records::{id_of, of_record};
use super::{Desk, Named, body_of, media_type};
use crate::problem::Problem;
use axum::extract::{Request, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
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

/// Attaches a photo to a note of a job that nobody is working.
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
        (status = 409, description = "The job is being worked.", body = Problem, content_type = "application/problem+json"),
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
    let Ok(_turn) = desk.darkroom.clone().acquire_owned().await else {
        return Err(Problem::not_found("page"));
    };
    desk.aside(move |desk| {
        let records = desk.records()?;
        let id = id_of(&name)?;
        let photo = records
            .attach(&id, Some(number), kind, &body, now())
            .map_err(|error| of_record(&error))?;
        let attached = Attached {
            width: photo.width,
            height: photo.height,
        };
        Ok((StatusCode::CREATED, super::Answer(attached)).into_response())
    })
    .await
}

fn now() -> Moment {
    let since = std::time::SystemTime::now()
        .duration_since(std::time::UNIX_EPOCH)
        .unwrap_or_default();
    Moment(u64::try_from(since.as_millis()).unwrap_or(u64::MAX))
}
