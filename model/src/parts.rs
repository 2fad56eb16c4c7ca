//! What a unit is made of: the parts list that settings and case files describe.
//!
//! Plain data, checked where it is read. Numbers carry their unit in the name; what was not entered is `None`, and a limit
//! that was not entered is never replaced by a typical value.

/// What decides the pressure. The arithmetic of a fault depends on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PressureControl {
    /// A valve of relief type holds the pressure at the concentrate outlet.
    Regulated,
    /// The valve stays put; the pressure floats.
    FixedValve,
    /// At every start the crew turns the valve until the gauge shows a mark; after that the valve stays put.
    HandSetPressure,
    /// At every start the crew turns the valve until the product flow shows a mark; after that the valve stays put.
    HandSetFlow,
    /// An energy-recovery pump makes product a fixed share of the feed; the pressure floats.
    FixedRecovery,
}

/// A complete unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Parts {
    /// What decides the pressure.
    pub pressure_control: PressureControl,
    /// Working pressure at the concentrate outlet that the regulator or the crew sets, bar gauge.
    pub set_pressure_bar: Option<f64>,
    /// Product flow that the crew sets, L/h (hand-set to flow only).
    pub set_product_flow_l_h: Option<f64>,
    /// Feed temperature, salinity and flow at which a fixed valve was set, if known.
    pub valve_set_at: Option<ValveSetting>,
    /// The high-pressure pump.
    pub pump: Pump,
    /// What turns it.
    pub drive: Drive,
    /// Is there a boost pump in front of the high-pressure pump?
    pub boost_pump: bool,
    /// The membranes, in the order of the flow, of one train.
    pub elements: Vec<Element>,
    /// Number of equal trains side by side, at least 1.
    pub parallel_trains: u32,
    /// Pre-filters, in the order of the flow.
    pub prefilters: Vec<Prefilter>,
    /// Limits from the sheets of the parts.
    pub limits: Limits,
}

/// The working point at which a fixed valve was set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValveSetting {
    /// Pressure at the concentrate outlet, bar gauge.
    pub pressure_bar: f64,
    /// Concentrate flow through the valve, L/h.
    pub concentrate_flow_l_h: f64,
}

/// The high-pressure pump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pump {
    /// How it works.
    pub kind: PumpKind,
    /// Flow on the nameplate at the rated speed, without slip, L/h. For an energy-recovery pump: feed flow in all.
    pub nameplate_flow_l_h: f64,
    /// Speed at which the nameplate holds, 1/min.
    pub rated_speed_rpm: Option<f64>,
    /// Pressure at which `delivery` holds, bar gauge.
    pub rated_pressure_bar: f64,
    /// Delivery at rated pressure as a share of the nameplate. `None`: 0.90 with a standard deviation of 0.05.
    pub delivery: Option<f64>,
    /// Number of plungers or cylinders, for the share that one of them has.
    pub cylinders: Option<u32>,
    /// Energy recovery: share of the feed that leaks inside the pump from the high side to the low side, 0 to 1. `None`: tight.
    pub internal_leakage: Option<f64>,
    /// Energy recovery with pressure exchange: share of concentrate in what enters the membranes, 0 to 1. `None`: no mixing.
    pub mixing: Option<f64>,
}

/// How a pump works.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PumpKind {
    /// Plungers or pistons.
    Plunger,
    /// Energy recovery: product is this share of the feed.
    EnergyRecovery {
        /// Product flow over feed flow, 0 to 1.
        product_share: f64,
    },
}

/// What turns the pump.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drive {
    /// The kind of drive.
    pub kind: DriveKind,
    /// Rated power of the motor, W.
    pub motor_power_w: Option<f64>,
    /// Efficiency of the motor, 0 to 1.
    pub motor_efficiency: Option<f64>,
    /// How it starts.
    pub start: Start,
}

/// How a motor starts, as far as the parts list knows.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Start {
    /// Start current, A, of the motor's sheet.
    pub current_a: Option<f64>,
    /// Start current as a multiple of the rated current (locked rotor over full load). Counts only without `current_a`.
    pub multiple: Option<f64>,
    /// A soft starter or an electronic controller stands in front of the motor.
    pub soft: bool,
}

/// Kinds of drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DriveKind {
    /// Motor on single-phase alternating current.
    AcSinglePhase {
        /// Supply voltage, V.
        voltage_v: f64,
        /// Mains frequency at which the pump turns at rated speed, Hz.
        frequency_hz: f64,
        /// Power factor, 0 to 1.
        power_factor: Option<f64>,
    },
    /// Motor on three-phase alternating current.
    AcThreePhase {
        /// Voltage between lines, V.
        voltage_v: f64,
        /// Mains frequency at which the pump turns at rated speed, Hz.
        frequency_hz: f64,
        /// Power factor, 0 to 1.
        power_factor: Option<f64>,
    },
    /// Motor behind an inverter: the mains frequency is not the pump's.
    Inverter {
        /// Voltage of the supply in front of the inverter, V.
        voltage_v: f64,
        /// Power factor in front of the inverter, 0 to 1.
        power_factor: Option<f64>,
        /// Output frequency at which the pump turns at rated speed, Hz.
        output_frequency_hz: Option<f64>,
    },
    /// Motor on direct current: speed follows the voltage.
    Dc {
        /// Rated voltage, V.
        voltage_v: f64,
    },
    /// Belt from an engine.
    Belt {
        /// Pump speed over engine speed.
        ratio: f64,
        /// Engine speed at which the unit is usually run, 1/min.
        engine_speed_rpm: Option<f64>,
    },
    /// Hydraulic motor.
    Hydraulic,
}

