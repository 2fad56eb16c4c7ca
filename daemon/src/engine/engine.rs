//! The main loop, without a loop: input in, outputs out, next deadline.

use super::bus::{Brought, Bus, Taken};
use super::unit::Unit;
use super::view::Health;
use super::wall_clock::{ClockMode, WallClock};
use super::{
    BusCounts, ClockChange, Command, Event, Input, Output, Record, Reply, Restored, RunChange, SourceState,
    Ticket,
};
use crate::intake::stream::Field;
use crate::settings::{SenderRule, Settings};
use barrico_model::records::{OperatingState, RunRecord, SenderId};
use barrico_model::{Monotonic, Quantity, WallMs};
use barrico_n2k::Frame;
use std::sync::Arc;

/// Everything that is sampled, averaged and judged is so once a second.
const TICK_MS: u64 = 1_000;
/// After a gap longer than this the seconds in between are not replayed one by one: nothing was measured in them.
const CATCH_UP_MS: u64 = 3_600_000;
/// A reading is told at its first value and then once in this time.
const TELL_READING_MS: u64 = 60_000;
/// Units that a recording without settings may show.
const AUTO_UNITS_MAX: usize = Settings::UNITS_MAX;

/// How an engine is to behave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Options {
    /// Whom the date is taken from.
    pub clock: ClockMode,
    /// Make a unit of every sender of PGN 130567: for recordings without settings.
    pub find_units: bool,
    /// Put status and alert messages out.
    pub transmit: bool,
}

/// The engine.
pub struct Engine {
    pub(super) settings: Arc<Settings>,
    pub(super) options: Options,
    pub(super) clock: WallClock,
    pub(super) bus: Bus,
    pub(super) units: Vec<Unit>,
    pub(super) last_id: u64,
    last_ticket: Ticket,
    confirmed: Ticket,
    waiting: Vec<(Ticket, u64, Reply)>,
    next_tick: Option<Monotonic>,
    pub(super) store: Health,
    pub(super) source: Health,
    pub(super) source_impaired: Option<String>,
    pub(super) bus_counts: BusCounts,
    pub(super) damaged_lines: u64,
    pub(super) judgement: Vec<super::judge::Judgement>,
    pub(super) speaker: super::speaker::Speaker,
    pub(super) network: super::network::Network,
    brought: Brought,
    zeros_due: bool,
}

impl Engine {
    /// An engine that waits for [`Input::Restored`].
    pub fn new(settings: Arc<Settings>, options: Options) -> Self {
        let mut units: Vec<Unit> = settings.units.iter().map(|unit| Unit::new(unit.clone(), true)).collect();
        if options.find_units {
            units.insert(0, Unit::for_boat());
        }
        let judgement = units.iter().map(|_| super::judge::Judgement::default()).collect();
        Self {
            settings,
            options,
            clock: WallClock::new(options.clock),
            bus: Bus::default(),
            units,
            last_id: 0,
            last_ticket: Ticket(0),
            confirmed: Ticket(0),
            waiting: Vec::new(),
            next_tick: None,
            store: Health { working: true, text: String::new() },
            source: Health { working: true, text: String::new() },
            source_impaired: None,
            bus_counts: BusCounts::default(),
            damaged_lines: 0,
            judgement,
            speaker: super::speaker::Speaker::default(),
            network: super::network::Network::default(),
            brought: Brought::default(),
            zeros_due: false,
        }
    }

    /// Takes one input.
    pub fn handle(&mut self, now: Monotonic, input: Input, out: &mut Vec<Output>) {
        match input {
            Input::Frame(frame) => self.frame(now, &frame, out),
            Input::Restored(restored) => self.restore(now, *restored, out),
            Input::DamagedLine { .. } => self.damaged_lines += 1,
            Input::WallClock(wall_ms) => {
                let change = self.clock.set(now, wall_ms);
                self.tell_clock(change, out);
            }
            Input::Command { request, command } => self.command(now, request, *command, out),
            Input::Persisted(ticket) => self.persisted(ticket, out),
            Input::PersistFailed { why, .. } => self.tell_store(Health { working: false, text: why }, out),
            Input::StoreLagging(lagging) => {
                let text =
                    if lagging { "the history is slow to write; nothing confirmed is lost" } else { "" };
                self.tell_store(Health { working: !lagging, text: text.to_owned() }, out);
            }
            Input::Source(state) => self.tell_source(now, state, out),
            Input::BusCounts(counts) => self.bus_counts = counts,
            Input::Stop => self.stop(now, out),
        }
    }

