//! What the supply gives: power, current and start current of the drive, from the power at the pump's shaft.

use super::condition::Condition;
use super::drive::{self, StartCurrent};
use super::uncertain_inputs::{Input, Inputs};
use crate::parts::{DriveKind, Parts};

/// Power in W, current in A, start current in A.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Supply {
    pub power_w: Option<f64>,
    pub current_a: Option<f64>,
    pub start_current_a: Option<f64>,
}

/// The electric side for one set of inputs; nothing without an electric motor.
pub(super) fn supply(parts: &Parts, condition: &Condition, inputs: &Inputs, shaft_w: f64) -> Supply {
    let Ok(electric) = drive::electric(&parts.drive) else { return Supply::default() };
    // The supply's own voltage, if it was read; three phases keep their root of three.
    let nominal = nominal_voltage(parts).unwrap_or(electric.voltage_v);
    let read = condition.supply_voltage_v.map_or(nominal, |volts| volts.value);
    let voltage = electric.voltage_v * read / nominal;
    let efficiency = inputs.get(Input::MotorEfficiency);
    let per_watt = 1.0 / (voltage * inputs.get(Input::PowerFactor));
    let power_w = shaft_w / efficiency;
    let current_a = (0.0 < voltage).then_some(power_w * per_watt);
    // Locked rotor is a property of the motor: its rated current, from its rated power where that is known.
    let rated_a = match parts.drive.motor_power_w {
        Some(rated_w) if 0.0 < voltage => Some(rated_w / efficiency * per_watt),
        _ => current_a,
    };
    let start_current_a = match drive::start_current(&parts.drive) {
        Some(StartCurrent::Entered(_)) => Some(inputs.get(Input::Start)),
        Some(StartCurrent::Multiple(_)) => rated_a.map(|rated_a| inputs.get(Input::Start) * rated_a),
        None => None,
    };
    Supply { power_w: Some(power_w), current_a, start_current_a }
}

/// Voltage of the drive as entered, V.
fn nominal_voltage(parts: &Parts) -> Option<f64> {
    match parts.drive.kind {
        DriveKind::AcSinglePhase { voltage_v, .. }
        | DriveKind::AcThreePhase { voltage_v, .. }
        | DriveKind::Inverter { voltage_v, .. }
        | DriveKind::Dc { voltage_v } => Some(voltage_v),
        DriveKind::Belt { .. } | DriveKind::Hydraulic => None,
    }
}