/// One membrane module.
#[derive(Clone, Debug, PartialEq)]
pub struct Element {
    /// Size class of the trade, such as 2540.
    pub size: String,
    /// Serial number or another mark that stays with it.
    pub serial: Option<String>,
    /// Active area, m2.
    pub area_m2: f64,
    /// Its test sheet.
    pub sheet: TestSheet,
    /// Limits of the sheet.
    pub limits: ElementLimits,
}

/// What the element's sheet promises, and under which conditions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestSheet {
    /// Nominal product flow, L/h.
    pub nominal_flow_l_h: f64,
    /// Minimum product flow, L/h.
    pub minimum_flow_l_h: Option<f64>,
    /// Nominal rejection, 0 to 1.
    pub nominal_rejection: f64,
    /// Minimum rejection, 0 to 1.
    pub minimum_rejection: Option<f64>,
    /// Test pressure at the inlet, bar gauge. Usual: 55.2.
    pub pressure_bar: f64,
    /// Test temperature, °C. Usual: 25.
    pub temperature_c: f64,
    /// Sodium chloride in the test solution, mg/L. Usual: 32,000.
    pub sodium_chloride_mg_l: f64,
    /// Recovery in the test, 0 to 1. Usual: 0.08.
    pub recovery: f64,
}

impl TestSheet {
    /// A sheet with the usual test conditions for seawater elements: 55.2 bar, 25 °C, 32,000 mg/L NaCl, recovery 8 %.
    pub fn usual(nominal_flow_l_h: f64, nominal_rejection: f64) -> Self {
        Self {
            nominal_flow_l_h,
            minimum_flow_l_h: None,
            nominal_rejection,
            minimum_rejection: None,
            pressure_bar: 55.2,
            temperature_c: 25.0,
            sodium_chloride_mg_l: 32_000.0,
            recovery: 0.08,
        }
    }
}

/// Limits from the element's own sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ElementLimits {
    /// Highest feed pressure, bar gauge.
    pub maximum_pressure_bar: Option<f64>,
    /// Highest temperature, °C.
    pub maximum_temperature_c: Option<f64>,
    /// Highest product flow, L/h.
    pub maximum_product_flow_l_h: Option<f64>,
    /// Highest feed flow, L/h.
    pub maximum_feed_flow_l_h: Option<f64>,
    /// Highest differential pressure, bar.
    pub maximum_differential_pressure_bar: Option<f64>,
}

/// One pre-filter.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prefilter {
    /// Rating, µm.
    pub rating_um: f64,
    /// Differential pressure at which it is changed, bar.
    pub change_at_bar: Option<f64>,
}

/// Limits of the unit as a whole.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Limits {
    /// Highest pressure of pump, vessel and fittings, bar gauge.
    pub maximum_feed_pressure_bar: Option<f64>,
    /// Highest pressure in the product line, bar gauge.
    pub maximum_product_pressure_bar: Option<f64>,
    /// Highest pressure on the low side of an energy-recovery pump, bar gauge.
    pub maximum_low_side_pressure_bar: Option<f64>,
    /// Lowest pressure at the pump inlet, bar gauge.
    pub minimum_inlet_pressure_bar: Option<f64>,
    /// The owner's limit for the product, µS/cm at 25 °C.
    pub product_conductivity_us_cm: Option<f64>,
    /// Longest idle time without a flush below 20 °C, days.
    pub flush_interval_cool_days: Option<f64>,
    /// Longest idle time without a flush at 20 °C and above, days.
    pub flush_interval_warm_days: Option<f64>,
}

impl Parts {
    /// The lowest of the pressure limits that were entered (unit and elements), bar gauge, with the part it belongs to.
    pub fn pressure_limit_bar(&self) -> Option<(f64, &'static str)> {
        let unit = self.limits.maximum_feed_pressure_bar.map(|bar| (bar, "unit"));
        let element = self
            .elements
            .iter()
            .filter_map(|element| element.limits.maximum_pressure_bar)
            .reduce(f64::min)
            .map(|bar| (bar, "element"));
        match (unit, element) {
            (Some(a), Some(b)) => Some(if b.0 < a.0 { b } else { a }),
            (a, b) => a.or(b),
        }
    }
}
