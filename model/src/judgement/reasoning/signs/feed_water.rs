//! Signs in the sea and on the way to the pump: temperature, salinity, place, filter, inlet.

use super::known::DAY_MIN;
use super::{Known, Signs, ramp};
use crate::Quantity;
use crate::judgement::reasoning::sign::Fact;
use crate::judgement::reasoning::situation::{Position, Tide};

/// Lasting loss is documented at 40 °C for seven days (Altmann et al. 2022, Membranes 12, 792).
const HOT_C: (f64, f64) = (38.0, 40.0);
/// Conductivity of fresh or brackish water, µS/cm, below which a feed is a flush.
const FRESH_US_CM: f64 = 5_000.0;
/// Cartridges are changed at 20 psi (US Army TM 10-4610-232-12) where no mark is entered, bar.
const CHANGE_AT_BAR: f64 = 1.38;
/// Plastic housings of 10 inch class are sold for 6 to 8.6 bar (common practice, no source).
const HOUSING_BAR: (f64, f64) = (5.0, 7.0);

pub(super) fn tell(known: &Known<'_>, signs: &mut Signs) {
    sea(known, signs);
    suction(known, signs);
}

fn sea(known: &Known<'_>, signs: &mut Signs) {
    let sheet_c = known.s.parts.elements.first().map(|element| element.sheet.temperature_c);
    if let Some(now) = known.now(Quantity::FeedTemperature) {
        let limits = known.s.parts.elements.iter().filter_map(|element| element.limits.maximum_temperature_c);
        let hot = limits.reduce(f64::min).map_or(HOT_C, |limit| (limit - 1.0, limit));
        signs.fact(Fact::FeedHot, ramp(now, hot.0, hot.1));
        signs.fact(Fact::FrostNear, ramp(now, 5.0, 2.0));
        // Without a baseline people compare with the sheet: half as telling.
        let (base, share) = match known.base(Quantity::FeedTemperature) {
            Some(base) => (Some(base), 1.0),
            None => (sheet_c, 0.5),
        };
        if let Some(base) = base {
            signs.fact(Fact::Colder, share * ramp(now - base, -3.0, -6.0));
            signs.fact(Fact::Warmer, share * ramp(now - base, 2.0, 5.0));
        }
    }
    signs.yes_no(Fact::SalinityMeasured, known.now(Quantity::FeedSalinity).is_some());
    let usual = known.base(Quantity::FeedSalinity).or(known.s.around.usual_salinity_g_kg);
    if let (Some(now), Some(usual)) = (known.now(Quantity::FeedSalinity), usual) {
        signs.fact(Fact::Saltier, ramp(now - usual, 1.5, 3.5));
        signs.fact(Fact::Fresher, ramp(now - usual, -1.5, -4.0));
    }
    if let Some(us_cm) = known.now(Quantity::FeedConductivity) {
        let idle = known.high().is_none_or(|bar| bar < super::known::WORKING_BAR);
        signs.yes_no(Fact::FeedFresh, us_cm < FRESH_US_CM && idle);
    }
    if let Some(position) = known.s.around.position {
        let ebb = known.s.around.tide == Some(Tide::Falling);
        let river = if position == Position::Estuary { if ebb { 1.0 } else { 0.6 } } else { 0.0 };
        signs.fact(Fact::RiverNear, river);
        signs.yes_no(Fact::InHarbour, position == Position::Harbour);
    }
}

fn suction(known: &Known<'_>, signs: &mut Signs) {
    let drop = Quantity::PrefilterDifferentialPressure;
    if let Some(bar) = known.now(drop) {
        let mark = known.s.parts.prefilters.iter().filter_map(|filter| filter.change_at_bar);
        let mark = mark.reduce(f64::min).unwrap_or(CHANGE_AT_BAR);
        signs.fact(Fact::FilterDropHigh, ramp(bar / mark, 0.75, 0.95));
        signs.fact(Fact::FilterDropSmall, 1.0 - ramp(bar / mark, 0.3, 0.6));
        let series = known.series(drop);
        let grows = series.windows(2).all(|w| w[0].1 <= w[1].1) && 3 <= series.len();
        let over = series.first().map_or(0.0, |(ago, _)| *ago);
        if 2 <= series.len() {
            signs.yes_no(Fact::FilterDropRises, grows && DAY_MIN < over);
            let [before, last] = [series[series.len() - 2], series[series.len() - 1]];
            let jumped = 0.4 * mark < last.1 - before.1 && before.0 - last.0 < DAY_MIN;
            signs.yes_no(Fact::FilterDropJumped, jumped);
        }
    }
    let inlet = known.now(Quantity::InletPressure);
    if let Some(bar) = inlet {
        let least = known.s.parts.limits.minimum_inlet_pressure_bar;
        let least = least.unwrap_or(if known.s.parts.boost_pump { 0.2 } else { -0.2 });
        signs.fact(Fact::InletLow, ramp(bar, least + 0.15, least));
        signs.fact(Fact::InletFine, ramp(bar, least + 0.1, least + 0.4));
    }
    let low_side = known.now(Quantity::LowSidePressure);
    let limit = known.s.parts.limits.maximum_low_side_pressure_bar;
    let over_low_side = low_side.zip(limit).is_some_and(|(bar, limit)| limit < bar);
    let housing = inlet.or(known.now(Quantity::PrefilterInletPressure));
    if housing.is_some() || low_side.zip(limit).is_some() {
        let share = housing.map_or(0.0, |bar| ramp(bar, HOUSING_BAR.0, HOUSING_BAR.1));
        signs.fact(Fact::LowSideHigh, if over_low_side { 1.0 } else { share });
    }
}
