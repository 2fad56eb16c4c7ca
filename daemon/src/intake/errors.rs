//! Usual errors of instruments, where the settings give no better.
//!
//! Standard deviations in the unit of the quantity's JSON key. No published table for this trade is known to us: the
//! figures are common practice, and the owner's settings replace them.

use crate::settings::{Instrument, InstrumentKind};
use barrico_model::{Dimension, Quantity};

/// Random and systematic standard deviation of one reading.
pub fn usual_errors(instrument: &Instrument, quantity: Quantity, value: f64) -> (f64, f64) {
    let (random, systematic) = usual(instrument.kind, quantity.dimension(), value.abs());
    (instrument.random.unwrap_or(random), instrument.systematic.unwrap_or(systematic))
}

fn usual(kind: InstrumentKind, dimension: Dimension, value: f64) -> (f64, f64) {
    use InstrumentKind as K;
    match dimension {
        // A dial of 100 bar is read to half a division of 2 bar and is right to 1.6 % of its range (class 1.6, EN 837-1).
        Dimension::Pressure | Dimension::PressureDifference => match kind {
            K::Transmitter => (0.002 * value + 0.01, 0.005 * value + 0.02),
            _ if value < 16.0 => (0.05, 0.1),
            _ => (0.5, 1.0),
        },
        Dimension::Flow => match kind {
            K::Jug => (0.02 * value, 0.005 * value),
            K::Transmitter => (0.01 * value + 0.2, 0.02 * value),
            _ => (0.03 * value, 0.05 * value),
        },
        Dimension::Temperature => match kind {
            K::Transmitter => (0.05, 0.5),
            _ => (0.3, 0.5),
        },
        Dimension::Salinity => match kind {
            K::Refractometer => (0.5, 1.0),
            _ => (0.2, 0.5),
        },
        Dimension::Solids | Dimension::Conductivity => match kind {
            K::Transmitter => (0.01 * value + 1.0, 0.03 * value),
            _ => (0.02 * value + 2.0, 0.04 * value),
        },
        Dimension::Voltage => (0.005 * value + 0.05, 0.01 * value),
        Dimension::Current => (0.01 * value + 0.1, 0.02 * value),
        Dimension::Power => (0.01 * value + 5.0, 0.03 * value),
        Dimension::Frequency => (0.05, 0.05),
        Dimension::Speed => (0.005 * value + 2.0, 0.005 * value),
        Dimension::Level => (1.0, 2.0),
        Dimension::Duration => (1.0, 60.0),
        Dimension::State | Dimension::Route => (0.0, 0.0),
    }
}
