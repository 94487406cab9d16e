//! Following the job.

use super::harness::{Bay, connect, glance, request};
use page::{Board, Glance, Level, Reach, Room, Server};
use std::io::{BufRead, BufReader, Write};
use std::net::{SocketAddr, TcpStream};

/// The events of a stream, as they come.
struct Events(BufReader<TcpStream>);

impl Events {
    fn of(address: SocketAddr) -> Self {
        let mut stream = connect(address);
        let host = address.to_string();
        let asked = request("GET", "/api/events", &[("Host", host.as_str())], b"");
        stream.write_all(&asked).unwrap();
        Self(BufReader::new(stream))
    }

    /// The next event of this name: its data; none at the end.
    fn next(&mut self, wanted: &str) -> Option<serde_json::Value> {
        let mut named = false;
        loop {
            let mut line = String::new();
            if self.0.read_line(&mut line).ok()? == 0 {
                return None;
            }
            if let Some(name) = line.strip_prefix("event: ") {
                named = name.trim() == wanted;
            } else if let Some(data) = line.strip_prefix("data: ")
                && named
            {
                return Some(serde_json::from_str(data).unwrap());
            }
        }
    }
}

#[test]
fn a_viewer_gets_how_it_stands_at_once_and_then_each_change() {
    let bay = Bay::new();
    bay.board.publish(glance("before"));
    let mut events = Events::of(bay.address());
    assert_eq!(events.next("glance").unwrap()["say_now"][0], "before");
    bay.board.publish(glance("after"));
    let after = events.next("glance").unwrap();
    assert_eq!(after["say_now"][0], "after");
    assert_eq!(bay.get("/api/glance").json(), after);
}

#[test]
fn the_assistants_time_comes_before_anything_that_is_counted_by_it() {
    let bay = Bay::new();
    for _ in 0..50 {
        let Events(mut lines) = Events::of(bay.address());
        let mut line = String::new();
        while !line.starts_with("event: ") {
            line.clear();
            assert_ne!(lines.read_line(&mut line).unwrap(), 0);
        }
        assert_eq!(line.trim(), "event: tick");
    }
}

#[test]
fn a_slow_viewer_misses_what_was_between_and_never_the_newest() {
    let bay = Bay::new();
    let mut events = Events::of(bay.address());
    events.next("glance").unwrap();
    for number in 0..5_000 {
        bay.board.publish(glance(&number.to_string()));
    }
    let mut last = 0;
    loop {
        let glance = events.next("glance").unwrap();
        let version = glance["version"].as_u64().unwrap();
        assert!(version > last, "{version} after {last}");
        last = version;
        if glance["say_now"][0] == "4999" {
            break;
        }
    }
}

#[test]
fn the_level_is_an_event_of_its_own() {
    let bay = Bay::new();
    let mut events = Events::of(bay.address());
    bay.board.level(&Level {
        rms_db: -31.5,
        noise_db: None,
        speech: true,
        microphone: Some("headset".to_owned()),
    });
    let level = events.next("level").unwrap();
    assert_eq!(level["rms_db"], -31.5);
    assert_eq!(level["microphone"], "headset");
}

#[test]
fn viewers_come_back_to_a_server_that_was_started_anew() {
    let board = Board::default();
    let start = |address| Server::start(Room::new(board.clone()), address, Reach::Loopback);
    let server = start("127.0.0.1:0".parse().unwrap()).unwrap();
    let address = server.address();
    let mut events = Events::of(address);
    events.next("glance").unwrap();
    drop(server);
    assert!(
        events.next("glance").is_none(),
        "the stream ends with the server"
    );
    let _again = start(address).unwrap();
    board.publish(glance("again"));
    assert_eq!(
        Events::of(address).next("glance").unwrap()["say_now"][0],
        "again"
    );
}

#[test]
fn whoever_publishes_never_waits_for_a_viewer_that_reads_nothing() {
    let bay = Bay::new();
    let host = bay.address().to_string();
    let mut silent = connect(bay.address());
    let asked = request("GET", "/api/events", &[("Host", host.as_str())], b"");
    silent.write_all(&asked).unwrap();
    // Far more than the buffers of both ends hold.
    let long = "x".repeat(10_000);
    for _ in 0..5_000 {
        bay.board.publish(glance(&long));
    }
    let shown: Glance = serde_json::from_slice(&bay.get("/api/glance").body).unwrap();
    assert_eq!(shown.version, 5_000);
}

#[test]
fn the_page_and_its_views_are_inside_the_program() {
    let bay = Bay::new();
    for path in [
        "/",
        "/jobs",
        "/jobs/any",
        "/procedures",
        "/procedures/any",
        "/settings",
    ] {
        let page = bay.get(path);
        assert_eq!((page.status, path), (200, path));
        assert_eq!(
            page.header("content-type"),
            Some("text/html; charset=utf-8")
        );
        assert!(page.text().to_lowercase().contains("<!doctype html>"));
    }
    let page = bay.get("/");
    let tag = page.header("etag").unwrap();
    for known in [tag.to_owned(), format!("\"other\", W/{tag}")] {
        let again = bay.ask("GET", "/", &[("If-None-Match", &known)], b"");
        assert_eq!((again.status, again.body.len()), (304, 0));
    }
    assert_eq!(
        bay.ask("GET", "/", &[("If-None-Match", "\"other\"")], b"")
            .status,
        200
    );
}
