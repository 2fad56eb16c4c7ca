//! A real socket in a fresh folder, with an engine that is one closure.

use super::*;
use crate::engine::{Command, EntryChange, Reply};
use std::fs::Permissions;
use std::io::{BufRead, BufReader, Write};
use std::os::unix::fs::PermissionsExt;
use std::os::unix::net::{UnixListener, UnixStream};
use std::sync::{Arc, Mutex};

/// A fresh folder that goes with the test.
struct Folder(PathBuf);

impl Folder {
    fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("barrico-ctl-{}-{name}", std::process::id()));
        // Left from a test that was killed.
        let _ = std::fs::remove_dir_all(&path);
        Self(path)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn mode(path: &Path) -> u32 {
    path.metadata().unwrap().permissions().mode() & 0o777
}

fn list() -> Command {
    Command::ListBaselines { unit: "main".into() }
}

/// A server that answers each command with its own text.
fn echo(folder: &Folder) -> Server {
    serve(&folder.0, |command| Some(Reply::Refused(format!("{command:?}")))).unwrap()
}

#[test]
fn a_command_is_signed_with_the_account_and_answered() {
    let folder = Folder::new("signed");
    let seen = Arc::new(Mutex::new(Vec::new()));
    let for_engine = seen.clone();
    let server = serve(&folder.0, move |command| {
        for_engine.lock().unwrap().push(command);
        Some(Reply::Written { entries: vec![7], runs: vec![], remarks: vec![] })
    })
    .unwrap();
    assert_eq!((mode(&folder.0), mode(&socket_path(&folder.0))), (0o750, 0o660));
    let mut client = connect(&folder.0).unwrap().unwrap();
    let command = Command::ChangeEntry {
        unit: "main".into(),
        id: 7,
        change: EntryChange::Void,
        by: "Anna".into(),
        reason: "wrong\ngauge".into(),
    };
    for _ in 0..3 {
        let reply = client.send(&command).unwrap();
        assert_eq!(reply, Reply::Written { entries: vec![7], runs: vec![], remarks: vec![] });
    }
    let uid = rustix::process::getuid().as_raw();
    let signed = Command::ChangeEntry {
        unit: "main".into(),
        id: 7,
        change: EntryChange::Void,
        by: format!("Anna (user {uid})"),
        reason: "wrong\ngauge".into(),
    };
    assert_eq!(*seen.lock().unwrap(), vec![signed; 3]);
    drop(server);
    assert!(!socket_path(&folder.0).exists());
    assert!(connect(&folder.0).unwrap().is_none());
}

#[test]
fn rubbish_is_named_and_the_connection_goes_on() {
    let folder = Folder::new("rubbish");
    let server = echo(&folder);
    let mut stream = UnixStream::connect(socket_path(&folder.0)).unwrap();
    let mut reader = BufReader::new(stream.try_clone().unwrap());
    for (request, expected) in [
        (&b"\n"[..], "not readable"),
        (b"[1]\n", "not readable"),
        (b"\xff\n", "UTF-8"),
        (b"{\"command\":{\"stop_unit\":{}}}\n", "stop_unit"),
        (
            b"{\"command\":{\"acknowledge\":{\"unit\":\"main\",\"code\":\"no-such\",\"occurrence\":1}}}\n",
            "`no-such` is no finding",
        ),
        (b"{\"command\":{\"list_baselines\":{\"unit\":\"main\"}}}\n", "ListBaselines"),
    ] {
        stream.write_all(request).unwrap();
        let mut line = String::new();
        reader.read_line(&mut line).unwrap();
        assert!(line.contains(expected), "{line} for {}", String::from_utf8_lossy(request));
    }
    drop(server);
}

#[test]
fn a_request_of_a_megabyte_is_taken_and_a_longer_one_is_not() {
    let folder = Folder::new("long");
    let server = echo(&folder);
    let with_reason = |length: usize| Command::RetireBaseline {
        unit: "main".into(),
        by: "A".into(),
        reason: "r".repeat(length),
    };
    let bare = serde_json::to_string(&server::Request { command: (&with_reason(0)).into() }).unwrap().len();
    let mut client = connect(&folder.0).unwrap().unwrap();
    assert!(matches!(client.send(&with_reason(LINE_MAX - bare)).unwrap(), Reply::Refused(_)));
    assert!(matches!(client.send(&with_reason(LINE_MAX - bare + 1)), Err(ControlError::TooLong { .. })));
    // A client that does not count gets told and is cut off.
    let mut stream = UnixStream::connect(socket_path(&folder.0)).unwrap();
    stream.write_all(&vec![b'x'; LINE_MAX + 1]).unwrap();
    let lines: Vec<String> = BufReader::new(stream).lines().map_while(Result::ok).collect();
    assert!(lines.len() == 1 && lines[0].contains("split"), "{lines:?}");
    drop(server);
}

