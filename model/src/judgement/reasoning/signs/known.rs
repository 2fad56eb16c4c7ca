//! Questions to a situation: the present value, the sound unit's, the course within the run and over weeks.

use super::super::situation::{Role, Situation};
use crate::parts::{DriveKind, PressureControl};
use crate::records::EventKind;
use crate::{Quantity, WallMs};

/// A reading counts as present for so long, minutes: one walk round the unit and a little more (our choice).
const PRESENT_MIN: f64 = 45.0;
/// Readings of one run lie so close if nobody says when it began, minutes (our choice).
const RUN_MIN: f64 = 180.0;
const MS_PER_MIN: f64 = 60_000.0;
/// Minutes in a day.
pub const DAY_MIN: f64 = 1_440.0;
/// What a pump delivers of its nameplate when nobody has measured it: public pump pages give 0.90 to 0.96.
const DELIVERY: f64 = 0.92;
/// Share of the rated power over volts and amps: motor and power factor of small single-phase motors (common practice), of direct-current ones (common practice).
const CURRENT_SHARE: (f64, f64) = (0.55, 0.75);

/// Read access.
pub struct Known<'s> {
    pub s: &'s Situation<'s>,
    now: WallMs,
}

impl<'s> Known<'s> {
    pub fn new(s: &'s Situation<'s>) -> Self {
        let latest = s.sets.iter().filter_map(|set| set.at).max();
        Self { s, now: s.now.or(latest).unwrap_or(0) }
    }

    /// Readings of a quantity with their minutes before the present, oldest first.
    pub fn series(&self, quantity: Quantity) -> Vec<(f64, f64)> {
        let ago = |at: Option<WallMs>| at.map_or(0.0, |at| (self.now - at) as f64 / MS_PER_MIN);
        let mut series: Vec<(f64, f64)> = self
            .s
            .sets
            .iter()
            .flat_map(|set| set.values.iter().map(move |(known, value)| (ago(set.at), *known, *value)))
            .filter(|(_, known, _)| *known == quantity)
            .map(|(ago, _, value)| (ago, value))
            .collect();
        series.sort_by(|a, b| b.0.total_cmp(&a.0));
        series
    }

    /// Those of the present run.
    pub fn in_run(&self, quantity: Quantity) -> Vec<(f64, f64)> {
        let longest = self.s.around.minutes_since_start.map_or(RUN_MIN, |minutes| minutes + 1.0);
        self.series(quantity).into_iter().filter(|(ago, _)| *ago <= longest).collect()
    }

    /// The present value.
    pub fn now(&self, quantity: Quantity) -> Option<f64> {
        let last = self.series(quantity).last().copied()?;
        (last.0 <= PRESENT_MIN).then_some(last.1)
    }

    /// The sound unit's.
    pub fn base(&self, quantity: Quantity) -> Option<f64> {
        let all: Vec<f64> =
            self.s.baseline.iter().filter(|(known, _)| *known == quantity).map(|(_, value)| *value).collect();
        (!all.is_empty()).then(|| all.iter().sum::<f64>() / all.len() as f64)
    }

    /// Present value over the sound unit's.
    pub fn ratio(&self, quantity: Quantity) -> Option<f64> {
        let (now, base) = (self.now(quantity)?, self.base(quantity)?);
        (0.0 < base).then(|| now / base)
    }

    /// Pressure of the high side.
    pub fn high(&self) -> Option<f64> {
        self.now(Quantity::FeedPressure).or(self.now(Quantity::ConcentratePressure))
    }

    /// The course of the high side's pressure within the run.
    pub fn high_in_run(&self) -> Vec<(f64, f64)> {
        let feed = self.in_run(Quantity::FeedPressure);
        if feed.is_empty() { self.in_run(Quantity::ConcentratePressure) } else { feed }
    }

    /// Pressure that the unit works at when sound: as read then, else as set.
    pub fn usual_high(&self) -> Option<f64> {
        let parts = self.s.parts;
        let set = match parts.pressure_control {
            PressureControl::FixedValve => parts.valve_set_at.map(|set| set.pressure_bar),
            PressureControl::Regulated | PressureControl::HandSetPressure => parts.set_pressure_bar,
            PressureControl::HandSetFlow | PressureControl::FixedRecovery => None,
        };
        self.base(Quantity::FeedPressure).or(self.base(Quantity::ConcentratePressure)).or(set)
    }

    /// Product of the sound unit, else what the sheets promise in all.
    pub fn usual_product(&self) -> (f64, bool) {
        let parts = self.s.parts;
        let sheets: f64 = parts.elements.iter().map(|element| element.sheet.nominal_flow_l_h).sum();
        match self.base(Quantity::ProductFlow) {
            Some(base) => (base, true),
            None => (sheets * f64::from(parts.parallel_trains.max(1)), false),
        }
    }

