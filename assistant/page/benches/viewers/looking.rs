//! The viewers: connections that note when each glance comes.

use std::error::Error;
use std::net::SocketAddr;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::io::{AsyncBufReadExt, AsyncWriteExt, BufReader};
use tokio::net::TcpStream;
use tokio::sync::mpsc;
use tokio::time::timeout;

/// A run that takes longer has failed.
const PATIENCE: Duration = Duration::from_secs(120);

/// Looks with so many viewers until each has had the last change; prints “ready”, then each delay in milliseconds.
pub fn look(what: &str) -> Result<(), Box<dyn Error>> {
    let mut parts = what.split(',');
    let mut part = || parts.next().ok_or("three parts are needed");
    let address: SocketAddr = part()?.parse()?;
    let viewers: usize = part()?.parse()?;
    let changes: usize = part()?.parse()?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    runtime.block_on(async { timeout(PATIENCE, all(address, viewers, changes)).await? })
}

async fn all(address: SocketAddr, viewers: usize, changes: usize) -> Result<(), Box<dyn Error>> {
    let (ready, mut are_ready) = mpsc::channel(viewers);
    let mut tasks = Vec::new();
    for _ in 0..viewers {
        let ready = ready.clone();
        tasks.push(tokio::spawn(async move {
            one(address, changes, ready)
                .await
                .map_err(|error| error.to_string())
        }));
    }
    for _ in 0..viewers {
        are_ready.recv().await.ok_or("a viewer failed")?;
    }
    println!("ready");
    for task in tasks {
        for delay in task.await?? {
            println!("{delay}");
        }
    }
    Ok(())
}

async fn one(
    address: SocketAddr,
    changes: usize,
    ready: mpsc::Sender<()>,
) -> Result<Vec<f64>, Box<dyn Error>> {
    let mut stream = TcpStream::connect(address).await?;
    let asked = format!("GET /api/events HTTP/1.1\r\nHost: {address}\r\n\r\n");
    stream.write_all(asked.as_bytes()).await?;
    let mut lines = BufReader::new(stream).lines();
    let (mut delays, mut first, mut last) = (Vec::new(), None, 0);
    // The glance that stands at the beginning is no change.
    while first.is_none_or(|first| last < first + changes as u64) {
        let line = lines.next_line().await?.ok_or("the server ended")?;
        // Ticks and levels have no version.
        let Some(data) = line
            .strip_prefix("data: ")
            .filter(|it| it.contains("\"version\":"))
        else {
            continue;
        };
        let now = SystemTime::now().duration_since(UNIX_EPOCH)?.as_nanos();
        let number = |mark: &str| -> Result<u128, Box<dyn Error>> {
            let rest = data.split_once(mark).ok_or("no glance")?.1;
            let end = rest
                .find(|it: char| !it.is_ascii_digit())
                .unwrap_or(rest.len());
            Ok(rest[..end].parse()?)
        };
        last = u64::try_from(number("\"version\":")?)?;
        if first.is_none() {
            first = Some(last);
            ready.send(()).await?;
        } else {
            delays.push(now.saturating_sub(number("\"at ")?) as f64 / 1e6);
        }
    }
    Ok(delays)
}
