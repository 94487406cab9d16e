//! The routes. None of them leads to a job: what is asked for is read, or is one of [`ViewerAction`](crate::ViewerAction).

pub(crate) mod doing;
pub(crate) mod particulars;
pub(crate) mod photos;
mod plain;
pub(crate) mod procedures;
pub(crate) mod records;
pub(crate) mod vehicles;
pub(crate) mod watching;

use crate::guard::{self, Guard};
use crate::limits::Allowance;
use crate::problem::Problem;
use crate::{Reach, Room, assets, openapi};
use axum::Router;
use axum::body::{Bytes, HttpBody};
use axum::extract::{FromRequestParts, Path, Request};
use axum::http::request::Parts;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use http_body_util::{BodyExt, LengthLimitError, Limited};
use particulars::KnownParticulars;
use serde::Serialize;
use serde::de::DeserializeOwned;
use std::sync::{Arc, OnceLock};
use std::time::Duration;
use steps::Procedure;
use tokio::sync::{Semaphore, watch};
use tokio::time::timeout;

/// What the routes share.
#[derive(Clone)]
pub(crate) struct Desk {
    pub room: Arc<Room>,
    pub viewers: Arc<Semaphore>,
    /// A photo is large while it is decoded: one at a time.
    pub photo_permit: Arc<Semaphore>,
    /// A search reads all records: one at a time.
    pub search_permit: Arc<Semaphore>,
    pub particulars: Arc<KnownParticulars>,
    pub ended: watch::Receiver<bool>,
    procedures: Arc<OnceLock<Vec<Arc<Procedure>>>>,
}

impl Desk {
    /// The procedures, read on first use.
    pub fn procedures(&self) -> &[Arc<Procedure>] {
        self.procedures.get_or_init(|| (self.room.procedures)())
    }

    /// Does what takes a moment away from the connections' thread.
    pub async fn aside<T: Send + 'static>(
        &self,
        work: impl FnOnce(&Self) -> Result<T, Problem> + Send + 'static,
    ) -> Result<T, Problem> {
        let desk = self.clone();
        tokio::task::spawn_blocking(move || work(&desk))
            .await
            .unwrap_or_else(|_| {
                Err(Problem::new(
                    StatusCode::INTERNAL_SERVER_ERROR,
                    "This could not be done. It is a bug in Sayback.",
                ))
            })
    }
}

/// All routes, guarded.
pub(crate) fn all(
    room: Arc<Room>,
    reach: Reach,
    token: String,
    ended: watch::Receiver<bool>,
) -> Router {
    let limits = room.limits;
    let guard = Arc::new(Guard {
        reach,
        token,
        requests: Allowance::new(limits.requests),
        doings: Allowance::new(limits.doings),
        wrong_tokens: Allowance::new(limits.wrong_tokens),
    });
    let desk = Desk {
        viewers: Arc::new(Semaphore::new(limits.viewers)),
        photo_permit: Arc::new(Semaphore::new(1)),
        search_permit: Arc::new(Semaphore::new(1)),
        particulars: Arc::default(),
        ended,
        procedures: Arc::default(),
        room,
    };
    Router::new()
        .route("/", get(assets::glance))
        .route("/jobs", get(assets::papers))
        .route("/jobs/{name}", get(assets::papers))
        .route("/vehicles", get(assets::papers))
        .route("/vehicles/{name}", get(assets::papers))
        .route("/procedures", get(assets::papers))
        .route("/procedures/{id}", get(assets::papers))
        .route("/settings", get(assets::papers))
        .route("/assets/{name}", get(assets::asset))
        .route("/api/glance", get(watching::glance))
        .route("/api/events", get(watching::events))
        .route("/api/do", post(doing::ask))
        .route("/api/jobs", get(records::jobs))
        .route("/api/jobs/{name}", get(records::job))
        .route("/api/lost", get(records::lost))
        .route("/api/vehicles", get(vehicles::list))
        .route("/api/vehicle", get(vehicles::one))
        .route("/api/jobs/{name}/report", get(records::report_html))
        .route("/api/jobs/{name}/report.pdf", get(records::report_pdf))
        .route("/api/jobs/{name}/report.csv", get(records::report_csv))
        .route("/api/jobs/{name}/report.json", get(records::report_json))
        .route(
            "/api/jobs/{name}/notes/{number}/photo",
            post(photos::attach),
        )
        .route("/api/procedures", get(procedures::list))
        .route("/api/procedures/{id}", get(procedures::one))
        .route("/api/procedures/{id}/picture.svg", get(procedures::picture))
        .route("/api/procedures/{id}/order.svg", get(procedures::order))
        .route("/api/settings", get(watching::settings))
        .route("/api/openapi.json", get(openapi::json))
        .fallback(nowhere)
        .method_not_allowed_fallback(not_that_way)
        .layer(from_fn_with_state(guard, guard::watch))
        .with_state(desk)
}

async fn nowhere() -> Problem {
    Problem::not_found("page")
}

async fn not_that_way() -> Problem {
    Problem::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "That can't be done here. The description at /api/openapi.json tells what can.",
    )
}

/// What a path names.
pub(crate) struct Named<T>(pub T);

impl<S: Send + Sync, T: DeserializeOwned + Send> FromRequestParts<S> for Named<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, Problem> {
        Path::<T>::from_request_parts(parts, state)
            .await
            .map(|Path(named)| Self(named))
            .map_err(|_| Problem::not_found("page"))
    }
}

/// An answer in JSON.
pub(crate) struct Answer<T>(pub T);

impl<T: Serialize> IntoResponse for Answer<T> {
    fn into_response(self) -> Response {
        match serde_json::to_vec(&self.0) {
            Ok(body) => {
                let kind = HeaderValue::from_static("application/json");
                ([(header::CONTENT_TYPE, kind)], body).into_response()
            }
            Err(error) => Problem::new(
                StatusCode::INTERNAL_SERVER_ERROR,
                format!("This can't be written as JSON: {error}. It is a bug in Sayback."),
            )
            .into_response(),
        }
    }
}

/// The media type of a request's body, without its parameters.
pub(crate) fn media_type(headers: &HeaderMap) -> Option<&str> {
    let text = headers.get(header::CONTENT_TYPE)?.to_str().ok()?;
    Some(text.split(';').next().unwrap_or(text).trim())
}

/// The body of a request, where it comes whole, in time, and isn't too large.
pub(crate) async fn body_of(
    request: Request,
    most: usize,
    patience: Duration,
) -> Result<Bytes, Problem> {
    let too_much = || {
        Problem::new(
            StatusCode::PAYLOAD_TOO_LARGE,
            format!("That is too much: {most} bytes are taken."),
        )
    };
    let promised = request.body().size_hint().lower();
    if promised > most as u64 {
        return Err(too_much());
    }
    let limited = Limited::new(request.into_body(), most);
    match timeout(patience, limited.collect()).await {
        Ok(Ok(body)) => Ok(body.to_bytes()),
        Ok(Err(error)) if error.is::<LengthLimitError>() => Err(too_much()),
        Ok(Err(_)) => Err(Problem::new(
            StatusCode::BAD_REQUEST,
            "The request did not come whole. Send it again.",
        )),
        Err(_) => Err(Problem::new(
            StatusCode::REQUEST_TIMEOUT,
            "The request took too long to come. Send it again.",
        )),
    }
}
