//! Random and mutated frames through decoder, nodes and engine: nothing panics, memory stays, the bus is not flooded, and alerts are in time.
//!
//! ```text
//! report_hostile RECORDING COUNT SEED
//! ```
//!
//! A third of the frames is random, a third is from the recording with some bits turned, a third pretends to be what a node must answer: claims for its
//! address, requests, commands, packets, alert responses. Time is simulated: 1,900 frames a second, a full bus. The engine has two units, so two nodes.

#![expect(clippy::print_stdout, reason = "printing is what a report does")]
#![expect(clippy::unwrap_used, reason = "a report that cannot measure has failed")]

use barrico::engine::wall_clock::ClockMode;
use barrico::engine::{Command, Engine, Input, Options, Output, Restored, SourceState};
use barrico::settings;
use barrico_model::Monotonic;
use barrico_model::findings::FindingCode;
use barrico_n2k::candump::{Kind, lines, parse_line};
use barrico_n2k::pgn::{self, Content, OperatingState, WatermakerStatus};
use barrico_n2k::{Assembler, CanId, Frame, split};
use std::sync::Arc;

/// Frames a second on a full 250 kbit/s bus: 131 bit times for an 8-byte frame without stuffing.
const RATE: u64 = 1_900;
/// An alert is provoked so often, in frames: once a minute.
const ALERT_EVERY: u64 = 60 * RATE;
/// Groups that a node or the engine acts on.
const ACTED_ON: [u32; 11] =
    [59_392, 59_904, 60_160, 60_416, 60_928, 65_240, 126_208, 126_464, 126_983, 126_984, 130_567];
/// The unit's own sender; nobody else uses its address here, since a rule by address believes whoever has it.
const SENDER: u8 = 10;
/// Frames a second that strangers may make two nodes send: claims 10, other frames 100, each (limits of the node), and what the engine itself says: alerts
/// 250 each at most.
const SENT_PER_S_MAX: u64 = 2 * (10 + 100 + 250);

fn main() {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [recording, count, seed] = &arguments[..] else { panic!("see the first lines of this program") };
    let text = std::fs::read(recording).unwrap();
    let frame = |line| match parse_line(line).ok()?.kind {
        Kind::Data(frame) => Some(frame),
        _ => None,
    };
    let recorded: Vec<Frame> = lines(&text).filter_map(frame).collect();
    let mut trial = Trial::new(recorded, seed.parse().unwrap());
    trial.run(count.parse().unwrap());
}

/// The engine under fire, on simulated time.
struct Trial {
    engine: Engine,
    random: Random,
    recorded: Vec<Frame>,
    now: Monotonic,
    out: Vec<Output>,
    assembler: Assembler,
    sent_this_second: u64,
    most_in_a_second: u64,
    sequence: u8,
    occurrence: u32,
    heard_occurrence: Option<u8>,
    provoked: u64,
    without_address: u64,
    late: u64,
    /// Address of the first node, as its frames say.
    ours: u8,
}

impl Trial {
    fn new(recorded: Vec<Frame>, seed: u64) -> Self {
        let text = include_str!("hostile.toml");
        let settings =
            Arc::new(settings::parse(text, "hostile.toml").unwrap_or_else(|problems| panic!("{problems}")));
        let options = Options { clock: ClockMode::Live, find_units: false, transmit: true };
        let mut trial = Self {
            engine: Engine::new(settings, options),
            random: Random(seed | 1),
            recorded,
            now: Monotonic(0),
            out: vec![],
            assembler: Assembler::new(),
            sent_this_second: 0,
            most_in_a_second: 0,
            sequence: 0,
            occurrence: 0,
            heard_occurrence: None,
            provoked: 0,
            without_address: 0,
            late: 0,
            ours: 100,
        };
        trial.give(Input::Restored(Box::new(Restored { boot: seed, ..Restored::default() })));
        trial.give(Input::Source(SourceState::Open("a bus".to_owned())));
        trial
    }

    fn run(&mut self, count: u64) {
        let before_mb = memory_mb();
        for number in 0..count {
            self.now = Monotonic(number * 1_000 / RATE);
            let frame = self.hostile_frame();
            self.give(Input::Frame(frame));
            if self.engine.next_deadline().is_some_and(|at| at <= self.now) {
                let mut out = std::mem::take(&mut self.out);
                self.engine.handle_timeout(self.now, &mut out);
                self.out = out;
                self.carry_out();
            }
            if number % RATE == RATE - 1 {
                self.most_in_a_second = self.most_in_a_second.max(std::mem::take(&mut self.sent_this_second));
            }
            match number % ALERT_EVERY {
                // Ten seconds after the start the address is there.
                at if at == 20 * RATE => self.provoke(),
                at if at == 40 * RATE => self.settle(),
                // Until the clear time is over the unit says that all is well.
                at if 30 * RATE <= at && at % RATE == 0 => self.say(55.0),
                _ => {}
            }
        }
        assert!(self.most_in_a_second <= SENT_PER_S_MAX, "{} frames in a second", self.most_in_a_second);
        println!("hostile_frames_tried = {count} frames");
        println!("hostile_sent_per_s_max = {} frames/s", self.most_in_a_second);
        println!("hostile_sent_per_s_allowed = {SENT_PER_S_MAX} frames/s");
        println!("hostile_alerts = {} alerts", self.provoked);
        println!("hostile_alerts_late = {} alerts", self.late);
        println!("hostile_alerts_without_address = {} alerts", self.without_address);
        println!("hostile_memory_growth = {:.1} MB", memory_mb() - before_mb);
        assert_eq!(self.late, 0, "an alert was not out in the same moment");
    }

