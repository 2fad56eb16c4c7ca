//! Signs in the product's salinity, whole and by element.

use super::known::{DAY_MIN, SOLIDS_PER_US_CM};
use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;
use crate::judgement::reasoning::situation::Role;

/// Rise from one reading to the next that no drift of an element makes within days.
const STEP: (f64, f64) = (1.5, 2.0);
/// A rise within so many days is a step, minutes.
const STEP_MIN: f64 = 10.0 * DAY_MIN;
/// Observations that ask for the salinity of the product.
const ASKED: [&str; 3] = ["taste-salty", "product-milky", "probe-fault-reported"];
/// How much saltier one element is when it is the place of a leak, and when it is only last in the train.
const SALTIER: (f64, f64) = (1.8, 3.0);

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    let series = known.salt_series();
    let asked = ASKED.iter().any(|code| known.saw(code) == Some(true));
    if series.is_empty() && asked {
        signs.yes_no(Fact::SaltNotMeasured, true);
    }
    elements(known, signs);
    let Some(last) = series.last().copied() else { return };
    let limit = known.s.parts.limits.product_conductivity_us_cm.map(|us_cm| SOLIDS_PER_US_CM * us_cm);
    if let Some(limit) = limit {
        signs.yes_no(Fact::SaltOverLimit, limit < last.1);
    }
    let run_min = known.s.around.minutes_since_start.unwrap_or(0.0);
    let in_run: Vec<(f64, f64)> = series.iter().copied().filter(|(ago, _)| *ago <= run_min + 1.0).collect();
    if let (Some(first), true) = (in_run.first(), 1 < in_run.len()) {
        signs.fact(Fact::SaltFallsInRun, ramp(last.1 / first.1, 0.9, 0.7));
    }
    let base = known.base_salt().filter(|base| 0.0 < *base);
    if let Some(base) = base {
        signs.fact(Fact::SaltUp, ramp(last.1 / base, 1.1, 1.3));
    }
    // The run before: an earlier day, no more than some days back.
    let before = series.iter().rev().find(|(ago, _)| 0.5 * DAY_MIN < *ago - last.0);
    match (before, base) {
        (Some((ago, before)), _) if *ago - last.0 <= STEP_MIN => {
            signs.fact(Fact::SaltStep, ramp(last.1 / before, STEP.0, STEP.1));
        }
        // Nothing was read between: it may have come in one step.
        (None, Some(base)) => signs.fact(Fact::SaltStep, 0.5 * ramp(last.1 / base, STEP.0, STEP.1)),
        _ => {}
    }
}

fn elements(known: &Known<'_>, signs: &mut Signs) {
    let salt = |quantity| matches!(quantity, Quantity::ProductConductivity | Quantity::ProductSalinity);
    let mut by_element: Vec<(u8, f64)> = known
        .s
        .beside
        .iter()
        .filter(|one| salt(one.quantity))
        .filter_map(|one| match one.role {
            Role::Element(number) => Some((number, one.value)),
            _ => None,
        })
        .collect();
    by_element.sort_by(|a, b| a.1.total_cmp(&b.1));
    let (Some(least), Some(most), true) = (by_element.first(), by_element.last(), 1 < by_element.len())
    else {
        return;
    };
    let next = by_element[by_element.len() - 2].1.max(least.1);
    let times = most.1 / next.max(1e-9);
    let is_last = by_element.iter().all(|(number, _)| *number <= most.0);
    // The last element works in the saltiest water and is somewhat saltier in a sound train too.
    let share = ramp(times, SALTIER.0, SALTIER.1);
    signs.fact(Fact::OneElementSaltier, share);
    signs.fact(
        Fact::LastElementSaltier,
        if is_last { ramp(times, 1.4, SALTIER.0) * (1.0 - share) } else { 0.0 },
    );
    signs.fact(Fact::ElementsAlike, 1.0 - ramp(times, 1.3, SALTIER.0));
}
