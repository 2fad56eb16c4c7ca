//! Units with a fixed factor, and how people spell them.
//!
//! Factors: NIST Special Publication 811 (2008), appendix B.8, where exact ones are printed in bold; exact definitions are written
//! out. Gauge pressures and differences share their units.

use super::error::QuantityError;
use super::measure::Measure;

/// One unit: value = (number + offset) * factor.
struct Unit {
    measure: Measure,
    factor: f64,
    offset: f64,
    /// Ways to write it, without spaces, in `squash`ed form; the first is ours.
    spellings: &'static [&'static str],
}

/// US liquid gallon, L: 231 cubic inches, exact.
pub(crate) const US_GALLON_L: f64 = 3.785_411_784;
/// Imperial gallon, L: exact.
pub(super) const IMPERIAL_GALLON_L: f64 = 4.546_09;
/// Pound-force per square inch, bar: 0.45359237 kg * 9.80665 m/s2 / (0.0254 m)2, exact up to rounding.
pub(crate) const PSI_BAR: f64 = 0.068_947_572_931_683_6;
/// Kilogram-force per square centimetre, bar: exact.
const KG_CM2_BAR: f64 = 0.980_665;
/// Conventional inch of mercury, bar (3386.389 Pa).
pub(super) const INCH_MERCURY_BAR: f64 = 0.033_863_89;
/// Horsepower of 550 ft lbf/s, W.
const HORSEPOWER_W: f64 = 745.699_9;
/// Pound (avoirdupois), kg: exact.
const POUND_KG: f64 = 0.453_592_37;
/// Square foot, m2: exact.
const SQUARE_FOOT_M2: f64 = 0.092_903_04;
/// Salinity in g/kg per unit of practical salinity: Millero, Feistel, Wright & McDougall (2008), Deep-Sea Research I 55, 50-72.
const G_KG_PER_PSU: f64 = 35.165_04 / 35.0;

const fn unit(measure: Measure, factor: f64, spellings: &'static [&'static str]) -> Unit {
    Unit { measure, factor, offset: 0.0, spellings }
}

const UNITS: &[Unit] = &[
    unit(
        Measure::Flow,
        1.0,
        &["L/h", "L/hr", "L/hour", "lph", "litres/h", "liters/h", "litres/hour", "liters/hour"],
    ),
    unit(
        Measure::Flow,
        60.0,
        &["L/min", "L/minute", "lpm", "litres/min", "liters/min", "litres/minute", "liters/minute"],
    ),
    unit(Measure::Flow, 3600.0, &["L/s", "L/sec", "litres/s", "liters/s"]),
    unit(Measure::Flow, 1.0 / 24.0, &["L/d", "L/day", "lpd", "litres/day", "liters/day"]),
    unit(Measure::Flow, 0.06, &["mL/min"]),
    unit(Measure::Flow, 1000.0, &["m3/h", "m3/hr", "m3/hour", "cbm/h"]),
    unit(Measure::Flow, 1000.0 / 24.0, &["m3/d", "m3/day", "cbm/d"]),
    unit(Measure::Temperature, 1.0, &["C", "degC", "celsius"]),
    Unit {
        measure: Measure::Temperature,
        factor: 1.0 / 1.8,
        offset: -32.0,
        spellings: &["F", "degF", "fahrenheit"],
    },
    Unit { measure: Measure::Temperature, factor: 1.0, offset: -273.15, spellings: &["K", "kelvin"] },
    unit(Measure::Salinity, 1.0, &["g/kg", "ppt"]),
    unit(Measure::Salinity, G_KG_PER_PSU, &["psu", "pss", "PSS-78"]),
    unit(Measure::Salinity, 0.001, &["mg/kg"]),
    unit(Measure::Salinity, 10.0, &["%"]),
    unit(Measure::Solids, 1.0, &["mg/L", "mg/litre", "mg/liter", "g/m3", "mg/kg"]),
    unit(Measure::Solids, 1000.0, &["g/L", "g/litre", "g/liter"]),
    unit(Measure::Conductivity, 1.0, &["uS/cm", "uS", "micros/cm", "microsiemens/cm", "umho/cm"]),
    unit(Measure::Conductivity, 1000.0, &["mS/cm", "mS", "mmho/cm", "millisiemens/cm"]),
    unit(Measure::Conductivity, 10_000.0, &["S/m"]),
    unit(Measure::Conductivity, 1000.0, &["dS/m"]),
    unit(Measure::Pressure, 1.0, &["bar", "barg", "bargauge"]),
    unit(Measure::Pressure, 0.001, &["mbar", "mbarg", "hPa"]),
    unit(Measure::Pressure, 0.000_01, &["Pa"]),
    unit(Measure::Pressure, 0.01, &["kPa", "kPag"]),
    unit(Measure::Pressure, 10.0, &["MPa", "MPag"]),
    unit(Measure::Pressure, PSI_BAR, &["psi", "psig", "lb/in2", "lbs/in2", "lbf/in2"]),
    unit(Measure::Pressure, KG_CM2_BAR, &["kg/cm2", "kgf/cm2", "kp/cm2"]),
    unit(Measure::Voltage, 1.0, &["V", "volt", "volts", "VAC", "VDC"]),
    unit(Measure::Voltage, 0.001, &["mV"]),
    unit(Measure::Current, 1.0, &["A", "amp", "amps", "ampere", "AAC", "ADC"]),
    unit(Measure::Current, 0.001, &["mA"]),
    unit(Measure::Power, 1.0, &["W", "watt", "watts"]),
    unit(Measure::Power, 1000.0, &["kW"]),
    unit(Measure::Power, HORSEPOWER_W, &["hp"]),
    unit(Measure::Frequency, 1.0, &["Hz", "hertz", "cps"]),
    unit(Measure::Speed, 1.0, &["rpm", "1/min", "r/min", "rev/min", "/min"]),
    unit(Measure::Percent, 1.0, &["%", "percent"]),
    unit(Measure::Duration, 1.0, &["s", "sec", "second", "seconds"]),
    unit(Measure::Duration, 60.0, &["min", "minute", "minutes"]),
    unit(Measure::Duration, 3600.0, &["h", "hr", "hrs", "hour", "hours"]),
    unit(Measure::Duration, 86_400.0, &["d", "day", "days"]),
    unit(Measure::Duration, 604_800.0, &["week", "weeks"]),
    unit(Measure::Area, 1.0, &["m2", "sqm"]),
    unit(Measure::Area, SQUARE_FOOT_M2, &["ft2", "sqft"]),
    unit(Measure::Area, 0.0001, &["cm2"]),
    unit(Measure::Volume, 1.0, &["L", "litre", "litres", "liter", "liters"]),
    unit(Measure::Volume, 0.001, &["mL"]),
    unit(Measure::Volume, 1000.0, &["m3", "cbm"]),
    unit(Measure::Length, 1.0, &["um", "micron", "microns", "micrometre", "micrometer"]),
    unit(Measure::Length, 1000.0, &["mm"]),
    unit(Measure::Length, 25_400.0, &["in", "inch"]),
    unit(Measure::Energy, 1.0, &["Wh"]),
    unit(Measure::Energy, 1000.0, &["kWh"]),
    unit(Measure::Charge, 1.0, &["Ah"]),
    unit(Measure::ApparentPower, 1.0, &["VA"]),
    unit(Measure::ApparentPower, 1000.0, &["kVA"]),
    unit(Measure::Mass, 1.0, &["kg"]),
    unit(Measure::Mass, POUND_KG, &["lb", "lbs", "pound", "pounds"]),
];

