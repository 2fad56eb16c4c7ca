//! One simulated unit: its run, its working point, what its controller reports.

use super::faults::{Fault, Faults};
use super::physics::{Doing, Physics};
use super::random::{Random, Wander};
use super::schedule::{Habit, Phase, Schedule};
use super::sea::Water;
use super::talk::Device;
use barrico_model::math;
use barrico_model::parts::Parts;
use barrico_model::performance::NotComputable;
use barrico_n2k::pgn::{OperatingState, WatermakerStatus};

/// The working point is worked out anew so often, s: sea and wear change more slowly.
const SOLVE_S: u64 = 60;
/// Salt that has passed the membrane at rest comes out first: so many times the settled salinity more, and how fast it fades, s.
const FIRST_SALT: (f64, f64) = (3.0, 200.0);
/// Into a run so far the sticking regulator shows, s.
const STICKS_AFTER_S: u64 = 300;
/// How far a sticking regulator goes above its setting, bar.
const STUCK_BAR: f64 = 13.0;
/// Pressure of the boost pump, bar, and what a fresh pre-filter takes of it.
const BOOST_BAR: (f64, f64) = (1.6, 0.08);
/// A pre-filter takes this share more of the pressure for each running hour (our choice: full after some weeks).
const FILTER_PER_H: f64 = 0.012;
/// Product water through the vessel at a flush, L/h.
const FLUSH_L_H: f64 = 250.0;
/// Pascal in a bar.
const BAR: f64 = 1e5;
/// Absolute zero in °C.
const KELVIN: f64 = 273.15;

/// What was really the case in one run, for tests.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Truth {
    /// Index of the unit.
    pub unit: usize,
    /// Start of the run, seconds since the beginning.
    pub start_s: u64,
    /// Water in the middle of what ran so far.
    pub water: Water,
    /// What the unit did then.
    pub doing: Doing,
}

/// One unit.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    pub id: &'static str,
    pub controller: Device,
    pub schedule: Schedule,
    /// Faults of the scenario are this unit's.
    pub ails: bool,
    /// Its controller has a sensor for the concentrate flow.
    pub has_concentrate_sensor: bool,
    pub phase: Phase,
    pub doing: Doing,
    pub run_time_s: f64,
    pub filter_hours: f64,
    physics: Physics,
    random: Random,
    regulator: Wander,
    flow: Wander,
    run_offset_bar: f64,
    cell_factor: f64,
    flow_sensor_works: bool,
    solved_s: Option<u64>,
    last_s: u64,
    /// When it came to rest after its latest run.
    pub off_since_s: Option<u64>,
}

