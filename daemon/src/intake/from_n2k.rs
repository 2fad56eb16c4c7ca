//! Messages of the NMEA 2000 bus to values in our units.
//!
//! Only what a unit can use passes: temperatures, pressures, tanks, supply, engine speed and the unit's own status message. Which
//! stream is which quantity is decided by the settings, not here: a temperature may be the sea's or the product's.
//!
//! Pressures of PGN 130567 are taken as gauge; the definition does not say. PGN 130567 names its pressures by place: "feed pressure" there is the low side in front of
//! the high-pressure pump, "system high pressure" is what the trade calls feed pressure at the membranes.

use super::stream::Field;
use barrico_model::{Quantity, WallMs};
use barrico_n2k::field::Code;
use barrico_n2k::pgn::{Content, WatermakerStatus};

/// Absolute zero in °C.
const KELVIN: f64 = 273.15;
/// Pascal in a bar.
const BAR: f64 = 1e5;
/// No instance or kind in this message.
pub const NONE: u8 = 255;

/// One value of a message.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BusValue {
    /// Instance in the message.
    pub instance: u8,
    /// Source, type or line in the message.
    pub kind: u8,
    /// Field.
    pub field: Field,
    /// Value in the unit of our JSON keys.
    pub value: f64,
}

/// Hands every usable value of a message to `give`.
pub fn values(content: &Content, give: &mut impl FnMut(BusValue)) {
    let mut put = |instance: Option<u8>, kind: u8, field, value: Option<f64>| {
        if let Some(value) = value {
            give(BusValue { instance: instance.unwrap_or(NONE), kind, field, value });
        }
    };
    let celsius = |kelvin: Option<f64>| kelvin.map(|kelvin| kelvin - KELVIN);
    match content {
        Content::EnvironmentSea(m) => put(None, 0, Field::Temperature, celsius(m.sea_temperature_k)),
        Content::Environment(m) => {
            put(
                None,
                m.temperature_source.map_or(NONE, |s| s.to_raw()),
                Field::Temperature,
                celsius(m.temperature_k),
            );
        }
        Content::Temperature(m) => {
            let kind = m.source.map_or(NONE, |s| s.to_raw());
            put(m.instance, kind, Field::Temperature, celsius(m.actual_temperature_k));
        }
        Content::TemperatureExtended(m) => {
            let kind = m.source.map_or(NONE, |s| s.to_raw());
            put(m.instance, kind, Field::Temperature, celsius(m.actual_temperature_k));
        }
        Content::ActualPressure(m) => {
            let kind = m.source.map_or(NONE, |s| s.to_raw());
            put(m.instance, kind, Field::Pressure, m.pressure_pa.map(|pa| pa / BAR));
        }
        Content::FluidLevel(m) => {
            put(m.instance, m.fluid_type.map_or(NONE, |t| t.to_raw()), Field::Level, m.level_percent);
        }
        Content::BatteryStatus(m) => {
            put(m.instance, NONE, Field::Voltage, m.voltage_v);
            put(m.instance, NONE, Field::Current, m.current_a);
        }
        Content::DcVoltageCurrent(m) => {
            put(m.connection, NONE, Field::Voltage, m.voltage_v);
            put(m.connection, NONE, Field::Current, m.current_a);
        }
        Content::EngineRapid(m) => put(m.instance, NONE, Field::Speed, m.speed_rpm),
        Content::WatermakerStatus(m) => status(m, give),
        other => alternating_current(other, &mut put),
    }
}

fn alternating_current(content: &Content, put: &mut impl FnMut(Option<u8>, u8, Field, Option<f64>)) {
    macro_rules! lines {
        ($m:expr) => {
            for line in &$m.lines {
                let kind = line.line.map_or(NONE, |l| l.to_raw());
                put($m.instance, kind, Field::Voltage, line.voltage_v);
                put($m.instance, kind, Field::Current, line.current_a);
                put($m.instance, kind, Field::Frequency, line.frequency_hz);
                put($m.instance, kind, Field::Power, line.real_power_w);
            }
        };
    }
    match content {
        Content::AcInput(m) => lines!(m),
        Content::AcOutput(m) => lines!(m),
        Content::AcPowerCurrent(phase, m) => {
            put(m.connection, *phase as u8, Field::Current, m.current_a);
            put(m.connection, *phase as u8, Field::Power, m.power_w);
        }
        Content::AcVoltageFrequency(phase, m) => {
            put(m.connection, *phase as u8, Field::Voltage, m.voltage_line_neutral_v);
            put(m.connection, *phase as u8, Field::Frequency, m.frequency_hz);
        }
        _ => {}
    }
}

fn status(m: &WatermakerStatus, give: &mut impl FnMut(BusValue)) {
    use Quantity as Q;
    let bar = |pascal: Option<f64>| pascal.map(|pascal| pascal / BAR);
    let fields = [
        (Q::OperatingState, m.operating_state.map(|state| f64::from(state.to_raw()))),
        (Q::ProductSalinity, m.salinity_ppm),
        (Q::ProductTemperature, m.product_water_temperature_k.map(|kelvin| kelvin - KELVIN)),
        (Q::PrefilterInletPressure, bar(m.pre_filter_pressure_pa)),
        (Q::InletPressure, bar(m.post_filter_pressure_pa)),
        (Q::LowSidePressure, bar(m.feed_pressure_pa)),
        (Q::FeedPressure, bar(m.system_high_pressure_pa)),
        (Q::ProductFlow, m.product_water_flow_l_h),
        (Q::ConcentrateFlow, m.brine_water_flow_l_h),
        (Q::RunTime, m.run_time_s),
    ];
    for (quantity, value) in fields {
        if let Some(value) = value {
            give(BusValue { instance: NONE, kind: NONE, field: Field::Status(quantity), value });
        }
    }
}

/// The date in a message from GNSS, if it carries one.
pub fn date(content: &Content) -> Option<WallMs> {
    match content {
        Content::SystemTime(m) => m.unix_time_us(),
        Content::TimeDate(m) => m.unix_time_us(),
        _ => None,
    }
    .map(|us| us / 1000)
}