    /// The pressure is too high: the alert must go out before the next frame is taken.
    fn provoke(&mut self) {
        self.provoked += 1;
        let view = self.engine.view(self.now);
        let has_address = view.units[0].bus_address.is_some();
        self.heard_occurrence = None;
        self.say(75.0);
        let view = self.engine.view(self.now);
        let alert = view.units[0].findings.iter().find(|(alert, _)| alert.code == FindingCode::OverPressure);
        self.occurrence = alert.map(|(alert, _)| alert.occurrence).unwrap();
        if !has_address {
            self.without_address += 1;
        } else if self.heard_occurrence != Some((self.occurrence & 0xFF) as u8) {
            self.late += 1;
        }
    }

    /// A person has seen it, so that it can be raised again.
    fn settle(&mut self) {
        let command = Command::Acknowledge {
            unit: "one".to_owned(),
            code: FindingCode::OverPressure,
            about: None,
            occurrence: self.occurrence,
            by: "Robin".to_owned(),
        };
        self.give(Input::Command { request: 1, command: Box::new(command) });
    }

    fn say(&mut self, pressure_bar: f64) {
        let status = WatermakerStatus {
            operating_state: Some(OperatingState::Running),
            system_high_pressure_pa: Some(pressure_bar * 1e5),
            product_water_flow_l_h: Some(80.0),
            ..WatermakerStatus::default()
        };
        let mut payload = Vec::new();
        status.encode(&mut payload);
        self.sequence = self.sequence.wrapping_add(1);
        let id = CanId { priority: 6, pgn: WatermakerStatus::PGN, source: SENDER, destination: 255 };
        for frame in split(id, &payload, self.sequence).unwrap() {
            self.give(Input::Frame(frame));
        }
    }

    fn give(&mut self, input: Input) {
        let mut out = std::mem::take(&mut self.out);
        self.engine.handle(self.now, input, &mut out);
        self.out = out;
        self.carry_out();
    }

    fn carry_out(&mut self) {
        let mut out = std::mem::take(&mut self.out);
        let mut tickets = Vec::new();
        for output in out.drain(..) {
            match output {
                Output::Transmit(frame) => self.sent(&frame),
                Output::Persist(ticket, _) => tickets.push(ticket),
                Output::Reply { .. } | Output::Event(_) => {}
            }
        }
        self.out = out;
        for ticket in tickets {
            self.give(Input::Persisted(ticket));
        }
    }

    fn sent(&mut self, frame: &Frame) {
        self.sent_this_second += 1;
        if frame.can_id().source < 252 {
            self.ours = frame.can_id().source;
        }
        let Some(message) = self.assembler.push(self.now.0, frame.can_id(), frame.payload()) else { return };
        if let Some(Content::Alert(alert)) = pgn::decode(message.pgn, message.payload)
            && alert.head.alert_id.is_some_and(|id| id & 15 == 0)
        {
            self.heard_occurrence = alert.head.occurrence;
        }
    }

    fn hostile_frame(&mut self) -> Frame {
        let mut frame = match self.random.below(3) {
            0 => Frame::new(
                CanId::from_u32(self.random.bits() as u32 & 0x1FFF_FFFF),
                &self.random.bits().to_le_bytes(),
            ),
            1 => self.mutated(),
            _ => self.pretended(),
        };
        if frame.id & 0xFF == u32::from(SENDER) {
            frame.id ^= 1;
        }
        frame
    }

    fn mutated(&mut self) -> Frame {
        let index = self.random.below(self.recorded.len() as u64) as usize;
        let mut frame = self.recorded[index];
        for _ in 0..=self.random.below(3) {
            let bit = self.random.below(64) as usize;
            frame.data[bit / 8] ^= 1 << (bit % 8);
        }
        if self.random.below(8) == 0 {
            frame.id ^= 1 << self.random.below(29);
        }
        if self.random.below(16) == 0 {
            frame.len = self.random.below(9) as u8;
        }
        frame
    }

    /// What a node acts on, mostly to our address.
    fn pretended(&mut self) -> Frame {
        let pgn = ACTED_ON[self.random.below(ACTED_ON.len() as u64) as usize];
        let ours = self.ours;
        // A claim for our address is rare: a hostile device that did nothing else would keep it, by the rules of the bus.
        let source = if self.random.below(20_000) == 0 { ours } else { self.random.below(256) as u8 };
        let source = if pgn == 60_928 && source != ours { source | 0x80 } else { source };
        let destination = if self.random.below(4) == 0 { 255 } else { ours };
        let mut data = self.random.bits().to_le_bytes();
        // Frame numbers of fast packets that fit together now and then.
        if self.random.below(2) == 0 {
            data[0] &= 0x03;
        }
        Frame::new(CanId { priority: 6, pgn, source, destination }, &data)
    }
}

/// xorshift64* (Vigna 2016, ACM Trans. Math. Softw. 42, 30).
struct Random(u64);

impl Random {
    fn bits(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d)
    }

    fn below(&mut self, bound: u64) -> u64 {
        (self.bits() >> 11) % bound
    }
}

/// Resident memory of this process.
fn memory_mb() -> f64 {
    let text = std::fs::read_to_string("/proc/self/statm").unwrap();
    let pages: f64 = text.split(' ').nth(1).unwrap().parse().unwrap();
    pages * 4_096.0 / 1e6
}
