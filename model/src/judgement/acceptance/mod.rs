//! Acceptance: does the unit make at least what the sheets of its elements promise as a minimum, in the water of the day?
//!
//! What this is: three sets of readings ten minutes apart, checked for what makes them no acceptance ([`Obstacle`]), their mean set against the model with the
//! sheets' **minimum** flow and rejection, and the answer with its 95 % interval: meets, does not meet, cannot tell, and then which reading would decide.
//! What it is not: a judgement of a unit with a history; that is for baselines and findings. What happens on failure: whatever is missing is an obstacle by
//! name, and the figures that can be computed are still given, for information.
//!
//! Sets, spacing and limits are our choice, each with its reason beside it; that a sheet's flow holds for the mean of many elements while a single one may lie 15 to 20 % below,
//! and so must be judged against the minimum, is common to trade data sheets (from memory).

mod criterion;
mod obstacle;
mod steady;

pub use criterion::{Criterion, Outcome, Unjudged};
pub use obstacle::{BRACKISH_G_KG, EARLY_MIN, Obstacle, Remark, SETTLING_H};
pub use steady::{CHI_SQUARE_95, SETS, SPACING_MIN};

use crate::parts::Parts;
use crate::performance::standardised::{StandardPoint, Standardised, standardise};
use crate::performance::{NotComputable, Readings};
use crate::plant::{Calibration, Condition, Estimate, expect_central};
use crate::records::{Mean, OperatingState};
use crate::{Quantity, WallMs};
use criterion::{Judge, condition};

/// One walk round the unit: readings that belong together. Each mean is a single reading with its errors.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingSet {
    /// When it was begun.
    pub at: Option<WallMs>,
    /// What was read, at most one per quantity.
    pub means: Vec<Mean>,
}

/// What is known beside the readings.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Circumstances {
    /// The unit was rinsed before, and somebody wrote it down.
    pub rinsed: bool,
    /// Running hours of the youngest element.
    pub element_hours: Option<f64>,
    /// Minutes from the start of the unit to the last set.
    pub minutes_since_start: Option<f64>,
    /// The product did not pass the place where its flow was read.
    pub product_elsewhere: bool,
}

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Something makes it no acceptance.
    NotValid,
    /// The sets do not agree, are too few or not apart.
    NotSteady,
    /// Flow and salinity are at least as good as the minimum, within the 95 % interval.
    Meets,
    /// Flow or salinity is worse than the minimum, within the 95 % interval.
    DoesNotMeet,
    /// The interval holds the minimum, or one of the two cannot be judged.
    CannotTell,
}

/// What would narrow the interval most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Decides {
    /// A reading that was not taken.
    Missing(Quantity),
    /// A better instrument for this reading, which makes up this share of the variance.
    Better(Quantity, f64),
    /// No reading: the model's own doubt about this water is the largest part, with this share. Water nearer to the sheet's test would.
    NoReading(f64),
    /// A minimum that was not entered.
    Sheet,
}

/// An acceptance.
#[derive(Clone, Debug, PartialEq)]
pub struct Acceptance {
    /// The answer.
    pub verdict: Verdict,
    /// Why it is not valid or not steady.
    pub obstacles: Vec<Obstacle>,
    /// What a reader must know beside it.
    pub remarks: Vec<Remark>,
    /// Mean of the sets that were judged.
    pub means: Vec<Mean>,
    /// Product flow, L/h.
    pub flow: Result<Criterion, Unjudged>,
    /// Dissolved solids of the product, mg/L at 25 °C.
    pub salt: Result<Criterion, Unjudged>,
    /// What would decide, where the answer is "cannot tell".
    pub decides: Option<Decides>,
    /// ASTM D4516 form, for comparison with other records: brought to [`STANDARD_C`] and [`STANDARD_G_KG`] at the pressure and feed flow that were read.
    pub standardised: Result<Standardised, NotComputable>,
}

