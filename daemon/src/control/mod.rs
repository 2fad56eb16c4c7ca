//! The control socket: how `barrico log`, `barrico baseline` and acknowledges reach the running daemon.
//!
//! A Unix socket `control.sock` (0660) in the runtime folder (0750): who may open it is decided by the folder's group, and the kernel says
//! which account asks. That account is written behind the name of the person in every record that comes this way. No network, no
//! password, no other rights than those of a person at the page.
//!
//! One line of JSON per request, one line back, in order. A connection may carry any number of requests.
//!
//! ```json
//! {"command":{"list_log":{"unit":"main","last":10}}}
//! {"reply":{"log":[]}}
//! {"error":"not readable: ..."}
//! ```
//!
//! `reply` is what the engine answered, after the commit; it may be `{"refused":"..."}`. `error` means that the engine was not asked, or that
//! its answer is not known.
//!
//! | limit | at it |
//! | --- | --- |
//! | [`LINE_MAX`] per request | told, connection closed |
//! | [`CLIENTS_MAX`] connections | told, the new one is closed |
//! | [`IDLE_TIMEOUT`] without a request | closed |
//! | [`ANSWER_WAIT`] without an answer | told that it may be written or not |
//!
//! A socket file that nobody listens on is left from a crash and is replaced. The daemon holds the lock of the store before it comes here,
//! so two daemons cannot fight for the socket.

mod client;
mod error;
mod line;
mod peer;
mod server;

pub use client::{Client, connect};
pub use error::ControlError;
pub use server::{Server, serve};

use std::path::{Path, PathBuf};
use std::time::Duration;

/// Name of the socket in the runtime folder.
pub const SOCKET: &str = "control.sock";
/// Longest request, bytes: about 4,000 entries. A larger table is sent in parts.
pub const LINE_MAX: usize = 1024 * 1024;
/// Longest answer a client takes, bytes: the whole log of two years at its limit of 4,000 long entries.
pub const REPLY_MAX: usize = 16 * 1024 * 1024;
/// Connections at a time: people aboard are few, and each costs a thread.
pub const CLIENTS_MAX: usize = 8;
/// A connection without a request for so long is closed.
pub const IDLE_TIMEOUT: Duration = Duration::from_secs(60);
/// The engine answers after the commit; a memory card at its slowest takes a few seconds.
pub const ANSWER_WAIT: Duration = Duration::from_secs(10);
/// A client that does not read its answer is dropped after this.
pub const WRITE_TIMEOUT: Duration = Duration::from_secs(5);

/// Path of the socket.
pub fn socket_path(runtime_folder: &Path) -> PathBuf {
    runtime_folder.join(SOCKET)
}

#[cfg(test)]
mod tests;
