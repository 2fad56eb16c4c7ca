//! The daemon's end.

use super::line::{LineError, read_line};
use super::peer::Peer;
use super::{CLIENTS_MAX, ControlError, IDLE_TIMEOUT, LINE_MAX, WRITE_TIMEOUT, socket_path};
use crate::engine::{Command, Reply};
use crate::wire::{CommandJson, ReplyJson, WireError};
use serde::{Deserialize, Serialize};
use std::fs::{DirBuilder, Permissions};
use std::io::{BufReader, ErrorKind, Write};
use std::net::Shutdown;
use std::os::unix::fs::{DirBuilderExt, FileTypeExt, PermissionsExt};
use std::os::unix::net::{UnixListener, UnixStream};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;
use std::time::Duration;

const FOLDER_MODE: u32 = 0o750;
const SOCKET_MODE: u32 = 0o660;
/// After an error of the listener, such as too many open files, the next try comes so much later.
const ACCEPT_PAUSE: Duration = Duration::from_millis(200);

/// What a person reads when the engine did not answer.
const NO_ANSWER: &str = "barrico did not answer: it is too busy, or it is stopping. It may be written or not: look at the log before you try again";

type HandOver = dyn Fn(Command) -> Option<Reply> + Send + Sync;

/// One request.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Request {
    pub command: CommandJson,
}

/// What comes back.
#[derive(Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum Response {
    Reply(ReplyJson),
    Error(String),
}

/// Listens while it lives. When it is dropped, all connections end and the socket is removed.
pub struct Server {
    path: PathBuf,
    shared: Arc<Shared>,
    listener: Option<JoinHandle<()>>,
}

struct Shared {
    hand_over: Box<HandOver>,
    stopping: AtomicBool,
    /// A second handle on each connection, to end it from outside.
    clients: Mutex<Vec<(u64, UnixStream)>>,
}

