//! The shop's network: TLS, and the token.

use super::harness::{Answer, connect, request, send};
use page::{Board, Credentials, Limits, Rate, Reach, Room, Server, ViewerAction};
use rustls::pki_types::{CertificateDer, ServerName};
use rustls::{ClientConfig, ClientConnection, RootCertStore, StreamOwned};
use std::io::Write;
use std::net::{IpAddr, Ipv4Addr, TcpStream};
use std::sync::Arc;

/// A server as the shop's network meets it; on loopback, so that the test stays on this machine.
struct Network {
    server: Server,
    credentials: Credentials,
    _folder: tempfile::TempDir,
}

impl Network {
    fn new(more: impl FnOnce(Room) -> Room) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let ip = IpAddr::V4(Ipv4Addr::LOCALHOST);
        let credentials = Credentials::kept_in(&folder.path().join("page"), ip).unwrap();
        let room = more(Room::new(Board::default()));
        let reach = Reach::Network(credentials.clone());
        let server = Server::start(room, (ip, 0).into(), reach).unwrap();
        Self {
            server,
            credentials,
            _folder: folder,
        }
    }

    /// A client that trusts this certificate and no other.
    fn tls(&self, trusted: &[u8]) -> StreamOwned<ClientConnection, TcpStream> {
        let mut roots = RootCertStore::empty();
        roots.add(CertificateDer::from(trusted.to_vec())).unwrap();
        let provider = Arc::new(rustls::crypto::ring::default_provider());
        let config = ClientConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_root_certificates(roots)
            .with_no_client_auth();
        let name = ServerName::from(IpAddr::V4(Ipv4Addr::LOCALHOST));
        let client = ClientConnection::new(Arc::new(config), name).unwrap();
        StreamOwned::new(client, connect(self.server.address()))
    }

    fn ask(&self, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
        let mut stream = self.tls(self.credentials.certificate());
        let host = self.server.address().to_string();
        let mut all = vec![("Host", host.as_str())];
        all.extend(headers);
        stream
            .write_all(&request(method, path, &all, body))
            .unwrap();
        Answer::read(&mut stream).expect("an answer")
    }

    fn cookie(&self) -> String {
        let path = format!("/jobs?token={}", self.credentials.token());
        let shown = self.ask("GET", &path, &[], b"");
        assert_eq!(
            (shown.status, shown.header("location")),
            (303, Some("/jobs"))
        );
        let set = shown.header("set-cookie").unwrap().to_owned();
        for wanted in ["Secure", "HttpOnly", "SameSite=Strict", "Path=/"] {
            assert!(set.split("; ").any(|it| it == wanted), "{set}");
        }
        assert!(!set.contains("Domain"), "{set}");
        set.split(';').next().unwrap().to_owned()
    }
}

#[test]
fn without_the_token_nothing_is_shown() {
    let network = Network::new(|room| room);
    let wrong = format!("__Host-sayback={}", "0".repeat(64));
    for path in [
        "/",
        "/assets/index.html",
        "/api/glance",
        "/api/events",
        "/api/jobs",
        "/nowhere",
        "/api/openapi.json",
        "/?token=",
        "/?token=0000",
        "/api/glance?token=%00",
    ] {
        for headers in [vec![], vec![("Cookie", wrong.as_str())]] {
            let limits = network.ask("GET", path, &headers, b"");
            assert!(
                matches!(limits.status, 401 | 429),
                "{path}: {}",
                limits.status
            );
            assert_eq!(limits.header("set-cookie"), None);
        }
    }
}