#[test]
fn the_ninth_connection_is_told_and_a_place_that_is_left_is_given_away() {
    let folder = Folder::new("ninth");
    let server = echo(&folder);
    let mut clients: Vec<Client> = (0..CLIENTS_MAX).map(|_| connect(&folder.0).unwrap().unwrap()).collect();
    for client in &mut clients {
        client.send(&list()).unwrap();
    }
    let refused = connect(&folder.0).unwrap().unwrap().send(&list()).unwrap_err();
    assert!(refused.to_string().contains("8 connections"), "{refused}");
    clients.pop();
    // The server notices the end of a connection on that connection's thread; a few tries bridge that.
    let taken = (0..1_000).any(|_| {
        std::thread::yield_now();
        connect(&folder.0).unwrap().unwrap().send(&list()).is_ok()
    });
    assert!(taken, "the free place was not given away");
    drop(server);
}

#[test]
fn without_an_answer_nothing_is_claimed() {
    let folder = Folder::new("silent");
    let server = serve(&folder.0, |_| None).unwrap();
    let error = connect(&folder.0).unwrap().unwrap().send(&list()).unwrap_err();
    assert!(error.to_string().contains("may be written or not"), "{error}");
    drop(server);
}

#[test]
fn a_slow_answer_to_one_holds_up_nobody_else() {
    let folder = Folder::new("slow");
    let (release, gate) = std::sync::mpsc::channel::<()>();
    let gate = Mutex::new(gate);
    let server = serve(&folder.0, move |command| {
        if matches!(command, Command::ListLog { .. }) {
            gate.lock().unwrap().recv().unwrap();
        }
        Some(Reply::Done)
    })
    .unwrap();
    let mut slow = connect(&folder.0).unwrap().unwrap();
    let waiting = std::thread::spawn(move || slow.send(&Command::ListLog { unit: "main".into(), last: 1 }));
    assert_eq!(connect(&folder.0).unwrap().unwrap().send(&list()).unwrap(), Reply::Done);
    release.send(()).unwrap();
    assert_eq!(waiting.join().unwrap().unwrap(), Reply::Done);
    drop(server);
}

#[test]
fn a_socket_left_from_a_crash_is_replaced_and_a_live_one_is_not() {
    let folder = Folder::new("stale");
    std::fs::create_dir_all(&folder.0).unwrap();
    drop(UnixListener::bind(socket_path(&folder.0)).unwrap());
    assert!(connect(&folder.0).unwrap().is_none(), "nobody listens on what a crash left");
    let server = echo(&folder);
    assert!(matches!(serve(&folder.0, |_| None), Err(ControlError::InUse(_))));
    assert!(connect(&folder.0).unwrap().unwrap().send(&list()).is_ok(), "the first still answers");
    drop(server);
    std::fs::write(socket_path(&folder.0), "a file").unwrap();
    assert!(matches!(serve(&folder.0, |_| None), Err(ControlError::Folder { .. })));
    assert_eq!(std::fs::read_to_string(socket_path(&folder.0)).unwrap(), "a file", "it is not removed");
}

#[test]
fn a_folder_open_to_all_is_closed() {
    let folder = Folder::new("open");
    std::fs::create_dir_all(&folder.0).unwrap();
    std::fs::set_permissions(&folder.0, Permissions::from_mode(0o777)).unwrap();
    let server = echo(&folder);
    assert_eq!(mode(&folder.0), 0o750);
    drop(server);
}

#[test]
fn a_path_that_is_too_long_for_a_socket_is_named() {
    let folder = Folder::new("path");
    let deep = folder.0.join("d".repeat(100));
    let Err(error) = serve(&deep, |_| None) else { panic!("a path of over 108 bytes was taken") };
    assert!(error.to_string().contains("107 bytes"), "{error}");
}