impl Shared {
    fn clients(&self) -> MutexGuard<'_, Vec<(u64, UnixStream)>> {
        // A panic anywhere ends the program, so a poisoned lock is never seen.
        self.clients.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Begins to listen. `hand_over` takes a command to the engine and waits for its answer, [`ANSWER_WAIT`](super::ANSWER_WAIT) at most; `None`: no
/// answer. It is called from the thread of each connection.
///
/// # Errors
/// The folder cannot be made private, another program listens there, or something that is no socket lies in the way.
pub fn serve(
    runtime_folder: &Path,
    hand_over: impl Fn(Command) -> Option<Reply> + Send + Sync + 'static,
) -> Result<Server, ControlError> {
    prepare_folder(runtime_folder)?;
    let path = socket_path(runtime_folder);
    remove_stale(&path)?;
    let listener = UnixListener::bind(&path).map_err(|error| ControlError::io(&path, error))?;
    std::fs::set_permissions(&path, Permissions::from_mode(SOCKET_MODE))
        .map_err(|error| ControlError::io(&path, error))?;
    let shared = Arc::new(Shared {
        hand_over: Box::new(hand_over),
        stopping: AtomicBool::new(false),
        clients: Mutex::new(Vec::new()),
    });
    let for_thread = shared.clone();
    let listener = std::thread::Builder::new()
        .name("control".to_owned())
        .spawn(move || listen(&listener, &for_thread))
        .map_err(|error| ControlError::io(&path, error))?;
    Ok(Server { path, shared, listener: Some(listener) })
}

impl Drop for Server {
    fn drop(&mut self) {
        self.shared.stopping.store(true, Ordering::SeqCst);
        // Wakes the listener; if that fails it is gone already.
        let _ = UnixStream::connect(&self.path);
        let _ = std::fs::remove_file(&self.path);
        if self.listener.take().is_some_and(|listener| listener.join().is_err()) {
            tracing::error!("the control socket's thread had ended by itself");
        }
        for (_, stream) in self.shared.clients().drain(..) {
            // The other side may be gone.
            let _ = stream.shutdown(Shutdown::Both);
        }
    }
}

fn prepare_folder(folder: &Path) -> Result<(), ControlError> {
    let failed = |error| ControlError::io(folder, error);
    DirBuilder::new().recursive(true).mode(FOLDER_MODE).create(folder).map_err(failed)?;
    let present = folder.metadata().map_err(failed)?.permissions().mode() & 0o777;
    if present & !FOLDER_MODE == 0 {
        return Ok(());
    }
    std::fs::set_permissions(folder, Permissions::from_mode(FOLDER_MODE)).map_err(|error| ControlError::Folder {
        path: folder.to_owned(),
        why: format!(
            "its mode {present:o} lets more people in than it should, and cannot be changed ({error}). As its owner: chmod {FOLDER_MODE:o} {}",
            folder.display()
        ),
    })
}

/// A socket that nobody listens on is left from a crash.
fn remove_stale(path: &Path) -> Result<(), ControlError> {
    let failed = |error| ControlError::io(path, error);
    let kind = match path.symlink_metadata() {
        Ok(metadata) => metadata.file_type(),
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(()),
        Err(error) => return Err(failed(error)),
    };
    if !kind.is_socket() {
        let why = "this is no socket; it is not removed. Move it away".to_owned();
        return Err(ControlError::Folder { path: path.to_owned(), why });
    }
    match UnixStream::connect(path) {
        Ok(_) => Err(ControlError::InUse(path.to_owned())),
        Err(error) if error.kind() == ErrorKind::ConnectionRefused => {
            std::fs::remove_file(path).map_err(failed)
        }
        Err(error) => Err(failed(error)),
    }
}

fn listen(listener: &UnixListener, shared: &Arc<Shared>) {
    for number in 0.. {
        let accepted = listener.accept();
        if shared.stopping.load(Ordering::SeqCst) {
            return;
        }
        match accepted {
            Ok((stream, _)) => admit(number, stream, shared),
            Err(error) => {
                tracing::warn!(%error, "control socket: a connection was not taken");
                std::thread::sleep(ACCEPT_PAUSE);
            }
        }
    }
}

fn admit(number: u64, mut stream: UnixStream, shared: &Arc<Shared>) {
    let limits = stream
        .set_read_timeout(Some(IDLE_TIMEOUT))
        .and_then(|()| stream.set_write_timeout(Some(WRITE_TIMEOUT)))
        .and_then(|()| stream.try_clone());
    let Ok(handle) = limits else { return };
    {
        let mut clients = shared.clients();
        if CLIENTS_MAX <= clients.len() {
            drop(clients);
            let text = format!("{CLIENTS_MAX} connections are open already; try again later");
            let _ = respond(&mut stream, &Response::Error(text));
            return;
        }
        clients.push((number, handle));
    }
    let for_thread = shared.clone();
    let spawned = std::thread::Builder::new().name("control client".to_owned()).spawn(move || {
        converse(stream, &for_thread);
        forget(number, &for_thread);
    });
    if let Err(error) = spawned {
        tracing::warn!(%error, "control socket: no thread for a connection");
        forget(number, shared);
    }
}

fn forget(number: u64, shared: &Shared) {
    shared.clients().retain(|(known, _)| *known != number);
}

/// Answers one connection until it ends. What goes wrong with it ends it and nothing else.
fn converse(mut stream: UnixStream, shared: &Shared) {
    let (Ok(peer), Ok(reading)) = (Peer::of(&stream), stream.try_clone()) else { return };
    let mut reader = BufReader::new(reading);
    loop {
        let response = match read_line(&mut reader, LINE_MAX) {
            Ok(Some(line)) => answer(&line, &peer, shared),
            Ok(None) | Err(LineError::Broken) => return,
            Err(LineError::NotText) => Response::Error("a request is one line of JSON in UTF-8".to_owned()),
            Err(LineError::TooLong) => {
                let text = format!("a request may have {LINE_MAX} bytes; split the table");
                let _ = respond(&mut stream, &Response::Error(text));
                return;
            }
        };
        if respond(&mut stream, &response).is_err() {
            return;
        }
    }
}

fn answer(line: &str, peer: &Peer, shared: &Shared) -> Response {
    let command = serde_json::from_str::<Request>(line).map_err(WireError::from);
    let mut command = match command.and_then(|request| Command::try_from(request.command)) {
        Ok(command) => command,
        Err(error) => return Response::Error(error.to_string()),
    };
    peer.sign(&mut command);
    match (shared.hand_over)(command) {
        Some(reply) => Response::Reply((&reply).into()),
        None => Response::Error(NO_ANSWER.to_owned()),
    }
}

fn respond(stream: &mut UnixStream, response: &Response) -> std::io::Result<()> {
    let mut line = serde_json::to_vec(response)?;
    line.push(b'\n');
    stream.write_all(&line)
}
