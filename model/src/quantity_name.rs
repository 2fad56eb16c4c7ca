//! The one list of quantity names.
//!
//! Settings, hand readings, tables, case files, JSON and the history all use these names and no others. Each row gives
//! the name, what it is measured in, the unit and suffix of its JSON key, and the range that is physically possible
//! aboard: a value outside is not a low or a high reading but no reading at all.

/// What kind of number a quantity is; decides which units people may type for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dimension {
    /// Volume per time, in L/h.
    Flow,
    /// Temperature, in °C.
    Temperature,
    /// Salt per mass of water, in g/kg.
    Salinity,
    /// Dissolved solids per volume of water, in mg/L. Used for product water only.
    Solids,
    /// Conductivity compensated to 25 °C, in µS/cm.
    Conductivity,
    /// Gauge pressure, in bar.
    Pressure,
    /// Pressure difference, in bar.
    PressureDifference,
    /// Electrical potential, in V.
    Voltage,
    /// Electrical current, in A.
    Current,
    /// Power, in W.
    Power,
    /// Frequency, in Hz.
    Frequency,
    /// Turning speed, in 1/min.
    Speed,
    /// Share of a tank, in percent.
    Level,
    /// Time, in seconds.
    Duration,
    /// A state by name: see [`crate::records::OperatingState`].
    State,
    /// Where the product goes: see [`crate::records::ProductRoute`].
    Route,
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $variant:ident, $name:literal, $key:literal, $label:literal, $dimension:ident, $low:literal, $high:literal;)*) => {
        /// One thing that can be measured on or around the unit.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum Quantity { $($(#[$doc])* $variant,)* }

        impl Quantity {
            /// Every quantity, in the order of the list.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$variant,)*];

            /// The name used in settings, hand readings and tables, such as `feed_pressure`.
            pub const fn name(self) -> &'static str {
                match self { $(Quantity::$variant => $name,)* }
            }

            /// The JSON key: name plus unit, such as `feed_pressure_bar_gauge`.
            pub const fn json_key(self) -> &'static str {
                match self { $(Quantity::$variant => $key,)* }
            }

            /// The words for people, such as "feed pressure".
            pub const fn label(self) -> &'static str {
                match self { $(Quantity::$variant => $label,)* }
            }

            /// What kind of number it is.
            pub const fn dimension(self) -> Dimension {
                match self { $(Quantity::$variant => Dimension::$dimension,)* }
            }

            /// The lowest and highest value that is physically possible aboard, in the unit of the JSON key.
            pub const fn possible_range(self) -> (f64, f64) {
                match self { $(Quantity::$variant => ($low, $high),)* }
            }
        }
    };
}

