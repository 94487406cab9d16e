//! Who is turned away on this machine, and what every answer says about itself.

use super::harness::{Bay, Records, request, send};
use page::{Board, Reach, Room, Server, ServerError};

/// One path of each kind.
const PATHS: [&str; 8] = [
    "/",
    "/assets/nothing.js",
    "/api/glance",
    "/api/jobs",
    "/api/procedures",
    "/api/settings",
    "/api/openapi.json",
    "/nowhere",
];

#[test]
fn other_machines_are_served_only_on_purpose() {
    for address in ["0.0.0.0:0", "[::]:0", "192.0.2.7:0"] {
        let started = Server::start(
            Room::new(Board::default()),
            address.parse().unwrap(),
            Reach::Loopback,
        );
        assert!(
            matches!(started, Err(ServerError::NotLoopback(_))),
            "{address}"
        );
    }
}

#[test]
fn a_name_that_was_pointed_here_is_no_name_of_this_server() {
    // DNS rebinding: the browser believes in the stranger's name, so only the Host header gives it away.
    let bay = Bay::new();
    let port = bay.address().port();
    let other_port = port.wrapping_add(1);
    for path in PATHS {
        for host in [
            "example.org".to_owned(),
            format!("example.org:{port}"),
            format!("127.0.0.1.example.org:{port}"),
            format!("127.0.0.1:{port}.example.org"),
            format!("localhost.example.org:{port}"),
            format!("127.0.0.1:{other_port}"),
            "127.0.0.1".to_owned(),
            format!("0.0.0.0:{port}"),
            format!("[::1]:{port}"),
            format!("user@127.0.0.1:{port}"),
            String::new(),
        ] {
            let asked = request("GET", path, &[("Host", &host)], b"");
            let answer = send(bay.address(), &asked).unwrap();
            assert!(
                matches!(answer.status, 400 | 421),
                "{host} {path}: {}",
                answer.status
            );
        }
        let none = send(bay.address(), &request("GET", path, &[], b"")).unwrap();
        assert!(matches!(none.status, 400 | 421), "{path}: {}", none.status);
        let own = format!("127.0.0.1:{port}");
        let both = [("Host", own.as_str()), ("Host", "example.org")];
        let two = send(bay.address(), &request("GET", path, &both, b"")).unwrap();
        assert!(matches!(two.status, 400 | 421), "{path}: {}", two.status);
        let absolute = request(
            "GET",
            &format!("http://example.org{path}"),
            &[("Host", &own)],
            b"",
        );
        assert_eq!(send(bay.address(), &absolute).unwrap().status, 421);
    }
    for own in [
        format!("127.0.0.1:{port}"),
        format!("localhost:{port}"),
        format!("LOCALHOST:{port}"),
    ] {
        let asked = request("GET", "/api/glance", &[("Host", &own)], b"");
        assert_eq!(send(bay.address(), &asked).unwrap().status, 200, "{own}");
    }
}

