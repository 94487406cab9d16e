//! Whatever is sent, the server answers or closes, and goes on.

use super::harness::{Bay, Records, request, send};
use crossbeam_channel::Receiver;
use page::{Limits, Rate, ViewerAction};
use proptest::prelude::*;
use std::sync::LazyLock;

/// How many requests of each kind. Bounded, so that the test ends.
const CASES: u32 = 300;

/// A server, what it shows, what its viewers ask for.
type Shown = (Bay, Records, Receiver<ViewerAction>);

/// One server for all cases of a test, with nobody turned away for asking too often.
fn start() -> Shown {
    let records = Records::new();
    let archive = records.archive.clone();
    let (ask, asked) = crossbeam_channel::unbounded();
    let much = Rate {
        at_once: u32::MAX,
        a_second: u32::MAX,
    };
    let limits = Limits {
        requests: much,
        doings: much,
        patience: std::time::Duration::from_millis(100),
        ..Limits::default()
    };
    let bay = Bay::with(|room| {
        room.with_records(archive)
            .with_limits(limits)
            .with_actions(ask)
    });
    (bay, records, asked)
}

fn still_serves(bay: &Bay) {
    assert_eq!(bay.get("/api/settings").status, 200);
}

fn method() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("GET".to_owned()),
        Just("POST".to_owned()),
        Just("HEAD".to_owned()),
        Just("PUT".to_owned()),
        "[A-Z]{1,12}",
    ]
}

/// Paths near those that there are.
fn path() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("api".to_owned()),
        Just("jobs".to_owned()),
        Just("glance".to_owned()),
        Just("do".to_owned()),
        Just("notes".to_owned()),
        Just("photo".to_owned()),
        Just("report".to_owned()),
        Just("procedures".to_owned()),
        Just("assets".to_owned()),
        Just("..".to_owned()),
        Just("%2e%2e%2f".to_owned()),
        "[!-~&&[^ #?/]]{0,12}",
    ];
    (
        proptest::collection::vec(piece, 0..7),
        "(\\?[!-~&&[^ #]]{0,30})?",
    )
        .prop_map(|(pieces, query)| format!("/{}{query}", pieces.join("/")))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: CASES, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn bytes(bytes in proptest::collection::vec(any::<u8>(), 0..300)) {
        static SHOWN: LazyLock<Shown> = LazyLock::new(start);
        let (bay, ..) = &*SHOWN;
        // No answer is an answer: it closes.
        if let Some(answer) = send(bay.address(), &bytes) {
            prop_assert!((400..500).contains(&answer.status), "{}", answer.status);
        }
        still_serves(bay);
    }

    #[test]
    fn nearly_requests(
        method in method(), path in path(),
        names in proptest::collection::vec(("[A-Za-z-]{1,16}", "[ -~]{0,40}"), 0..6),
        kind in prop_oneof![Just("application/json"), Just("image/png"), Just("image/jpeg"), Just("text/plain")],
        body in proptest::collection::vec(any::<u8>(), 0..200),
    ) {
        static SHOWN: LazyLock<Shown> = LazyLock::new(start);
        let (bay, records, asked) = &*SHOWN;
        // A stream without end is followed elsewhere.
        prop_assume!(!path.starts_with("/api/events"));
        let (host, origin) = (bay.address().to_string(), bay.origin());
        let mut headers = vec![("Host", host.as_str()), ("Origin", &origin), ("Content-Type", kind)];
        headers.extend(names.iter().map(|(name, value)| (name.as_str(), value.as_str())));
        if let Some(answer) = send(bay.address(), &request(&method, &path, &headers, &body)) {
            prop_assert!(answer.status < 500, "{method} {path}: {} {}", answer.status, answer.text());
            if answer.status >= 400 && !answer.body.is_empty() {
                prop_assert_eq!(answer.header("content-type"), Some("application/problem+json"));
                prop_assert_eq!(answer.json()["status"].as_u64(), Some(u64::from(answer.status)));
            }
        }
        prop_assert!(asked.is_empty(), "chance asks for nothing");
        prop_assert_eq!(records.archive.report(&records.job).unwrap().photos.len(), 0);
        still_serves(bay);
    }

    #[test]
    fn wishes(body in prop_oneof![
        "\\{\"do\":\"[a-z-]{0,12}\"\\}",
        "\\{\"[a-z]{1,8}\":(true|null|[0-9]{1,20}|\"(repeat|next|yes)\")\\}",
        "[\\[\\{\\]\\}\":,a-z0-9 ]{0,60}",
        Just(r#"{"do":"repeat"}"#.to_owned()),
    ]) {
        static SHOWN: LazyLock<Shown> = LazyLock::new(start);
        let (bay, _, asked) = &*SHOWN;
        let answer = bay.post("/api/do", "application/json", body.as_bytes());
        match asked.try_recv() {
            Ok(_) => {
                prop_assert_eq!(answer.status, 202);
                let wish: serde_json::Value = serde_json::from_str(&body).unwrap();
                let known = ["repeat", "mute", "unmute"].map(|it| serde_json::json!({ "do": it }));
                prop_assert!(known.contains(&wish), "{wish}");
            }
            Err(_) => prop_assert!(matches!(answer.status, 415 | 422), "{body}: {}", answer.status),
        }
    }
}
