//! Signs in product, concentrate and feed flow.

use super::known::DAY_MIN;
use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;
use crate::parts::PumpKind;

/// Share of the earlier delivery below which it is down: two jugs differ by 2 or 3 % (common practice).
const DOWN: (f64, f64) = (0.97, 0.93);
/// The same against the nameplate, of which a sound pump gives 0.90 to 0.96.
const DOWN_OF_NAMEPLATE: (f64, f64) = (0.9, 0.75);
/// Share of the feed that may be missing by the errors of three meters, and that cannot.
const MISSING: (f64, f64) = (0.03, 0.055);
/// Weeks over which a sinking product is told, minutes.
const WEEKS_MIN: f64 = 14.0 * DAY_MIN;

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    delivery(known, signs);
    balance(known, signs);
    product(known, signs);
}

fn delivery(known: &Known<'_>, signs: &mut Signs) {
    if let Some((ratio, before)) = known.delivery() {
        let down = if before { DOWN } else { DOWN_OF_NAMEPLATE };
        signs.fact(Fact::DeliveryDown, ramp(ratio, down.0, down.1));
        if before || 0.95 < ratio {
            signs.fact(Fact::DeliveryFull, 1.0 - ramp((ratio - 1.0).abs(), 0.03, 0.06));
        }
        if let Some(n) = known.s.parts.pump.cylinders.filter(|n| 1 < *n) {
            let share = 1.0 / f64::from(n);
            let missing = (1.0 - ratio - share).abs();
            signs.fact(Fact::DeliveryDownByCylinder, 1.0 - ramp(missing, 0.06, 0.1));
        }
    }
    let nameplate = known.s.parts.pump.nameplate_flow_l_h;
    let out = known.now(Quantity::ConcentrateFlow).or(known.now(Quantity::FeedFlow));
    if let Some(out) = out.filter(|_| 0.0 < nameplate) {
        signs.fact(Fact::NoConcentrate, ramp(out / nameplate, 0.15, 0.06));
    }
    let meter = known.ratio(Quantity::FeedFlow);
    if let Some(ratio) = meter {
        signs.fact(Fact::FeedMeterDown, ramp(ratio, DOWN.0, DOWN.1));
    }
    if let PumpKind::EnergyRecovery { product_share } = known.s.parts.pump.kind {
        let product = known.now(Quantity::ProductFlow);
        let all = known.now(Quantity::ConcentrateFlow).zip(product).map(|(concentrate, p)| concentrate + p);
        let all = all.or(known.now(Quantity::FeedFlow)).filter(|all| 0.0 < *all);
        if let (Some(product), Some(all)) = (product, all) {
            signs.fact(Fact::ShareBelowBuilt, ramp(product / all / product_share, 0.96, 0.9));
        }
    }
}

fn balance(known: &Known<'_>, signs: &mut Signs) {
    let now = |quantity| known.now(quantity);
    let (feed, concentrate) = (now(Quantity::FeedFlow), now(Quantity::ConcentrateFlow));
    let Some(((feed, concentrate), product)) = feed.zip(concentrate).zip(now(Quantity::ProductFlow)) else {
        return;
    };
    if feed <= 0.0 {
        return;
    }
    let missing = (feed - concentrate - product) / feed;
    signs.fact(Fact::WaterMissing, ramp(missing, MISSING.0, MISSING.1));
    signs.fact(Fact::FlowsDoNotFit, ramp(missing.abs(), MISSING.1, 0.1));
    signs.yes_no(Fact::ConcentrateIsFeed, product < 0.02 * feed && missing.abs() < MISSING.0);
    let trains = known.s.parts.parallel_trains;
    signs.yes_no(Fact::SideBySide, 1 < trains);
}

fn product(known: &Known<'_>, signs: &mut Signs) {
    let trains = known.s.parts.parallel_trains;
    if 1 < trains && known.delivery().is_some() {
        signs.yes_no(Fact::SideBySide, true);
    }
    let Some(product) = known.now(Quantity::ProductFlow) else { return };
    let (usual, from_baseline) = known.usual_product();
    let working = known.high().zip(known.usual_high()).map(|(bar, usual)| 0.6 * usual <= bar);
    if let Some(working) = working {
        signs.yes_no(Fact::NoProduct, working && product < 0.03 * usual);
    }
    let collapsed = if from_baseline { (0.6, 0.45) } else { (0.35, 0.2) };
    signs.fact(Fact::ProductCollapsed, ramp(product / usual, collapsed.0, collapsed.1));
    if from_baseline {
        signs.fact(Fact::ProductAsUsual, 1.0 - ramp((product / usual - 1.0).abs(), 0.05, 0.1));
    }
    if known.s.around.commanded_on == Some(false) || known.high().is_some_and(|bar| bar < 1.0) {
        let off = known.s.around.commanded_on == Some(false);
        signs.fact(
            Fact::FlowWhileOff,
            if product < 1.0 {
                0.0
            } else if off {
                1.0
            } else {
                0.6
            },
        );
    }
    let series = known.series(Quantity::ProductFlow);
    if let (Some(first), Some(last), true) = (series.first(), series.last(), 3 <= series.len()) {
        let falls = series.windows(2).all(|w| w[1].1 <= 1.02 * w[0].1);
        let weeks = WEEKS_MIN <= first.0 - last.0;
        signs.fact(Fact::ProductSinks, if falls && weeks { ramp(last.1 / first.1, 0.95, 0.85) } else { 0.0 });
    }
}
