//! What is held against a limit. Limits come from the reader: the element's sheet, the unit, the supply, the crew's own limit of salinity.
//!
//! A limit that was not entered is reported as such; a typical value never takes its place. Usual recoveries are shown beside, and pass
//! no judgement.

use super::unknown::{Figure, Unknown};
use crate::parts::Parts;
use crate::plant::{Estimate, Expected};

/// Lower end of the usual recovery of one element on small units; the upper end is [`crate::plant::note::USUAL_ELEMENT_RECOVERY`]. Common practice, no source.
pub const USUAL_ELEMENT_RECOVERY_FROM: f64 = 0.15;
/// Lower end of the usual recovery of a train on small units; the upper end is [`crate::plant::note::USUAL_TRAIN_RECOVERY`]. Common practice, no source.
pub const USUAL_TRAIN_RECOVERY_FROM: f64 = 0.25;

/// Half width of a 95 % interval in standard deviations.
const HALF_95: f64 = 1.96;

/// What is held against a limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum CheckKind {
    /// Conductivity of the product against the crew's own limit, µS/cm at 25 °C.
    ProductConductivity,
    /// Feed pressure against the lowest limit of unit and elements, bar gauge.
    FeedPressure,
    /// Water temperature against the elements' sheets, °C.
    Temperature,
    /// Product of the hardest working element against its sheet, L/h.
    ElementProduct,
    /// Feed of the first element against its sheet, L/h.
    ElementFeed,
    /// Pressure lost along one element against its sheet, bar.
    ElementDifferentialPressure,
    /// Power at the pump's shaft against the motor's rating, W.
    MotorPower,
    /// Lasting current against breaker, generator or inverter, A.
    SupplyCurrent,
    /// Apparent power against generator or inverter, VA.
    SupplyPower,
    /// Start current against what the supply stands, A.
    StartCurrent,
    /// Running hours against the hours of a day, h.
    HoursOfTheDay,
}

impl CheckKind {
    /// A short name that does not change, with the unit.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ProductConductivity => "product_conductivity_us_cm_25c",
            Self::FeedPressure => "feed_pressure_bar_gauge",
            Self::Temperature => "feed_temperature_c",
            Self::ElementProduct => "element_product_flow_l_h",
            Self::ElementFeed => "element_feed_flow_l_h",
            Self::ElementDifferentialPressure => "element_differential_pressure_bar",
            Self::MotorPower => "shaft_power_w",
            Self::SupplyCurrent => "supply_current_a",
            Self::SupplyPower => "apparent_power_va",
            Self::StartCurrent => "start_current_a",
            Self::HoursOfTheDay => "running_hours_per_day_h",
        }
    }
}

/// One figure against one limit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    /// Which.
    pub kind: CheckKind,
    /// The figure.
    pub value: Figure,
    /// The limit; none if it was not entered.
    pub limit: Option<f64>,
}

/// How a figure stands to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// The whole 95 % interval is within.
    Within,
    /// The figure is within, the upper end of its interval is not.
    Perhaps,
    /// No limit was entered.
    NotEntered,
    /// The figure is not known.
    NotKnown,
    /// The figure is beyond.
    Passed,
}

impl Verdict {
    /// A short name that does not change.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Within => "within",
            Self::Perhaps => "perhaps-passed",
            Self::NotEntered => "limit-not-entered",
            Self::NotKnown => "figure-not-known",
            Self::Passed => "passed",
        }
    }
}

impl Check {
    /// How the figure stands to the limit. The limit itself is still within.
    pub fn verdict(&self) -> Verdict {
        let Some(limit) = self.limit else { return Verdict::NotEntered };
        match self.value {
            Err(_) => Verdict::NotKnown,
            Ok(figure) if limit < figure.value => Verdict::Passed,
            Ok(figure) if limit < figure.value + HALF_95 * figure.deviation => Verdict::Perhaps,
            Ok(_) => Verdict::Within,
        }
    }
}

/// Checks of membranes and motor.
pub(super) fn of_parts(parts: &Parts, expected: &Expected, temperature_c: f64) -> Vec<Check> {
    let (output, sd) = (&expected.output, &expected.uncertainty);
    let trains = f64::from(parts.parallel_trains.max(1));
    let mut checks = vec![
        Check {
            kind: CheckKind::FeedPressure,
            value: Ok(Estimate::new(output.feed_pressure_bar, sd.feed_pressure_bar)),
            limit: parts.pressure_limit_bar().map(|(bar, _)| bar),
        },
        Check {
            kind: CheckKind::Temperature,
            value: Ok(Estimate::exact(temperature_c)),
            limit: lowest(parts, |limits| limits.maximum_temperature_c),
        },
    ];
    // Each element has its own limit: the one with the least room counts, and one without a limit leaves the question open.
    let mut per_element = |kind,
                           limit: fn(&crate::parts::ElementLimits) -> Option<f64>,
                           values: Vec<Estimate>| {
        let limits: Option<Vec<f64>> = parts.elements.iter().map(|element| limit(&element.limits)).collect();
        let room =
            |at: &usize| limits.as_ref().map_or(-values[*at].value, |limits| limits[*at] / values[*at].value);
        let tightest = (0..values.len()).min_by(|a, b| room(a).total_cmp(&room(b)));
        let Some(at) = tightest else { return };
        checks.push(Check { kind, value: Ok(values[at]), limit: limits.map(|limits| limits[at]) });
    };
    let each = || output.elements.iter().zip(&sd.elements);
    per_element(
        CheckKind::ElementProduct,
        |limits| limits.maximum_product_flow_l_h,
        each()
            .map(|(e, d)| Estimate::new(e.product_flow_l_h / trains, d.product_flow_l_h / trains))
            .collect(),
    );
    per_element(
        CheckKind::ElementFeed,
        |limits| limits.maximum_feed_flow_l_h,
        each().map(|(e, d)| Estimate::new(e.feed_flow_l_h / trains, d.feed_flow_l_h / trains)).collect(),
    );
    let relative = sd.differential_pressure_bar / output.differential_pressure_bar.max(f64::MIN_POSITIVE);
    let outlets =
        output.elements.iter().skip(1).map(|e| e.feed_pressure_bar).chain([output.concentrate_pressure_bar]);
    per_element(
        CheckKind::ElementDifferentialPressure,
        |limits| limits.maximum_differential_pressure_bar,
        output
            .elements
            .iter()
            .zip(outlets)
            .map(|(e, outlet)| e.feed_pressure_bar - outlet)
            .map(|bar| Estimate::new(bar, bar * relative))
            .collect(),
    );
    if !matches!(parts.drive.kind, crate::parts::DriveKind::Belt { .. } | crate::parts::DriveKind::Hydraulic)
    {
        checks.push(Check {
            kind: CheckKind::MotorPower,
            value: Ok(Estimate::new(output.shaft_power_w, sd.shaft_power_w)),
            limit: parts.drive.motor_power_w,
        });
    }
    checks
}

/// The lowest of the elements' limits; none if one of them has none.
fn lowest(parts: &Parts, of: fn(&crate::parts::ElementLimits) -> Option<f64>) -> Option<f64> {
    let all: Option<Vec<f64>> = parts.elements.iter().map(|element| of(&element.limits)).collect();
    all?.into_iter().reduce(f64::min)
}

/// The check of a figure that may be missing.
pub(super) fn check(kind: CheckKind, value: Result<Estimate, Unknown>, limit: Option<f64>) -> Check {
    Check { kind, value, limit }
}
