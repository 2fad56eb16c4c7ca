//! Ranges of the numbers in the settings.
//!
//! They are wide: they catch a slip of the unit or of the decimal point, and say nothing about what is good for a part. Where no
//! other ground is named, the bound is common practice on small units with a factor of two or more to spare, no source.

use crate::quantity_text::Measure;

/// What a number may be.
#[derive(Clone, Copy, Debug)]
pub(super) struct Range {
    /// Pattern of the key.
    pub pattern: &'static str,
    /// What it measures; `None` for plain numbers and counts.
    pub measure: Option<Measure>,
    /// Lowest value, in the unit of the measure.
    pub low: f64,
    /// Highest value.
    pub high: f64,
}

pub(super) const fn of(pattern: &'static str, measure: Measure, low: f64, high: f64) -> Range {
    Range { pattern, measure: Some(measure), low, high }
}

pub(super) const fn plain(pattern: &'static str, low: f64, high: f64) -> Range {
    Range { pattern, measure: None, low, high }
}

const HOUR_S: f64 = 3600.0;
const DAY_S: f64 = 86_400.0;

/// One row per key that holds a number.
pub(super) const RANGES: &[Range] = &[
    // 21 bits, without zero and all ones, and with room for the units after the first.
    plain("bus.unique_number", 1.0, 2_097_134.0),
    // The highest of a byte are no value, and further units count up.
    plain("bus.device_instance", 0.0, 236.0),
    plain("bus.system_instance", 0.0, 14.0),
    of("instruments.<id>.random_share", Measure::Percent, 0.0, 50.0),
    of("instruments.<id>.systematic_share", Measure::Percent, 0.0, 50.0),
    of("units.<id>.set_pressure", Measure::Pressure, 3.0, 100.0),
    of("units.<id>.set_product_flow", Measure::Flow, 1.0, 4000.0),
    of("units.<id>.valve_set_at.pressure", Measure::Pressure, 3.0, 100.0),
    of("units.<id>.valve_set_at.concentrate_flow", Measure::Flow, 5.0, 20_000.0),
    of("units.<id>.tank", Measure::Volume, 5.0, 50_000.0),
    // From lakes and inner seas to the saltiest bays.
    of("units.<id>.usual_feed_salinity", Measure::Salinity, 0.1, 60.0),
    of("units.<id>.usual_feed_salinity_spread", Measure::Salinity, 0.05, 20.0),
    plain("units.<id>.parallel_trains", 1.0, 8.0),
    of("units.<id>.pump.flow", Measure::Flow, 5.0, 20_000.0),
    of("units.<id>.pump.rated_speed", Measure::Speed, 10.0, 6000.0),
    of("units.<id>.pump.rated_pressure", Measure::Pressure, 3.0, 120.0),
    of("units.<id>.pump.delivery", Measure::Percent, 30.0, 100.0),
    plain("units.<id>.pump.cylinders", 1.0, 12.0),
    of("units.<id>.pump.product_share", Measure::Percent, 2.0, 50.0),
    // 1 to 4 % by contact exchange (from memory), and worn ones beyond.
    of("units.<id>.pump.internal_leakage", Measure::Percent, 0.0, 30.0),
    of("units.<id>.pump.mixing", Measure::Percent, 0.0, 20.0),
    of("units.<id>.drive.voltage", Measure::Voltage, 6.0, 600.0),
    // 50 and 60 Hz with what a small generator may do.
    of("units.<id>.drive.frequency", Measure::Frequency, 40.0, 70.0),
    of("units.<id>.drive.power_factor", Measure::Percent, 20.0, 100.0),
    of("units.<id>.drive.motor_power", Measure::Power, 20.0, 30_000.0),
    of("units.<id>.drive.motor_efficiency", Measure::Percent, 20.0, 100.0),
    plain("units.<id>.drive.ratio", 0.05, 20.0),
    of("units.<id>.drive.engine_speed", Measure::Speed, 200.0, 6000.0),
    of("units.<id>.drive.output_frequency", Measure::Frequency, 5.0, 120.0),
    of("units.<id>.drive.start_current", Measure::Current, 1.0, 2000.0),
    plain("units.<id>.drive.start_multiple", 1.0, 15.0),
    of("units.<id>.elements.hours", Measure::Duration, 0.0, 100_000.0 * HOUR_S),
    of("units.<id>.elements.product", Measure::Volume, 0.0, 100_000_000.0),
    plain("units.<id>.elements.position", 1.0, ELEMENTS_MAX as f64),
    of("units.<id>.elements.area", Measure::Area, 0.1, 50.0),
    of("units.<id>.elements.nominal_flow", Measure::Flow, 1.0, 4000.0),
    of("units.<id>.elements.minimum_flow", Measure::Flow, 1.0, 4000.0),
    of("units.<id>.elements.nominal_rejection", Measure::Percent, 90.0, 99.99),
    of("units.<id>.elements.minimum_rejection", Measure::Percent, 80.0, 99.99),
    of("units.<id>.elements.test_pressure", Measure::Pressure, 3.0, 100.0),
    of("units.<id>.elements.test_temperature", Measure::Temperature, 5.0, 45.0),
    of("units.<id>.elements.test_solution", Measure::Solids, 200.0, 60_000.0),
    of("units.<id>.elements.test_recovery", Measure::Percent, 1.0, 50.0),
    of("units.<id>.elements.maximum_pressure", Measure::Pressure, 5.0, 120.0),
    of("units.<id>.elements.maximum_temperature", Measure::Temperature, 15.0, 90.0),
    of("units.<id>.elements.maximum_product_flow", Measure::Flow, 1.0, 4000.0),
    of("units.<id>.elements.maximum_feed_flow", Measure::Flow, 20.0, 20_000.0),
    of("units.<id>.elements.maximum_differential_pressure", Measure::PressureDifference, 0.1, 10.0),
    of("units.<id>.prefilters.rating", Measure::Length, 0.1, 1000.0),
    of("units.<id>.prefilters.change_at", Measure::PressureDifference, 0.05, 5.0),
    of("units.<id>.limits.feed_pressure", Measure::Pressure, 5.0, 120.0),
    of("units.<id>.limits.product_pressure", Measure::Pressure, 0.05, 16.0),
    of("units.<id>.limits.low_side_pressure", Measure::Pressure, 0.5, 40.0),
    // Down to the perfect vacuum.
    of("units.<id>.limits.inlet_pressure_minimum", Measure::Pressure, -1.0, 10.0),
    of("units.<id>.limits.product_conductivity", Measure::Conductivity, 10.0, 5000.0),
    of("units.<id>.limits.flush_interval_cool", Measure::Duration, 0.5 * DAY_S, 60.0 * DAY_S),
    of("units.<id>.limits.flush_interval_warm", Measure::Duration, 0.5 * DAY_S, 60.0 * DAY_S),
    // Numbers of messages, instances and kinds are those of the network: 18 and 8 bits, the last two values being no value.
    plain("units.<id>.readings.pgn", 59_392.0, 131_071.0),
    plain("units.<id>.readings.instance", 0.0, 253.0),
    plain("units.<id>.readings.kind", 0.0, 253.0),
    of("units.<id>.readings.stale_after", Measure::Duration, 1.0, 30.0 * DAY_S),
    of("units.<id>.second_hand.hours", Measure::Duration, 0.0, 100_000.0 * HOUR_S),
    of("units.<id>.second_hand.product", Measure::Volume, 0.0, 100_000_000.0),
    of("units.<id>.second_hand.element_hours", Measure::Duration, 0.0, 100_000.0 * HOUR_S),
];

/// Most elements in one train; the longest on small units have six. Common practice, no source.
pub(super) const ELEMENTS_MAX: usize = 8;
/// Most pre-filters in a row.
pub(super) const PREFILTERS_MAX: usize = 6;
/// Most readings of one unit: every quantity from three places.
pub(super) const READINGS_MAX: usize = 3 * barrico_model::Quantity::ALL.len();
/// Most instruments; more than one per reading of the largest boat has no use.
pub(super) const INSTRUMENTS_MAX: usize = 256;
/// Most host names of the page.
pub(super) const HOSTS_MAX: usize = 16;

/// The range of a key, also of one in a comparison, whose candidates have the parts of a unit.
pub(super) fn find(pattern: &str) -> Option<&'static Range> {
    use super::comparison::{PARTS_PATTERN, ranges};
    let found = |range: &&Range| match pattern.strip_prefix(PARTS_PATTERN) {
        Some(part) => range.pattern.strip_prefix("units.<id>.") == Some(part),
        None => range.pattern == pattern,
    };
    RANGES.iter().chain(ranges::RANGES).find(found)
}
