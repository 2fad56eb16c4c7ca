//! A simulated boat: what its devices put on the bus, and what its crew writes into the log.
//!
//! What it is: pure and seeded; the same seed gives the same frames on every machine. Time is an argument. Frames are made with the codec that
//! reads them. What it is not: a judge. It knows nothing of findings but which one a fault should lead to. Boat, units, passage and
//! crew are invented; parts are of the usual sizes of the trade with round numbers.
//!
//! | message | sender | interval |
//! | --- | --- | --- |
//! | 60928 address claim, 126996 product information | all | when the bus is switched on |
//! | 130567 status | controller of each unit | 2.5 s |
//! | 130316 sea temperature | depth sounder, paddle wheel log | 2 s |
//! | 127505 tank | tank senders | 2.5 s |
//! | 127504 generator output | generator panel, while it runs | 1.5 s |
//! | 127488 generator speed | generator panel, while it runs | 1 s (0.1 s on a real bus) |
//! | 127508 battery | battery monitor | 1.5 s |
//! | 129025 position | receiver | 1 s (0.1 s on a real bus) |
//! | 129029 position and date, 126992 time | receiver | 10 s, 5 s (1 s on a real bus) |

mod boat;
mod crew;
mod devices;
mod faults;
mod physics;
mod random;
mod schedule;
mod sea;
mod talk;
mod unit;

#[cfg(test)]
mod tests;

pub use boat::{Boat, Happening};
pub use faults::{FAULTS, Fault, FaultEntry, FaultOrder};
pub use physics::Doing;
pub use sea::Water;
pub use unit::Truth;

use crate::engine::Command;
use crate::settings::{Problems, Settings, parse};
use barrico_model::performance::NotComputable;
use barrico_model::{Monotonic, WallMs};
use barrico_n2k::Frame;
use crew::Crew;
use devices::Devices;
use faults::Faults;
use random::Random;
use schedule::{DAY_S, Habit};
use sea::Sea;
use unit::Unit;

/// The boat's settings: a valid settings file.
pub const SETTINGS: &str = include_str!("demo.toml");

/// The passage begins on 3 May 2027 at 05:00 UTC (an invented date).
pub const BEGIN_WALL_MS: WallMs = 1_809_320_400_000;

/// Steps of the simulation, ms.
const STEP_MS: u64 = 500;
/// Instruments are switched on so long before a run and off so long after it, s.
const AROUND_RUN_S: u64 = 120;
/// What was really the case is kept for so many runs.
const TRUTHS_MAX: usize = 1000;

/// Usual runs of the two units: twice a day from the generator; every second day around noon from the batteries. Seconds of the day, UTC.
const HABITS: [Habit; 2] = [
    Habit { starts_s: &[25_200, 61_200], every_days: 1, length_s: (7_200.0, 9_000.0) },
    Habit { starts_s: &[43_200], every_days: 2, length_s: (3_600.0, 5_400.0) },
];

/// What is to happen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scenario {
    /// Faults and when they begin.
    pub faults: Vec<FaultOrder>,
    /// The instruments are off while no unit runs, as on a boat that saves its batteries. Days then pass quickly.
    pub bus_sleeps: bool,
    /// Shortest and longest run in s, where the usual two hours would take too long to simulate.
    pub run_length_s: Option<(f64, f64)>,
}

/// The boat.
#[derive(Clone, Debug)]
pub struct Simulator {
    faults: Vec<FaultOrder>,
    bus_sleeps: bool,
    sea: Sea,
    units: Vec<Unit>,
    crews: Vec<Crew>,
    devices: Devices,
    next_ms: u64,
    /// Made already, not yet due, in order of time.
    pending: Vec<(Monotonic, Frame)>,
    awake: bool,
    log: Vec<(Monotonic, Command)>,
    truths: Vec<Truth>,
}

/// Settings of the simulated boat.
///
/// # Errors
/// None that can be met: a test parses the built-in text.
pub fn settings() -> Result<Settings, Problems> {
    parse(SETTINGS, "demo.toml")
}

impl Simulator {
    /// A boat at the beginning of its passage, with the units of its settings.
    ///
    /// # Errors
    /// Sheets in the settings that no membrane meets.
    pub fn new(seed: u64, scenario: Scenario, settings: &Settings) -> Result<Self, NotComputable> {
        let begin_s = (BEGIN_WALL_MS / 1000) as u64 % DAY_S;
        let controllers = [("main", talk::CONTROLLER), ("small", talk::SMALL_CONTROLLER)];
        let mut units = Vec::new();
        for (index, (identity, habit)) in controllers.into_iter().zip(HABITS).enumerate() {
            let Some(of_unit) = settings.units.iter().find(|unit| unit.id == identity.0) else { continue };
            let random = Random::new(seed, 100 + index as u64);
            let habit = Habit { length_s: scenario.run_length_s.unwrap_or(habit.length_s), ..habit };
            units.push(Unit::new(identity, &of_unit.parts, habit, begin_s, random, index == 0)?);
        }
        let crews = (0..units.len() as u64).map(|index| Crew::new(Random::new(seed, 200 + index))).collect();
        Ok(Self {
            faults: scenario.faults,
            bus_sleeps: scenario.bus_sleeps,
            sea: Sea::new(seed),
            units,
            crews,
            devices: Devices::new(Random::new(seed, 300)),
            next_ms: 0,
            pending: Vec::new(),
            awake: false,
            log: Vec::new(),
            truths: Vec::new(),
        })
    }