#[test]
fn another_site_can_ask_for_nothing_to_be_done() {
    let (ask, asked) = crossbeam_channel::bounded(8);
    let bay = Bay::with(|room| room.with_actions(ask));
    let (own, port) = (bay.origin(), bay.address().port());
    let (json, cookie) = (("Content-Type", "application/json"), bay.cookie());
    let token = ("Cookie", cookie.as_str());
    let body = br#"{"do":"mute"}"#;
    let foreign = [
        "null".to_owned(),
        "http://example.org".to_owned(),
        format!("https://127.0.0.1:{port}"),
        format!("http://127.0.0.1:{port}.example.org"),
        "http://127.0.0.1".to_owned(),
        format!("http://example.org:{port}"),
        String::new(),
    ];
    for origin in &foreign {
        let refused = bay.ask("POST", "/api/do", &[("Origin", origin), json, token], body);
        assert_eq!(refused.status, 403, "{origin}");
        // Nor may it read.
        assert_eq!(
            bay.ask("GET", "/api/glance", &[("Origin", origin)], b"")
                .status,
            403
        );
    }
    assert_eq!(
        bay.ask("POST", "/api/do", &[json, token], body).status,
        403,
        "no origin at all"
    );
    let two = [
        ("Origin", own.as_str()),
        ("Origin", "http://example.org"),
        json,
        token,
    ];
    assert_eq!(bay.ask("POST", "/api/do", &two, body).status, 403);
    for site in ["cross-site", "same-site", "none"] {
        let told = [
            ("Origin", own.as_str()),
            ("Sec-Fetch-Site", site),
            json,
            token,
        ];
        assert_eq!(
            bay.ask("POST", "/api/do", &told, body).status,
            403,
            "{site}"
        );
        let embedded = [("Sec-Fetch-Site", site), ("Sec-Fetch-Mode", "no-cors")];
        assert_eq!(
            bay.ask("GET", "/api/glance", &embedded, b"").status,
            403,
            "{site}"
        );
        let followed = [("Sec-Fetch-Site", site), ("Sec-Fetch-Mode", "navigate")];
        assert_eq!(bay.ask("GET", "/", &followed, b"").status, 200, "{site}");
    }
    // A form can send these kinds without asking first.
    for kind in [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data",
        "",
    ] {
        let sent = [("Origin", own.as_str()), ("Content-Type", kind), token];
        assert_eq!(
            bay.ask("POST", "/api/do", &sent, body).status,
            415,
            "{kind}"
        );
    }
    assert!(asked.is_empty());
    assert_eq!(
        bay.post("/api/do", "application/json; charset=utf-8", body)
            .status,
        202
    );
    assert_eq!(asked.try_recv().unwrap(), page::ViewerAction::Mute);
}

#[test]
fn every_answer_tells_browsers_to_be_careful() {
    let records = Records::new();
    let bay = records.bay();
    let job = &records.job;
    let mut answers = Vec::new();
    for path in PATHS {
        for method in ["GET", "HEAD", "POST", "OPTIONS", "DELETE"] {
            answers.push((
                format!("{method} {path}"),
                bay.ask(method, path, &[("Origin", &bay.origin())], b""),
            ));
        }
    }
    for path in [
        format!("/api/jobs/{job}"),
        format!("/api/jobs/{job}/report"),
        format!("/api/jobs/{job}/report.pdf"),
        "/api/procedures/wash-van/picture.svg".to_owned(),
        "/api/procedures/wash-van/order.svg".to_owned(),
    ] {
        answers.push((path.clone(), bay.get(&path)));
    }
    answers.push((
        "foreign".to_owned(),
        bay.ask("GET", "/", &[("Origin", "http://example.org")], b""),
    ));
    let preflight = [
        ("Origin", "http://example.org"),
        ("Access-Control-Request-Method", "POST"),
    ];
    answers.push((
        "preflight".to_owned(),
        bay.ask("OPTIONS", "/api/do", &preflight, b""),
    ));
    for (what, answer) in answers {
        let policy = answer
            .header("content-security-policy")
            .unwrap_or_else(|| panic!("{what}"));
        assert!(policy.starts_with("default-src 'none'"), "{what}: {policy}");
        // Only documents of their own, without any script, have a style inside.
        let own_document = what.contains("report") || what.ends_with(".svg");
        assert_eq!(policy.contains("unsafe-inline"), own_document, "{what}");
        assert_eq!(policy.contains("sandbox"), own_document, "{what}");
        assert!(
            !policy.contains("script-src 'unsafe") && !policy.contains('*'),
            "{what}"
        );
        assert_eq!(
            answer.header("x-content-type-options"),
            Some("nosniff"),
            "{what}"
        );
        assert_eq!(
            answer.header("referrer-policy"),
            Some("no-referrer"),
            "{what}"
        );
        let shared = answer
            .headers
            .iter()
            .find(|(name, _)| name.starts_with("access-control"));
        assert_eq!(shared, None, "{what}: nothing is shared with other sites");
    }
}

