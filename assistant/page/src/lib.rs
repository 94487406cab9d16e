//! The glance page's server: what can be seen from the floor in half a second.
//!
//! A job is published on a [`Board`]; a [`Server`] shows it to any number of viewers, each change pushed to them as it
//! comes. Everything they load is inside the program. The publisher never waits: a viewer that is slow misses what
//! was in between, never the newest.
//!
//! This crate refuses to pass anything on to a job: it knows no [`steps::Input`] and holds no job. What a viewer may
//! do is [`ViewerAction`], and goes to whoever started the server. It refuses other machines unless it was told to serve
//! the shop's network, and then strangers without the token.
//!
//! ```
//! use page::{Board, Glance, Reach, Room, Server};
//!
//! let board = Board::default();
//! let server = Server::start(Room::new(board.clone()), "127.0.0.1:0".parse()?, Reach::Loopback)?;
//! println!("look at {}", server.url());
//! board.publish(Glance::default()); // never blocks, never fails
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # Why can no request open a gate?
//!
//! This crate holds no job and makes no `Input`. A viewer's wish is a [`ViewerAction`], which has three values, and
//! `Conversation::harmless` passes nothing on to the job. A photo for a note goes onto the record between two inputs,
//! and the job doesn't see it. What is shown is made by a pure function (`sayback/src/view/glance.rs`) and put on a watch
//! channel, so a job never waits for a viewer. `sayback/tests/it/page_gate.rs` tries every route and method with every
//! kind of body.

mod assets;
mod board;
pub mod glance;
mod guard;
mod limits;
mod listener;
mod network;
mod openapi;
mod problem;
mod room;
mod routes;
mod server;

pub use board::Board;
pub use glance::{Glance, Level};
pub use limits::{Limits, Rate};
pub use network::{Credentials, CredentialsError};
pub use openapi::description;
pub use room::{Attaching, BaySettings, Room, ViewerAction};
pub use server::{PORT, PORTS_TRIED, Reach, Server, ServerError};
