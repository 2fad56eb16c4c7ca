//! Signs in the pressure of the high side and its course.

use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;
use crate::judgement::reasoning::situation::Role;
use crate::parts::PressureControl;

/// A fall of the pressure within so few minutes is a collapse, not a fading (our choice).
const COLLAPSE_MIN: f64 = 3.0;
/// psi in a bar (NIST SP 811).
const PSI_PER_BAR: f64 = 14.503_774;
/// How near the factor must be; working pressures of boat units differ by less (common practice).
const FACTOR_NEAR: f64 = 0.25;

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    level(known, signs);
    course(known, signs);
    valve(known, signs);
    units(known, signs);
}

fn level(known: &Known<'_>, signs: &mut Signs) {
    let Some(bar) = known.high() else { return };
    let usual = known.usual_high();
    let low = usual.map_or(6.0, |usual| 0.1 * usual);
    let off = known.s.around.commanded_on == Some(false);
    signs.yes_no(Fact::NoPressure, bar < low && !off && known.is_on() == Some(true));
    if off {
        signs.yes_no(Fact::PressureWhileOff, 1.0 < bar);
    }
    if let Some((limit, _)) = known.s.parts.pressure_limit_bar() {
        signs.yes_no(Fact::OverLimit, limit < bar);
    }
    let product = known.now(Quantity::ProductFlow);
    if let Some(product) = product {
        let sea = known.now(Quantity::FeedSalinity).is_none_or(|salt| 25.0 < salt);
        signs.yes_no(
            Fact::PressureTooLowForProduct,
            0.0 < product && bar < super::known::WORKING_BAR && sea && !off,
        );
    }
    let Some(ratio) = usual.map(|usual| bar / usual).filter(|ratio| 0.3 < *ratio) else { return };
    // The pressure of a valve that stays put answers to the water too.
    let control = known.s.parts.pressure_control;
    let floats = matches!(control, PressureControl::FixedValve | PressureControl::HandSetPressure);
    if matches!(control, PressureControl::Regulated) || floats {
        let other_water = floats && 0.3 < signs_of_softer_water(known);
        signs.fact(Fact::PressureBelowSet, if other_water { 0.0 } else { ramp(ratio, 0.97, 0.92) });
    }
    if !matches!(control, PressureControl::Regulated) && known.base(Quantity::FeedPressure).is_some() {
        signs.fact(Fact::PressureAboveSet, if same_water(known) { ramp(ratio, 1.02, 1.05) } else { 0.0 });
    }
}

/// Warm or fresh water takes less pressure at a fixed valve; 0 to 1.
fn signs_of_softer_water(known: &Known<'_>) -> f64 {
    let change =
        |quantity| known.now(quantity).zip(known.base(quantity)).map_or(0.0, |(now, base)| now - base);
    ramp(change(Quantity::FeedTemperature), 2.0, 6.0).max(ramp(change(Quantity::FeedSalinity), -1.5, -4.0))
}

fn same_water(known: &Known<'_>) -> bool {
    let near = |quantity, by: f64| {
        known.now(quantity).zip(known.base(quantity)).is_none_or(|(now, base)| (now - base).abs() <= by)
    };
    near(Quantity::FeedTemperature, 2.0) && near(Quantity::FeedSalinity, 2.0)
}

fn course(known: &Known<'_>, signs: &mut Signs) {
    let course = known.high_in_run();
    let (Some(first), Some(last)) = (course.first(), course.last()) else { return };
    if course.len() < 2 {
        return;
    }
    let highest = course.iter().map(|(_, bar)| *bar).fold(0.0, f64::max);
    let lowest = course.iter().map(|(_, bar)| *bar).fold(f64::MAX, f64::min);
    let turns = course.windows(3).filter(|w| (w[1].1 - w[0].1) * (w[2].1 - w[1].1) < 0.0).count();
    let quick = first.0 - last.0 < 5.0;
    signs.yes_no(Fact::PressureHunts, 2 <= turns && quick && 1.08 * lowest < highest);
    let before_end = course.iter().rev().find(|(_, bar)| 1.9 * last.1.max(1.0) < *bar);
    let collapsed = before_end.is_some_and(|(ago, _)| ago - last.0 <= COLLAPSE_MIN);
    let limit = known.s.parts.pressure_limit_bar().map(|(limit, _)| limit);
    let near_limit = limit.is_some_and(|limit| 0.98 * limit <= highest)
        || known.usual_high().is_some_and(|usual| 1.2 * usual <= highest);
    signs.yes_no(Fact::CollapsedFromLimit, collapsed && near_limit);
    signs.yes_no(Fact::Collapsed, collapsed && !near_limit);
    let falls = course.windows(2).all(|w| w[1].1 <= 1.01 * w[0].1);
    let fades = falls && !collapsed && turns == 0;
    signs.fact(Fact::PressureFades, if fades { ramp(last.1 / first.1, 0.92, 0.8) } else { 0.0 });
}

/// The number of the concentrate valve, p over the square of the flow: a needle's (Bernoulli).
fn valve(known: &Known<'_>, signs: &mut Signs) {
    let control = known.s.parts.pressure_control;
    if matches!(control, PressureControl::Regulated | PressureControl::FixedRecovery) {
        return;
    }
    let now = known.concentrate(&|quantity| known.now(quantity));
    let set = known.s.parts.valve_set_at.map(|set| set.concentrate_flow_l_h);
    let base = known.concentrate(&|quantity| known.base(quantity)).or(set);
    let pressures = known.high().zip(known.usual_high());
    let (Some(now), Some(base), Some((bar, usual))) = (now, base, pressures) else { return };
    if now <= 0.05 * base || bar < 0.2 * usual {
        return;
    }
    let number = bar / usual * (base / now) * (base / now);
    signs.fact(Fact::ValveWider, ramp(number, 0.95, 0.88));
    signs.fact(Fact::ValveMuchWider, ramp(number, 0.85, 0.75));
    signs.fact(Fact::ValveNarrower, ramp(number, 1.06, 1.15));
}

fn units(known: &Known<'_>, signs: &mut Signs) {
    let of_high = |quantity| matches!(quantity, Quantity::FeedPressure | Quantity::ConcentratePressure);
    let impossible =
        known.s.beside.iter().filter(|one| one.role == Role::Impossible && of_high(one.quantity));
    let shown = known.high().into_iter().chain(impossible.map(|one| one.value));
    let Some(usual) = known.usual_high() else { return };
    let near = |bar: f64| (bar / usual - 1.0).abs() <= FACTOR_NEAR;
    let factor = shown.into_iter().any(|bar| near(bar * PSI_PER_BAR) || near(bar / PSI_PER_BAR));
    let (usual_product, _) = known.usual_product();
    let product = known.now(Quantity::ProductFlow).map_or(0.5, |now| ramp(now / usual_product, 0.05, 0.4));
    let off = known.s.around.commanded_on == Some(false);
    signs.fact(Fact::PsiBarFactor, if factor && !off { product.max(0.3) } else { 0.0 });
}
