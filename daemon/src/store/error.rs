//! What can go wrong with the history, in the owner's words and with the remedy.

use crate::wire::WireError;
use std::io;
use std::path::{Path, PathBuf};

/// Why the history could not be opened, read or written.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Another process writes.
    #[error(
        "the history in {folder} is in use by {}. While `barrico run` runs, the other commands talk to it: let it do the work, or stop \
         it first",
        holder(*.pid)
    )]
    InUse {
        /// State folder.
        folder: PathBuf,
        /// Who, if the lock file says it.
        pid: Option<u32>,
    },
    /// The folder or a file in it cannot be made, opened or protected.
    #[error("{path}: {source}")]
    Folder {
        /// Where.
        path: PathBuf,
        /// Why.
        source: io::Error,
    },
    /// There is no history yet.
    #[error("there is no history in {0} yet")]
    Missing(PathBuf),
    /// The file is not what was written.
    #[error(
        "the history {path} is damaged ({why}). Start `barrico run` again: it moves the file aside and carries over what can \
         still be read. Or stop barrico and put a copy back"
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        why: String,
    },
    /// Written by a newer program.
    #[error(
        "the history {path} was written by a newer barrico ({why}). Install that version again; nothing was changed"
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// What was found.
        why: String,
    },
    /// No room.
    #[error("the disk with {path} is full. Free some space; what waits is kept in memory and tried again")]
    Full {
        /// The file.
        path: PathBuf,
    },
    /// The disk cannot be written.
    #[error(
        "{path} cannot be written ({why}). A worn memory card turns read-only: look at the system log, replace the card"
    )]
    NotWritable {
        /// The file.
        path: PathBuf,
        /// What the system says.
        why: String,
    },
    /// The engine did not answer a command.
    #[error("no answer to the command")]
    NoAnswer,
}

fn holder(pid: Option<u32>) -> String {
    pid.map_or_else(|| "another barrico".to_owned(), |pid| format!("another barrico (process {pid})"))
}

impl StoreError {
    /// Sorts an error of SQLite by what can be done about it.
    pub(super) fn from_sqlite(path: &Path, error: &rusqlite::Error) -> Self {
        use rusqlite::ErrorCode as Code;
        let (path, why) = (path.to_owned(), error.to_string());
        match error.sqlite_error_code() {
            Some(Code::DiskFull) => Self::Full { path },
            // "Unknown" is what SQLite says of tables or columns that are not there.
            Some(Code::DatabaseCorrupt | Code::NotADatabase | Code::Unknown) => Self::Damaged { path, why },
            Some(_) => Self::NotWritable { path, why },
            // Not from SQLite but from reading a value of another type than was written, or a row that must be there.
            None => Self::Damaged { path, why },
        }
    }

    /// A record that cannot be understood.
    pub(super) fn from_wire(path: &Path, error: WireError) -> Self {
        let path = path.to_owned();
        match error {
            WireError::Newer { .. } => Self::Newer { path, why: error.to_string() },
            other => Self::Damaged { path, why: other.to_string() },
        }
    }
}
