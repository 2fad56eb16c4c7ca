//! What can go wrong between a command and the daemon.

use super::LINE_MAX;
use crate::wire::WireError;
use std::path::{Path, PathBuf};

/// Why a command did not reach the engine, or its answer is not known.
#[derive(Debug, thiserror::Error)]
pub enum ControlError {
    /// The account may not open the socket.
    #[error(
        "{0}: not allowed. Add your account to the group of that folder (`barrico` as installed) and log in again, or ask who may"
    )]
    NotAllowed(PathBuf),
    /// Another process listens there.
    #[error("{0}: another program listens there already")]
    InUse(PathBuf),
    /// Something else lies in the way.
    #[error("{path}: {why}")]
    Folder {
        /// Where.
        path: PathBuf,
        /// What, and what to do.
        why: String,
    },
    /// The request is too long.
    #[error("the request has {bytes} bytes; at most {LINE_MAX} are taken at once. Split the table")]
    TooLong {
        /// Its length.
        bytes: usize,
    },
    /// The daemon went away or did not answer in time.
    #[error("no answer from the daemon. It may be written or not: look at the log before you try again")]
    NoAnswer,
    /// The daemon did not take the request.
    #[error("{0}")]
    NotTaken(String),
    /// The answer cannot be read.
    #[error("the daemon's answer is {0}. Are daemon and command of the same version?")]
    Answer(#[from] WireError),
    /// The operating system said no.
    #[error("{path}: {source}")]
    Io {
        /// Where.
        path: PathBuf,
        /// What it said.
        source: std::io::Error,
    },
}

impl ControlError {
    /// An error of the operating system at a path.
    pub(super) fn io(path: &Path, source: std::io::Error) -> Self {
        match source.kind() {
            std::io::ErrorKind::PermissionDenied => Self::NotAllowed(path.to_owned()),
            // A socket's path has room for 108 bytes (unix(7)).
            std::io::ErrorKind::InvalidInput => Self::Folder {
                path: path.to_owned(),
                why: format!(
                    "the path of a socket may have 107 bytes; this one is {} long",
                    path.as_os_str().len()
                ),
            },
            _ => Self::Io { path: path.to_owned(), source },
        }
    }
}