/// Water to which the ASTM D4516 form brings the readings: the temperature of the sheets' test, and the open ocean. Our choice.
pub const STANDARD_C: f64 = 25.0;
/// Salinity that goes with [`STANDARD_C`], g/kg.
pub const STANDARD_G_KG: f64 = 35.0;

/// Judges the latest [`SETS`] of these sets, oldest first.
pub fn assess(parts: &Parts, sets: &[ReadingSet], circumstances: &Circumstances) -> Acceptance {
    let sets = &sets[sets.len().saturating_sub(SETS)..];
    let mut obstacles = obstacle::of_circumstances(circumstances);
    obstacles.extend(missing(sets));
    obstacles.extend(not_running(sets));
    let unsteady = steady::check(sets);
    let means = steady::mean(sets);
    let readings = Readings::from_means(&means);
    obstacles.extend(obstacle::of_water(&readings));

    let judge = Judge::new(parts, readings, &means);
    let flow = judge.as_ref().map_err(|why| why.clone()).and_then(Judge::flow);
    let salt = judge.as_ref().map_err(|why| why.clone()).and_then(Judge::salt);
    // A reading that is missing has been named already; what else stops the computation is named here.
    if let Err(Unjudged::NotComputable(why)) = &flow
        && obstacles.is_empty()
    {
        obstacles.push(Obstacle::NotComputable(*why));
    }
    let mut remarks = obstacle::remarks(circumstances, readings.flow_measured());
    remarks
        .extend([&flow, &salt].into_iter().flatten().filter(|c| c.between()).map(|c| Remark::Between(c.of)));

    let verdict = match (obstacles.is_empty(), unsteady.is_empty()) {
        (false, _) => Verdict::NotValid,
        (true, false) => Verdict::NotSteady,
        (true, true) => verdict([&flow, &salt]),
    };
    let decides =
        (verdict == Verdict::CannotTell).then(|| decides(&flow, &salt, readings.flow_measured())).flatten();
    obstacles.extend(unsteady);
    let standardised = standard(parts, &readings);
    Acceptance { verdict, obstacles, remarks, means, flow, salt, decides, standardised }
}

fn verdict(criteria: [&Result<Criterion, Unjudged>; 2]) -> Verdict {
    let is = |outcome: Outcome| {
        move |c: &&Result<Criterion, Unjudged>| c.as_ref().is_ok_and(|c| c.outcome == outcome)
    };
    if criteria.iter().any(|c| is(Outcome::DoesNotMeet)(c)) {
        Verdict::DoesNotMeet
    } else if criteria.iter().all(|c| is(Outcome::Meets)(c)) {
        Verdict::Meets
    } else {
        Verdict::CannotTell
    }
}

/// Of the criteria that cannot be told, what makes up most of the doubt.
fn decides(
    flow: &Result<Criterion, Unjudged>,
    salt: &Result<Criterion, Unjudged>,
    flow_measured: bool,
) -> Option<Decides> {
    if matches!(flow, Ok(c) if c.outcome == Outcome::CannotTell) && !flow_measured {
        return Some(Decides::Missing(Quantity::ConcentrateFlow));
    }
    if [flow, salt].iter().any(|c| matches!(c, Err(Unjudged::NoMinimum))) {
        return Some(Decides::Sheet);
    }
    let open = [flow, salt].into_iter().flatten().find(|c| c.outcome == Outcome::CannotTell)?;
    let model = open.model_share();
    let reading = open.shares.iter().max_by(|a, b| a.1.total_cmp(&b.1));
    Some(match reading {
        Some((quantity, share)) if model < *share => Decides::Better(*quantity, *share),
        _ => Decides::NoReading(model),
    })
}

/// What each set must have: any one of each group. The sea's salinity need be read once only.
const EACH_SET: [&[Quantity]; 4] = [
    &[Quantity::ProductFlow],
    &[Quantity::FeedPressure, Quantity::ConcentratePressure],
    &[Quantity::FeedTemperature],
    &[Quantity::ProductConductivity, Quantity::ProductSalinity],
];
const ONCE: [&[Quantity]; 1] = [&[Quantity::FeedSalinity, Quantity::FeedConductivity]];