/// Small first letters that must not pass for a capital prefix: `mPa` is not `MPa`, `mW` is not `MW`.
const CASE_MATTERS: &[&str] = &["MPa", "MPag", "mV", "mA", "mL"];

/// The unit in one form: no spaces, one micro sign, plain digits for powers, no degree sign, no brackets.
pub(super) fn squash(unit: &str) -> String {
    unit.replace(" per ", "/")
        .chars()
        .filter_map(|c| match c {
            'µ' | 'μ' => Some('u'),
            '²' => Some('2'),
            '³' => Some('3'),
            '°' | 'º' | '^' | '(' | ')' | '[' | ']' | '.' => None,
            c if c.is_whitespace() => None,
            c => Some(c),
        })
        .collect()
}

/// A pressure difference is typed in the units of a pressure.
fn table_of(measure: Measure) -> Measure {
    match measure {
        Measure::PressureDifference => Measure::Pressure,
        other => other,
    }
}

fn find(squashed: &str, measure: Measure) -> Option<&'static Unit> {
    let of_measure = || UNITS.iter().filter(|unit| unit.measure == table_of(measure));
    let exact = of_measure().find(|unit| unit.spellings.contains(&squashed));
    exact.or_else(|| {
        of_measure().find(|unit| {
            unit.spellings
                .iter()
                .any(|spelling| !CASE_MATTERS.contains(spelling) && spelling.eq_ignore_ascii_case(squashed))
        })
    })
}

fn require(unit: &str, measure: Measure) -> Result<&'static Unit, QuantityError> {
    if unit.is_empty() {
        return Err(QuantityError::NoUnit { measure });
    }
    let squashed = squash(unit);
    if let Some(found) = find(&squashed, measure) {
        return Ok(found);
    }
    let unit = unit.to_string();
    let elsewhere = Measure::ALL.into_iter().find(|&other| find(&squashed, other).is_some());
    match elsewhere.or_else(|| super::special::measure_of(&unit)) {
        Some(is) => Err(QuantityError::WrongMeasure { unit, is, expected: measure, label: None }),
        None => Err(QuantityError::UnknownUnit { unit, measure }),
    }
}

/// `number` in the unit of the measure.
pub(super) fn convert(number: f64, unit: &str, measure: Measure) -> Result<f64, QuantityError> {
    require(unit, measure).map(|unit| (number + unit.offset) * unit.factor)
}

/// As [`convert`], for a difference of two values: without the offset of °F and K.
pub(super) fn convert_size(number: f64, unit: &str, measure: Measure) -> Result<f64, QuantityError> {
    require(unit, measure).map(|unit| number * unit.factor)
}
