//! The engine on simulated time: whole stories, no threads, no files.

mod network;

use super::*;
use crate::engine::wall_clock::{ClockMode, EARLIEST_LIVE_MS};
use crate::settings::{self, Settings};
use barrico_model::findings::FindingCode;
use barrico_model::records::{EventKind, HandReading, LogBody, OperatingState, RunEnd};
use barrico_model::{Monotonic, Quantity};
use barrico_n2k::pgn::WatermakerStatus;
use barrico_n2k::{CanId, Frame, split};
use std::sync::Arc;

const SETTINGS: &str = include_str!("../../examples/gauges-only-hand-set.toml");

/// An engine, its clock and what a store would hold.
struct Story {
    engine: Engine,
    now: Monotonic,
    settings: Arc<Settings>,
    kept: Vec<Record>,
    events: Vec<Event>,
    sent: Vec<Frame>,
    replies: Vec<Reply>,
    sequence: u8,
}

impl Story {
    fn new(text: &str, restored: Restored) -> Self {
        let settings = Arc::new(settings::parse(text, "story.toml").expect("the sample is sound"));
        let options = Options { clock: ClockMode::Live, find_units: false, transmit: true };
        let engine = Engine::new(settings.clone(), options);
        let mut story = Self {
            engine,
            now: Monotonic(0),
            settings,
            kept: vec![],
            events: vec![],
            sent: vec![],
            replies: vec![],
            sequence: 0,
        };
        story.give(Input::WallClock(EARLIEST_LIVE_MS + 86_400_000));
        story.give(Input::Restored(Box::new(restored)));
        story.give(Input::Source(SourceState::Open("a bus".into())));
        story
    }

    fn give(&mut self, input: Input) {
        let mut out = vec![];
        self.engine.handle(self.now, input, &mut out);
        self.carry_out(out);
    }

    /// Lets so many seconds pass; every 2.5 s the unit's controller says this, if it says anything.
    fn pass(&mut self, seconds: u64, status: Option<&WatermakerStatus>) {
        let end = self.now.plus_ms(seconds * 1000);
        while self.now < end {
            self.now = self.now.plus_ms(500);
            if let Some(status) = status
                && self.now.0.is_multiple_of(2_500)
            {
                self.say(status);
            }
            if self.engine.next_deadline().is_some_and(|deadline| deadline <= self.now) {
                let mut out = vec![];
                self.engine.handle_timeout(self.now, &mut out);
                self.carry_out(out);
            }
        }
    }

    fn say(&mut self, status: &WatermakerStatus) {
        let mut payload = vec![];
        status.encode(&mut payload);
        let id = CanId { priority: 6, pgn: 130_567, source: 35, destination: 255 };
        self.sequence = self.sequence.wrapping_add(1);
        let frames: Vec<Frame> = split(id, &payload, self.sequence).expect("24 bytes fit").collect();
        for frame in frames {
            self.give(Input::Frame(frame));
        }
    }

    fn carry_out(&mut self, out: Vec<Output>) {
        for output in out {
            match output {
                Output::Persist(ticket, record) => {
                    self.kept.push(*record);
                    self.give(Input::Persisted(ticket));
                }
                Output::Reply { reply, .. } => self.replies.push(*reply),
                Output::Event(event) => self.events.push(*event),
                Output::Transmit(frame) => self.sent.push(frame),
            }
        }
    }

    fn ask(&mut self, command: Command) -> Reply {
        self.give(Input::Command { request: 1, command: Box::new(command) });
        self.replies.pop().expect("an answer after the commit")
    }

    fn unit(&self) -> String {
        self.settings.units[0].id.clone()
    }

    fn write(&mut self, body: LogBody) -> Reply {
        let entry = NewEntry {
            at: None,
            time_invented: false,
            by: "Robin".into(),
            body,
            note: String::new(),
            elements: vec![],
        };
        let unit = self.unit();
        self.ask(Command::AddEntries { unit, entries: vec![entry] })
    }

    fn read(&mut self, readings: &[(Quantity, f64)]) -> Reply {
        let set = readings
            .iter()
            .map(|&(quantity, value)| HandReading {
                quantity,
                value,
                typed: value.to_string(),
                instrument: None,
            })
            .collect();
        self.write(LogBody::Readings(set))
    }

    fn active(&self) -> Vec<FindingCode> {
        self.engine.view(self.now).units[0].findings.iter().map(|(alert, _)| alert.code).collect()
    }
}

const SET: [(Quantity, f64); 5] = [
    (Quantity::FeedPressure, 55.0),
    (Quantity::FeedTemperature, 20.0),
    (Quantity::ProductFlow, 60.0),
    (Quantity::ProductConductivity, 600.0),
    (Quantity::ConcentrateFlow, 270.0),
];

