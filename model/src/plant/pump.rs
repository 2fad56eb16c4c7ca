//! Delivery and shaft power of the high-pressure pump.
//!
//! Q = n V_d eta_v(p) with eta_v = eta + s (1 - p/p_rated): slip through valves and packings grows with pressure. Torque and shaft power go with
//! the swept volume: P = n V_d (p_out - p_in)/eta_m, so they do not fall with the delivery. Sound small triplex pumps deliver 0.90 to 0.96 of the swept volume
//! (public pump pages); eta_m 0.85 to 0.92 (from memory).

use super::condition::{Condition, Estimate};
use super::drive;
use crate::parts::{DriveKind, Parts, Pump, PumpKind};
use crate::performance::NotComputable;

/// Delivery at rated pressure when nothing better is known, and its standard deviation.
pub const DELIVERY: Estimate = Estimate::new(0.90, 0.05);

/// Fall of the delivery from no pressure to rated pressure: 0.03 to 0.08, so its middle and a quarter of its width.
pub const SLIP: Estimate = Estimate::new(0.05, 0.0125);

/// Mechanical efficiency of a plunger pump: 0.85 to 0.92 (from memory).
pub const EFFICIENCY: Estimate = Estimate::new(0.88, 0.02);

/// Efficiency of a small energy-recovery pump: hydraulic work on the product over shaft work. With the motor it gives 3 to 4.5 Wh/L near 46 bar.
/// Common practice, no source.
pub const ENERGY_RECOVERY_EFFICIENCY: Estimate = Estimate::new(0.50, 0.10);

/// Smallest share of the nameplate that counts as delivery; a pump with less is no pump for this model.
const DELIVERY_MIN: f64 = 0.02;

/// Share of the nameplate delivered at this pressure.
pub fn delivery_at(pump: &Pump, delivery: f64, slip: f64, pressure_bar: f64) -> f64 {
    (delivery + slip * (1.0 - pressure_bar / pump.rated_pressure_bar)).max(DELIVERY_MIN)
}

/// Delivery at rated pressure that a measured feed flow means: the share of the nameplate, at this speed over rated speed and this pressure, less
/// what slip would be less at rated pressure.
pub fn delivery_at_rated(pump: &Pump, share: f64, speed_ratio: f64, slip: f64, pressure_bar: f64) -> f64 {
    (share / speed_ratio - slip * (1.0 - pressure_bar / pump.rated_pressure_bar)).max(DELIVERY_MIN)
}

/// Shaft power, W, from swept flow in L/h, the flow that a tight energy-recovery pump would make of the same feed in L/h, and the pressure rise in bar.
pub fn shaft_power_w(pump: &Pump, swept_l_h: f64, product_l_h: f64, rise_bar: f64, efficiency: f64) -> f64 {
    /// W in a bar times a L/h: 1e5 Pa times 1e-3/3600 m3/s.
    const W_PER_BAR_L_H: f64 = 1e2 / 3600.0;
    let worked_l_h = match pump.kind {
        PumpKind::Plunger => swept_l_h,
        // The concentrate gives its work back: what remains is that on the product, and on what leaks back.
        PumpKind::EnergyRecovery { .. } => product_l_h,
    };
    worked_l_h * rise_bar.max(0.0) * W_PER_BAR_L_H / efficiency
}

/// Efficiency of this kind of pump, with its spread.
pub fn efficiency(pump: &Pump) -> Estimate {
    match pump.kind {
        PumpKind::Plunger => EFFICIENCY,
        PumpKind::EnergyRecovery { .. } => ENERGY_RECOVERY_EFFICIENCY,
    }
}

/// Where the speed of the pump is known from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Speed {
    /// Speed over rated speed.
    pub ratio: Estimate,
    /// Nothing was measured: the rated or usual speed was taken.
    pub assumed: bool,
}

/// Speed of the pump over its rated speed.
///
/// A tachometer on the pump comes first; then what the drive follows: mains frequency, output frequency of an inverter, voltage on direct current,
/// engine speed. The mains frequency in front of an inverter says nothing.
///
/// # Errors
/// [`NotComputable::RatedSpeedUnknown`] if a speed was measured that cannot be compared; [`NotComputable::PumpAtRest`] for zero.
pub fn speed(parts: &Parts, condition: &Condition) -> Result<Speed, NotComputable> {
    let over = |measured: Estimate, rated: f64, extra: f64| {
        let ratio = measured.value / rated;
        if !(0.0 < ratio && ratio.is_finite()) {
            return Err(NotComputable::PumpAtRest);
        }
        let deviation = (measured.deviation / rated).abs();
        Ok(Estimate::new(ratio, (deviation * deviation + extra * extra).sqrt()))
    };
    let rated = |rpm: Option<f64>| rpm.filter(|rpm| 0.0 < *rpm).ok_or(NotComputable::RatedSpeedUnknown);
    if let (Some(measured), Some(rpm)) = (condition.pump_speed_rpm, parts.pump.rated_speed_rpm) {
        return Ok(Speed { ratio: over(measured, rpm, 0.0)?, assumed: false });
    }
    let assumed = |deviation| Ok(Speed { ratio: Estimate::new(1.0, deviation), assumed: true });
    match parts.drive.kind {
        DriveKind::AcSinglePhase { frequency_hz, .. } | DriveKind::AcThreePhase { frequency_hz, .. } => {
            match condition.supply_frequency_hz {
                Some(hz) => {
                    Ok(Speed { ratio: over(hz, frequency_hz, drive::INDUCTION_SPEED_SD)?, assumed: false })
                }
                None => assumed(drive::INDUCTION_SPEED_SD),
            }
        }
        DriveKind::Dc { voltage_v } => match condition.supply_voltage_v {
            Some(volts) => Ok(Speed { ratio: over(volts, voltage_v, drive::DC_SPEED_SD)?, assumed: false }),
            None => assumed(drive::DC_UNKNOWN_VOLTAGE_SD),
        },
        DriveKind::Belt { ratio, engine_speed_rpm } => {
            let usual = engine_speed_rpm.map(|rpm| Estimate::new(rpm, rpm * drive::ENGINE_SPEED_SD));
            match condition.engine_speed_rpm.or(usual) {
                Some(engine)
                    if condition.engine_speed_rpm.is_some() || parts.pump.rated_speed_rpm.is_some() =>
                {
                    let pump = Estimate::new(engine.value * ratio, engine.deviation * ratio);
                    let ratio = over(pump, rated(parts.pump.rated_speed_rpm)?, drive::BELT_SLIP_SD)?;
                    Ok(Speed { ratio, assumed: condition.engine_speed_rpm.is_none() })
                }
                _ => assumed(drive::ENGINE_SPEED_SD),
            }
        }
        DriveKind::Inverter { output_frequency_hz: Some(rated_hz), .. } => match condition.drive_frequency_hz
        {
            Some(hz) => Ok(Speed { ratio: over(hz, rated_hz, drive::INDUCTION_SPEED_SD)?, assumed: false }),
            None => assumed(drive::ENGINE_SPEED_SD),
        },
        DriveKind::Inverter { .. } | DriveKind::Hydraulic => assumed(drive::ENGINE_SPEED_SD),
    }
}