    /// Lets the instruments run on between runs, or not.
    pub fn set_bus_sleeps(&mut self, sleeps: bool) {
        self.bus_sleeps = sleeps;
    }

    /// Lets another fault begin.
    pub fn add_fault(&mut self, order: FaultOrder) {
        self.faults.push(order);
    }

    /// Everything that is on the bus until this time, in order.
    pub fn advance(&mut self, to: Monotonic, out: &mut Vec<(Monotonic, Frame)>) {
        let mut pending = std::mem::take(&mut self.pending);
        while self.next_ms <= to.0 {
            self.step(Monotonic(self.next_ms), &mut pending);
            self.next_ms += STEP_MS;
            if self.bus_sleeps && !self.awake {
                self.next_ms = self.next_ms.max(self.wakes_s() * 1000);
            }
        }
        // Stable: frames of one moment stay in the order in which they were made.
        pending.sort_by_key(|(at, _)| *at);
        let due = pending.partition_point(|(at, _)| *at <= to);
        out.extend(pending.drain(..due));
        self.pending = pending;
    }

    /// What the crew wrote since the last call, in order.
    pub fn take_log(&mut self) -> Vec<(Monotonic, Command)> {
        std::mem::take(&mut self.log)
    }

    /// What was really the case, one row for each run, the latest thousand.
    pub fn truths(&self) -> &[Truth] {
        &self.truths
    }

    /// Time of the next thing that can be on the bus.
    pub fn next_at(&self) -> Monotonic {
        Monotonic(self.next_ms)
    }

    /// Seconds since the main unit came to working pressure, while it runs.
    pub fn main_runs_s(&self) -> Option<u64> {
        match self.units.first()?.phase {
            schedule::Phase::Running(seconds) => Some(seconds),
            _ => None,
        }
    }

    /// Does any unit run, or is it about to or just over?
    pub fn is_busy(&self) -> bool {
        let now_s = self.next_ms / 1000;
        self.units.iter().any(|unit| self.is_near_run(unit, now_s))
    }

    fn is_near_run(&self, unit: &Unit, now_s: u64) -> bool {
        let run = unit.schedule.run;
        let left = unit.ails && self.away_s().is_some_and(|away| away <= run.start_s);
        let before =
            run.start_s.saturating_sub(AROUND_RUN_S) <= now_s && now_s < unit.schedule.done_s() && !left;
        // The schedule moves on as soon as the flush is over; the instruments stay on a little.
        before || unit.off_since_s.is_some_and(|off| now_s < off + AROUND_RUN_S)
    }

    /// Second at which the next run needs the instruments.
    fn wakes_s(&self) -> u64 {
        let starts = self.units.iter().map(|unit| unit.schedule.run.start_s.saturating_sub(AROUND_RUN_S));
        starts.min().unwrap_or(0)
    }

    /// Second from which on the crew leaves the unit alone.
    fn away_s(&self) -> Option<u64> {
        let order = self.faults.iter().find(|order| order.fault == Fault::NoFlush)?;
        Some((order.from_h * 3600.0) as u64)
    }

    fn step(&mut self, now: Monotonic, out: &mut Vec<(Monotonic, Frame)>) {
        let now_s = now.0 / 1000;
        let hours = now.0 as f64 / 3.6e6;
        let faults = Faults::at(&self.faults, hours);
        let wall_ms = BEGIN_WALL_MS + now.0 as i64;
        let hour_of_day = (wall_ms.rem_euclid(86_400_000)) as f64 / 3.6e6;
        let water = faults.water(self.sea.at(hours, hour_of_day));
        let away = self.away_s();
        for (index, (unit, crew)) in self.units.iter_mut().zip(&mut self.crews).enumerate() {
            unit.pass(now_s, hours, &water, &faults, away);
            if now.0.is_multiple_of(1000) {
                let mut commands = Vec::new();
                crew.write(unit, &water, &mut commands);
                self.log.extend(commands.into_iter().map(|command| (now, command)));
            }
            note_truth(&mut self.truths, index, unit, water);
        }
        let awake = !self.bus_sleeps || self.is_busy();
        if awake && !self.awake {
            self.devices.switch_on(now, out);
        }
        self.awake = awake;
        if awake {
            self.devices.talk(now, wall_ms, &water, &faults, &mut self.units, out);
        }
    }
}

fn note_truth(truths: &mut Vec<Truth>, index: usize, unit: &Unit, water: Water) {
    if !unit.is_running() {
        return;
    }
    let start_s = unit.schedule.run.start_s;
    let truth = Truth { unit: index, start_s, water, doing: unit.doing };
    match truths.iter_mut().rev().take(4).find(|known| known.unit == index && known.start_s == start_s) {
        Some(known) => *known = truth,
        None => {
            if TRUTHS_MAX <= truths.len() {
                truths.remove(0);
            }
            truths.push(truth);
        }
    }
}