impl Unit {
    pub fn new(
        (id, controller): (&'static str, Device),
        parts: &Parts,
        habit: Habit,
        begin_s: u64,
        mut random: Random,
        ails: bool,
    ) -> Result<Self, NotComputable> {
        let physics = Physics::new(parts, &mut random)?;
        let has_concentrate_sensor = physics.recovers_energy();
        let plan = Random::new(u64::from(controller.address) ^ (random.uniform() * 1e9) as u64, 7);
        Ok(Self {
            id,
            controller,
            schedule: Schedule::new(habit, plan, begin_s),
            ails,
            has_concentrate_sensor,
            phase: Phase::Stopped,
            doing: Doing::default(),
            run_time_s: 2.6e6,
            filter_hours: 0.0,
            physics,
            random,
            regulator: Wander::new(0.15, 900.0),
            flow: Wander::new(0.004, 600.0),
            run_offset_bar: 0.0,
            cell_factor: 1.0,
            flow_sensor_works: true,
            solved_s: None,
            last_s: 0,
            off_since_s: None,
        })
    }

    /// Lets time pass to this second.
    pub fn pass(&mut self, now_s: u64, hours: f64, water: &Water, faults: &Faults, away_s: Option<u64>) {
        let passed = now_s.saturating_sub(self.last_s) as f64;
        if self.is_running() {
            self.run_time_s += passed;
            self.filter_hours += passed / 3600.0;
        }
        self.last_s = now_s;
        self.schedule.move_on(now_s);
        let was_on = self.is_on();
        self.phase = self.schedule.phase(now_s, away_s.filter(|_| self.ails));
        if was_on && !self.is_on() {
            self.off_since_s = Some(now_s);
        }
        let running_s = match self.phase {
            Phase::Running(seconds) => seconds,
            // What it comes up to must not be what an earlier run left behind.
            Phase::Starting(_) => 0,
            _ => {
                self.solved_s = None;
                return;
            }
        };
        if self.solved_s.is_none() {
            self.run_offset_bar = 0.2 * self.random.normal();
        }
        let sticks = self.ails && faults.since(Fault::OverPressure).is_some() && STICKS_AFTER_S <= running_s;
        let due =
            self.solved_s.is_none_or(|at| at + SOLVE_S <= now_s || at < now_s && running_s == STICKS_AFTER_S);
        if due {
            let mut wear = if self.ails { faults.wear() } else { Faults::default().wear() };
            wear.stuck_bar = if sticks { STUCK_BAR } else { 0.0 };
            let off = self.run_offset_bar + self.regulator.after(SOLVE_S as f64, &mut self.random);
            self.flow.after(SOLVE_S as f64, &mut self.random);
            // A water in which nothing works leaves the last working point standing.
            if let Ok(doing) = self.physics.doing(water, hours, &wear, off) {
                self.doing = doing;
            }
            self.solved_s = Some(now_s);
        }
        self.cell_factor = if self.ails { faults.cell_factor() } else { 1.0 };
        self.flow_sensor_works = !(self.ails && faults.since(Fault::SensorLost).is_some());
    }

    /// Is it at working pressure?
    pub fn is_running(&self) -> bool {
        matches!(self.phase, Phase::Running(_))
    }

    /// Does it take power?
    pub fn is_on(&self) -> bool {
        self.phase != Phase::Stopped
    }

    /// Power of the high-pressure pump as its meter shows it, W.
    pub fn power_w(&mut self) -> f64 {
        let share = match self.phase {
            Phase::Running(_) => 1.0,
            Phase::Starting(per_mille) => per_mille as f64 / 1000.0,
            _ => 0.0,
        };
        share * self.doing.power_w * (1.0 + 0.01 * self.random.normal())
    }

    /// What the controller says now.
    pub fn status(&mut self, water: &Water) -> WatermakerStatus {
        let noise = |random: &mut Random, sd: f64| sd * random.normal();
        let (share, state) = match self.phase {
            Phase::Stopped => (0.0, OperatingState::Stopped),
            Phase::Starting(per_mille) => (per_mille as f64 / 1000.0, OperatingState::Starting),
            Phase::Running(_) => (1.0, OperatingState::Running),
            Phase::Stopping => (0.1, OperatingState::Stopping),
            Phase::Flushing => (0.0, OperatingState::Flushing),
        };
        let runs = state == OperatingState::Running;
        let flushes = state == OperatingState::Flushing;
        let first_salt = match self.phase {
            Phase::Running(s) => 1.0 + FIRST_SALT.0 * math::exp(-(s as f64) / FIRST_SALT.1),
            _ => 1.0,
        };
        let salt = self.doing.product_tds_mg_l * first_salt * self.cell_factor;
        let feed_bar =
            if share > 0.0 { share * self.doing.feed_bar + noise(&mut self.random, 0.15) } else { 0.0 };
        let product = if runs {
            self.doing.product_l_h * (1.0 + self.flow_wander() + noise(&mut self.random, 0.008))
        } else {
            0.0
        };
        let concentrate = match self.phase {
            Phase::Running(_) => self.doing.concentrate_l_h * (1.0 + noise(&mut self.random, 0.008)),
            Phase::Flushing => FLUSH_L_H,
            _ => 0.0,
        };
        let boosted = if self.is_on() { BOOST_BAR.0 } else { 0.0 };
        let over_filter = if runs { BOOST_BAR.1 * (1.0 + FILTER_PER_H * self.filter_hours) } else { 0.0 };
        let before = if boosted > 0.0 { boosted + noise(&mut self.random, 0.02) } else { 0.0 };
        WatermakerStatus {
            operating_state: Some(state),
            production: Some(runs),
            rinse: Some(false),
            low_pressure_pump: Some(self.is_on()),
            high_pressure_pump: Some(share > 0.0),
            emergency_stop: Some(false),
            product_solenoid_valve_warning: Some(false),
            flush_mode: Some(flushes),
            salinity_warning: Some(false),
            sensor_warning: Some(!self.flow_sensor_works),
            oil_change_warning: Some(false),
            filter_warning: Some(false),
            system_warning: Some(false),
            salinity_ppm: runs.then(|| salt * (1.0 + noise(&mut self.random, 0.01))),
            product_water_temperature_k: runs.then_some(water.temperature_c + 0.4 + KELVIN),
            pre_filter_pressure_pa: Some(before.max(0.0) * BAR),
            post_filter_pressure_pa: Some((before - over_filter).max(0.0) * BAR),
            feed_pressure_pa: None,
            system_high_pressure_pa: Some(feed_bar.max(0.0) * BAR),
            product_water_flow_l_h: self.flow_sensor_works.then_some(product),
            brine_water_flow_l_h: self.has_concentrate_sensor.then_some(concentrate),
            run_time_s: Some(self.run_time_s),
        }
    }

    fn flow_wander(&mut self) -> f64 {
        self.flow.after(0.0, &mut self.random)
    }
}
