//! One writer: an exclusive lock on a file beside the history.
//!
//! The lock belongs to the open file and goes away with the process, however it ends. The number in the file is only for the message.

use super::StoreError;
use rustix::fs::{FlockOperation, flock};
use std::fs::{File, OpenOptions};
use std::io::{Read, Seek, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

/// Name of the lock file.
pub const LOCK_FILE: &str = "lock";

/// Held as long as it lives.
#[derive(Debug)]
pub struct Lock {
    _file: File,
}

impl Lock {
    /// Takes the lock or says who has it.
    pub fn take(folder: &Path) -> Result<Self, StoreError> {
        let path = folder.join(LOCK_FILE);
        let failed = |source: std::io::Error| StoreError::Folder { path: path.clone(), source };
        let mut options = OpenOptions::new();
        options.read(true).write(true).create(true).truncate(false).mode(0o600);
        let mut file = options.open(&path).map_err(failed)?;
        match flock(&file, FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => {}
            Err(rustix::io::Errno::WOULDBLOCK) => {
                let mut text = String::new();
                // Without a readable number the message is only shorter.
                let _ = file.take(20).read_to_string(&mut text);
                return Err(StoreError::InUse { folder: folder.to_owned(), pid: text.trim().parse().ok() });
            }
            Err(error) => return Err(failed(error.into())),
        }
        // A full disk must not keep the daemon from starting: the lock holds without the number.
        let _ = file
            .set_len(0)
            .and_then(|()| file.rewind())
            .and_then(|()| writeln!(file, "{}", std::process::id()));
        Ok(Self { _file: file })
    }
}