    /// Lets time pass.
    pub fn handle_timeout(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        self.nodes_timeout(now, out);
        let Some(mut tick) = self.next_tick else {
            self.next_tick = Some(now.plus_ms(TICK_MS));
            return;
        };
        if tick.plus_ms(CATCH_UP_MS) < now {
            tick = now;
        }
        while tick <= now {
            self.tick(tick, out);
            tick = tick.plus_ms(TICK_MS);
        }
        self.next_tick = Some(tick);
    }

    /// Until when nothing happens by itself.
    pub fn next_deadline(&self) -> Option<Monotonic> {
        [self.next_tick, self.network.next_deadline()].into_iter().flatten().min()
    }

    fn frame(&mut self, now: Monotonic, frame: &Frame, out: &mut Vec<Output>) {
        if self.next_tick.is_none() {
            self.next_tick = Some(now.plus_ms(TICK_MS));
        }
        let mut brought = std::mem::take(&mut self.brought);
        brought.clear();
        self.bus.take(now, frame, &mut brought);
        self.show_to_nodes(now, frame, out);
        if let Some(date) = brought.date {
            let change = self.clock.set_from_bus(now, date);
            self.tell_clock(change, out);
        }
        for event in brought.events.drain(..) {
            out.push(Output::Event(Box::new(event)));
        }
        for taken in brought.taken.drain(..) {
            self.taken(now, taken, out);
        }
        for (address, response) in brought.responses.drain(..) {
            self.alert_answered(now, address, &response, out);
        }
        self.brought = brought;
        if std::mem::take(&mut self.zeros_due) {
            self.tell_zero_fields(out);
        }
    }

