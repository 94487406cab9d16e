//! Connections: accepted here, so that a slow or silent one can be ended, and there are never too many.
//!
//! # Why are connections accepted by hand?
//!
//! So that nobody waits for a TLS greeting or a request head that never comes, and so that there are never more
//! connections than fit. `axum::serve` has no time limits.

use crate::{Limits, Reach};
use axum::Router;
use axum::extract::Request;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};
use tokio::time::timeout;
use tokio_rustls::TlsAcceptor;

/// How long it waits after the system had no room for a connection.
const BREATH: Duration = Duration::from_millis(50);

/// Bytes of a request's head.
const MAX_HEAD: usize = 16 * 1024;

/// Headers of a request.
const MAX_HEADERS: usize = 64;

/// The two ends of a connection.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ends {
    /// Ours.
    pub local: SocketAddr,
    /// Theirs.
    pub peer: SocketAddr,
}

/// Accepts connections until told to end.
pub(crate) async fn serve(
    listener: std::net::TcpListener,
    routes: Router,
    limits: &Limits,
    reach: &Reach,
    mut ended: watch::Receiver<bool>,
) {
    let Ok(listener) = TcpListener::from_std(listener) else {
        return;
    };
    let tls = match reach {
        Reach::Loopback => None,
        Reach::Network(credentials) => Some(TlsAcceptor::from(Arc::clone(&credentials.tls))),
    };
    let room = Arc::new(Semaphore::new(limits.connections));
    let patience = limits.patience;
    loop {
        let accepted = tokio::select! {
            _ = ended.changed() => return,
            accepted = listener.accept() => accepted,
        };
        let (stream, peer) = match accepted {
            Ok(accepted) => accepted,
            Err(_) => {
                // Out of files, or the other end was gone at once.
                tokio::time::sleep(BREATH).await;
                continue;
            }
        };
        // One too many is ended at once, so that those that are there stay.
        let Ok(place) = Arc::clone(&room).try_acquire_owned() else {
            continue;
        };
        let Ok(local) = stream.local_addr() else {
            continue;
        };
        let _ = stream.set_nodelay(true);
        let routes = routes.clone();
        let tls = tls.clone();
        tokio::spawn(async move {
            let ends = Ends { local, peer };
            connection(stream, tls, routes, ends, patience).await;
            drop(place);
        });
    }
}

async fn connection(
    stream: TcpStream,
    tls: Option<TlsAcceptor>,
    routes: Router,
    ends: Ends,
    patience: Duration,
) {
    match tls {
        None => talk(stream, routes, ends, patience).await,
        Some(tls) => {
            if let Ok(Ok(stream)) = timeout(patience, tls.accept(stream)).await {
                talk(stream, routes, ends, patience).await;
            }
        }
    }
}

async fn talk<S>(stream: S, routes: Router, ends: Ends, patience: Duration)
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let service =
        hyper::service::service_fn(move |request: hyper::Request<hyper::body::Incoming>| {
            let mut request: Request = request.map(axum::body::Body::new);
            request.extensions_mut().insert(ends);
            let mut routes = routes.clone();
            async move { tower_service::Service::call(&mut routes, request).await }
        });
    // What goes wrong here is the other end's business.
    let _ = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(patience)
        .max_headers(MAX_HEADERS)
        .max_buf_size(MAX_HEAD)
        .serve_connection(TokioIo::new(stream), service)
        .await;
}