fn running(product_l_h: f64) -> WatermakerStatus {
    WatermakerStatus {
        operating_state: Some(barrico_n2k::pgn::OperatingState::Running),
        product_water_flow_l_h: Some(product_l_h),
        system_high_pressure_pa: Some(55e5),
        ..WatermakerStatus::default()
    }
}

fn stopped() -> WatermakerStatus {
    WatermakerStatus {
        operating_state: Some(barrico_n2k::pgn::OperatingState::Stopped),
        ..WatermakerStatus::default()
    }
}

/// The sample with the unit's controller on the bus.
fn with_bus() -> String {
    let readings = ["operating_state", "product_flow", "feed_pressure"].map(|quantity| {
        format!("\n[[units.UNIT.readings]]\nquantity = \"{quantity}\"\nfrom = \"nmea2000\"\npgn = 130567\n")
    });
    let settings = settings::parse(SETTINGS, "sample").expect("the sample is sound");
    SETTINGS.to_owned() + &readings.concat().replace("UNIT", &settings.units[0].id)
}

#[test]
fn a_set_taken_in_two_parts_is_one_run() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.read(&SET[..3]);
    story.pass(600, None);
    story.read(&SET[3..]);
    let runs = &story.engine.view(story.now).units[0].runs;
    assert_eq!(runs.len(), 1);
    assert_eq!((runs[0].run.revision, runs[0].run.end), (1, RunEnd::ReadingSet));
    assert!(SET.iter().all(|(quantity, _)| runs[0].run.mean(*quantity).is_some()));
    // Half an hour later the same readings are a new set.
    story.pass(2_400, None);
    story.read(&SET);
    assert_eq!(story.engine.view(story.now).units[0].runs.len(), 2);
}

#[test]
fn what_was_struck_out_counts_no_more_and_is_kept() {
    let mut story = Story::new(SETTINGS, Restored::default());
    let Reply::Written { entries, .. } = story.read(&SET) else { panic!("refused") };
    let (unit, id) = (story.unit(), entries[0]);
    let refused = story.ask(Command::ChangeEntry {
        unit: unit.clone(),
        id,
        change: EntryChange::Void,
        by: "Robin".into(),
        reason: " ".into(),
    });
    assert!(matches!(refused, Reply::Refused(why) if why.contains("reason")));
    story.ask(Command::ChangeEntry {
        unit,
        id,
        change: EntryChange::Void,
        by: "Robin".into(),
        reason: "typed twice".into(),
    });
    let run = &story.engine.view(story.now).units[0].runs[0].run;
    assert!(run.means.is_empty() && run.revision == 1);
    let revisions = story.kept.iter().filter(|record| matches!(record, Record::Log { .. })).count();
    assert_eq!(revisions, 2, "the original and the change");
}

#[test]
fn an_element_that_was_replaced_ends_the_baseline_and_a_cleaning_does_not() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.read(&SET);
    let unit = story.unit();
    let taken = story.ask(Command::TakeBaseline { unit, runs: RunSelection::Latest, by: "Robin".into() });
    assert!(matches!(taken, Reply::Baseline(_)), "{taken:?}");
    story.write(LogBody::Event(EventKind::Cleaned));
    assert!(story.engine.view(story.now).units[0].baseline.is_some());
    let reply = story.write(LogBody::Event(EventKind::ElementReplaced));
    assert!(matches!(reply, Reply::Written { remarks, .. } if remarks[0].contains("ended")));
    assert!(story.engine.view(story.now).units[0].baseline.is_none());
}

#[test]
fn another_parts_list_suspends_the_baseline_until_the_log_says_which_part() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.read(&SET);
    let unit = story.unit();
    let Reply::Baseline(baseline) = story.ask(Command::TakeBaseline {
        unit: unit.clone(),
        runs: RunSelection::Latest,
        by: "Robin".into(),
    }) else {
        panic!("refused")
    };
    let history = RestoredUnit {
        runs: story.engine.view(story.now).units[0].runs.iter().map(|row| row.run.clone()).collect(),
        baselines: vec![*baseline],
        parts_fingerprint: Some(1),
        ..RestoredUnit::default()
    };
    let mut later =
        Story::new(SETTINGS, Restored { units: vec![history], last_id: 100, ..Restored::default() });
    assert!(
        later
            .events
            .iter()
            .any(|event| matches!(event, Event::Remark { text, .. } if text.contains("Which part")))
    );
    assert!(later.engine.view(later.now).units[0].baseline.is_none());
    let refused = later.ask(Command::TakeBaseline { unit, runs: RunSelection::Latest, by: "Robin".into() });
    assert!(matches!(refused, Reply::Refused(_)));
    later.write(LogBody::Event(EventKind::PumpServiced));
    assert!(
        later.kept.iter().any(|record| matches!(record, Record::Parts { .. })),
        "the new list is the known one"
    );
}

