//! A parts list to be compared, and the waters it is compared in.

use super::supply::Supply;
use super::year::Consumable;
use crate::parts::Parts;

/// One candidate.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The parts list.
    pub parts: Parts,
    /// What feeds it.
    pub supply: Supply,
    /// Power of boost pump, controls and the like on the same supply, W.
    pub other_power_w: f64,
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
