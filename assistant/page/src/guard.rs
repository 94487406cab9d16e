//! Who is let in, and what every answer says about itself.

use crate::Reach;
use crate::limits::Allowance;
use crate::listener::Ends;
use crate::problem::Problem;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, StatusCode, Uri, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::sync::Arc;
use std::time::Instant;

/// The page's own files and nothing else; nobody may frame it, and no script stands in the page.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; \
manifest-src 'self'; frame-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// The name of the cookie that the token is kept in. The prefix binds it to this host and to TLS (RFC 6265bis).
const COOKIE: &str = "__Host-sayback";

/// What is needed to decide.
#[derive(Debug)]
pub(crate) struct Guard {
    pub reach: Reach,
    pub requests: Allowance,
    pub doings: Allowance,
    pub wrong_tokens: Allowance,
}

/// Lets a request in, or says why not; every answer gets its headers.
pub(crate) async fn watch(
    State(guard): State<Arc<Guard>>,
    request: Request,
    next: Next,
) -> Response {
    let mut response = match guard.look_at(&request) {
        Ok(()) => next.run(request).await,
        Err(refused) => *refused,
    };
    let headers = response.headers_mut();
    let fixed = [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "no-referrer"),
        (header::X_FRAME_OPTIONS, "SAMEORIGIN"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("permissions-policy"),
            "camera=(), microphone=(), geolocation=()",
        ),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    for (name, value) in [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers
            .entry(name)
            .or_insert(HeaderValue::from_static(value));
    }
    response
}

impl Guard {
    fn look_at(&self, request: &Request) -> Result<(), Box<Response>> {
        let refuse =
            |status, detail: &str| Err(Box::new(Problem::new(status, detail).into_response()));
        let Some(ends) = request.extensions().get::<Ends>().copied() else {
            return refuse(
                StatusCode::INTERNAL_SERVER_ERROR,
                "The connection has no ends.",
            );
        };
        let (from, now) = (ends.peer.ip(), Instant::now());
        if !self.requests.takes(from, now) {
            return refuse(
                StatusCode::TOO_MANY_REQUESTS,
                "Too many requests. Wait a moment, then look again.",
            );
        }
        let headers = request.headers();
        if !self.is_our_name(host(request.uri(), headers), ends) {
            return refuse(
                StatusCode::MISDIRECTED_REQUEST,
                "This server doesn't go by that name. Type the address that the program shows.",
            );
        }
        let asks_to_do = !matches!(*request.method(), Method::GET | Method::HEAD);
        if !self.is_our_origin(headers, ends, asks_to_do) {
            return refuse(
                StatusCode::FORBIDDEN,
                "This was asked by another site. Ask from the page itself.",
            );
        }
        self.ask_for_token(request, ends, now)?;
        if asks_to_do && !self.doings.takes(from, now) {
            return refuse(
                StatusCode::TOO_MANY_REQUESTS,
                "Too much at once. Wait a moment, then try again.",
            );
        }
        Ok(())
    }

    /// Whether a Host header names this server by its address: a name would do for a stranger's domain that was
    /// pointed here (DNS rebinding).
    fn is_our_name(&self, host: Option<&str>, ends: Ends) -> bool {
        let Some(host) = host else {
            return false;
        };
        let local = ends.local;
        host == local.to_string()
            || (local.ip().is_loopback()
                && host.eq_ignore_ascii_case(&format!("localhost:{}", local.port())))
    }

    /// Whether the page itself asks. A browser tells where a request comes from; what only reads may come without.
    fn is_our_origin(&self, headers: &HeaderMap, ends: Ends, asks_to_do: bool) -> bool {
        let scheme = match self.reach {
            Reach::Loopback => "http",
            Reach::Network(_) => "https",
        };
        let text = |name| {
            headers
                .get(name)
                .map(|it: &HeaderValue| it.to_str().unwrap_or("?"))
        };
        let site = text(HeaderName::from_static("sec-fetch-site"));
        let by_site = match (site, asks_to_do) {
            (None | Some("same-origin"), true | false) => true,
            // A link that was followed to here, or an address that was typed.
            (Some("none" | "cross-site" | "same-site"), false) => {
                text(HeaderName::from_static("sec-fetch-mode")) == Some("navigate")
            }
            (Some(_), true | false) => false,
        };
        let by_origin = match text(header::ORIGIN) {
            Some(origin) => origin
                .strip_prefix(scheme)
                .and_then(|rest| rest.strip_prefix("://"))
                .is_some_and(|name| self.is_our_name(Some(name), ends)),
            None => !asks_to_do,
        };
        headers.get_all(header::ORIGIN).iter().count() < 2 && by_site && by_origin
    }