    /// A unit runs: fields of its own message that are zero all the same have no sensor behind them.
    fn tell_zero_fields(&mut self, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            let running = self.units[unit].operating.state == Some(OperatingState::Running);
            let arbiters = self.units[unit].readings.arbiters();
            let told = arbiters.iter().find(|arbiter| arbiter.quantity == Quantity::OperatingState);
            let stream = told.filter(|_| running).and_then(|arbiter| arbiter.choice.stream);
            let Some(sender) = stream.map(|index| self.bus.streams[index].key.sender) else { continue };
            let zero: Vec<&str> = self.bus.new_zero_fields(sender).into_iter().map(Quantity::label).collect();
            if let (false, Some(address)) = (zero.is_empty(), self.bus.address(sender)) {
                let remark =
                    format!("runs, and always sends 0 as {}: taken as not measured", zero.join(", "));
                out.push(Output::Event(Box::new(self.bus.report(address, Some(remark)))));
            }
        }
    }

    fn taken(&mut self, now: Monotonic, taken: Taken, out: &mut Vec<Output>) {
        if taken.new {
            self.new_stream(now, taken.stream);
        }
        let recorded = self.options.clock == ClockMode::Recorded;
        for unit in 0..self.units.len() {
            let readings = &mut self.units[unit].readings;
            let counted = readings.take(taken.stream, &self.bus.streams, &self.settings.instruments);
            let Some((reading, told)) = counted else { continue };
            // A recording shows every word of the unit's own about its state.
            let word = recorded && reading.quantity == Quantity::OperatingState;
            if word || told.is_none_or(|told| told.plus_ms(TELL_READING_MS) <= now) {
                *told = Some(now);
                out.push(Output::Event(Box::new(Event::Reading { unit, reading })));
            }
            if reading.quantity == Quantity::OperatingState {
                self.follow_state(now, unit, out);
            } else if is_limited_pressure(reading.quantity) {
                self.judge_pressure(now, unit, out);
            }
        }
    }

    fn new_stream(&mut self, now: Monotonic, index: usize) {
        if self.options.find_units {
            self.find_unit(index);
        }
        let stream_key = self.bus.streams[index].key;
        for unit in &mut self.units {
            let stream = &self.bus.streams[index];
            if unit.is_boat {
                if stream_key.field == Field::Temperature && stream_key.kind == 0 {
                    unit.readings.subscribe(Quantity::FeedTemperature, index, 0, 0);
                }
            } else {
                unit.readings.offer(index, stream, &unit.settings);
            }
            unit.readings.arbitrate(now, &self.bus.streams, &self.settings.instruments, &unit.settings);
        }
        let used = |unit: &Unit| {
            unit.readings.arbiters().iter().any(|arbiter| arbiter.streams().any(|known| known == index))
        };
        self.bus.streams[index].used = self.units.iter().any(used);
    }

    /// A sender of PGN 130567 that no unit claims is a unit of its own.
    fn find_unit(&mut self, index: usize) {
        let key = self.bus.streams[index].key;
        if !matches!(key.field, Field::Status(_)) || AUTO_UNITS_MAX < self.units.len() {
            return;
        }
        let rule = match key.sender {
            SenderId::Name(name) => SenderRule::Name(name),
            SenderId::Address(address) => SenderRule::Address(address),
        };
        if self.units.iter().any(|unit| unit.settings.status_from == Some(rule)) {
            return;
        }
        let address = self.bus.address(key.sender).unwrap_or(255);
        self.units.push(Unit::found(rule, address));
        self.judgement.push(super::judge::Judgement::default());
    }

    fn tick(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        let mut brought = std::mem::take(&mut self.brought);
        brought.clear();
        self.bus.handle_timeout(now, &mut brought);
        out.extend(brought.events.drain(..).map(|event| Output::Event(Box::new(event))));
        self.brought = brought;
        let stamp = self.clock.stamp(now);
        for unit in 0..self.units.len() {
            let this = &mut self.units[unit];
            this.readings.arbitrate(now, &self.bus.streams, &self.settings.instruments, &this.settings);
            super::derived::complete(now, &mut this.readings.current);
            this.follow_tank(now);
            self.follow_state(now, unit, out);
            let window = self.units[unit].second(now);
            if let Some(sample) = self.units[unit].sample(unit, stamp) {
                self.persist(sample, out);
            }
            self.judge_now(now, unit, out);
            if window {
                self.judge_open_run(now, unit, out);
            }
        }
        if self.options.transmit {
            self.speak(now, out);
        }
    }

    fn follow_state(&mut self, now: Monotonic, unit: usize, out: &mut Vec<Output>) {
        let stamp = self.clock.stamp(now);
        let this = &mut self.units[unit];
        if let Some(change) = this.update_state(now) {
            let inferred = this.operating.inferred;
            let event = Event::State { unit, from: change.from, to: change.to, inferred };
            out.push(Output::Event(Box::new(event)));
            self.zeros_due |= change.to == Some(OperatingState::Running);
        }
        let shares = &self.judgement[unit].shares;
        let change = self.units[unit].follow_run(stamp, &mut self.last_id, shares);
        if let Some(change) = change {
            self.run_changed(now, unit, change, out);
        }
    }

    pub(super) fn run_changed(
        &mut self,
        now: Monotonic,
        unit: usize,
        change: RunChange,
        out: &mut Vec<Output>,
    ) {
        let (run, ended) = match change {
            RunChange::Opened(run) => (run, false),
            RunChange::Ended(run) => (run, true),
        };
        self.persist_run(unit, &run, out);
        if ended {
            out.push(Output::Event(Box::new(Event::Run { unit, run: run.clone() })));
            self.run_ended(now, unit, &run, out);
        }
    }

    /// Asks the store to keep a run, unless it belongs to no unit of the settings.
    pub(super) fn persist_run(&mut self, unit: usize, run: &RunRecord, out: &mut Vec<Output>) {
        self.persist(Record::Run { unit, run: run.clone() }, out);
    }

    /// Asks the store to keep something.
    pub(super) fn persist(&mut self, record: Record, out: &mut Vec<Output>) -> Ticket {
        self.last_ticket.0 += 1;
        if !self.options.find_units {
            out.push(Output::Persist(self.last_ticket, Box::new(record)));
        }
        self.last_ticket
    }

    /// Answers a request as soon as everything asked of the store so far is on disk.
    pub(super) fn reply_when_kept(&mut self, request: u64, reply: Reply, out: &mut Vec<Output>) {
        if self.options.find_units || self.last_ticket <= self.confirmed {
            out.push(Output::Reply { request, reply: Box::new(reply) });
        } else {
            self.waiting.push((self.last_ticket, request, reply));
        }
    }

    fn persisted(&mut self, ticket: Ticket, out: &mut Vec<Output>) {
        self.confirmed = self.confirmed.max(ticket);
        for (asked, request, reply) in std::mem::take(&mut self.waiting) {
            if asked <= self.confirmed {
                out.push(Output::Reply { request, reply: Box::new(reply) });
            } else {
                self.waiting.push((asked, request, reply));
            }
        }
        if !self.store.working {
            self.tell_store(Health { working: true, text: String::new() }, out);
        }
    }

    fn restore(&mut self, now: Monotonic, restored: Restored, out: &mut Vec<Output>) {
        self.clock.set_boot(restored.boot);
        self.last_id = self.last_id.max(restored.last_id);
        let offset = self.units.iter().take_while(|unit| unit.is_boat).count();
        let mut nodes = vec![None; self.units.len()];
        for (index, mut history) in restored.units.into_iter().enumerate() {
            let unit = index + offset;
            if self.units.len() <= unit {
                break;
            }
            nodes[unit] = history.node.take();
            let cut = history.cut_run.clone();
            let fingerprint = history.parts_fingerprint;
            self.units[unit].restore(history);
            self.check_parts(unit, fingerprint, out);
            if let Some(run) = cut {
                self.run_changed(now, unit, RunChange::Ended(run), out);
            }
            self.judge_history(now, unit, out);
        }
        self.make_nodes(nodes, restored.boot ^ restored.store_id);
        self.next_tick = Some(now.plus_ms(TICK_MS));
    }

    fn stop(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        for unit in 0..self.units.len() {
            let shares = &self.judgement[unit].shares;
            if let Some(run) = self.units[unit].close_run(now, shares) {
                self.run_changed(now, unit, RunChange::Ended(run), out);
            }
        }
        if self.options.transmit {
            self.speak_farewell(now, out);
        }
    }

    pub(super) fn tell_clock(&mut self, change: Option<ClockChange>, out: &mut Vec<Output>) {
        if let Some(change) = change {
            out.push(Output::Event(Box::new(Event::Clock(change))));
        }
    }

    fn tell_store(&mut self, health: Health, out: &mut Vec<Output>) {
        if self.store != health {
            self.store = health.clone();
            out.push(Output::Event(Box::new(Event::Store { working: health.working, text: health.text })));
        }
    }

    fn tell_source(&mut self, now: Monotonic, state: SourceState, out: &mut Vec<Output>) {
        self.source_impaired = None;
        match &state {
            SourceState::Open(_) => self.bus_there(now, out),
            SourceState::Impaired(_) => {}
            SourceState::Ended | SourceState::Failed(_) => self.bus_gone(now, out),
        }
        let (working, text) = match state {
            SourceState::Open(text) => (true, text),
            SourceState::Impaired(text) => {
                self.source_impaired = Some(text.clone());
                self.source = Health { working: true, text: text.clone() };
                out.push(Output::Event(Box::new(Event::Remark { unit: None, text })));
                return;
            }
            SourceState::Ended => (false, "the source of bus data has ended".to_owned()),
            SourceState::Failed(why) => (false, why),
        };
        self.source = Health { working, text: text.clone() };
        out.push(Output::Event(Box::new(Event::Source { working, text })));
    }

    /// Short name of a unit.
    pub fn unit_id(&self, unit: usize) -> &str {
        self.units.get(unit).map_or("", |unit| unit.settings.id.as_str())
    }

    /// The date at a moment, if one is known.
    pub fn wall(&self, now: Monotonic) -> Option<WallMs> {
        self.clock.wall(now)
    }

    /// Index of a unit by its short name.
    pub(super) fn unit_index(&self, id: &str) -> Option<usize> {
        self.units.iter().position(|unit| unit.settings.id == id)
    }

    fn command(&mut self, now: Monotonic, request: u64, command: Command, out: &mut Vec<Output>) {
        match self.obey(now, command, out) {
            Ok(reply) => self.reply_when_kept(request, reply, out),
            Err(refused) => {
                out.push(Output::Reply { request, reply: Box::new(Reply::Refused(refused)) });
            }
        }
    }
}

fn is_limited_pressure(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::FeedPressure
            | Quantity::ConcentratePressure
            | Quantity::LowSidePressure
            | Quantity::ProductPressure
    )
}
