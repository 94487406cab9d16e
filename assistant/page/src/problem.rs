//! What went wrong with a request, as RFC 9457 has it.

use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use utoipa::ToSchema;

/// A problem (RFC 9457).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Problem {
    /// Its kind; `about:blank` says that the status tells it.
    #[serde(rename = "type")]
    kind: &'static str,
    /// The status in words.
    title: String,
    /// The status.
    status: u16,
    /// What is wrong and what to do.
    detail: String,
}

impl Problem {
    /// A problem.
    pub fn new(status: StatusCode, detail: impl Into<String>) -> Self {
        Self {
            kind: "about:blank",
            title: status.canonical_reason().unwrap_or("Error").to_owned(),
            status: status.as_u16(),
            detail: detail.into(),
        }
    }

    /// There is nothing of this name.
    pub fn not_found(what: &str) -> Self {
        Self::new(
            StatusCode::NOT_FOUND,
            format!("There is no such {what}. Go back to the list."),
        )
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let body = serde_json::to_vec(&self).unwrap_or_default();
        let kind = HeaderValue::from_static("application/problem+json");
        (status, [(header::CONTENT_TYPE, kind)], body).into_response()
    }
}
