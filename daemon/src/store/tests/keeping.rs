//! What is written comes back.

use super::*;
use barrico_model::records::{Baseline, BaselineKind};
use barrico_n2k::node::NodeState;
use std::os::unix::fs::PermissionsExt;

fn baseline(id: u64) -> Baseline {
    Baseline {
        id,
        kind: BaselineKind::Provisional,
        taken: at(50),
        by: "Ida".to_owned(),
        runs: vec![3],
        means: run(3).means,
        a25: 3.1e-12,
        ln_a25_random: 0.01,
        b25: 2.2e-8,
        ln_b25_random: 0.02,
        ln_a25_scatter: 0.0,
        ln_b25_scatter: 0.0,
        ln_ab25_covariance: 0.0,
        temperature_k: [2640.0, 3020.0, 4000.0],
        delivery: None,
        flow_measured: true,
        differential_pressure: Some((0.5, 300.0)),
        elements: vec![],
        retired: None,
    }
}

fn node(address: u8) -> NodeState {
    NodeState {
        unique_number: 1_234_567,
        address: Some(address),
        device_instance: None,
        system_instance: Some(2),
        installation_descriptions: [Some("port side".to_owned()), None],
    }
}

#[test]
fn everything_comes_back_as_it_was_last() {
    let folder = Folder::new("everything");
    let mut store = folder.open();
    let amended = LogEntry { revision: 1, reason: "wrong gauge".to_owned(), ..entry(1) };
    let retired = Baseline { retired: Some((at(90), "element replaced".to_owned())), ..baseline(4) };
    store
        .commit(&batch([
            log(entry(1)),
            log(amended.clone()),
            Record::Run { unit: 0, run: run(2) },
            Record::Run { unit: 1, run: run(3) },
            Record::Baseline { unit: 0, baseline: baseline(4) },
            Record::Baseline { unit: 0, baseline: retired.clone() },
            Record::Alert { unit: 0, alert: alert(1, AlertState::Raised, at(5)) },
            Record::Alert { unit: 0, alert: alert(1, AlertState::Cleared, at(6)) },
            Record::Alert { unit: 0, alert: alert(2, AlertState::Raised, at(7)) },
            Record::Alert { unit: 0, alert: alert(2, AlertState::Acknowledged, at(8)) },
            Record::Parts { unit: 0, fingerprint: u64::MAX },
            Record::Parts { unit: 0, fingerprint: 5 },
            Record::Node { unit: 0, state: node(12) },
            Record::Node { unit: 0, state: node(13) },
        ]))
        .unwrap();
    store.close().unwrap();
    let restored = folder.open().restore(99).unwrap();
    assert_eq!((restored.boot, restored.last_id, restored.units.len()), (99, 4, 2));
    let unit = &restored.units[0];
    assert_eq!(unit.log, std::slice::from_ref(&amended));
    assert_eq!(unit.runs, [run(2)]);
    assert_eq!(unit.baselines, [retired]);
    assert_eq!(unit.alerts, [alert(2, AlertState::Acknowledged, at(8))]);
    assert_eq!(unit.parts_fingerprint, Some(5));
    assert_eq!(unit.node, Some(node(13)));
    assert_eq!(unit.cut_run, None);
    assert_eq!(restored.units[1].runs, [run(3)]);
    let reader = ReadOnly::open(folder.path()).unwrap();
    assert_eq!(reader.log_revisions("main").unwrap(), [entry(1), amended], "the original is kept");
    assert_eq!(reader.alerts("main").unwrap().len(), 4);
    assert_eq!(reader.store_id().unwrap(), restored.store_id);
    assert_eq!(reader.units().unwrap(), units());
}

#[test]
fn a_store_without_anything_is_empty_and_has_its_own_number() {
    let (one, two) = (Folder::new("one"), Folder::new("two"));
    let (first, second) = (one.open().restore(1).unwrap(), two.open().restore(1).unwrap());
    assert_ne!(first.store_id, second.store_id);
    assert_eq!(first.store_id, one.open().restore(2).unwrap().store_id);
    assert_eq!((first.last_id, first.units.len()), (0, 2));
    assert!(matches!(ReadOnly::open(Path::new("/nowhere")), Err(super::super::StoreError::Missing(_))));
}

