//! Serves the glance page, during a job or by itself for the records.

use super::options::{RecordOptions, ShelfOptions};
use super::terminal;
use crossbeam_channel::{Sender, bounded};
use miette::{IntoDiagnostic, WrapErr, miette};
use page::{Attaching, BaySettings, Board, Credentials, Reach, Room, Server, ViewerAction};
use record::Archive;
use report::Shop;
use sayback::config::shop;
use sayback::library::Shelf;
use sayback::work::viewers::ViewerRequests;
use std::io::IsTerminal;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::Arc;

/// What viewers may have asked for and isn't done yet.
const MAX_ASKED: usize = 8;

/// Whether a page is served with a job, and to whom.
#[derive(Debug, Clone, Default, clap::Args)]
pub struct PageOptions {
    /// Serve the glance page, which shows the job in a browser on this machine but can't open a hold point [default
    /// address: 127.0.0.1, at the first free port from 7351]
    #[arg(long, value_name = "ADDRESS:PORT", num_args = 0..=1, require_equals = true)]
    page: Option<Option<SocketAddr>>,
    /// Serve it to the local network over TLS; the QR code in this terminal lets viewers in
    #[arg(long)]
    page_network: bool,
}

/// A page that is served.
pub struct Page {
    _server: Server,
    board: Board,
    /// What viewers ask for.
    pub requests: ViewerRequests,
    /// Kept, so that the job hears of nothing should the server's thread end.
    _ask: Ask,
}

/// What viewers ask by.
#[derive(Clone)]
struct Ask {
    actions: Sender<ViewerAction>,
    photos: Sender<Attaching>,
}

impl PageOptions {
    /// Serves the page where one is wanted, and tells where.
    ///
    /// # Errors
    /// When it can't be served as wanted.
    pub fn open(
        &self,
        archive: &Archive,
        shelf: Shelf,
        settings: BaySettings,
    ) -> miette::Result<Option<Page>> {
        let address = match (self.page, self.page_network) {
            (None, false) => return Ok(None),
            (Some(Some(address)), true | false) => Some(address),
            (Some(None), true | false) | (None, true) => None,
        };
        let (actions, actions_asked) = bounded(MAX_ASKED);
        let (photos, photos_asked) = bounded(MAX_ASKED);
        let ask = Ask { actions, photos };
        let requests = ViewerRequests {
            actions: actions_asked,
            photos: photos_asked,
        };
        let board = Board::default();
        let shop = shop();
        let room = || room(&board, archive, &shelf, &settings, &shop, Some(&ask));
        let server = serve(address, self.page_network, archive, room)?;
        Ok(Some(Page {
            _server: server,
            board,
            requests,
            _ask: ask,
        }))
    }
}

impl Page {
    /// What it shows.
    pub fn board(&self) -> &Board {
        &self.board
    }
}

/// `sayback page`: the records and procedures, without a job.
pub fn alone(
    address: Option<SocketAddr>,
    network: bool,
    records: &RecordOptions,
    shelf: &ShelfOptions,
) -> miette::Result<ExitCode> {
    let archive = records.to_serve()?;
    let settings = BaySettings {
        version: env!("CARGO_PKG_VERSION").to_owned(),
        ..BaySettings::default()
    };
    let board = Board::default();
    let shelf = shelf.shelf();
    let shop = shop();
    let room = || room(&board, &archive, &shelf, &settings, &shop, None);
    let _server = serve(address, network, &archive, room)?;
    tell!("It is served until this program is ended.");
    // Where nobody was told where it is, nobody can come.
    while terminal::is_read() {
        std::thread::park();
    }
    Ok(ExitCode::SUCCESS)
}

/// The shop whose name stands on the reports. A file that is wrong keeps nobody from working or looking.
fn shop() -> Shop {
    shop::load().unwrap_or_else(|error| {
        warn!(
            "The reports on the page name no shop: {}.",
            steps::with_causes(&error)
        );
        Shop::default()
    })
}

fn room(
    board: &Board,
    archive: &Archive,
    shelf: &Shelf,
    settings: &BaySettings,
    shop: &Shop,
    ask: Option<&Ask>,
) -> Room {
    let shelf = shelf.clone();
    let room = Room::new(board.clone())
        .with_records(archive.clone())
        .with_settings(settings.clone())
        .with_shop(shop.clone())
        .with_procedures(move || {
            let names = shelf.names().unwrap_or_default();
            // One that can't be read is told of where it is worked or checked.
            let read = names.iter().filter_map(|name| shelf.load(name).ok());
            read.map(Arc::new).collect()
        });
    match ask {
        Some(ask) => room
            .with_actions(ask.actions.clone())
            .with_attaching(ask.photos.clone()),
        None => room,
    }
}

fn serve(
    address: Option<SocketAddr>,
    network: bool,
    archive: &Archive,
    room: impl Fn() -> Room,
) -> miette::Result<Server> {
    let ip = match (address, network) {
        (Some(address), true | false) => address.ip(),
        (None, false) => IpAddr::V4(Ipv4Addr::LOCALHOST),
        (None, true) => Reach::own_address().ok_or_else(|| {
            miette!(
                help = "name it, like --page=192.0.2.7:7351",
                "this machine's address in the shop's network isn't known"
            )
        })?,
    };
    if ip.is_unspecified() {
        return Err(miette!(
            help = "name the address that the others reach this machine by",
            "{ip} is no address that a browser can be sent to"
        ));
    }
    if !network && !ip.is_loopback() {
        return Err(miette!(
            help = "say --page-network (with `sayback page`: --network), or leave the address out",
            "{ip} can be reached from the network, and the page is for this machine only"
        ));
    }
    let secrets: PathBuf = archive.folder().join("page");
    let reach = if network {
        Reach::Network(Credentials::kept_in(&secrets, ip).into_diagnostic()?)
    } else {
        Reach::Loopback
    };
    let server = match address {
        Some(address) => Server::start(room(), address, reach.clone()),
        None => Server::start_at_a_free_port(room, ip, &reach),
    };
    let server = server.into_diagnostic().wrap_err("no page is served")?;
    match &reach {
        // Its token holds only until this program ends.
        Reach::Loopback => tell!("The page: {}", server.url()),
        Reach::Network(credentials) => tell_network(&server, credentials, &secrets),
    }
    Ok(server)
}

/// Says how to look from elsewhere. The token is only printed on a terminal: others may read a log.
fn tell_network(server: &Server, credentials: &Credentials, secrets: &std::path::Path) {
    if std::io::stdout().is_terminal() {
        if let Some(code) = server.qr_code() {
            tell!("{code}");
        }
        tell!("The page: {}", server.url());
    } else {
        tell!(
            "The page: https://{}/?token=… (the token is in {})",
            server.address(),
            secrets.join("token").display()
        );
    }
    tell!(
        "The browser warns once, because this program made its certificate itself. Accept it only when its SHA-256 is\n{}",
        credentials.fingerprint()
    );
}
