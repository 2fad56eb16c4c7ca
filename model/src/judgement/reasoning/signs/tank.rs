//! Signs in the tank and the product line.

use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;

/// Litres in a US and in an imperial gallon (NIST SP 811).
const GALLONS: [f64; 2] = [3.785_411_784, 4.546_09];
/// How near the factor must be: the rise of a tank within an hour is good to a tenth or so (common practice), and nothing else differs by four times.
const FACTOR_NEAR: f64 = 0.15;
/// A level's slope needs so many minutes.
const SLOPE_MIN: f64 = 20.0;
/// The product side is open to the tank; more than this is no way out, bar (membranes are said to lift from 0.3 bar, common practice).
const PRODUCT_LINE_BAR: f64 = 0.3;

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    let level = known.now(Quantity::TankLevel);
    if let Some(level) = level {
        signs.fact(Fact::TankFull, ramp(level, 94.0, 98.0));
    }
    let litres = known.tank();
    if let (Some(litres), Some(needed)) = (litres.last(), known.s.around.flush_litres) {
        signs.yes_no(Fact::TankBelowFlush, litres.1 < needed);
    }
    slope(known, signs, &litres);
    if let Some(bar) = known.now(Quantity::ProductPressure) {
        let limit = known.s.parts.limits.maximum_product_pressure_bar.unwrap_or(PRODUCT_LINE_BAR);
        signs.fact(Fact::ProductLinePressure, ramp(bar, 0.7 * limit, limit));
    }
}

fn slope(known: &Known<'_>, signs: &mut Signs, litres: &[(f64, f64)]) {
    let (Some(first), Some(last)) = (litres.first(), litres.last()) else { return };
    let minutes = first.0 - last.0;
    let on = known.is_on() == Some(true);
    let low_pressure = known.high().is_some_and(|bar| bar < super::known::WORKING_BAR);
    if 2.0 <= minutes {
        signs.yes_no(Fact::TankGivesWater, last.1 < first.1 - 2.0 && on && low_pressure);
    }
    if minutes < SLOPE_MIN {
        return;
    }
    let l_h = (last.1 - first.1) / minutes * 60.0;
    let off = known.s.around.commanded_on == Some(false);
    if off {
        signs.fact(Fact::TankFallsWhileOff, ramp(l_h, -1.0, -4.0));
    }
    let meter: Vec<f64> =
        known.series(Quantity::ProductFlow).iter().filter(|(ago, _)| *ago <= first.0).map(|x| x.1).collect();
    let mean = meter.iter().sum::<f64>() / meter.len().max(1) as f64;
    if meter.is_empty() || mean <= 1.0 || !on {
        return;
    }
    let ratio = l_h / mean;
    let near = |factor: f64| (ratio / factor - 1.0).abs() < FACTOR_NEAR;
    let gallon = GALLONS.iter().any(|litres| near(*litres) || near(1.0 / litres));
    signs.yes_no(Fact::GallonFactor, gallon);
    signs.fact(Fact::TankGainsLess, if gallon { 0.0 } else { ramp(ratio, 0.93, 0.85) });
}
