//! A parts list to be compared, and the waters it is compared in.

use super::supply::Supply;
use super::unknown::{Figure, Unknown};
use super::year::Consumable;
use crate::parts::Parts;
use crate::plant::{Estimate, drive};

/// One candidate.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The parts list.
    pub parts: Parts,
    /// What feeds it.
    pub supply: Supply,
    /// Power of boost pump, controls and the like on the same supply, W.
    pub other_power_w: f64,
    /// Current at the moment of the start, as on the motor's plate, A.
    pub start_current_a: Option<f64>,
    /// Start current over rated current (locked rotor), as on the motor's plate.
    pub start_current_times: Option<f64>,
    /// Purchase, in the reader's currency.
    pub purchase: Option<f64>,
    /// Weight, kg.
    pub weight_kg: Option<f64>,
    /// What is used up.
    pub consumables: Vec<Consumable>,
}

/// One water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Salinity, g/kg.
    pub salinity_g_kg: f64,
    /// Share of the year's days of water-making that are spent here, 0 to 1.
    pub share: Option<f64>,
    /// What the sun leaves for making water on a day here, Wh at the battery.
    pub solar_wh_day: Option<f64>,
}

/// Relative standard deviation of a start current worked out from the rated power. Our choice, no source.
const START_SD: f64 = 0.15;

impl Candidate {
    /// Current at the moment of the start, A: from the plate, or the plate's multiple of the rated current.
    pub fn start_current(&self) -> Figure {
        if let Some(amperes) = self.start_current_a {
            return Ok(Estimate::exact(amperes));
        }
        let electric = drive::electric(&self.parts.drive)?;
        let times = self.start_current_times.ok_or(Unknown::NotEntered("the motor's start current"))?;
        let rated_w = self.parts.drive.motor_power_w.ok_or(Unknown::NotEntered("the motor's rated power"))?;
        let rated_a =
            rated_w / (electric.efficiency.value * electric.power_factor.value * electric.voltage_v);
        Ok(Estimate::new(times * rated_a, START_SD * times * rated_a))
    }
}
