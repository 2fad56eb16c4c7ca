//! From shaft power to supply power and current.
//!
//! P_el = P_shaft/eta; I = P_el/(U pf) on single phase, P_el/(sqrt(3) U pf) on three phases, P_el/U on direct current. Efficiencies and power
//! factors are those of small capacitor-run motors at their usual load: 0.65 to 0.77 and 0.75 to 0.95 (from memory), and together with the
//! pump about 0.52 (common practice). All fall at part load, which is not modelled.

use super::condition::Estimate;
use crate::parts::{Drive, DriveKind};
use crate::performance::NotComputable;

/// Speed of an induction motor between no load and full load. Common practice, no source.
pub const INDUCTION_SPEED_SD: f64 = 0.01;
/// Speed of a direct-current motor at given voltage. Common practice, no source.
pub const DC_SPEED_SD: f64 = 0.02;
/// Speed of a direct-current motor when the voltage was not read: a battery between 12 and 14 V. Common practice, no source.
pub const DC_UNKNOWN_VOLTAGE_SD: f64 = 0.05;
/// Speed of an engine, inverter or hydraulic motor when it was not read. Our choice, no source.
pub const ENGINE_SPEED_SD: f64 = 0.05;
/// Slip of a sound belt. Common practice, no source.
pub const BELT_SLIP_SD: f64 = 0.01;

/// Standard deviation of an efficiency or power factor that was entered.
const ENTERED_SD: f64 = 0.02;

/// Efficiency and power factor of a drive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Electric {
    /// Shaft power over supply power.
    pub efficiency: Estimate,
    /// Power over voltage times current; 1 on direct current.
    pub power_factor: Estimate,
    /// Voltage that divides the power, V: times the root of three on three phases.
    pub voltage_v: f64,
}

/// The electric side of a drive.
///
/// # Errors
/// [`NotComputable::NoElectricSupply`] for belt and hydraulic drives.
pub fn electric(drive: &Drive) -> Result<Electric, NotComputable> {
    let entered = |value: Option<f64>, default: Estimate| {
        value.map_or(default, |value| Estimate::new(value, ENTERED_SD * value))
    };
    let efficiency = |default| entered(drive.motor_efficiency, default);
    match drive.kind {
        DriveKind::AcSinglePhase { voltage_v, power_factor, .. } => Ok(Electric {
            efficiency: efficiency(Estimate::new(0.71, 0.03)),
            power_factor: entered(power_factor, Estimate::new(0.83, 0.05)),
            voltage_v,
        }),
        // Small three-phase motors: common practice, no source.
        DriveKind::AcThreePhase { voltage_v, power_factor, .. } => Ok(Electric {
            efficiency: efficiency(Estimate::new(0.80, 0.03)),
            power_factor: entered(power_factor, Estimate::new(0.80, 0.04)),
            voltage_v: voltage_v * 3.0_f64.sqrt(),
        }),
        // Inverter 0.95 and motor 0.80; a rectifier without correction has a power factor near 0.7. Common practice, no source.
        DriveKind::Inverter { voltage_v, power_factor, .. } => Ok(Electric {
            efficiency: efficiency(Estimate::new(0.76, 0.04)),
            power_factor: entered(power_factor, Estimate::new(0.70, 0.12)),
            voltage_v,
        }),
        // Small permanent-magnet motors: common practice, no source.
        DriveKind::Dc { voltage_v } => Ok(Electric {
            efficiency: efficiency(Estimate::new(0.75, 0.05)),
            power_factor: Estimate::exact(1.0),
            voltage_v,
        }),
        DriveKind::Belt { .. } | DriveKind::Hydraulic => Err(NotComputable::NoElectricSupply),
    }
}

/// What the start takes, before the rated current is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum StartCurrent {
    /// Of the motor's sheet, A.
    Entered(Estimate),
    /// Multiple of the rated current: entered, or usual for this kind of motor.
    Multiple(Estimate),
}

/// Start current of an electric drive; `None` for belt and hydraulic drives.
///
/// A motor straight on the line takes 5 to 8 times its rated current (locked rotor); behind a soft starter about three times; behind an
/// inverter or an electronic controller little more than running. Common practice, no source: the motor's own sheet is better.
pub fn start_current(drive: &Drive) -> Option<StartCurrent> {
    let usual = match (drive.kind, drive.start.soft) {
        (DriveKind::Belt { .. } | DriveKind::Hydraulic, _) => return None,
        (DriveKind::AcSinglePhase { .. }, false) => Estimate::new(6.0, 1.0),
        (DriveKind::AcThreePhase { .. }, false) => Estimate::new(7.0, 1.0),
        (DriveKind::AcSinglePhase { .. } | DriveKind::AcThreePhase { .. }, true) => Estimate::new(3.0, 0.5),
        (DriveKind::Dc { .. }, false) => Estimate::new(5.0, 1.5),
        (DriveKind::Dc { .. }, true) | (DriveKind::Inverter { .. }, _) => Estimate::new(1.2, 0.15),
    };
    Some(match (drive.start.current_a, drive.start.multiple) {
        (Some(ampere), _) => StartCurrent::Entered(Estimate::new(ampere, ENTERED_START_SD * ampere)),
        (None, Some(multiple)) => {
            StartCurrent::Multiple(Estimate::new(multiple, ENTERED_START_SD * multiple))
        }
        (None, None) => StartCurrent::Multiple(usual),
    })
}

/// Standard deviation of a start current of a sheet, relative: it falls with the voltage at the motor. Our choice, no source.
const ENTERED_START_SD: f64 = 0.10;