#[test]
fn a_run_on_the_bus_becomes_a_record_with_litres() {
    let mut story = Story::new(&with_bus(), Restored::default());
    story.pass(30, Some(&stopped()));
    story.pass(3_600, Some(&running(72.0)));
    assert_eq!(story.engine.view(story.now).units[0].state, Some(OperatingState::Running));
    story.pass(120, Some(&stopped()));
    let view = story.engine.view(story.now);
    let run = &view.units[0].runs[0].run;
    assert_eq!(run.end, RunEnd::Stopped);
    assert!((run.product_l.expect("flow is known") - 72.0).abs() < 0.5, "{:?}", run.product_l);
    assert!((run.duration_s - 3_600.0).abs() < 6.0, "{}", run.duration_s);
    // Five quiet minutes, then whole windows of a minute.
    assert!((3_200.0..=3_300.0).contains(&run.steady_s), "{}", run.steady_s);
    assert!(run.mean(Quantity::OperatingState).is_none());
}

#[test]
fn a_jug_in_the_run_counts_once_and_a_jug_of_yesterday_not_at_all() {
    let mut story = Story::new(&with_bus(), Restored::default());
    story.read(&[(Quantity::ConcentrateFlow, 300.0), (Quantity::FeedSalinity, 36.0)]);
    story.pass(30, Some(&stopped()));
    story.pass(1_800, Some(&running(72.0)));
    story.pass(120, Some(&stopped()));
    let run = story.engine.view(story.now).units[0].runs[0].run.clone();
    assert!(run.mean(Quantity::ConcentrateFlow).is_none(), "it was taken before this run");
    assert_eq!(run.mean(Quantity::FeedSalinity).map(|mean| mean.count), Some(1), "the sea is still the same");
    story.pass(900, Some(&running(72.0)));
    story.read(&[(Quantity::ConcentrateFlow, 280.0)]);
    story.pass(900, Some(&running(72.0)));
    story.pass(120, Some(&stopped()));
    let run = story.engine.view(story.now).units[0].runs[1].run.clone();
    let jug = run.mean(Quantity::ConcentrateFlow).expect("it was taken in this run");
    assert_eq!((jug.value, jug.count), (280.0, 1));
}

#[test]
fn a_lost_sensor_is_told_and_its_value_is_not_kept_alive() {
    let mut story = Story::new(&with_bus(), Restored::default());
    story.pass(600, Some(&running(72.0)));
    let mut silent = running(72.0);
    silent.system_high_pressure_pa = None;
    story.pass(60, Some(&silent));
    assert_eq!(story.active(), [FindingCode::ReadingUnreliable]);
    let view = story.engine.view(story.now);
    let pressure = view.units[0].readings.iter().find(|reading| reading.quantity == Quantity::FeedPressure);
    assert_eq!(pressure.map(|reading| reading.status), Some(view::ReadingStatus::Stale));
}

#[test]
fn barrico_speaks_for_a_unit_only_while_nobody_else_does() {
    let status_frames =
        |story: &Story| story.sent.iter().filter(|frame| frame.can_id().pgn == 130_567).count();
    let mut story = Story::new(&with_bus(), Restored::default());
    story.pass(59, None);
    assert_eq!(status_frames(&story), 0, "a minute of silence first");
    story.pass(61, None);
    assert!(0 < status_frames(&story));
    story.pass(3, Some(&running(72.0)));
    story.sent.clear();
    story.pass(300, Some(&running(72.0)));
    assert_eq!(status_frames(&story), 0, "the unit speaks for itself");
}

#[test]
fn an_old_acknowledge_is_refused() {
    let mut story = Story::new(&with_bus(), Restored::default());
    let mut high = running(72.0);
    high.system_high_pressure_pa = Some(150e5);
    story.pass(5, Some(&high));
    assert_eq!(story.active().first(), None, "150 bar is no possible reading");
    high.system_high_pressure_pa = Some(110e5);
    story.pass(5, Some(&high));
    assert_eq!(story.active().first(), Some(&FindingCode::OverPressure));
    let unit = story.unit();
    let acknowledge = |occurrence| Command::Acknowledge {
        unit: unit.clone(),
        code: FindingCode::OverPressure,
        about: None,
        occurrence,
        by: "Robin".into(),
    };
    assert!(matches!(story.ask(acknowledge(7)), Reply::Refused(_)));
    assert_eq!(story.ask(acknowledge(1)), Reply::Done);
}

#[test]
fn idle_time_without_a_flush_is_told_and_a_flush_clears_it() {
    let mut story = Story::new(SETTINGS, Restored::default());
    story.write(LogBody::Event(EventKind::Flushed));
    story.pass(60, None);
    // Six days by the monotonic clock; nothing was measured, so the engine need not live through every second.
    story.now = story.now.plus_ms(6 * 86_400_000);
    story.pass(130, None);
    assert_eq!(story.active(), [FindingCode::IdleWithoutFlush]);
    story.write(LogBody::Event(EventKind::Flushed));
    story.pass(130, None);
    assert_eq!(story.active(), []);
}

mod parts;
