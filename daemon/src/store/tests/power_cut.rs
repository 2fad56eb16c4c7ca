//! What is confirmed survives the death of the process; a run that was cut is closed from its samples.

use super::*;
use std::io::{BufRead, BufReader};
use std::process::{Command, Stdio};

const CHILD: &str = "BARRICO_TEST_STORE_FOLDER";

/// Not a test by itself: what the child process of the next one does.
#[test]
fn writes_until_it_is_killed() {
    let Some(folder) = std::env::var_os(CHILD) else { return };
    let mut store = Store::open(Path::new(&folder), &units()).unwrap();
    for id in 1.. {
        store.commit(&batch([log(entry(id))])).unwrap();
        // Standard error: the test harness keeps standard output for itself.
        eprintln!("confirmed {id}");
    }
}

#[test]
fn a_killed_writer_has_lost_nothing_that_it_confirmed() {
    let folder = Folder::new("killed");
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["store::tests::power_cut::writes_until_it_is_killed", "--exact", "--nocapture"])
        .env(CHILD, folder.path())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut confirmed = 0;
    let mut lines = BufReader::new(child.stderr.take().unwrap()).lines();
    while confirmed < 25 {
        let line = lines.next().unwrap().unwrap();
        if let Some(id) = line.strip_prefix("confirmed ") {
            confirmed = id.parse().unwrap();
        }
    }
    let refused = Store::open(folder.path(), &units()).unwrap_err().to_string();
    assert!(refused.contains(&format!("process {}", child.id())), "{refused}");
    child.kill().unwrap();
    child.wait().unwrap();
    // What it confirmed after we stopped reading counts too.
    for line in lines.map_while(Result::ok) {
        if let Some(id) = line.strip_prefix("confirmed ") {
            confirmed = id.parse().unwrap_or(confirmed);
        }
    }
    let mut store = Store::open(folder.path(), &units()).unwrap();
    assert!(store.take_notices().is_empty());
    let log = &store.restore(1).unwrap().units[0].log;
    assert!(confirmed <= log.len() as u64, "{confirmed} confirmed, {} there", log.len());
    assert!(log.len() as u64 <= confirmed + 1);
}

/// By hand: an hour at a constant 60 L/h is 60 L; 331 samples lie from the fifth minute to the end.
#[test]
fn a_run_that_was_cut_is_closed_from_its_samples() {
    let folder = Folder::new("cut-run");
    let mut store = folder.open();
    store.commit(&batch([Record::Run { unit: 0, run: run(2) }])).unwrap();
    store.commit(&batch([Record::Run { unit: 0, run: open_run(3, at(1000)) }])).unwrap();
    let of_other_run = (0..10).map(|i| Record::Sample(sample(at(i * 10), 2)));
    let of_this = (0..=360).map(|i| Record::Sample(sample(at(1000 + i * 10), 3)));
    store.commit(&batch(of_other_run.chain(of_this))).unwrap();
    store.flush_samples().unwrap();
    // No close: the computer lost power.
    let unit = store.restore(8).unwrap().units.remove(0);
    assert_eq!(unit.runs, [run(2)]);
    let cut = unit.cut_run.unwrap();
    assert_eq!((cut.id, cut.revision, cut.end, cut.start), (3, 1, RunEnd::PowerLost, at(1000)));
    assert_eq!((cut.duration_s, cut.steady_s), (3600.0, 3300.0));
    assert!((cut.product_l.unwrap() - 60.0).abs() < 1e-9);
    let flow = cut.mean(Quantity::ProductFlow).unwrap();
    assert_eq!((flow.value, flow.count, flow.instrument, flow.systematic), (60.0, 331, 2, 1.0));
    // The engine writes it closed; the next start finds it so.
    store.commit(&batch([Record::Run { unit: 0, run: cut.clone() }])).unwrap();
    let unit = store.restore(9).unwrap().units.remove(0);
    assert_eq!((unit.runs, unit.cut_run), (vec![run(2), cut], None));
}

#[test]
fn two_cut_runs_are_both_closed() {
    let folder = Folder::new("two-cut");
    let mut store = folder.open();
    let runs = [open_run(3, at(1000)), open_run(4, Stamp { boot: 8, ..at(5) })];
    store.commit(&batch(runs.map(|run| Record::Run { unit: 0, run }))).unwrap();
    let unit = store.restore(9).unwrap().units.remove(0);
    assert_eq!(unit.runs.iter().map(|run| (run.id, run.end)).collect::<Vec<_>>(), [(3, RunEnd::PowerLost)]);
    assert_eq!(unit.cut_run.map(|run| (run.id, run.end)), Some((4, RunEnd::PowerLost)));
}
