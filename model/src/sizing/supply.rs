//! Where the power comes from, and what it costs.

/// What feeds the drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Supply {
    /// The kind of supply.
    pub kind: SupplyKind,
    /// Lasting current of breaker, generator or inverter at the motor, A.
    pub current_limit_a: Option<f64>,
    /// Current that the supply stands for the moment of a start, A.
    pub start_limit_a: Option<f64>,
    /// Lasting apparent power of generator or inverter, VA.
    pub power_limit_va: Option<f64>,
    /// What the engine behind it burns. For a battery: of the engine that charges it.
    pub fuel: Fuel,
    /// What fuel, service and shore power cost.
    pub prices: Prices,
}

/// Kinds of supply.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SupplyKind {
    /// A generator that runs for the unit. All of its idle part is charged to the water.
    Generator,
    /// Power from the shore.
    Shore,
    /// A battery, with or without an inverter.
    Battery(Battery),
    /// The boat's engine, by belt or hydraulics: energy is counted at the pump's shaft.
    Engine,
}

/// A battery and what charges it beside the sun.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Battery {
    /// Energy of the full battery, Wh.
    pub capacity_wh: f64,
    /// Share of it that may be used, 0 to 1.
    pub usable_share: f64,
    /// Efficiency of the inverter between battery and motor, 0 to 1; 1 without one.
    pub inverter_efficiency: f64,
    /// Power with which an engine charges what the sun leaves open, W.
    pub charge_power_w: Option<f64>,
}

/// Fuel of an engine as a straight line: so much for turning, so much more for each kilowatt-hour.
///
/// Small generators are near to such a line between a fifth and full load (common practice, no source), so a third fewer hours is not a
/// third less fuel: only the idle part shrinks with the hours.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Fuel {
    /// Without load, L/h.
    pub idle_l_h: Option<f64>,
    /// For each kilowatt-hour that the unit takes, L.
    pub per_kwh_l: Option<f64>,
}

/// Prices in the reader's currency.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Prices {
    /// A litre of fuel.
    pub fuel_per_l: Option<f64>,
    /// A kilowatt-hour from the shore.
    pub energy_per_kwh: Option<f64>,
    /// Service of the generator or engine, for each of its hours.
    pub service_per_hour: Option<f64>,
}
