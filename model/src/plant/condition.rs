//! The water and what is known of the working point.

/// A value with its standard deviation, both in the unit of the field's name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// One standard deviation; zero for what is known exactly.
    pub deviation: f64,
}

impl Estimate {
    /// A value and its standard deviation.
    pub const fn new(value: f64, deviation: f64) -> Self {
        Self { value, deviation }
    }

    /// A value without error.
    pub const fn exact(value: f64) -> Self {
        Self { value, deviation: 0.0 }
    }
}

/// Water and working point for which something is expected.
///
/// Temperature and salinity must be there; what else is given replaces what pump and pressure control would make of it. Of the feed
/// pressure, the concentrate pressure and the product flow the first that is given counts.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Condition {
    /// Temperature of the feed, °C.
    pub feed_temperature_c: Option<Estimate>,
    /// Salinity of the feed, g/kg. An unknown one is assumed by the caller, with its spread.
    pub feed_salinity_g_kg: Option<Estimate>,
    /// Pressure at the membrane inlet, bar gauge.
    pub feed_pressure_bar: Option<Estimate>,
    /// Pressure at the concentrate outlet, bar gauge.
    pub concentrate_pressure_bar: Option<Estimate>,
    /// Product flow, L/h: the pressure is then what it takes.
    pub product_flow_l_h: Option<Estimate>,
    /// Feed flow, L/h, in place of the pump's.
    pub feed_flow_l_h: Option<Estimate>,
    /// Pressure in the product line, bar gauge. None: open to the air.
    pub product_pressure_bar: Option<Estimate>,
    /// Pressure at the inlet of the high-pressure pump, bar gauge. None: zero.
    pub inlet_pressure_bar: Option<Estimate>,
    /// Speed of the pump, 1/min.
    pub pump_speed_rpm: Option<Estimate>,
    /// Speed of the engine that drives the pump, 1/min.
    pub engine_speed_rpm: Option<Estimate>,
    /// Frequency of the mains, Hz.
    pub supply_frequency_hz: Option<Estimate>,
    /// Output frequency of the inverter that drives the pump, Hz.
    pub drive_frequency_hz: Option<Estimate>,
    /// Voltage of the supply, V.
    pub supply_voltage_v: Option<Estimate>,
}
