use super::*;
use crate::records::Mean;
use crate::records::Origin;
use crate::{Monotonic, Stamp};

const DAY_MS: i64 = 86_400_000;

fn fitted(marks: &[&str]) -> Vec<FittedElement> {
    marks
        .iter()
        .zip(1..)
        .map(|(mark, position)| FittedElement {
            mark: (*mark).to_owned(),
            position,
            hours: if position == 1 { 100.0 } else { 0.0 },
            product_l: 0.0,
        })
        .collect()
}

fn at(day: i64) -> Stamp {
    Stamp { boot: 1, monotonic: Monotonic(day as u64), wall_ms: Some(day * DAY_MS) }
}

fn run(id: u64, day: i64, hours: f64, elements: &[ElementAge]) -> RunRecord {
    RunRecord {
        id,
        revision: 1,
        start: at(day),
        duration_s: hours * 3600.0,
        end: RunEnd::Stopped,
        time_invented: false,
        steady_s: 0.0,
        means: vec![],
        product_l: Some(60.0 * hours),
        element_hours: None,
        valve_moved: false,
        valve: vec![],
        elements: elements.to_vec(),
        element_shares: vec![],
    }
}

fn event(id: u64, day: i64, kind: EventKind, moves: &[(&str, ElementPlace)]) -> LogEntry {
    LogEntry {
        id,
        revision: 0,
        at: at(day),
        time_invented: false,
        by: "nobody".into(),
        body: LogBody::Event(kind),
        note: String::new(),
        reason: String::new(),
        voided: false,
        elements: moves.iter().map(|(mark, to)| ElementMove { mark: (*mark).into(), to: *to }).collect(),
    }
}

/// Runs of so many hours, each recorded with what the ledger said at its start, as the engine does.
fn follow(ledger: &ElementLedger, id: u64, day: i64, hours: f64) -> RunRecord {
    run(id, day, hours, &ledger.elements)
}

#[test]
fn hours_follow_the_element_and_not_the_place() {
    let none: [RunRecord; 0] = [];
    let start = ElementLedger::new(&fitted(&["A", "B"]), none.iter(), &[]);
    let first = follow(&start, 1, 1, 10.0);
    // Swapped: B at the feed now.
    let swapped = event(
        2,
        2,
        EventKind::ElementsMoved,
        &[("A", ElementPlace::Position(2)), ("B", ElementPlace::Position(1))],
    );
    let mut now = fitted(&["B", "A"]);
    now.iter_mut().for_each(|element| element.hours = 0.0);
    let log = [swapped];
    let between = ElementLedger::new(&now, [&first].into_iter(), &log);
    let second = follow(&between, 3, 3, 5.0);
    let ledger = ElementLedger::new(&now, [&first, &second].into_iter(), &log);
    assert_eq!(ledger.get("A").map(|e| (e.position, e.hours)), Some((Some(2), 115.0)));
    assert_eq!(ledger.get("B").map(|e| (e.position, e.hours)), Some((Some(1), 15.0)));
    assert_eq!(ledger.elements[0].mark, "B");
}

#[test]
fn a_by_passed_element_stands_still_and_goes_on_when_it_is_back() {
    let train = fitted(&["A", "B"]);
    let passed = event(2, 2, EventKind::ElementByPassed, &[("B", ElementPlace::ByPassed)]);
    let back = event(4, 4, EventKind::ElementsMoved, &[("B", ElementPlace::Position(2))]);
    let mut runs = vec![run(1, 1, 10.0, &[])];
    let log = [passed, back];
    for (count, id, day) in [(1, 3, 3), (2, 5, 5)] {
        let ledger = ElementLedger::new(&train, runs.iter(), &log[..count]);
        assert_eq!(by_passed(&log[..count]), if count == 1 { vec!["B"] } else { vec![] });
        runs.push(follow(&ledger, id, day, 10.0));
    }
    let ledger = ElementLedger::new(&train, runs.iter(), &log);
    assert_eq!(ledger.get("A").map(|e| e.hours), Some(130.0));
    assert_eq!(ledger.get("B").map(|e| (e.hours, e.position)), Some((20.0, Some(2))));
    // While B was passed by, A alone made the water: 300 + 600 + 300 of 1,800 L.
    assert_eq!(ledger.get("A").map(|e| e.product_l), Some(1_200.0));
}

