//! Commands without a daemon.

use super::super::{StoreError, run_command};
use super::*;
use crate::engine::{Command, NewEntry, Reply};
use crate::settings::{Settings, UnitSettings};
use std::sync::Arc;

fn settings(folder: &Folder) -> Arc<Settings> {
    Arc::new(Settings {
        units: vec![UnitSettings::unknown("main", "Main unit")],
        bus: None,
        state_folder: folder.path().to_owned(),
        ..Settings::unknown()
    })
}

fn add(kind: EventKind) -> Command {
    let body = LogBody::Event(kind);
    let entry = NewEntry {
        at: None,
        time_invented: false,
        by: "Ida".to_owned(),
        body,
        note: String::new(),
        elements: vec![],
    };
    Command::AddEntries { unit: "main".to_owned(), entries: vec![entry] }
}

fn list() -> Command {
    Command::ListLog { unit: "main".to_owned(), last: 10 }
}

#[test]
fn what_one_command_writes_the_next_one_lists() {
    let folder = Folder::new("direct");
    let settings = settings(&folder);
    assert_eq!(run_command(&settings, list(), NOON).unwrap(), Reply::Log(vec![]));
    for (kind, number) in [(EventKind::FilterChanged, 1), (EventKind::Flushed, 2)] {
        let reply = run_command(&settings, add(kind), NOON).unwrap();
        let Reply::Written { entries, .. } = reply else { panic!("{reply:?}") };
        assert_eq!(entries, [number]);
    }
    let Reply::Log(log) = run_command(&settings, list(), NOON + 1).unwrap() else { panic!("no list") };
    assert_eq!(log.len(), 2);
    assert_eq!((log[1].body.clone(), log[1].at.wall_ms), (LogBody::Event(EventKind::Flushed), Some(NOON)));
    let refused = run_command(&settings, Command::ListBaselines { unit: "bow".to_owned() }, NOON).unwrap();
    assert!(matches!(refused, Reply::Refused(why) if why.contains("`bow`")));
}

#[test]
fn beside_a_daemon_nothing_is_written() {
    let folder = Folder::new("direct-locked");
    let daemon = folder.open();
    let error = run_command(&settings(&folder), add(EventKind::Note), NOON).unwrap_err();
    assert!(matches!(error, StoreError::InUse { .. }), "{error}");
    assert_eq!(daemon.restore(1).unwrap().units[0].log, []);
}
