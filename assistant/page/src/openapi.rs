//! The description of the routes, made from their code (OpenAPI 3.1).

use crate::glance::Level;
use crate::routes::{doing, photos, procedures, records, vehicles, watching};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Response};
use utoipa::OpenApi;

#[derive(OpenApi)]
#[openapi(
    info(
        title = "Glance page",
        description = "What can be seen of a job. No request makes a fact true or moves the job on.",
    ),
    paths(
        watching::glance,
        watching::events,
        watching::settings,
        doing::ask,
        records::jobs,
        records::job,
        records::lost,
        vehicles::list,
        vehicles::one,
        records::report_html,
        records::report_pdf,
        records::report_csv,
        records::report_json,
        photos::attach,
        procedures::list,
        procedures::one,
        procedures::picture,
        procedures::order,
        json,
    ),
    components(schemas(Level))
)]
struct Description;

/// The description of the routes as JSON, indented.
pub fn description() -> String {
    Description::openapi().to_pretty_json().unwrap_or_default()
}

/// This description.
#[utoipa::path(get, path = "/api/openapi.json", responses(
    (status = 200, description = "The description.", body = serde_json::Value),
))]
pub(crate) async fn json() -> Response {
    let kind = HeaderValue::from_static("application/json");
    ([(header::CONTENT_TYPE, kind)], description()).into_response()
}
