//! Signs of supply and drive: volts, amps, frequency, speed.

use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;
use crate::parts::DriveKind;

/// Below this share of the rated volts alternating current is low: motors are built for 10 % less (IEC 60038 gives the supply ±10 %).
const AC_LOW: (f64, f64) = (0.93, 0.90);
/// Shares of the rated volts below which direct current is low under load (common practice, no source: a 12 V battery that gives 12.0 under load is empty).
const DC_LOW: (f64, f64) = (1.0, 0.95);
/// Shares of the baseline's volts below which direct current is low.
const DC_DOWN: (f64, f64) = (0.97, 0.94);
/// Multiples of the rated current that a motor never takes when it turns: locked rotors take 4 to 8 (common practice), full load with errors 1.3.
const FAR_ABOVE: (f64, f64) = (1.6, 2.2);
/// Shares of the usual current below which the pump moves nothing: an idling motor takes a third to a half (common practice).
const IDLING: (f64, f64) = (0.8, 0.65);
/// Change of current for the same pressure that says more than its errors.
const MORE: (f64, f64) = (1.08, 1.15);
/// A speed this share of what it should be is lower; meters are good to one per cent.
const SLOWER: (f64, f64) = (0.985, 0.96);

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    volts(known, signs);
    amps(known, signs);
    speeds(known, signs);
}

fn volts(known: &Known<'_>, signs: &mut Signs) {
    let (rated, _) = known.motor();
    let Some((volts, rated)) = known.now(Quantity::SupplyVoltage).zip(rated) else { return };
    let before = known.ratio(Quantity::SupplyVoltage);
    match known.s.parts.drive.kind {
        DriveKind::Dc { .. } => {
            let down = before.map_or(0.0, |ratio| ramp(ratio, DC_DOWN.0, DC_DOWN.1));
            let low = down.max(ramp(volts / rated, DC_LOW.0, DC_LOW.1));
            signs.fact(Fact::DcLow, low);
            signs.fact(Fact::SupplyThere, 1.0 - low);
            let flow = known.delivery().filter(|(_, before)| *before).map(|(ratio, _)| ratio);
            let flow = flow.or(known.ratio(Quantity::ProductFlow));
            if let (Some(flow), Some(volts)) = (flow, before) {
                let together = (flow - volts).abs() < 0.05 && volts < DC_DOWN.0;
                signs.yes_no(Fact::FlowFollowsVolts, together);
            }
        }
        DriveKind::AcSinglePhase { .. } | DriveKind::AcThreePhase { .. } | DriveKind::Inverter { .. } => {
            let low = ramp(volts / rated, AC_LOW.0, AC_LOW.1);
            signs.fact(Fact::AcLow, low);
            signs.fact(Fact::SupplyThere, 1.0 - low);
        }
        DriveKind::Belt { .. } | DriveKind::Hydraulic => {}
    }
}

fn amps(known: &Known<'_>, signs: &mut Signs) {
    let Some(amps) = known.now(Quantity::SupplyCurrent) else { return };
    let (_, rated) = known.motor();
    let before = known.base(Quantity::SupplyCurrent).filter(|base| 0.0 < *base);
    let Some(usual) = before.or(rated) else { return };
    let share = amps / usual;
    signs.yes_no(Fact::NoCurrent, share < 0.03 && known.is_on() == Some(true));
    signs.fact(Fact::CurrentFarAbove, ramp(share, FAR_ABOVE.0, FAR_ABOVE.1));
    let little = known.high().is_some_and(|bar| known.usual_high().is_some_and(|usual| bar < 0.3 * usual));
    if little && 0.03 <= share {
        signs.fact(Fact::CurrentIdling, ramp(share, IDLING.0, IDLING.1));
    }
    let pressure = known.high().zip(known.base(Quantity::FeedPressure)).map(|(now, base)| now / base);
    if let (Some(pressure), true) = (pressure.filter(|ratio| 0.3 < *ratio), before.is_some()) {
        let idle = idle_share(known.s.parts.drive.kind);
        let for_work = (share - idle) / (1.0 - idle) / pressure;
        signs.fact(Fact::MoreCurrentForWork, ramp(for_work, MORE.0, MORE.1));
        signs.fact(Fact::CurrentFitsPressure, 1.0 - ramp((for_work - 1.0).abs(), 0.06, 0.12));
        if let Some(cylinders) = known.s.parts.pump.cylinders.filter(|n| 1 < *n) {
            let missing = (1.0 - for_work) * f64::from(cylinders);
            signs.yes_no(Fact::CurrentDownByCylinder, 0.5 < missing && missing < 1.25);
        }
    }
}

/// Share of the current that does no work and stays when the pressure falls: an induction motor's magnetising current (common practice: a fifth to a third).
fn idle_share(kind: DriveKind) -> f64 {
    match kind {
        DriveKind::AcSinglePhase { .. } | DriveKind::AcThreePhase { .. } => 0.2,
        DriveKind::Inverter { .. } | DriveKind::Dc { .. } | DriveKind::Belt { .. } | DriveKind::Hydraulic => {
            0.0
        }
    }
}

fn speeds(known: &Known<'_>, signs: &mut Signs) {
    let kind = known.s.parts.drive.kind;
    if let (
        DriveKind::AcSinglePhase { frequency_hz, .. } | DriveKind::AcThreePhase { frequency_hz, .. },
        Some(hz),
    ) = (kind, known.now(Quantity::SupplyFrequency))
    {
        signs.fact(Fact::FrequencyOff, ramp((hz / frequency_hz - 1.0).abs(), 0.02, 0.05));
    }
    let pump = known.now(Quantity::PumpSpeed);
    if let (DriveKind::Belt { ratio, .. }, Some(pump), Some(engine)) =
        (kind, pump, known.now(Quantity::EngineSpeed))
        && 0.0 < engine
    {
        signs.fact(Fact::PumpBehindEngine, ramp(pump / (engine * ratio), SLOWER.0, SLOWER.1));
    }
    let usual = known.base(Quantity::PumpSpeed).or(known.s.parts.pump.rated_speed_rpm);
    let engine = match kind {
        DriveKind::Belt { engine_speed_rpm, .. } => {
            known.now(Quantity::EngineSpeed).zip(known.base(Quantity::EngineSpeed).or(engine_speed_rpm))
        }
        _ => None,
    };
    if let Some((now, usual)) = pump.zip(usual).or(engine).filter(|(_, usual)| 0.0 < *usual) {
        signs.fact(Fact::SpeedDown, ramp(now / usual, SLOWER.0, SLOWER.1));
        signs.fact(Fact::SpeedAsAlways, 1.0 - ramp((now / usual - 1.0).abs(), 0.015, 0.04));
    }
    for quantity in [Quantity::PumpSpeed, Quantity::EngineSpeed, Quantity::SupplyFrequency] {
        let (course, pressure) = (known.in_run(quantity), known.high_in_run());
        if let (Some(first), Some(last), true) = (course.first(), course.last(), 1 < course.len()) {
            let level = pressure.iter().map(|(_, bar)| *bar);
            let (low, high) = level.fold((f64::MAX, 0.0_f64), |(l, h), bar| (l.min(bar), h.max(bar)));
            let held = pressure.is_empty() || 0.85 * high <= low;
            signs.fact(Fact::EngineSlowsInRun, if held { ramp(last.1 / first.1, 0.95, 0.85) } else { 0.0 });
        }
    }
}
