//! Limits, each at its edge, and what they cost the card.

use super::super::limits;
use super::*;

#[test]
fn the_latest_500_runs_come_back_oldest_first() {
    let folder = Folder::new("runs");
    let mut store = folder.open();
    store.commit(&batch((1..=501).map(|id| Record::Run { unit: 0, run: run(id) }))).unwrap();
    let runs = &store.restore(1).unwrap().units[0].runs;
    assert_eq!((runs.len(), runs[0].id, runs[499].id), (limits::RESTORED_RUNS_MAX, 2, 501));
    let reader = ReadOnly::open(folder.path()).unwrap();
    assert_eq!(reader.runs("main", usize::MAX).unwrap().len(), 501, "the store keeps them all");
}

#[test]
fn the_log_of_two_years_comes_back() {
    let folder = Folder::new("two-years");
    let mut store = folder.open();
    let dated = |id: u64, wall_ms: Option<i64>| event(id, EventKind::Note, Stamp { wall_ms, ..at(id) });
    let edge = NOON - limits::RESTORED_LOG_AGE_MS;
    store
        .commit(&batch([
            log(dated(1, Some(edge - 1))),
            log(dated(2, Some(edge))),
            log(LogEntry { at: Stamp { boot: 3, wall_ms: None, ..at(3) }, ..entry(3) }),
            log(dated(4, Some(NOON))),
        ]))
        .unwrap();
    let ids: Vec<u64> = store.restore(1).unwrap().units[0].log.iter().map(|entry| entry.id).collect();
    assert_eq!(ids, [2, 3, 4]);
    store.commit(&batch((5..=4_004).map(|id| log(dated(id, Some(NOON)))))).unwrap();
    let log = &store.restore(1).unwrap().units[0].log;
    assert_eq!((log.len(), log[0].id), (limits::RESTORED_LOG_MAX, 5));
}

#[test]
fn the_oldest_samples_go_and_are_counted() {
    let folder = Folder::new("bound");
    let mut store = folder.open();
    store.bound_samples(100, 10);
    let mut write = |seconds: std::ops::Range<u64>| {
        store.commit(&batch(seconds.map(|second| Record::Sample(sample(at(second), 0))))).unwrap();
        store.flush_samples().unwrap();
    };
    write(0..100);
    assert_eq!(samples(&folder, None, None).len(), 100);
    write(100..101);
    let left = samples(&folder, None, None);
    assert_eq!((left.len(), left[0].at), (91, at(10)));
    assert_eq!(ReadOnly::open(folder.path()).unwrap().samples_dropped().unwrap(), 10);
}

#[test]
fn samples_that_cannot_be_written_wait_up_to_a_limit() {
    let folder = Folder::new("waiting");
    let mut store = folder.open();
    let most = limits::SAMPLES_WAITING_MAX as u64;
    store.commit(&batch((0..most).map(|second| Record::Sample(sample(at(second), 0))))).unwrap();
    assert_eq!((store.samples_waiting() as u64, store.samples_lost()), (most, 0));
    store.commit(&batch([Record::Sample(sample(at(most), 0))])).unwrap();
    assert_eq!((store.samples_waiting() as u64, store.samples_lost()), (most, 1));
    store.flush_samples().unwrap();
    assert_eq!(samples(&folder, None, None)[0].at, at(1), "the oldest went");
}

/// A day of one unit that runs 4 h, as the engine samples it: every 10 s while it runs, every 5 minutes else, flushed every minute or
/// every 15; with the records of two runs and six alerts. Written bytes are those of the write-ahead log without any checkpoint, plus the growth of
/// the file that a checkpoint then writes.
#[test]
fn a_day_costs_the_card_less_than_3_mb() {
    let folder = Folder::new("wear");
    let mut store = folder.open();
    // Two months before it, so that the tree has its depth.
    for chunk in 0..17_u64 {
        let rows = (0..6_000).map(|i| Record::Sample(sample(at(chunk * 60_000 + i * 10), 1)));
        store.commit(&batch(rows)).unwrap();
        store.flush_samples().unwrap();
    }
    let size = |path: PathBuf| std::fs::metadata(path).map_or(0, |file| file.len());
    store.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    store.connection.query_row("PRAGMA wal_autocheckpoint = 0", [], |_| Ok(())).unwrap();
    let before = size(folder.database());
    let start = 10_000_000;
    let mut flushes = 0;
    for second in (0..86_400_u64).step_by(10) {
        let running = second < 14_400;
        if running || second % 300 == 0 {
            store.commit(&batch([Record::Sample(sample(at(start + second), u64::from(running)))])).unwrap();
        }
        let due = if running { second % 60 == 50 } else { second % 900 == 890 };
        if due && 0 < store.samples_waiting() {
            store.flush_samples().unwrap();
            flushes += 1;
        }
    }
    for id in 1..=2 {
        store.commit(&batch([Record::Run { unit: 0, run: open_run(id, at(id)) }])).unwrap();
        store.commit(&batch([Record::Run { unit: 0, run: run(id) }])).unwrap();
    }
    for occurrence in 1..=6 {
        let record = Record::Alert { unit: 0, alert: alert(occurrence, AlertState::Raised, at(start)) };
        store.commit(&batch([record])).unwrap();
    }
    let log = size(folder.path().join("history.db-wal"));
    store.connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).unwrap();
    let growth = size(folder.database()) - before;
    println!("{flushes} batches; log {log} bytes, growth {growth} bytes a day");
    assert!(100_000 < growth, "the estimate measured nothing");
    assert!(log + growth < 3_000_000, "log {log}, growth {growth}");
}
