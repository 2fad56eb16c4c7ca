//! The store's thread: confirms after the commit, keeps what cannot be written, says so.

use super::super::thread::{Finished, Pace, StoreThread};
use super::super::{StoreError, limits};
use super::*;
use crate::engine::Input;
use std::sync::mpsc::{Receiver, channel};
use std::time::Duration;

const PATIENCE: Duration = Duration::from_secs(20);

fn quick() -> Pace {
    Pace {
        samples: Duration::from_millis(20),
        samples_at_rest: Duration::from_millis(20),
        retry_first: Duration::from_millis(20),
        retry_longest: Duration::from_millis(40),
    }
}

fn spawn(store: Store, pace: Pace) -> (StoreThread, Receiver<Input>) {
    let (sender, receiver) = channel();
    let report = move |input| {
        // The test may have ended.
        let _ = sender.send(input);
    };
    (StoreThread::spawn_at_pace(store, pace, report).unwrap(), receiver)
}

fn next_persisted(reports: &Receiver<Input>) -> Ticket {
    loop {
        if let Input::Persisted(ticket) = reports.recv_timeout(PATIENCE).unwrap() {
            return ticket;
        }
    }
}

#[test]
fn a_record_is_confirmed_and_is_there() {
    let folder = Folder::new("thread");
    let (thread, reports) = spawn(folder.open(), quick());
    assert!(thread.submit(Ticket(5), log(entry(1))).is_none());
    assert_eq!(next_persisted(&reports), Ticket(5));
    assert_eq!(ReadOnly::open(folder.path()).unwrap().log("main", 9).unwrap(), [entry(1)]);
    thread.submit(Ticket(6), Record::Sample(sample(at(1), 0)));
    assert_eq!(next_persisted(&reports), Ticket(6));
    assert_eq!(thread.finish(), Finished::default());
    assert_eq!(samples(&folder, None, None).len(), 1);
}

/// Full disk, by SQLite's own limit of pages (`PRAGMA max_page_count`): it gives the same error as a full disk.
#[test]
fn a_full_disk_is_told_and_everything_is_written_when_there_is_room() {
    let folder = Folder::new("full");
    let mut store = folder.open();
    store.commit(&batch([log(entry(1))])).unwrap();
    store.limit_pages(Some(1));
    let long = |id| log(LogEntry { note: "x".repeat(20_000), ..entry(id) });
    let error = store.commit(&batch([long(2)])).unwrap_err();
    assert!(matches!(error, StoreError::Full { .. }), "{error}");
    assert_eq!(store.restore(1).unwrap().units[0].log.len(), 1, "all or nothing");
    store.limit_pages(None);
    store.commit(&batch([long(2)])).unwrap();
    assert_eq!(store.restore(1).unwrap().units[0].log.len(), 2);
}

#[test]
fn the_thread_tells_of_a_full_disk_and_confirms_when_there_is_room() {
    let folder = Folder::new("full-thread");
    let mut store = folder.open();
    store.limit_pages(Some(1));
    store.room_after = Some(3);
    let (thread, reports) = spawn(store, quick());
    let long = LogEntry { note: "x".repeat(20_000), ..entry(1) };
    thread.submit(Ticket(1), log(long.clone()));
    for _ in 0..3 {
        let Input::PersistFailed { ticket: Ticket(1), why } = reports.recv_timeout(PATIENCE).unwrap() else {
            panic!("confirmed without room");
        };
        assert!(why.contains("is full"), "{why}");
    }
    assert_eq!(next_persisted(&reports), Ticket(1));
    assert_eq!(thread.finish(), Finished::default());
    assert_eq!(folder.open().restore(1).unwrap().units[0].log, [long]);
}