#[test]
fn no_path_leads_out_of_the_program() {
    let records = Records::new();
    let bay = records.bay();
    for up in [
        "..",
        "%2e%2e",
        "%2E%2E",
        "..%2f..",
        "%2e%2e%2f%2e%2e",
        "..\\..",
        "..%5c..",
        "%00",
        "%ff",
        ".",
    ] {
        for path in [
            format!("/assets/{up}"),
            format!("/assets/{up}/Cargo.toml"),
            format!("/assets/{up}/{up}/src/lib.rs"),
            format!("/assets/index.html/{up}"),
            format!("/api/jobs/{up}"),
            format!("/api/jobs/{up}/report"),
            format!("/api/jobs/{up}/{up}/report.json"),
            format!("/api/procedures/{up}"),
            format!("/api/procedures/{up}/picture.svg"),
            format!("/api/procedures/{up}/order.svg"),
            format!("/{up}/etc/passwd"),
        ] {
            let answer = bay.get(&path);
            assert!(
                matches!(answer.status, 400 | 404),
                "{path}: {} {}",
                answer.status,
                answer.text()
            );
            assert!(!answer.text().contains("[package]"), "{path}");
        }
    }
    for absolute in [
        "//etc/passwd",
        "/assets//etc/passwd",
        "/assets/%2fetc%2fpasswd",
        "/api/jobs/%2fetc%2fpasswd",
    ] {
        assert_eq!(bay.get(absolute).status, 404, "{absolute}");
    }
    // Nothing but the records themselves lies in their folder afterwards.
    for entry in std::fs::read_dir(records.folder.path()).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        assert!(!name.contains("passwd") && !name.contains('%'), "{name}");
    }
}

#[test]
fn another_account_of_this_machine_reads_but_adds_nothing() {
    let records = Records::new();
    let bay = records.bay();
    let photo = format!("/api/jobs/{}/notes/1/photo", records.job);
    let own = bay.origin();
    let wrong = format!("sayback-{}={}", bay.address().port(), "0".repeat(64));
    for path in [photo.as_str(), "/api/do"] {
        for cookie in ["", wrong.as_str()] {
            let sent = [
                ("Origin", own.as_str()),
                ("Content-Type", "image/png"),
                ("Cookie", cookie),
            ];
            let refused = bay.ask("POST", path, &sent, b"x");
            assert_eq!(refused.status, 401, "{path}");
            assert!(
                refused
                    .text()
                    .contains("by the address that the program shows")
            );
        }
    }
    assert_eq!(bay.get("/api/jobs").status, 200);
    // An old address still reads.
    assert_eq!(bay.get(&format!("/?token={}", "0".repeat(64))).status, 200);
    // Who opens the page by its address gets the cookie, and stays on this server.
    let opened = bay.get(&bay.server.url()[own.len()..]);
    assert_eq!((opened.status, opened.header("location")), (303, Some("/")));
    let set = opened.header("set-cookie").unwrap();
    assert!(set.starts_with(&bay.cookie()), "{set}");
    for wanted in ["HttpOnly", "SameSite=Strict", "Path=/"] {
        assert!(set.split("; ").any(|it| it == wanted), "{set}");
    }
    // It is let in, and then looked at for what it is.
    assert_eq!(bay.post(&photo, "image/png", b"x").status, 422);
}

#[test]
fn who_guesses_locks_nobody_out_who_has_the_cookie() {
    let records = Records::new();
    let limits = page::Limits {
        wrong_tokens: page::Rate {
            at_once: 2,
            a_second: 0,
        },
        ..page::Limits::default()
    };
    let bay = Bay::with(|room| {
        room.with_limits(limits)
            .with_records(records.archive.clone())
    });
    let own = bay.origin();
    let statuses = [(); 4].map(|()| {
        let guess = format!("sayback-{}=guess", bay.address().port());
        let sent = [("Origin", own.as_str()), ("Cookie", guess.as_str())];
        bay.ask("POST", "/api/do", &sent, b"").status
    });
    assert_eq!(statuses, [401, 401, 429, 429]);
    // The right one in the address would be one more guess; reading goes on.
    assert_eq!(bay.get(&bay.server.url()[own.len()..]).status, 200);
    assert_eq!(bay.post("/api/do", "text/plain", b"x").status, 415);
}