fn missing(sets: &[ReadingSet]) -> Vec<Obstacle> {
    let has =
        |set: &ReadingSet, group: &[Quantity]| set.means.iter().any(|mean| group.contains(&mean.quantity));
    let mut missing = Vec::new();
    for (at, set) in sets.iter().enumerate() {
        for group in EACH_SET.iter().filter(|group| !has(set, group)) {
            missing.push(Obstacle::Missing { quantity: group[0], set: Some(at + 1) });
        }
    }
    for group in ONCE.iter().filter(|group| !sets.iter().any(|set| has(set, group))) {
        missing.push(Obstacle::Missing { quantity: group[0], set: None });
    }
    missing
}

fn not_running(sets: &[ReadingSet]) -> Option<Obstacle> {
    let running = f64::from(OperatingState::Running.code());
    sets.iter()
        .flat_map(|set| &set.means)
        .any(|mean| mean.quantity == Quantity::OperatingState && mean.value != running)
        .then_some(Obstacle::NotRunning)
}

/// The mean brought to the standard's water by the form of ASTM D4516. The standard's own product is that of the nominal sheets by the model.
fn standard(parts: &Parts, readings: &Readings) -> Result<Standardised, NotComputable> {
    let nominal = Calibration::from_nominal_sheets(parts)?;
    let today = condition(readings);
    let feed = today.feed_flow_l_h.ok_or(NotComputable::FeedFlowUnknown)?.value;
    let here = expect_central(parts, &today, &nominal)?.output;
    let value = |measured: Option<crate::performance::Measured>| measured.map(|measured| measured.value);
    let inlet = value(readings.feed_pressure_bar);
    let outlet = value(readings.concentrate_pressure_bar);
    let tds = readings.product_tds_mg_l.ok_or(NotComputable::ProductSalinityUnknown)?.value;
    let product_g_kg = |tds: f64| here.product_salinity_mg_kg / here.product_tds_mg_l * tds * 1e-3;
    let product_bar = value(readings.product_pressure_bar).unwrap_or(0.0);
    let actual = StandardPoint {
        feed_flow_l_h: feed,
        product_flow_l_h: value(readings.product_flow_l_h).ok_or(NotComputable::ProductFlowUnknown)?,
        // Where one end was read, the other follows from what the elements lose by the model.
        feed_pressure_bar: inlet.unwrap_or(here.feed_pressure_bar),
        concentrate_pressure_bar: outlet.unwrap_or(here.concentrate_pressure_bar),
        product_pressure_bar: product_bar,
        temperature_c: value(readings.feed_temperature_c).ok_or(NotComputable::TemperatureUnknown)?,
        feed_salinity_g_kg: value(readings.feed_salinity_g_kg).ok_or(NotComputable::SalinityUnknown)?,
        product_salinity_g_kg: product_g_kg(tds),
    };
    let there = Condition {
        feed_temperature_c: Some(Estimate::exact(STANDARD_C)),
        feed_salinity_g_kg: Some(Estimate::exact(STANDARD_G_KG)),
        ..today
    };
    let there = expect_central(parts, &there, &nominal)?.output;
    let standard = StandardPoint {
        feed_flow_l_h: feed,
        product_flow_l_h: there.product_flow_l_h,
        feed_pressure_bar: there.feed_pressure_bar,
        concentrate_pressure_bar: there.concentrate_pressure_bar,
        product_pressure_bar: product_bar,
        temperature_c: STANDARD_C,
        feed_salinity_g_kg: STANDARD_G_KG,
        product_salinity_g_kg: there.product_salinity_mg_kg * 1e-3,
    };
    standardise(&actual, &standard, &nominal.form.temperature)
}
