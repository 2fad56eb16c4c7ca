//! The web page: routes, doors, live events.
//!
//! What it is: a small HTTP/1.1 server of server-rendered pages, JSON and metrics over the engine's last view. It works without JavaScript.
//! What it is not: it never commands the unit, and it has no TLS; who wants that puts a proxy in front and names the host in the settings.
//!
//! Doors, from the first request on: only known Host names; no GET changes anything; POST only from our own pages (Origin or
//! Referer) and with a form token; a strict content policy; small bodies; a password wherever the address is not loopback, else it
//! refuses to start. Limits stand in [`limits`].
//!
//! On failure: a page that cannot be made is a plain 500; a full server answers 503; nothing here can stop the engine.

mod assets;
mod commands;
mod doors;
mod events;
mod hand_log;
pub mod limits;
mod notices;
mod posted;
mod render;
mod routes;
mod server;
mod session;
mod site;
mod templates;

pub use commands::{Commands, ReplyTo};
pub use server::{ServeError, serve};
pub use session::{PasswordError, check_page};
pub use site::{App, Secrets};

#[cfg(test)]
mod tests;
