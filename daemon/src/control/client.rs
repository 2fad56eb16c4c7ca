//! The command's end.

use super::line::{LineError, read_line};
use super::server::{Request, Response};
use super::{ANSWER_WAIT, ControlError, LINE_MAX, REPLY_MAX, WRITE_TIMEOUT, socket_path};
use crate::engine::{Command, Reply};
use crate::wire::{CommandJson, WireError};
use std::io::{BufReader, ErrorKind, Write};
use std::os::unix::net::UnixStream;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The daemon tells by itself when the engine does not answer; only then does a client give up.
const PATIENCE: Duration = Duration::from_secs(ANSWER_WAIT.as_secs() + WRITE_TIMEOUT.as_secs());

/// A connection to the running daemon.
#[derive(Debug)]
pub struct Client {
    path: PathBuf,
    reader: BufReader<UnixStream>,
}

/// Connects to the daemon; `None`: no daemon runs, the caller takes the store's lock and works alone.
///
/// # Errors
/// A daemon runs, and this account may not talk to it.
pub fn connect(runtime_folder: &Path) -> Result<Option<Client>, ControlError> {
    let path = socket_path(runtime_folder);
    let failed = |error| ControlError::io(&path, error);
    let stream = match UnixStream::connect(&path) {
        Ok(stream) => stream,
        Err(error) if matches!(error.kind(), ErrorKind::NotFound | ErrorKind::ConnectionRefused) => {
            return Ok(None);
        }
        Err(error) => return Err(failed(error)),
    };
    stream.set_read_timeout(Some(PATIENCE)).map_err(failed)?;
    stream.set_write_timeout(Some(WRITE_TIMEOUT)).map_err(failed)?;
    Ok(Some(Client { reader: BufReader::new(stream), path }))
}

impl Client {
    /// Sends a command and waits for the answer, which comes after the commit. [`Reply::Refused`] is an answer.
    ///
    /// # Errors
    /// The command is too long, was not taken, or its answer is not known.
    pub fn send(&mut self, command: &Command) -> Result<Reply, ControlError> {
        let mut line =
            serde_json::to_vec(&Request { command: CommandJson::from(command) }).map_err(WireError::from)?;
        if LINE_MAX < line.len() {
            return Err(ControlError::TooLong { bytes: line.len() });
        }
        line.push(b'\n');
        if let Err(error) = self.reader.get_mut().write_all(&line) {
            return Err(self.last_words(ControlError::io(&self.path, error)));
        }
        match self.response()? {
            Response::Reply(reply) => Ok(reply.try_into()?),
            Response::Error(text) => Err(ControlError::NotTaken(text)),
        }
    }

    fn response(&mut self) -> Result<Response, ControlError> {
        match read_line(&mut self.reader, REPLY_MAX) {
            Ok(Some(line)) => Ok(serde_json::from_str(&line).map_err(WireError::from)?),
            Ok(None) | Err(LineError::Broken | LineError::NotText | LineError::TooLong) => {
                Err(ControlError::NoAnswer)
            }
        }
    }

    /// A daemon that closes the connection says why first.
    fn last_words(&mut self, otherwise: ControlError) -> ControlError {
        match self.response() {
            Ok(Response::Error(text)) => ControlError::NotTaken(text),
            _ => otherwise,
        }
    }
}