#[test]
fn a_store_that_fails_keeps_the_batch_and_tries_again() {
    let folder = Folder::new("retry");
    let store = folder.open();
    // Another connection holds the write lock: commits fail as they would on a disk that is not ready.
    store.connection.busy_timeout(Duration::ZERO).unwrap();
    let holder = rusqlite::Connection::open(folder.database()).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let (thread, reports) = spawn(store, quick());
    thread.submit(Ticket(1), log(entry(1)));
    let mut failures = 0;
    while failures < 3 {
        match reports.recv_timeout(PATIENCE).unwrap() {
            Input::PersistFailed { ticket, .. } => {
                assert_eq!(ticket, Ticket(1));
                failures += 1;
            }
            other => panic!("confirmed without a commit: {other:?}"),
        }
    }
    thread.submit(Ticket(2), log(entry(2)));
    holder.execute_batch("ROLLBACK").unwrap();
    while next_persisted(&reports) != Ticket(2) {}
    assert_eq!(thread.finish(), Finished::default());
    let ids: Vec<u64> = folder.open().restore(1).unwrap().units[0].log.iter().map(|entry| entry.id).collect();
    assert_eq!(ids, [1, 2]);
}

#[test]
fn at_the_end_what_cannot_be_written_is_counted() {
    let folder = Folder::new("unwritten");
    let store = folder.open();
    store.connection.busy_timeout(Duration::ZERO).unwrap();
    let holder = rusqlite::Connection::open(folder.database()).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let (thread, _reports) = spawn(store, quick());
    thread.submit_all(batch([log(entry(1)), log(entry(2)), Record::Sample(sample(at(1), 0))]));
    let finished = thread.finish();
    assert_eq!(finished.unwritten, 2);
    assert!(finished.trouble.unwrap().contains("cannot be written"));
}

#[test]
fn the_queue_drops_samples_and_refuses_records_at_its_limits() {
    let folder = Folder::new("queue");
    let store = folder.open();
    store.connection.busy_timeout(Duration::ZERO).unwrap();
    let holder = rusqlite::Connection::open(folder.database()).unwrap();
    holder.execute_batch("BEGIN IMMEDIATE").unwrap();
    let pace =
        Pace { retry_first: Duration::from_secs(3600), retry_longest: Duration::from_secs(3600), ..quick() };
    let (thread, reports) = spawn(store, pace);
    thread.submit(Ticket(1), log(entry(1)));
    assert!(matches!(reports.recv_timeout(PATIENCE).unwrap(), Input::PersistFailed { .. }));
    // The first batch is held; from here on the queue fills.
    let most = limits::SAMPLES_WAITING_MAX as u64;
    let rows = (0..most).map(|second| (Ticket(2 + second), Record::Sample(sample(at(second), 0))));
    assert!(matches!(thread.submit_all(rows), Some(Input::StoreLagging(true))));
    assert_eq!(thread.dropped().samples, 0);
    thread.submit(Ticket(10_000), Record::Sample(sample(at(most), 0)));
    assert_eq!(thread.dropped().samples, 1);
    let entries = |from: u64, count: u64| (0..count).map(move |i| (Ticket(from + i), log(entry(2 + i))));
    let room = limits::RECORDS_WAITING_MAX as u64;
    assert!(thread.submit_all(entries(20_000, room)).is_none());
    assert_eq!(thread.dropped().records, 0);
    let refused = thread.submit(Ticket(90_000), log(entry(99_999)));
    assert!(matches!(refused, Some(Input::PersistFailed { ticket: Ticket(90_000), .. })), "{refused:?}");
    assert_eq!(thread.dropped().records, 1);
    holder.execute_batch("ROLLBACK").unwrap();
    // Everything that was taken is written; nothing from the refused ticket on is confirmed.
    assert_eq!(thread.finish(), Finished::default());
    let last = reports.try_iter().filter_map(|input| match input {
        Input::Persisted(ticket) => Some(ticket),
        _ => None,
    });
    assert!(last.max().is_none_or(|ticket| ticket < Ticket(90_000)));
}
