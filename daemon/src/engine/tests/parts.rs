//! Elements that come, go and are by-passed; the parts list and the log; the tank.

use super::*;
use barrico_model::records::{ElementMove, ElementPlace};

const TWO: &str = include_str!("../../../examples/two-2540-ac-regulated.toml");

const READ: [(Quantity, f64); 6] = [
    (Quantity::FeedPressure, 54.5),
    (Quantity::FeedTemperature, 20.0),
    (Quantity::ProductFlow, 130.0),
    (Quantity::ProductConductivity, 600.0),
    (Quantity::ConcentrateFlow, 590.0),
    (Quantity::FeedSalinity, 37.0),
];

impl Story {
    fn tell(&mut self, kind: EventKind, moves: &[(&str, ElementPlace)]) -> Vec<String> {
        let elements = moves.iter().map(|&(mark, to)| ElementMove { mark: mark.to_owned(), to }).collect();
        let body = LogBody::Event(kind);
        let entry = NewEntry {
            at: None,
            time_invented: false,
            by: "Robin".into(),
            body,
            note: String::new(),
            elements,
        };
        let unit = self.unit();
        match self.ask(Command::AddEntries { unit, entries: vec![entry] }) {
            Reply::Written { remarks, .. } => remarks,
            other => panic!("{other:?}"),
        }
    }

    fn history(&mut self) -> UnitHistory {
        let unit = self.unit();
        match self.ask(Command::history(&unit)) {
            Reply::History(history) => *history,
            other => panic!("{other:?}"),
        }
    }

    fn take_baseline(&mut self) {
        let unit = self.unit();
        let taken = self.ask(Command::TakeBaseline { unit, runs: RunSelection::Latest, by: "Robin".into() });
        assert!(matches!(taken, Reply::Baseline(_)), "{taken:?}");
    }

    /// What a store would give back at the next start.
    fn restored(&self) -> Restored {
        let mut unit = RestoredUnit::default();
        for record in &self.kept {
            match record {
                Record::Log { entry, .. } => unit.log.push(entry.clone()),
                Record::Run { run, .. } => {
                    unit.runs.retain(|known| known.id != run.id);
                    unit.runs.push(run.clone());
                }
                Record::Baseline { baseline, .. } => {
                    unit.baselines.retain(|known| known.id != baseline.id);
                    unit.baselines.push(baseline.clone());
                }
                Record::Parts { fingerprint, .. } => unit.parts_fingerprint = Some(*fingerprint),
                _ => {}
            }
        }
        Restored { units: vec![unit], last_id: 1_000, ..Restored::default() }
    }
}

#[test]
fn a_by_passed_element_ends_the_baseline_and_the_gain_is_shown_when_it_is_back() {
    let mut story = Story::new(TWO, Restored::default());
    story.read(&READ);
    story.take_baseline();
    let remarks = story.tell(EventKind::ElementByPassed, &[("A-0002", ElementPlace::ByPassed)]);
    assert!(remarks.iter().any(|remark| remark.contains("ended")), "{remarks:?}");
    let history = story.history();
    assert_eq!(history.by_passed, ["A-0002"]);
    let place = |history: &UnitHistory, mark: &str| {
        history.elements.iter().find(|element| element.mark == mark).and_then(|element| element.position)
    };
    assert_eq!((place(&history, "A-0001"), place(&history, "A-0002")), (Some(1), None));
    let change = history.train_change.expect("two became one");
    assert_eq!((change.before, change.now, change.gain_achieved_l_h), (2, 1, None));
    assert!(change.gain_nominal_l_h.value < -20.0, "{change:?}");
    // The next start knows it from the log, and so does one whose settings no longer list the element.
    let mut later = Story::new(TWO, story.restored());
    assert_eq!(later.history().by_passed, ["A-0002"]);
    let mut readings = READ;
    readings[2].1 = 85.0;
    readings[4].1 = 635.0;
    story.pass(3_600, None);
    story.read(&readings);
    story.take_baseline();
    let change = story.history().train_change.expect("still two and one");
    let achieved = change.gain_achieved_l_h.expect("the new baseline tells");
    assert!((achieved.value + 45.0).abs() < 5.0, "{change:?}");
    // Back in use: the one-element baseline is now the old one, and no run with one element makes the next.
    story.tell(EventKind::ElementsMoved, &[("A-0002", ElementPlace::Position(2))]);
    let history = story.history();
    assert!(history.by_passed.is_empty());
    assert_eq!(history.train_change.map(|change| (change.before, change.now)), Some((1, 2)));
    let unit = story.unit();
    let refused = story.ask(Command::TakeBaseline { unit, runs: RunSelection::Latest, by: "Robin".into() });
    assert!(matches!(&refused, Reply::Refused(why) if why.contains("parts of today")), "{refused:?}");
}

