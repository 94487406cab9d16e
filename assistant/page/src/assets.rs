//! What viewers load: it is all inside the program.
//!
//! # Why no framework?
//!
//! The page is small, is served by the machine under the bench, and should still work in ten years. It consists of
//! plain modules, without a build step and without anything from outside.
//!
//! # Why does the page fit its letters itself?
//!
//! It is read from the floor, so each text is as large as its room allows, and nothing scrolls or is cut off:
//! `fit.js` finds the largest size that fits. ISO 9241-303 asks for 16 minutes of arc; at 4 m that decides how small
//! the number, the size, the torque and a gate's words may get. `tests/browser/cases/legible.mjs` measures it.

use crate::problem::Problem;
use axum::extract::Path;
use axum::http::{HeaderMap, HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use sha2::{Digest, Sha256};
use std::collections::HashMap;
use std::sync::OnceLock;

/// One file.
struct Asset {
    name: &'static str,
    kind: &'static str,
    bytes: &'static [u8],
}

macro_rules! assets {
    ($($name:literal: $kind:literal),* $(,)?) => {
        &[$(Asset {
            name: $name,
            kind: $kind,
            bytes: include_bytes!(concat!("../assets/", $name)),
        }),*]
    };
}

/// All files.
static ALL: &[Asset] = assets![
    "asking.js": "text/javascript; charset=utf-8",
    "board.css": "text/css; charset=utf-8",
    "board.js": "text/javascript; charset=utf-8",
    "dial.js": "text/javascript; charset=utf-8",
    "drive.js": "text/javascript; charset=utf-8",
    "elements.js": "text/javascript; charset=utf-8",
    "feed.js": "text/javascript; charset=utf-8",
    "fit.js": "text/javascript; charset=utf-8",
    "flags.js": "text/javascript; charset=utf-8",
    "glance.js": "text/javascript; charset=utf-8",
    "hold.css": "text/css; charset=utf-8",
    "hold.js": "text/javascript; charset=utf-8",
    "idle.js": "text/javascript; charset=utf-8",
    "icon.svg": "image/svg+xml",
    "index.html": "text/html; charset=utf-8",
    "level.js": "text/javascript; charset=utf-8",
    "manifest.webmanifest": "application/manifest+json",
    "papers.css": "text/css; charset=utf-8",
    "papers.html": "text/html; charset=utf-8",
    "papers.js": "text/javascript; charset=utf-8",
    "pattern.js": "text/javascript; charset=utf-8",
    "photos.js": "text/javascript; charset=utf-8",
    "plate.css": "text/css; charset=utf-8",
    "procedures.js": "text/javascript; charset=utf-8",
    "records.js": "text/javascript; charset=utf-8",
    "settings.js": "text/javascript; charset=utf-8",
    "sizes.css": "text/css; charset=utf-8",
    "switches.js": "text/javascript; charset=utf-8",
    "theme.js": "text/javascript; charset=utf-8",
    "timers.js": "text/javascript; charset=utf-8",
    "torque.js": "text/javascript; charset=utf-8",
    "vehicles.js": "text/javascript; charset=utf-8",
    "whole.js": "text/javascript; charset=utf-8",
];

/// The glance: the job at hand.
pub(crate) async fn glance(headers: HeaderMap) -> Response {
    served("index.html", &headers)
}

/// The papers: jobs, a record, vehicles, procedures, the bay. The page finds out from its address which.
pub(crate) async fn papers(headers: HeaderMap) -> Response {
    served("papers.html", &headers)
}

/// A file of the page.
pub(crate) async fn asset(
    path: Result<Path<String>, axum::extract::rejection::PathRejection>,
    headers: HeaderMap,
) -> Response {
    match path {
        Ok(Path(name)) => served(&name, &headers),
        Err(_) => Problem::not_found("file").into_response(),
    }
}

/// The tag by which a viewer knows whether it has the file already.
fn tag(asset: &Asset) -> &'static str {
    static TAGS: OnceLock<HashMap<&'static str, String>> = OnceLock::new();
    let of = |asset: &Asset| (asset.name, format!("\"{:x}\"", Sha256::digest(asset.bytes)));
    let tags = TAGS.get_or_init(|| ALL.iter().map(of).collect());
    tags.get(asset.name).map_or("\"\"", String::as_str)
}

fn served(name: &str, headers: &HeaderMap) -> Response {
    // Names are looked up, never put together to a path.
    let Some(asset) = ALL.iter().find(|asset| asset.name == name) else {
        return Problem::not_found("file").into_response();
    };
    let tag = tag(asset);
    let known = headers
        .get_all(header::IF_NONE_MATCH)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .any(|it| it.trim().trim_start_matches("W/") == tag);
    let tagged = [
        (header::ETAG, HeaderValue::from_str(tag).ok()),
        (
            header::CACHE_CONTROL,
            Some(HeaderValue::from_static("no-cache")),
        ),
        (
            header::CONTENT_TYPE,
            Some(HeaderValue::from_static(asset.kind)),
        ),
    ];
    let mut response = match known {
        true => StatusCode::NOT_MODIFIED.into_response(),
        false => asset.bytes.into_response(),
    };
    for (name, value) in tagged {
        if let Some(value) = value {
            response.headers_mut().insert(name, value);
        }
    }
    response
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_the_folder_is_inside_and_together_they_are_small() {
        let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("assets");
        let mut there: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        there.sort();
        let mut inside: Vec<&str> = ALL.iter().map(|asset| asset.name).collect();
        inside.sort_unstable();
        assert_eq!(inside, there);
        let all: usize = ALL.iter().map(|asset| asset.bytes.len()).sum();
        assert!(all < 200_000, "{all} bytes");
    }
}
