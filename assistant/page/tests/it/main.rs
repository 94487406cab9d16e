//! The page: its server, met over a socket, and what a browser makes of it.

mod browser;
mod http;