quantities! {
    /// Flow into the membranes.
    FeedFlow, "feed_flow", "feed_flow_l_h", "feed flow", Flow, 0.0, 20000.0;
    /// Temperature of the feed: sea temperature unless measured at the unit.
    FeedTemperature, "feed_temperature", "feed_temperature_c", "feed temperature", Temperature, -2.5, 45.0;
    /// Salinity of the feed.
    FeedSalinity, "feed_salinity", "feed_salinity_g_kg", "feed salinity", Salinity, 0.0, 80.0;
    /// Conductivity of the feed at 25 °C.
    FeedConductivity, "feed_conductivity", "feed_conductivity_us_cm_25c", "feed conductivity", Conductivity, 0.0, 120000.0;
    /// Pressure at the inlet of the high-pressure pump. A vacuum is legal here.
    InletPressure, "inlet_pressure", "inlet_pressure_bar_gauge", "pump inlet pressure", Pressure, -1.0, 16.0;
    /// Pressure before the pre-filter.
    PrefilterInletPressure, "prefilter_inlet_pressure", "prefilter_inlet_pressure_bar_gauge", "pre-filter inlet pressure", Pressure, -1.0, 16.0;
    /// Pressure drop over the pre-filter.
    PrefilterDifferentialPressure, "prefilter_differential_pressure", "prefilter_differential_pressure_bar", "pre-filter differential pressure", PressureDifference, -0.5, 10.0;
    /// Pressure at the inlet of the first membrane vessel.
    FeedPressure, "feed_pressure", "feed_pressure_bar_gauge", "feed pressure", Pressure, -1.0, 120.0;
    /// Pressure at the outlet of the last vessel, before the back-pressure valve.
    ConcentratePressure, "concentrate_pressure", "concentrate_pressure_bar_gauge", "concentrate pressure", Pressure, -1.0, 120.0;
    /// Pressure on the feed side of an energy-recovery pump.
    LowSidePressure, "low_side_pressure", "low_side_pressure_bar_gauge", "low-side pressure", Pressure, -1.0, 40.0;
    /// Pressure in the product line.
    ProductPressure, "product_pressure", "product_pressure_bar_gauge", "product pressure", Pressure, -1.0, 16.0;
    /// Pressure drop along the vessels.
    DifferentialPressure, "differential_pressure", "differential_pressure_bar", "differential pressure", PressureDifference, -0.5, 20.0;
    /// Product water made.
    ProductFlow, "product_flow", "product_flow_l_h", "product flow", Flow, 0.0, 4000.0;
    /// Concentrate led overboard.
    ConcentrateFlow, "concentrate_flow", "concentrate_flow_l_h", "concentrate flow", Flow, 0.0, 20000.0;
    /// Salinity of the concentrate.
    ConcentrateSalinity, "concentrate_salinity", "concentrate_salinity_g_kg", "concentrate salinity", Salinity, 0.0, 120.0;
    /// Conductivity of the product at 25 °C.
    ProductConductivity, "product_conductivity", "product_conductivity_us_cm_25c", "product conductivity", Conductivity, 0.0, 80000.0;
    /// Dissolved solids of the product.
    ProductSalinity, "product_salinity", "product_tds_mg_l", "product salinity", Solids, 0.0, 50000.0;
    /// Temperature of the product.
    ProductTemperature, "product_temperature", "product_temperature_c", "product temperature", Temperature, -2.5, 70.0;
    /// Voltage of the supply at the motor.
    SupplyVoltage, "supply_voltage", "supply_voltage_v", "supply voltage", Voltage, 0.0, 600.0;
    /// Current drawn by the motor.
    SupplyCurrent, "supply_current", "supply_current_a", "supply current", Current, -5.0, 400.0;
    /// Power drawn by the motor.
    SupplyPower, "supply_power", "supply_power_w", "supply power", Power, -100.0, 60000.0;
    /// Frequency of the supply.
    SupplyFrequency, "supply_frequency", "supply_frequency_hz", "supply frequency", Frequency, 0.0, 120.0;
    /// Output frequency of the inverter that drives the pump.
    DriveFrequency, "drive_frequency", "drive_frequency_hz", "inverter output frequency", Frequency, 0.0, 400.0;
    /// Speed of the pump's shaft.
    PumpSpeed, "pump_speed", "pump_speed_rpm", "pump speed", Speed, 0.0, 6000.0;
    /// Speed of the engine that drives the pump.
    EngineSpeed, "engine_speed", "engine_speed_rpm", "engine speed", Speed, 0.0, 10000.0;
    /// Level of the product tank.
    TankLevel, "tank_level", "tank_level_percent", "tank level", Level, -5.0, 110.0;
    /// Running time of the unit in all.
    RunTime, "run_time", "run_time_s", "run time", Duration, 0.0, 4294967292.0;
    /// State as sent by the unit's own controller.
    OperatingState, "operating_state", "operating_state", "operating state", State, 0.0, 255.0;
    /// Where the product goes.
    ProductRoute, "product_route", "product_route", "product route", Route, 0.0, 255.0;
}

impl Quantity {
    /// The quantity of this name, if there is one.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|quantity| quantity.name() == name)
    }

    /// Is the value finite and physically possible?
    pub fn is_possible(self, value: f64) -> bool {
        let (low, high) = self.possible_range();
        low <= value && value <= high
    }

    /// The unit of the JSON key in the way people write it.
    pub const fn unit(self) -> &'static str {
        match self.dimension() {
            Dimension::Flow => "L/h",
            Dimension::Temperature => "°C",
            Dimension::Salinity => "g/kg",
            Dimension::Solids => "mg/L",
            Dimension::Conductivity => "µS/cm",
            Dimension::Pressure | Dimension::PressureDifference => "bar",
            Dimension::Voltage => "V",
            Dimension::Current => "A",
            Dimension::Power => "W",
            Dimension::Frequency => "Hz",
            Dimension::Speed => "rpm",
            Dimension::Level => "%",
            Dimension::Duration => "s",
            Dimension::State | Dimension::Route => "",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_and_keys_are_unique_and_found_again() {
        for (i, &a) in Quantity::ALL.iter().enumerate() {
            assert_eq!(Quantity::from_name(a.name()), Some(a));
            assert_eq!(a as usize, i);
            for &b in &Quantity::ALL[i + 1..] {
                assert_ne!(a.name(), b.name());
                assert_ne!(a.json_key(), b.json_key());
            }
        }
    }

    #[test]
    fn a_vacuum_of_one_bar_is_legal_on_the_suction_side_and_less_is_not() {
        assert!(Quantity::InletPressure.is_possible(-1.0));
        assert!(!Quantity::InletPressure.is_possible(-1.01));
        assert!(!Quantity::InletPressure.is_possible(f64::NAN));
    }
}
