//! Who is let in, and what every answer says about itself.

use crate::Reach;
use crate::limits::Allowance;
use crate::listener::Ends;
use crate::network::lets_in;
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

/// Its name on this machine, where there is no TLS. All ports of a host share their cookies, so the port is added.
const LOOPBACK_COOKIE: &str = "sayback";

/// What is needed to decide.
#[derive(Debug)]
pub(crate) struct Guard {
    pub reach: Reach,
    pub token: String,
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
        self.ask_for_token(request, ends, now, asks_to_do)?;
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

    /// On the shop's network only who shows the token is let in; on this machine whoever only reads needs none. Who shows
    /// it in the address gets it as a cookie, so that it stays out of the address bar. Whoever has that cookie is let in
    /// whatever others guess from the same address.
    fn ask_for_token(
        &self,
        request: &Request,
        ends: Ends,
        now: Instant,
        asks_to_do: bool,
    ) -> Result<(), Box<Response>> {
        let (name, needed, more, detail) = match self.reach {
            Reach::Network(_) => (
                COOKIE.to_owned(),
                true,
                "; Secure; Max-Age=31536000",
                "Who looks must have read the QR code that the program shows in its terminal.",
            ),
            Reach::Loopback => (
                format!("{LOOPBACK_COOKIE}-{}", ends.local.port()),
                asks_to_do,
                "",
                "Who adds or asks for something must open the page by the address that the program shows, with its token.",
            ),
        };
        let from = ends.peer.ip();
        let refuse =
            |status, detail: &str| Err(Box::new(Problem::new(status, detail).into_response()));
        let kept = cookie(request.headers(), &name);
        if kept.is_some_and(|token| lets_in(token, &self.token)) {
            return Ok(());
        }
        let may_try = self.wrong_tokens.has(from, now);
        let shown = request.uri().query().and_then(token_in);
        let right = may_try && shown.is_some_and(|token| lets_in(token, &self.token));
        if right && *request.method() == Method::GET {
            let cookie = format!(
                "{name}={}; Path=/; HttpOnly; SameSite=Strict{more}",
                self.token
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
        if may_try && (kept.is_some() || shown.is_some()) {
            self.wrong_tokens.takes(from, now);
        }
        match (needed, may_try) {
            (false, true | false) => Ok(()),
            (true, true) => refuse(StatusCode::UNAUTHORIZED, detail),
            (true, false) => refuse(
                StatusCode::TOO_MANY_REQUESTS,
                "Too many wrong tokens. Wait a minute, then open the page again by the address with the right one.",
            ),
        }
    }
}

/// The name that the request was sent to; none where there are several.
fn host<'r>(uri: &'r Uri, headers: &'r HeaderMap) -> Option<&'r str> {
    let mut all = headers.get_all(header::HOST).iter();
    let host = all.next()?.to_str().ok()?;
    let agrees = uri.authority().is_none_or(|it| it.as_str() == host);
    (all.next().is_none() && agrees).then_some(host)
}

fn cookie<'h>(headers: &'h HeaderMap, wanted: &str) -> Option<&'h str> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find_map(|(name, value)| (name == wanted).then_some(value))
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
        assert_eq!(cookie(&headers, COOKIE), Some("c"));
        assert_eq!(cookie(&headers, "sayback"), None);
    }
}