#[test]
fn the_same_record_twice_is_kept_once_and_another_one_is_not_written_over() {
    let folder = Folder::new("twice");
    let mut store = folder.open();
    store.commit(&batch([log(entry(1)), log(entry(1))])).unwrap();
    let other = LogEntry { note: "another text".to_owned(), ..entry(1) };
    store.commit(&batch([log(other.clone())])).unwrap();
    assert_eq!(store.restore(1).unwrap().units[0].log, std::slice::from_ref(&other));
    drop(store);
    let revisions = ReadOnly::open(folder.path()).unwrap().log_revisions("main").unwrap();
    assert_eq!(revisions, [entry(1), other]);
}

#[test]
fn others_cannot_look_into_folder_and_files() {
    let folder = Folder::new("permissions");
    std::fs::create_dir_all(folder.path()).unwrap();
    std::fs::set_permissions(folder.path(), std::fs::Permissions::from_mode(0o755)).unwrap();
    let mut store = folder.open();
    store.commit(&batch([log(entry(1))])).unwrap();
    let mode = |path: &Path| std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(mode(folder.path()), 0o700);
    let files: Vec<PathBuf> =
        std::fs::read_dir(folder.path()).unwrap().map(|file| file.unwrap().path()).collect();
    assert!(4 <= files.len(), "{files:?}");
    for file in files {
        assert_eq!(mode(&file), 0o600, "{}", file.display());
    }
}

#[test]
fn a_second_writer_is_refused_by_the_number_of_the_first() {
    let folder = Folder::new("two-writers");
    let first = folder.open();
    let refused = Store::open(folder.path(), &units()).unwrap_err().to_string();
    assert!(refused.contains(&format!("process {}", std::process::id())), "{refused}");
    drop(first);
    Store::open(folder.path(), &units()).unwrap();
}

#[test]
fn a_reader_sees_what_the_writer_committed_meanwhile() {
    let folder = Folder::new("reader");
    let mut store = folder.open();
    let reader = ReadOnly::open(folder.path()).unwrap();
    assert_eq!(reader.runs("main", 10).unwrap(), []);
    store.commit(&batch([Record::Run { unit: 0, run: run(2) }])).unwrap();
    assert_eq!(reader.runs("main", 10).unwrap(), [run(2)]);
    assert_eq!(reader.lines("main", super::super::Kind::Run).unwrap().len(), 1);
}

#[test]
fn a_date_that_comes_later_dates_what_was_written_before() {
    let folder = Folder::new("dating");
    let mut store = folder.open();
    let early = event(1, EventKind::Flushed, undated(10));
    store.commit(&batch([log(early.clone()), Record::Sample(sample(undated(20), 0))])).unwrap();
    store.flush_samples().unwrap();
    assert_eq!(store.restore(8).unwrap().units[0].log[0].at.wall_ms, None);
    assert_eq!(samples(&folder, Some(0), None), [], "no date, no place in a range of dates");
    store.commit(&batch([Record::Sample(sample(at(300), 0))])).unwrap();
    store.flush_samples().unwrap();
    assert_eq!(store.restore(8).unwrap().units[0].log[0].at, at(10));
    let found = samples(&folder, Some(NOON), Some(NOON + 100_000));
    assert_eq!(found, [sample(at(20), 0)]);
}

#[test]
fn samples_are_found_by_date_over_several_starts() {
    let folder = Folder::new("ranges");
    let mut store = folder.open();
    let of_boot = |boot: u64, seconds: u64| {
        let wall = NOON + boot as i64 * 86_400_000 + seconds as i64 * 1000;
        sample(Stamp { boot, monotonic: Monotonic(seconds * 1000), wall_ms: Some(wall) }, 0)
    };
    // Higher random numbers first: the order is that of writing.
    for boot in [9, 8, 7] {
        let rows = (0..100).map(|i| Record::Sample(of_boot(boot, i * 10)));
        store.commit(&batch(rows)).unwrap();
        store.flush_samples().unwrap();
    }
    let day = |boot: i64, seconds: i64| Some(NOON + boot * 86_400_000 + seconds * 1000);
    let found = samples(&folder, day(8, 500), day(8, 520));
    assert_eq!(found, [of_boot(8, 500), of_boot(8, 510), of_boot(8, 520)]);
    assert_eq!(samples(&folder, day(9, 990), None).len(), 1);
    assert_eq!(samples(&folder, None, day(7, 0)).len(), 1);
    assert_eq!(samples(&folder, None, None).len(), 300);
}