#[test]
fn who_shows_the_token_once_is_let_in_by_its_cookie() {
    let (ask, asked) = crossbeam_channel::bounded(8);
    let network = Network::new(|room| room.with_actions(ask));
    let cookie = network.cookie();
    let headers = [("Cookie", cookie.as_str())];
    assert_eq!(network.ask("GET", "/", &headers, b"").status, 200);
    assert_eq!(network.ask("GET", "/api/glance", &headers, b"").status, 200);
    let origin = format!("https://{}", network.server.address());
    let plain = format!("http://{}", network.server.address());
    let doing = |origin: &str, headers: &[(&str, &str)]| {
        let all = [
            &[("Origin", origin), ("Content-Type", "application/json")],
            headers,
        ]
        .concat();
        network
            .ask("POST", "/api/do", &all, br#"{"do":"repeat"}"#)
            .status
    };
    assert_eq!(doing(&plain, &headers), 403);
    assert_eq!(doing(&origin, &[]), 401);
    assert!(asked.is_empty());
    assert_eq!(doing(&origin, &headers), 202);
    assert_eq!(asked.try_recv().unwrap(), ViewerAction::Repeat);
    // The token in the address lets nobody do anything.
    let path = format!("/api/do?token={}", network.credentials.token());
    let headers = [
        ("Origin", origin.as_str()),
        ("Content-Type", "application/json"),
    ];
    assert_eq!(
        network
            .ask("POST", &path, &headers, br#"{"do":"repeat"}"#)
            .status,
        401
    );
}

#[test]
fn tokens_can_not_be_tried_for_long() {
    let rate = Rate {
        at_once: 3,
        a_second: 0,
    };
    let network = Network::new(|room| {
        room.with_limits(Limits {
            wrong_tokens: rate,
            ..Limits::default()
        })
    });
    let statuses: Vec<u16> = (0..5)
        .map(|guess| {
            network
                .ask("GET", &format!("/?token={guess:064}"), &[], b"")
                .status
        })
        .collect();
    assert_eq!(statuses, [401, 401, 401, 429, 429]);
    // Whoever was refused so often is not let in by the right one either, for a while. Who has it already is.
    let cookie = format!("__Host-sayback={}", network.credentials.token());
    assert_eq!(
        network.ask("GET", "/", &[("Cookie", &cookie)], b"").status,
        200
    );
    let path = format!("/?token={}", network.credentials.token());
    assert_eq!(network.ask("GET", &path, &[], b"").status, 429);
}

#[test]
fn without_tls_nothing_is_told() {
    let network = Network::new(|room| room);
    let host = network.server.address().to_string();
    let cookie = format!("__Host-sayback={}", network.credentials.token());
    let asked = request(
        "GET",
        "/api/glance",
        &[("Host", &host), ("Cookie", &cookie)],
        b"",
    );
    assert!(send(network.server.address(), &asked).is_none());
}

#[test]
fn a_server_with_another_certificate_is_noticed() {
    let network = Network::new(|room| room);
    let other = Network::new(|room| room);
    let mut stream = network.tls(other.credentials.certificate());
    assert!(
        stream
            .write_all(b"GET / HTTP/1.1\r\n\r\n")
            .and_then(|()| stream.flush())
            .is_err()
    );
    assert_ne!(
        network.credentials.fingerprint(),
        other.credentials.fingerprint()
    );
}

#[test]
fn the_name_is_checked_here_too() {
    let network = Network::new(|room| room);
    let cookie = network.cookie();
    let mut stream = network.tls(network.credentials.certificate());
    let asked = request(
        "GET",
        "/api/glance",
        &[("Host", "example.org"), ("Cookie", &cookie)],
        b"",
    );
    stream.write_all(&asked).unwrap();
    assert_eq!(Answer::read(&mut stream).unwrap().status, 421);
}

/// The fingerprint as `openssl x509 -fingerprint -sha256` gives it: OpenSSL is the reference.
#[test]
fn the_fingerprint_is_what_others_show() {
    let folder = tempfile::tempdir().unwrap();
    let ip = IpAddr::V4(Ipv4Addr::LOCALHOST);
    let credentials = Credentials::kept_in(folder.path(), ip).unwrap();
    let ran = std::process::Command::new("openssl")
        .args(["x509", "-noout", "-fingerprint", "-sha256", "-in"])
        .arg(folder.path().join("certificate-127.0.0.1.pem"))
        .output()
        .expect("openssl is needed: apt-get install openssl");
    let told = String::from_utf8(ran.stdout).unwrap();
    let (_, fingerprint) = told.trim().split_once('=').expect(&told);
    assert_eq!(fingerprint, credentials.fingerprint());
}

#[test]
fn the_qr_code_is_drawn_for_a_terminal() {
    let network = Network::new(|room| room);
    let code = network.server.qr_code().unwrap();
    let widths: Vec<usize> = code.lines().map(|line| line.chars().count()).collect();
    // ISO/IEC 18004: a code is square, and with its quiet zone more than 29 modules wide for such a text.
    assert!(widths.iter().all(|width| *width == widths[0]) && widths[0] > 29);
    assert!(widths.len().abs_diff(widths[0] / 2) <= 1);
}