#[test]
fn an_element_that_was_taken_out_keeps_its_history() {
    let old = ElementLedger::new(&fitted(&["A"]), [].iter(), &[]);
    let first = follow(&old, 1, 1, 10.0);
    let replaced = event(
        2,
        2,
        EventKind::ElementReplaced,
        &[("A", ElementPlace::Removed), ("C", ElementPlace::Position(1))],
    );
    let log = [replaced];
    let mut now = fitted(&["C"]);
    now[0].hours = 0.0;
    let between = ElementLedger::new(&now, [&first].into_iter(), &log);
    let second = follow(&between, 3, 3, 4.0);
    let ledger = ElementLedger::new(&now, [&first, &second].into_iter(), &log);
    assert_eq!(ledger.get("A").map(|e| (e.position, e.hours)), Some((None, 110.0)));
    assert_eq!(ledger.get("C").map(|e| (e.position, e.hours)), Some((Some(1), 4.0)));
    assert_eq!(ledger.youngest_h(), Some(4.0));
}

#[test]
fn a_replacement_written_down_late_corrects_the_runs_after_it() {
    let mark = mark_of_position(1);
    let train = [FittedElement { mark: mark.clone(), position: 1, hours: 0.0, product_l: 0.0 }];
    let mut runs: Vec<RunRecord> = vec![];
    for (id, day) in [(1, 1), (2, 3), (3, 5)] {
        let ledger = ElementLedger::new(&train, runs.iter(), &[]);
        runs.push(follow(&ledger, id, day, 10.0));
    }
    // Entry 9 says on day 6 that the element was new on day 2.
    let late = [event(9, 2, EventKind::ElementReplaced, &[])];
    let ledger = ElementLedger::new(&train, runs.iter(), &late);
    assert_eq!(ledger.get(&mark).map(|e| e.hours), Some(20.0));
    let struck = [LogEntry { voided: true, ..late[0].clone() }];
    assert_eq!(ElementLedger::new(&train, runs.iter(), &struck).get(&mark).map(|e| e.hours), Some(30.0));
}

/// A boat with gauges only: the hour meter counts where nothing else does.
#[test]
fn the_hour_meter_counts_between_sets_of_readings() {
    let meter = |id, day, hours: f64| RunRecord {
        end: RunEnd::ReadingSet,
        product_l: None,
        means: vec![Mean {
            quantity: Quantity::RunTime,
            value: hours * 3600.0,
            random: 0.0,
            systematic: 0.0,
            instrument: 0,
            origin: Origin::Hand { entry: id },
            count: 1,
        }],
        ..run(id, day, 0.0, &[])
    };
    let runs = [meter(1, 1, 640.0), meter(2, 8, 652.5), run(3, 9, 1.5, &[]), meter(4, 10, 656.0)];
    let ledger = ElementLedger::new(&fitted(&["A"]), runs.iter(), &[]);
    assert_eq!(ledger.get("A").map(|e| e.hours), Some(116.0));
}

#[test]
fn what_is_remembered_is_bounded() {
    let many: Vec<ElementAge> = (0..100)
        .map(|i| ElementAge { mark: format!("E{i}"), position: None, hours: 1.0, product_l: 0.0 })
        .collect();
    let runs = [run(1, 1, 1.0, &many)];
    assert_eq!(ElementLedger::new(&fitted(&["A"]), runs.iter(), &[]).elements.len(), KNOWN_ELEMENTS_MAX);
}
