//! The page beside a rehearsal, and alone.

use super::harness::{Bay, text, typed_to_the_end};
use page::Glance;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::Duration;

/// The program while it runs. It is ended with the test.
struct Running {
    child: Child,
    stdin: Option<ChildStdin>,
    out: BufReader<ChildStdout>,
    /// Where it serves, as it said itself.
    address: String,
    token: String,
}

impl Running {
    fn new(bay: &Bay, words: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_sayback"))
            .args(words)
            .args(["--records", text(&bay.records())])
            .env("XDG_CONFIG_HOME", "/nonexistent")
            .env_remove("SAYBACK_TOOLS")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let stdin = child.stdin.take();
        let out = BufReader::new(child.stdout.take().unwrap());
        let mut running = Self {
            child,
            stdin,
            out,
            address: String::new(),
            token: String::new(),
        };
        let line = running.until("The page: ");
        let address = line.split("://").nth(1).unwrap().trim();
        let (address, token) = address.split_once("/?token=").unwrap();
        (running.address, running.token) = (address.to_owned(), token.to_owned());
        running
    }

    /// Reads what it prints up to a line with these words.
    fn until(&mut self, words: &str) -> String {
        loop {
            let mut line = String::new();
            let read = self.out.read_line(&mut line).unwrap();
            assert!(read > 0, "it ended without “{words}”");
            if line.contains(words) {
                return line;
            }
        }
    }

    fn type_line(&mut self, line: &str) {
        writeln!(self.stdin.as_mut().unwrap(), "{line}").unwrap();
    }

