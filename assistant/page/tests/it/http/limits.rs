//! How much is taken from whom.

use super::harness::{Bay, Records, connect, request};
use page::{Limits, Rate};
use std::io::{BufRead, BufReader, Read, Write};
use std::time::Duration;

/// Never again, once it is used up.
fn only(at_once: u32) -> Rate {
    Rate {
        at_once,
        a_second: 0,
    }
}

#[test]
fn more_than_is_usual_is_not_read() {
    let (ask, asked) = crossbeam_channel::bounded(8);
    let bay = Bay::with(|room| room.with_actions(ask));
    let padded = format!("{}{}", r#"{"do":"mute"}"#, " ".repeat(2_000));
    let answer = bay.post("/api/do", "application/json", padded.as_bytes());
    assert_eq!(answer.status, 413);
    assert_eq!(
        answer.header("content-type"),
        Some("application/problem+json")
    );
    assert!(asked.is_empty());
}

#[test]
fn a_photo_has_its_own_limit() {
    let records = Records::new();
    let archive = records.archive.clone();
    let limits = Limits {
        photo_bytes: 5_000,
        ..Limits::default()
    };
    let bay = Bay::with(|room| room.with_records(archive).with_limits(limits));
    let path = format!("/api/jobs/{}/notes/1/photo", records.job);
    assert_eq!(bay.post(&path, "image/png", &[0; 5_001]).status, 413);
    assert_eq!(
        bay.post(&path, "image/png", &[0; 4_000]).status,
        422,
        "no picture, but not too large"
    );
    // A length that is promised and never comes is refused before it comes.
    let (host, origin, cookie) = (bay.address().to_string(), bay.origin(), bay.cookie());
    let headers = [
        ("Host", host.as_str()),
        ("Origin", &origin),
        ("Cookie", &cookie),
        ("Content-Type", "image/png"),
        ("Content-Length", "999999999999"),
    ];
    let mut stream = connect(bay.address());
    stream
        .write_all(&request("POST", &path, &headers, b""))
        .unwrap();
    let mut line = String::new();
    BufReader::new(stream).read_line(&mut line).unwrap();
    assert!(line.contains(" 413 "), "{line}");
}

#[test]
fn one_address_asks_only_so_often() {
    let bay = Bay::with_limits(Limits {
        requests: only(5),
        ..Limits::default()
    });
    for _ in 0..5 {
        assert_eq!(bay.get("/api/glance").status, 200);
    }
    for _ in 0..3 {
        assert_eq!(bay.get("/api/glance").status, 429);
    }
}

#[test]
fn what_asks_for_something_is_let_through_less_often() {
    let bay = Bay::with_limits(Limits {
        doings: only(2),
        ..Limits::default()
    });
    let statuses: Vec<u16> = (0..4)
        .map(|_| {
            bay.post("/api/do", "application/json", br#"{"do":"repeat"}"#)
                .status
        })
        .collect();
    // No job is worked here, which is told before the limit is reached.
    assert_eq!(statuses, [409, 409, 429, 429]);
    assert_eq!(bay.get("/api/glance").status, 200, "looking goes on");
}

#[test]
fn so_many_viewers_and_one_more_when_one_goes() {
    let bay = Bay::with_limits(Limits {
        viewers: 2,
        ..Limits::default()
    });
    let host = bay.address().to_string();
    let look = || {
        let mut stream = BufReader::new(connect(bay.address()));
        let asked = request("GET", "/api/events", &[("Host", host.as_str())], b"");
        stream.get_mut().write_all(&asked).unwrap();
        let mut line = String::new();
        stream.read_line(&mut line).unwrap();
        (stream, line)
    };
    let (first, line) = look();
    assert!(line.contains(" 200 "), "{line}");
    let (_second, _) = look();
    let (_, line) = look();
    assert!(line.contains(" 503 "), "{line}");
    assert_eq!(
        bay.get("/api/glance").status,
        200,
        "looking once is still possible"
    );
    drop(first);
    // The server notices when it next writes.
    loop {
        bay.board.publish(super::harness::glance("is it gone?"));
        if look().1.contains(" 200 ") {
            break;
        }
    }
}

#[test]
fn who_is_slow_or_silent_is_let_go() {
    let bay = Bay::with_limits(Limits {
        patience: Duration::from_millis(50),
        ..Limits::default()
    });
    for begun in ["", "GET /api/glance HTTP/1.1\r\nHost: 127.0.0.1"] {
        let mut stream = connect(bay.address());
        stream.write_all(begun.as_bytes()).unwrap();
        let mut rest = Vec::new();
        // Ends, or is reset; a test that hangs here fails by its patience.
        match stream.read_to_end(&mut rest) {
            Ok(_) => {}
            Err(error) => assert_eq!(error.kind(), std::io::ErrorKind::ConnectionReset),
        }
    }
}

#[test]
fn a_body_that_never_comes_is_not_waited_for() {
    let records = Records::new();
    let archive = records.archive.clone();
    let limits = Limits {
        patience: Duration::from_millis(50),
        ..Limits::default()
    };
    let bay = Bay::with(|room| room.with_records(archive).with_limits(limits));
    let path = format!("/api/jobs/{}/notes/1/photo", records.job);
    let (host, origin, cookie) = (bay.address().to_string(), bay.origin(), bay.cookie());
    let headers = [
        ("Host", host.as_str()),
        ("Origin", &origin),
        ("Cookie", &cookie),
        ("Content-Type", "image/png"),
        ("Content-Length", "4000"),
    ];
    let mut stream = connect(bay.address());
    stream
        .write_all(&request("POST", &path, &headers, b""))
        .unwrap();
    let mut line = String::new();
    BufReader::new(stream).read_line(&mut line).unwrap();
    assert!(line.contains(" 408 "), "{line}");
}

#[test]
fn one_connection_too_many_is_ended_and_those_that_are_there_stay() {
    let bay = Bay::with_limits(Limits {
        connections: 2,
        ..Limits::default()
    });
    let host = bay.address().to_string();
    let asked = format!("GET /api/settings HTTP/1.1\r\nHost: {host}\r\n\r\n");
    let answered = |stream: &mut std::net::TcpStream| {
        let _ = stream.write_all(asked.as_bytes());
        let mut some = [0; 12];
        stream.read_exact(&mut some).is_ok()
    };
    let mut first = connect(bay.address());
    assert!(answered(&mut first));
    let mut second = connect(bay.address());
    assert!(answered(&mut second));
    assert!(!answered(&mut connect(bay.address())));
    assert!(answered(&mut first));
}

#[test]
fn a_head_that_is_too_large_is_refused() {
    let bay = Bay::new();
    let long = "a".repeat(40_000);
    let many: Vec<(String, &str)> = (0..100).map(|it| (format!("X-{it}"), "a")).collect();
    let many: Vec<(&str, &str)> = many
        .iter()
        .map(|(name, value)| (name.as_str(), *value))
        .collect();
    assert_eq!(bay.ask("GET", "/", &[("X", &long)], b"").status, 431);
    assert_eq!(bay.ask("GET", "/", &many, b"").status, 431);
}
