//! PGN 127505, fluid level: single frame, priority 6, every 2.5 s.
//!
//! A tank is known by its sender, instance and type together: instances repeat over types. Levels above 100 % and below
//! 0 % occur. A capacity of 0 comes from senders without a sensor.

use super::macros::{codes, group};
use crate::field::{code, count, signed, unsigned};

codes! {
    /// What is in the tank.
    pub enum FluidType {
        /// Fuel.
        Fuel = 0,
        /// Fresh water.
        Water = 1,
        /// Gray water.
        GrayWater = 2,
        /// Live well.
        LiveWell = 3,
        /// Oil.
        Oil = 4,
        /// Black water.
        BlackWater = 5,
        /// Gasoline, known to one source only.
        Gasoline = 6,
    }
}

group! {
    /// Fluid level.
    pub struct FluidLevel = 127505, 8 bytes {
        /// Instance.
        instance: u8 = count(0, 4);
        /// What is in the tank.
        fluid_type: FluidType = code(4, 4);
        /// Level, %.
        level_percent: f64 = signed(8, 16, 4.0, 1000.0);
        /// Capacity, L.
        capacity_l: f64 = unsigned(24, 32, 1.0, 10.0);
    }
}