    fn ask(&self, way: &str, more: &str, body: &str) -> String {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        stream
            .set_read_timeout(Some(Duration::from_secs(30)))
            .unwrap();
        let (host, length) = (&self.address, body.len());
        write!(
            stream,
            "{way} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\nContent-Length: {length}\r\n{more}\r\n{body}"
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    fn get(&self, path: &str) -> String {
        let answer = self.ask(&format!("GET {path}"), "", "");
        let (_, body) = answer.split_once("\r\n\r\n").unwrap();
        body.to_owned()
    }

    fn glance(&self) -> Glance {
        serde_json::from_str(&self.get("/api/glance")).unwrap()
    }

    /// Looks until it is so; fails when it never is.
    fn wait(&self, is_so: impl Fn(&Glance) -> bool) {
        for _ in 0..1500 {
            if is_so(&self.glance()) {
                return;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!("it never came: {:?}", self.glance());
    }

    /// The headers of the page's own script.
    fn own(&self) -> String {
        let (address, token) = (&self.address, &self.token);
        let (_, port) = address.split_once(':').unwrap();
        format!(
            "Origin: http://{address}\r\nContent-Type: application/json\r\nCookie: sayback-{port}={token}\r\n"
        )
    }

    fn wish(&self, wish: &str) {
        let more = self.own();
        let answer = self.ask("POST /api/do", &more, &format!("{{\"do\":\"{wish}\"}}"));
        assert!(answer.starts_with("HTTP/1.1 202 "), "{answer}");
    }
}

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn the_page_shows_a_rehearsal_and_its_wishes_move_nothing() {
    let bay = Bay::new();
    let mut running = Running::new(&bay, &["rehearse", "trailer-hub", "--page=127.0.0.1:0"]);
    // The readback is the first of these lines that is longer than an answer.
    let lines = typed_to_the_end("trailer-hub");
    for line in lines.iter().take_while(|line| line.split(' ').count() < 5) {
        running.type_line(line);
    }
    running.wait(|glance| glance.gate.is_some());
    let before = running.glance();
    let gate = before.gate.as_ref().unwrap();
    assert!(before.job.as_ref().unwrap().rehearsal);
    let said = before.said.as_ref().unwrap().text.clone();
    assert!(said.contains(gate.readback.trim_end_matches('.')), "{said}");
    running.wish("repeat");
    running.until(&said);
    running.wish("mute");
    running.until("muted");
    running.wait(|glance| glance.muted);
    let after = running.glance();
    assert_eq!(after.gate, before.gate);
    assert_eq!(after.step, before.step);
    let jobs: serde_json::Value = serde_json::from_str(&running.get("/api/jobs")).unwrap();
    assert_eq!(jobs[0]["rehearsal"], true);
    let settings: serde_json::Value = serde_json::from_str(&running.get("/api/settings")).unwrap();
    assert_eq!(settings["mode"], "rehearsal");
    // The end of what is typed ends the program, page and all.
    drop(running.stdin.take());
    running.until("The job is open");
    assert_eq!(running.child.wait().unwrap().code(), Some(3));
}

#[test]
fn the_page_alone_shows_the_records_and_nobody_does_anything() {
    let bay = Bay::new();
    bay.rehearse("trailer-hub", &typed_to_the_end("trailer-hub"))
        .exits(0);
    let running = Running::new(&bay, &["page", "127.0.0.1:0"]);
    let jobs: serde_json::Value = serde_json::from_str(&running.get("/api/jobs")).unwrap();
    assert_eq!(jobs[0]["outcome"], "finished");
    let name = jobs[0]["name"].as_str().unwrap();
    assert!(
        running
            .get(&format!("/api/jobs/{name}/report"))
            .contains("REHEARSAL")
    );
    assert!(running.get("/api/procedures").contains("front-brakes"));
    assert!(running.glance().job.is_none());
    let refused = running.ask("POST /api/do", &running.own(), r#"{"do":"repeat"}"#);
    assert!(refused.starts_with("HTTP/1.1 409 "), "{refused}");
}

#[test]
fn the_page_of_a_job_taken_up_shows_the_jobs_own_unit() {
    let bay = Bay::new();
    let script = bay.file("script.txt", "next\n");
    let words = [
        "rehearse",
        "trailer-hub",
        "--unit",
        "lbf.ft",
        "--script",
        text(&script),
    ];
    bay.sayback(&words).exits(3);
    let id = bay.jobs().remove(0);
    let mut running = Running::new(&bay, &["resume", &id, "--page=127.0.0.1:0"]);
    running.wait(|glance| glance.job.is_some());
    let unit = || {
        serde_json::from_str::<serde_json::Value>(&running.get("/api/settings")).unwrap()["unit"]
            .clone()
    };
    assert_eq!(unit(), "lbf·ft");
    // It is the job's, also once it was changed by voice.
    running.type_line("torques in newton metres");
    running.wait(|glance| glance.job.as_ref().unwrap().unit.as_deref() == Some("N·m"));
    let settings = running.get("/api/settings");
    assert!(settings.contains("N·m"), "{settings}");
}

#[test]
fn the_network_is_served_only_on_purpose() {
    let bay = Bay::new();
    for words in [
        &["rehearse", "trailer-hub", "--page=192.0.2.7:0"][..],
        &["page", "192.0.2.7:0"],
        &["page", "0.0.0.0:0", "--network"],
    ] {
        bay.sayback(words).exits(1);
    }
    bay.sayback(&["page", "192.0.2.7:0"]).tells("--network");
    bay.sayback(&["page", "0.0.0.0:0", "--network"])
        .tells("name the address");
    assert_eq!(bay.jobs(), Vec::<String>::new(), "no job was opened");
}

#[test]
fn the_token_is_not_printed_into_a_log() {
    let bay = Bay::of_a_new_shop();
    let mut running = Running::new(&bay, &["page", "127.0.0.1:0", "--network"]);
    let fingerprint = {
        running.until("Accept it only when its SHA-256 is");
        running.until(":").trim().to_owned()
    };
    assert_eq!(fingerprint.split(':').count(), 32, "{fingerprint}");
    let kept = bay.records().join("page");
    let token = std::fs::read_to_string(kept.join("token")).unwrap();
    drop(running.child.kill());
    let mut rest = String::new();
    running.out.read_to_string(&mut rest).unwrap();
    assert!(!rest.contains(token.trim()));
    assert!(kept.join("certificate-127.0.0.1.pem").exists());
}

#[test]
fn an_address_that_is_taken_opens_no_job() {
    let bay = Bay::new();
    let taken = std::net::TcpListener::bind("127.0.0.1:0").unwrap();
    let address = format!("--page={}", taken.local_addr().unwrap());
    bay.sayback(&["rehearse", "trailer-hub", &address])
        .exits(1)
        .tells("Name another port");
    assert_eq!(bay.jobs(), Vec::<String>::new());
}
