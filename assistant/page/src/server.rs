//! Starting and ending the server.

use crate::listener;
use crate::network::new_token;
use crate::routes;
use crate::{Credentials, CredentialsError, Room};
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::sync::Arc;
use std::thread::JoinHandle;
use std::time::Duration;
use tokio::sync::watch;

/// The port that is usually served.
pub const PORT: u16 = 7351;

/// How many ports are tried, the usual one first.
pub const PORTS_TRIED: u16 = 20;

/// How long connections may take to end.
const FAREWELL: Duration = Duration::from_millis(500);

/// Who can reach the server.
#[derive(Debug, Clone)]
pub enum Reach {
    /// This machine only. Whoever is on it may read; who adds something must show the token, which is made anew for each
    /// server.
    Loopback,
    /// The shop's network: with TLS, and for who shows the token.
    Network(Credentials),
}

/// Why the page can't be served.
#[derive(Debug, thiserror::Error)]
pub enum ServerError {
    /// The address is another machine's way in, and nobody asked for that.
    #[error("{0} can be reached from the network. Say so on purpose, or serve 127.0.0.1")]
    NotLoopback(IpAddr),
    /// The address can't be had.
    #[error(
        "the page can't be served at {address}: {why}. Name another port, or 0 for any that is free"
    )]
    Address {
        /// Which.
        address: SocketAddr,
        /// Why.
        why: String,
    },
    /// The system gives no thread or timer.
    #[error("the page can't be served: {0}")]
    System(std::io::Error),
    /// There is no token.
    #[error(transparent)]
    Token(#[from] CredentialsError),
}

/// A server that is running. Dropping it ends it.
#[derive(Debug)]
pub struct Server {
    address: SocketAddr,
    scheme: &'static str,
    token: String,
    end: watch::Sender<bool>,
    thread: Option<JoinHandle<()>>,
}

impl Server {
    /// Serves a room at this address, on a thread of its own. Port 0 takes any that is free.
    ///
    /// # Errors
    /// When the address can't be had, or reaches further than was asked for.
    pub fn start(room: Room, address: SocketAddr, reach: Reach) -> Result<Self, ServerError> {
        let (scheme, token) = match &reach {
            Reach::Loopback if !address.ip().is_loopback() => {
                return Err(ServerError::NotLoopback(address.ip()));
            }
            Reach::Loopback => ("http", new_token()?),
            Reach::Network(credentials) => ("https", credentials.token().to_owned()),
        };
        let cannot = |error: std::io::Error| ServerError::Address {
            address,
            why: error.to_string(),
        };
        let listener = TcpListener::bind(address).map_err(cannot)?;
        listener.set_nonblocking(true).map_err(cannot)?;
        let address = listener.local_addr().map_err(cannot)?;
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_io()
            .enable_time()
            .max_blocking_threads(2)
            .thread_name("page")
            .build()
            .map_err(ServerError::System)?;
        let (end, ended) = watch::channel(false);
        let room = Arc::new(room);
        let shown = token.clone();
        let thread = std::thread::Builder::new()
            .name("page".to_owned())
            .spawn(move || {
                let all = routes::all(room.clone(), reach.clone(), shown, ended.clone());
                runtime.block_on(listener::serve(listener, all, &room.limits, &reach, ended));
                runtime.shutdown_timeout(FAREWELL);
            })
            .map_err(ServerError::System)?;
        Ok(Self {
            address,
            scheme,
            token,
            end,
            thread: Some(thread),
        })
    }

    /// Serves at the usual port, or the next one that is free.
    ///
    /// # Errors
    /// When none of [`PORTS_TRIED`] is free, or the address reaches further than was asked for.
    pub fn start_at_a_free_port(
        room: impl Fn() -> Room,
        ip: IpAddr,
        reach: &Reach,
    ) -> Result<Self, ServerError> {
        let mut last = None;
        for port in PORT..PORT + PORTS_TRIED {
            match Self::start(room(), SocketAddr::new(ip, port), reach.clone()) {
                Err(error @ ServerError::Address { .. }) => last = Some(error),
                started => return started,
            }
        }
        Err(last.unwrap_or(ServerError::NotLoopback(ip)))
    }

    /// Where it is served.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// What to type into a browser, with the token.
    pub fn url(&self) -> String {
        format!("{}://{}/?token={}", self.scheme, self.address, self.token)
    }

    /// The same as a QR code for a terminal, two rows a line.
    pub fn qr_code(&self) -> Option<String> {
        use qrcode::render::unicode::Dense1x2;
        let code = qrcode::QrCode::new(self.url()).ok()?;
        let drawn = code
            .render::<Dense1x2>()
            .dark_color(Dense1x2::Light)
            .light_color(Dense1x2::Dark)
            .build();
        Some(drawn)
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        self.end.send_replace(true);
        if let Some(thread) = self.thread.take() {
            // A thread that panicked has ended too.
            let _ = thread.join();
        }
    }
}

/// This machine's own address in the shop's network, as far as its routes tell. Nothing is sent.
pub(crate) fn own_address() -> Option<IpAddr> {
    let socket = std::net::UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    // 192.0.2.0/24 is for documentation (RFC 5737): only the way there is looked up.
    socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9)).ok()?;
    let own = socket.local_addr().ok()?.ip();
    (!own.is_loopback() && !own.is_unspecified()).then_some(own)
}

impl Reach {
    /// This machine's own address in the shop's network, as far as its routes tell.
    pub fn own_address() -> Option<IpAddr> {
        own_address()
    }
}
