//! Usual errors of instruments, where the settings give no better.
//!
//! Standard deviations: a size in the unit of the quantity's JSON key and a share of the reading, for chance and for what all readings of the instrument
//! have in common. No published table for this trade is known to us; each figure says where it comes from, and the owner's settings replace them.

use crate::settings::{ErrorSize, Instrument, InstrumentKind};
use barrico_model::{Dimension, Quantity};

/// Both parts of an instrument's error.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Usual {
    random: ErrorSize,
    systematic: ErrorSize,
}

const fn usual(random: (f64, f64), systematic: (f64, f64)) -> Usual {
    Usual {
        random: ErrorSize { absolute: random.0, share: random.1 },
        systematic: ErrorSize { absolute: systematic.0, share: systematic.1 },
    }
}

/// Dial gauge of 100 bar: read to half of a division of 2 bar; class 1.6 allows 1.6 bar, taken as 1.6 standard deviations (EN 837-1, from memory).
const DIAL_GAUGE: Usual = usual((0.5, 0.0), (1.0, 0.0));
/// Dial gauge of up to 16 bar, on the low side: the same class on a dial of 6 bar.
const SMALL_DIAL_GAUGE: Usual = usual((0.05, 0.0), (0.1, 0.0));
/// Up to here a gauge is one of the low side, bar.
const SMALL_DIAL_BAR: f64 = 16.0;
/// Pressure transmitter: 0.5 % with a little zero drift. Common practice, no source.
const PRESSURE_TRANSMITTER: Usual = usual((0.01, 0.002), (0.02, 0.005));
/// Turbine or other flow meter: 2 % without calibration aboard. Common practice, no source.
const FLOW_METER: Usual = usual((0.2, 0.01), (0.0, 0.02));
/// Jug and watch: half a second and half a graduation in a minute; its marks are right to half a percent. Our choice.
const JUG: Usual = usual((0.0, 0.02), (0.0, 0.005));
/// Float in a tube, read by eye: 5 % of a small scale. Common practice, no source.
const FLOW_TUBE: Usual = usual((0.0, 0.03), (0.0, 0.05));
/// Electronic thermometer on the bus: its place and the hull matter more than the sensor; four senders of one boat differed by 1.3 K. Our choice.
const TEMPERATURE_SENSOR: Usual = usual((0.05, 0.0), (0.5, 0.0));
/// Thermometer read by a person. Common practice, no source.
const THERMOMETER: Usual = usual((0.3, 0.0), (0.5, 0.0));
/// Refractometer or hydrometer: half a division, and a zero that was set some time ago. Common practice, no source.
const REFRACTOMETER: Usual = usual((0.5, 0.0), (1.0, 0.0));
/// Salinity by a conductivity meter. Common practice, no source.
const SALINITY_METER: Usual = usual((0.2, 0.0), (0.5, 0.0));
/// Fixed conductivity cell: drifts with what settles on it. Common practice, no source.
const CONDUCTIVITY_CELL: Usual = usual((1.0, 0.01), (0.0, 0.03));
/// Hand meter for conductivity or solids: its temperature compensation and its cell. Common practice, no source.
const HAND_METER: Usual = usual((2.0, 0.02), (0.0, 0.04));
/// Electric values of the bus. Common practice, no source.
const VOLTAGE: Usual = usual((0.05, 0.005), (0.0, 0.01));
const CURRENT: Usual = usual((0.1, 0.01), (0.0, 0.02));
const POWER: Usual = usual((5.0, 0.01), (0.0, 0.03));
const FREQUENCY: Usual = usual((0.05, 0.0), (0.05, 0.0));
/// Turning speed. Common practice, no source.
const SPEED: Usual = usual((2.0, 0.005), (0.0, 0.005));
/// Tank level, %. Common practice, no source.
const LEVEL: Usual = usual((1.0, 0.0), (2.0, 0.0));
/// Hour meter, s. Common practice, no source.
const DURATION: Usual = usual((1.0, 0.0), (60.0, 0.0));
/// States have no error.
const NONE: Usual = usual((0.0, 0.0), (0.0, 0.0));