    /// On the shop's network only who shows the token is let in; whoever shows it in the address gets it as a cookie,
    /// so that it stays out of the address bar.
    fn ask_for_token(
        &self,
        request: &Request,
        ends: Ends,
        now: Instant,
    ) -> Result<(), Box<Response>> {
        let Reach::Network(credentials) = &self.reach else {
            return Ok(());
        };
        let from = ends.peer.ip();
        let refuse =
            |status, detail: &str| Err(Box::new(Problem::new(status, detail).into_response()));
        if !self.wrong_tokens.has(from, now) {
            return refuse(
                StatusCode::TOO_MANY_REQUESTS,
                "Too many wrong tokens. Wait a minute, then read the QR code again.",
            );
        }
        let kept = cookie(request.headers());
        if kept.is_some_and(|token| credentials.lets_in(token)) {
            return Ok(());
        }
        let shown = request.uri().query().and_then(token_in);
        if *request.method() == Method::GET && shown.is_some_and(|token| credentials.lets_in(token))
        {
            let cookie = format!(
                "{COOKIE}={}; Path=/; Secure; HttpOnly; SameSite=Strict; Max-Age=31536000",
                credentials.token()
            );
            return Err(Box::new(
                (
                    StatusCode::SEE_OTHER,
                    [
                        (header::SET_COOKIE, cookie),
                        (header::LOCATION, place(request.uri())),
                    ],
                )
                    .into_response(),
            ));
        }
        if kept.is_some() || shown.is_some() {
            self.wrong_tokens.takes(from, now);
        }
        refuse(
            StatusCode::UNAUTHORIZED,
            "Who looks must have read the QR code that the program shows in its terminal.",
        )
    }
}

/// The name that the request was sent to; none where there are several.
fn host<'r>(uri: &'r Uri, headers: &'r HeaderMap) -> Option<&'r str> {
    let mut all = headers.get_all(header::HOST).iter();
    let host = all.next()?.to_str().ok()?;
    let agrees = uri.authority().is_none_or(|it| it.as_str() == host);
    (all.next().is_none() && agrees).then_some(host)
}

fn cookie(headers: &HeaderMap) -> Option<&str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(name, value)| (name == COOKIE).then_some(value))
}

fn token_in(query: &str) -> Option<&str> {
    query
        .split('&')
        .filter_map(|pair| pair.split_once('='))
        .find_map(|(name, value)| (name == "token").then_some(value))
}

/// The path, and nothing that could lead elsewhere: two slashes at the front would name another host.
fn place(uri: &Uri) -> String {
    format!("/{}", uri.path().trim_start_matches(['/', '\\']))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_token_is_sent_on_to_a_path_of_this_server_only() {
        for (given, wanted) in [
            ("/?token=1", "/"),
            ("/jobs?token=1", "/jobs"),
            ("//example.org/?token=1", "/example.org/"),
            ("///example.org?token=1", "/example.org"),
        ] {
            assert_eq!(place(&given.parse().unwrap()), wanted);
        }
    }

    #[test]
    fn the_token_is_found_among_other_things() {
        assert_eq!(token_in("a=b&token=c"), Some("c"));
        assert_eq!(token_in("tokens=c"), None);
        let mut headers = HeaderMap::new();
        headers.insert(
            header::COOKIE,
            HeaderValue::from_static("a=b; __Host-sayback=c; d=e"),
        );
        assert_eq!(cookie(&headers), Some("c"));
    }
}