#[test]
fn a_replacement_that_was_written_down_before_the_settings_were_changed_is_no_riddle() {
    let mut story = Story::new(TWO, Restored::default());
    story.read(&READ);
    story.take_baseline();
    let moves = [("A-0002", ElementPlace::Removed), ("A-0009", ElementPlace::Position(2))];
    let remarks = story.tell(EventKind::ElementReplaced, &moves);
    assert!(remarks.iter().any(|remark| remark.contains("do not list A-0009")), "{remarks:?}");
    let changed = TWO.replace("A-0002", "A-0009");
    let is_asked = |story: &Story| {
        story
            .events
            .iter()
            .any(|event| matches!(event, Event::Remark { text, .. } if text.contains("Which part")))
    };
    let mut later = Story::new(&changed, story.restored());
    assert!(!is_asked(&later));
    let marks: Vec<String> = later.history().elements.iter().map(|element| element.mark.clone()).collect();
    assert_eq!(marks, ["A-0001", "A-0009", "A-0002"]);
    // Without the entry the same change is asked about.
    let first = Restored { units: vec![RestoredUnit::default()], ..Restored::default() };
    let mut silent = Story::new(TWO, first);
    silent.read(&READ);
    assert!(is_asked(&Story::new(&changed, silent.restored())));
    // A limit is no part.
    let limits = TWO.replace("product_conductivity = \"", "product_conductivity = \"1");
    assert!(limits == TWO || !is_asked(&Story::new(&limits, silent.restored())));
}

#[test]
fn hours_and_shares_of_a_run_go_to_its_elements() {
    let mut story = Story::new(&with_bus(), Restored::default());
    story.pass(60, Some(&stopped()));
    story.pass(3_600, Some(&running(61.0)));
    story.pass(120, Some(&stopped()));
    let history = story.history();
    let fitted: Vec<_> = history.elements.iter().filter(|element| element.position.is_some()).collect();
    assert!(!fitted.is_empty());
    let before = story.settings.units[0].second_hand.element_hours.unwrap_or(0.0);
    for element in &fitted {
        assert!((element.hours - before - 1.0).abs() < 0.02, "{element:?}");
    }
    let litres: f64 = fitted.iter().map(|element| element.product_l).sum();
    assert!((litres - 61.0).abs() < 1.0, "{litres}");
    // The next start finds the same.
    assert_eq!(Story::new(&with_bus(), story.restored()).history().elements, history.elements);
    let run = story.engine.view(story.now).units[0].runs[0].run.clone();
    assert!(run.valve_moved, "the crew sets this unit's valve at every start");
}

/// The sample without what it says of the time before.
fn without_second_hand() -> String {
    let mut skip = false;
    let kept = SETTINGS.lines().filter(|line| {
        if line.starts_with('[') {
            skip = line.contains(".second_hand]");
        }
        !skip
    });
    kept.collect::<Vec<_>>().join("\n")
}

#[test]
fn runs_that_agree_confirm_only_after_the_element_has_settled() {
    for (hours, kind) in [(5.0, "provisional"), (30.0, "confirmed")] {
        let id = settings::parse(SETTINGS, "sample").expect("the sample is sound").units[0].id.clone();
        let text =
            format!("{}\n[units.{id}.second_hand]\nelement_hours = \"{hours} h\"\n", without_second_hand());
        let mut story = Story::new(&text, Restored::default());
        story.read(&SET);
        story.pass(3_600, None);
        story.read(&SET);
        let unit = story.unit();
        let runs = RunSelection::LatestCount(2);
        let Reply::Baseline(taken) = story.ask(Command::TakeBaseline { unit, runs, by: "Robin".into() })
        else {
            panic!("refused")
        };
        assert_eq!(taken.kind.name(), kind, "after {hours} h");
        // Flushed, preserved and cleaned: it stays.
        for event in [EventKind::Flushed, EventKind::Preserved, EventKind::Cleaned] {
            story.write(LogBody::Event(event));
        }
        assert!(story.engine.view(story.now).units[0].baseline.is_some());
        // Pump, valve and instrument end it, with the reason.
        story.write(LogBody::Event(EventKind::ValveReplaced));
        assert!(story.engine.view(story.now).units[0].baseline.is_none());
        let ended = story.history().baselines[0].retired.clone().expect("ended");
        assert!(ended.1.contains("valve-replaced"), "{}", ended.1);
    }
}