/// Random and systematic standard deviation of one reading.
pub fn usual_errors(instrument: &Instrument, quantity: Quantity, value: f64) -> (f64, f64) {
    let usual = usual_of(instrument.kind, quantity.dimension(), value.abs());
    let at = |given: Option<ErrorSize>, usual: ErrorSize| given.unwrap_or(usual).at(value);
    (at(instrument.random, usual.random), at(instrument.systematic, usual.systematic))
}

fn usual_of(kind: InstrumentKind, dimension: Dimension, value: f64) -> Usual {
    use InstrumentKind as K;
    match dimension {
        Dimension::Pressure | Dimension::PressureDifference => match kind {
            K::Transmitter => PRESSURE_TRANSMITTER,
            _ if value < SMALL_DIAL_BAR => SMALL_DIAL_GAUGE,
            _ => DIAL_GAUGE,
        },
        Dimension::Flow => match kind {
            K::Jug => JUG,
            K::Transmitter | K::FlowMeter => FLOW_METER,
            _ => FLOW_TUBE,
        },
        Dimension::Temperature => match kind {
            K::Transmitter => TEMPERATURE_SENSOR,
            _ => THERMOMETER,
        },
        Dimension::Salinity => match kind {
            K::Refractometer => REFRACTOMETER,
            _ => SALINITY_METER,
        },
        Dimension::Solids | Dimension::Conductivity => match kind {
            K::Transmitter | K::ConductivityCell => CONDUCTIVITY_CELL,
            _ => HAND_METER,
        },
        Dimension::Voltage => VOLTAGE,
        Dimension::Current => CURRENT,
        Dimension::Power => POWER,
        Dimension::Frequency => FREQUENCY,
        Dimension::Speed => SPEED,
        Dimension::Level => LEVEL,
        Dimension::Duration => DURATION,
        Dimension::State | Dimension::Route => NONE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn instrument(kind: InstrumentKind, systematic: Option<ErrorSize>) -> Instrument {
        Instrument {
            id: "x".to_string(),
            kind,
            random: None,
            systematic,
            gallon: None,
            ppm: None,
            checked_ms: None,
        }
    }

    #[test]
    fn a_size_and_a_share_add_as_squares() {
        // By hand: 0.3 bar and 1 % of 40 bar are the legs of a triangle of 0.5 bar.
        let given = Some(ErrorSize { absolute: 0.3, share: 0.01 });
        let (_, systematic) =
            usual_errors(&instrument(InstrumentKind::Transmitter, given), Quantity::FeedPressure, 40.0);
        assert!((systematic - 0.5).abs() < 1e-12, "{systematic}");
    }

    #[test]
    fn each_kind_has_its_own_errors() {
        let of = |kind, quantity, value| usual_errors(&instrument(kind, None), quantity, value);
        assert_eq!(of(InstrumentKind::Gauge, Quantity::FeedPressure, 55.0), (0.5, 1.0));
        assert_eq!(of(InstrumentKind::Gauge, Quantity::InletPressure, -0.3), (0.05, 0.1));
        let jug = of(InstrumentKind::Jug, Quantity::ConcentrateFlow, 200.0);
        assert!((jug.0 - 4.0).abs() < 1e-12 && (jug.1 - 1.0).abs() < 1e-12, "{jug:?}");
        let meter = of(InstrumentKind::FlowMeter, Quantity::ProductFlow, 80.0);
        assert!(jug.1 / 200.0 < meter.1 / 80.0, "a jug is righter than an uncalibrated meter: {meter:?}");
        let cell = of(InstrumentKind::ConductivityCell, Quantity::ProductConductivity, 500.0);
        assert!((cell.1 - 15.0).abs() < 1e-12, "{cell:?}");
        assert_eq!(of(InstrumentKind::Unknown, Quantity::OperatingState, 3.0), (0.0, 0.0));
    }
}
