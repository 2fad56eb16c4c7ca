//! The concentrate valve of a unit: its law, learnt from what runs do while nobody turns it, and where it stands.
//!
//! One window a minute from the first minute of a run: the law holds at once, whatever the temperature does. Needs a measured pressure at the membranes and a measured
//! concentrate flow, or feed and product flow; otherwise nothing is learnt and the usual exponent stands.

use super::unit::Unit;
use barrico_model::Quantity;
use barrico_model::math;
use barrico_model::parts::{Parts, PressureControl};
use barrico_model::plant::valve_law::{LearntExponent, Spell, SpellCollector, Window, learn, moved};
use barrico_model::plant::{ConcentrateValve, Estimate};
use barrico_model::quantity::{Salinity, Temperature};
use barrico_model::records::{Origin, Reading, RunRecord};
use barrico_model::seawater::density::density_kg_m3;

/// Length of a window, s: pulsation averages out, and a turn of the valve falls into few of them.
const WINDOW_S: u32 = 60;
/// A window in which pressure or flow wander by more than this share has a turn of the valve or a start in it.
const WANDER_MAX: f64 = 0.03;
/// Seconds of one another are alike; of a window's readings so many stand for one (our choice).
const ALIKE: f64 = 10.0;
/// Pressure lost along one element at this mean flow, as the default law of small elements has it: 0.365 bar at 348 L/h, exponent 1.42.
const DROP: (f64, f64, f64) = (0.365, 348.0, 1.42);
/// Salinity of the sea, g/kg, and temperature, °C, for the density where none is known: both move it by a few parts in a thousand.
const SEA: (f64, f64) = (35.0, 20.0);

/// Sums of one quantity within a window.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    count: u32,
    mean: f64,
    m2: f64,
}

impl Sum {
    fn add(&mut self, value: f64) {
        self.count += 1;
        let delta = value - self.mean;
        self.mean += delta / f64::from(self.count);
        self.m2 += delta * (value - self.mean);
    }

    fn sd(&self) -> f64 {
        if self.count < 2 { 0.0 } else { (self.m2 / f64::from(self.count - 1)).sqrt() }
    }

    fn estimate(&self) -> Estimate {
        Estimate::new(self.mean, self.sd() / (f64::from(self.count) / ALIKE).max(1.0).sqrt())
    }
}

/// Follows the valve through one run.
#[derive(Clone, Debug, Default)]
pub struct ValveFollower {
    seconds: u32,
    pressure: Sum,
    flow: Sum,
    collector: SpellCollector,
}

impl ValveFollower {
    /// One second of the run.
    pub fn second(
        &mut self,
        current: &[Option<Reading>],
        parts: &Parts,
        usual_g_kg: Option<f64>,
        exponent: Estimate,
    ) {
        let measured = |quantity: Quantity| {
            let reading = current[quantity as usize]?;
            matches!(reading.origin, Origin::Nmea2000 { .. }).then_some(reading.value)
        };
        let product = measured(Quantity::ProductFlow);
        let flow = measured(Quantity::ConcentrateFlow)
            .or_else(|| Some(measured(Quantity::FeedFlow)? - product?))
            .filter(|flow| 0.0 < *flow);
        let pressure = measured(Quantity::ConcentratePressure).or_else(|| {
            let mean = flow? + 0.5 * product.unwrap_or(0.0);
            let per_train = mean / f64::from(parts.parallel_trains.max(1));
            let drop = DROP.0 * math::pow(per_train / DROP.1, DROP.2) * parts.elements.len() as f64;
            Some(measured(Quantity::FeedPressure)? - drop)
        });
        if let (Some(pressure), Some(flow)) = (pressure, flow) {
            self.pressure.add(pressure);
            self.flow.add(flow);
        }
        self.seconds += 1;
        if self.seconds < WINDOW_S {
            return;
        }
        let still = |sum: &Sum| sum.sd() <= WANDER_MAX * sum.mean.abs();
        if WINDOW_S / 2 <= self.pressure.count && still(&self.pressure) && still(&self.flow) {
            let any = |quantity: Quantity| current[quantity as usize].map(|reading| reading.value);
            let recovery = product.map_or(0.0, |product| product / (product + self.flow.mean));
            let feed_g_kg = any(Quantity::FeedSalinity).or(usual_g_kg).unwrap_or(SEA.0);
            let salinity = feed_g_kg / (1.0 - recovery.clamp(0.0, 0.8));
            let celsius = any(Quantity::FeedTemperature).unwrap_or(SEA.1);
            if let (Ok(temperature), Ok(salinity)) =
                (Temperature::from_celsius(celsius), Salinity::from_g_kg(salinity))
            {
                let density_kg_m3 = density_kg_m3(temperature, salinity);
                let (pressure_bar, concentrate_flow_l_h) = (self.pressure.estimate(), self.flow.estimate());
                self.collector.add(&Window { pressure_bar, concentrate_flow_l_h, density_kg_m3 }, exponent);
            }
        }
        self.restart_window();
    }

    /// Throws the window away that has just begun.
    pub fn restart_window(&mut self) {
        (self.seconds, self.pressure, self.flow) = (0, Sum::default(), Sum::default());
    }

    /// The spells so far.
    pub fn spells(&self) -> &[Spell] {
        self.collector.spells()
    }
}

impl Unit {
    /// Learns the exponent anew from all runs that are remembered.
    pub fn learn_valve(&mut self) {
        let spells: Vec<Spell> = self.runs.iter().flat_map(|run| run.valve.iter().copied()).collect();
        self.valve = learn(&spells, ConcentrateValve::usual_exponent(self.settings.parts.pressure_control));
    }

    /// Was the valve moved between the run before and these spells? Where the crew sets it at every start, it was.
    pub(super) fn valve_moved(&self, spells: &[Spell]) -> bool {
        match self.settings.parts.pressure_control {
            PressureControl::HandSetPressure | PressureControl::HandSetFlow => true,
            PressureControl::FixedRecovery => false,
            PressureControl::Regulated | PressureControl::FixedValve => {
                let before = self.runs.iter().rev().find_map(|run: &RunRecord| run.valve.last());
                match (before, spells.first()) {
                    (Some(before), Some(after)) => moved(before, after, self.valve.exponent),
                    _ => false,
                }
            }
        }
    }

    /// Where the valve stands: from the run that goes on, else from the last one, unless the crew sets it anew at every start.
    pub fn valve_setting(&self) -> Option<ConcentrateValve> {
        let exponent = self.valve.exponent.value;
        let now = self.run.as_ref().and_then(|run| run.valve.spells().last());
        let kept = match self.settings.parts.pressure_control {
            PressureControl::HandSetPressure | PressureControl::HandSetFlow => None,
            PressureControl::FixedRecovery => return None,
            _ => self.runs.iter().rev().find_map(|run| run.valve.last()),
        };
        now.or(kept).map(|spell| spell.setting(exponent))
    }

    /// What was learnt of the valve; `None` where there is none.
    pub fn valve_law(&self) -> Option<LearntExponent> {
        (self.settings.parts.pressure_control != PressureControl::FixedRecovery).then_some(self.valve)
    }
}

#[cfg(test)]
mod tests;