    /// Product and concentrate together over what they were, or over the nameplate: then the second is false.
    pub fn delivery(&self) -> Option<(f64, bool)> {
        let of = |read: &dyn Fn(Quantity) -> Option<f64>| {
            let product = read(Quantity::ProductFlow);
            read(Quantity::FeedFlow).or(Some(read(Quantity::ConcentrateFlow)? + product?))
        };
        let now = of(&|quantity| self.now(quantity));
        if let (Some(now), Some(base)) = (now, of(&|quantity| self.base(quantity)).filter(|base| 0.0 < *base))
        {
            return Some((now / base, true));
        }
        if let Some(ratio) = self.ratio(Quantity::ConcentrateFlow) {
            return Some((ratio, true));
        }
        let nameplate = self.s.parts.pump.delivery.unwrap_or(DELIVERY) * self.s.parts.pump.nameplate_flow_l_h;
        let now = now.or(self.now(Quantity::ConcentrateFlow))?;
        (0.0 < nameplate).then(|| (now / nameplate, false))
    }

    /// Concentrate as read, or feed less product.
    pub fn concentrate(&self, read: &dyn Fn(Quantity) -> Option<f64>) -> Option<f64> {
        let by_feed = || Some(read(Quantity::FeedFlow)? - read(Quantity::ProductFlow)?);
        read(Quantity::ConcentrateFlow).or_else(by_feed)
    }

    /// Rated volts of the motor and its rated current as far as the parts tell.
    pub fn motor(&self) -> (Option<f64>, Option<f64>) {
        let drive = &self.s.parts.drive;
        let (volts, share, phases) = match drive.kind {
            DriveKind::AcSinglePhase { voltage_v, .. } => (voltage_v, CURRENT_SHARE.0, 1.0),
            DriveKind::AcThreePhase { voltage_v, .. } => (voltage_v, CURRENT_SHARE.0, 1.732),
            DriveKind::Inverter { voltage_v, .. } => (voltage_v, CURRENT_SHARE.0, 1.0),
            DriveKind::Dc { voltage_v } => (voltage_v, CURRENT_SHARE.1, 1.0),
            DriveKind::Belt { .. } | DriveKind::Hydraulic => return (None, None),
        };
        let amps = drive.motor_power_w.map(|watts| watts / (volts * share * phases));
        (Some(volts), amps.filter(|amps| amps.is_finite()))
    }

    /// Salt of the product as dissolved solids, mg/L, from either reading.
    pub fn salt_series(&self) -> Vec<(f64, f64)> {
        let solids = self.series(Quantity::ProductSalinity);
        if !solids.is_empty() {
            return solids;
        }
        let halved = |(ago, us_cm): (f64, f64)| (ago, SOLIDS_PER_US_CM * us_cm);
        self.series(Quantity::ProductConductivity).into_iter().map(halved).collect()
    }

    /// The sound unit's salt of the product, mg/L.
    pub fn base_salt(&self) -> Option<f64> {
        let conductivity = self.base(Quantity::ProductConductivity).map(|us_cm| SOLIDS_PER_US_CM * us_cm);
        self.base(Quantity::ProductSalinity).or(conductivity)
    }

    /// Is the unit on, as far as anything says?
    pub fn is_on(&self) -> Option<bool> {
        let runs = self.s.around.minutes_since_start.map(|_| true);
        let works = self.high().filter(|bar| WORKING_BAR < *bar).map(|_| true);
        self.s.around.commanded_on.or(runs).or(works)
    }

    /// What somebody saw: yes, no, or nobody looked.
    pub fn saw(&self, code: &str) -> Option<bool> {
        self.s.seen.iter().find(|(known, _)| *known == code).map(|(_, yes)| *yes)
    }

    /// Days since the latest event of a kind; events without a date happened before the readings, somewhen.
    pub fn days_since(&self, kind: EventKind) -> Option<f64> {
        let all = self.s.events.iter().filter(|event| event.kind == kind);
        all.map(|event| event.days_ago.unwrap_or(1.0)).filter(|days| 0.0 <= *days).min_by(f64::total_cmp)
    }

    /// Readings by second instruments.
    pub fn second(&self, quantity: Quantity) -> impl Iterator<Item = f64> {
        let of = move |one: &&super::super::situation::Beside| {
            one.role == Role::SecondInstrument && one.quantity == quantity
        };
        self.s.beside.iter().filter(of).map(|one| one.value)
    }

    /// Litres in the tank against minutes before the present.
    pub fn tank(&self) -> Vec<(f64, f64)> {
        let Some(litres) = self.s.around.tank_litres else { return vec![] };
        let levels = self.series(Quantity::TankLevel).into_iter();
        levels.map(|(ago, percent)| (ago, percent / 100.0 * litres)).collect()
    }
}

/// Dissolved solids, mg/L, of one µS/cm, for comparing readings of a product with each other (the scale that meters print on themselves).
pub const SOLIDS_PER_US_CM: f64 = 0.5;
/// No membrane of a seawater unit makes product below this, bar: less than the osmotic pressure of brackish water at 20 g/kg (14 bar).
pub const WORKING_BAR: f64 = 14.0;

/// 0 below `none`, 1 above `full` (or the other way round), straight between: no sign hangs on a digit.
pub fn ramp(x: f64, none: f64, full: f64) -> f64 {
    ((x - none) / (full - none)).clamp(0.0, 1.0)
}
