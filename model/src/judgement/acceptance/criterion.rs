//! One figure against the minimum of the sheets, with everything that can be wrong with it.
//!
//! The figure is ln(seen / minimum), the minimum computed for the water, pressure and feed flow that were read. Each reading is moved by one standard deviation both ways and moves both
//! sides of the ratio; systematic errors of one instrument are added before they are squared. The doubt of the model comes from its own parameters, and is never
//! taken smaller than what it left unexplained on open data.

use crate::Quantity;
use crate::judgement::Estimate;
use crate::math;
use crate::parts::Parts;
use crate::performance::{Measured, NotComputable, Readings};
use crate::plant::{self, Calibration, Condition, expect, expect_central};
use crate::records::Mean;

/// Half of a 95 % interval, in standard deviations.
const HALF_95: f64 = 1.96;

/// What the model left unexplained of the product flow on 47 open points of a new 2540 element (Mendeley Data, wave-powered desalination), rms.
const LN_MODEL_FLOW_SD: f64 = 0.025;

/// The same of the product's salinity.
const LN_MODEL_SALT_SD: f64 = 0.09;

/// Against the minimum.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The whole interval lies on the good side.
    Meets,
    /// The whole interval lies on the other side.
    DoesNotMeet,
    /// The interval holds the minimum.
    CannotTell,
}

/// Why there is no figure.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Unjudged {
    /// The sheet's minimum was not entered for every element.
    #[error(
        "the minimum of the sheet was not entered for every element; the nominal value does not take its place"
    )]
    NoMinimum,
    /// The model cannot compute it.
    #[error(transparent)]
    NotComputable(#[from] NotComputable),
}

/// One figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Criterion {
    /// Product flow or product salinity.
    pub of: Quantity,
    /// Mean of what was read, L/h or mg/L.
    pub seen: Estimate,
    /// What the sheets' minimum makes here: the least flow, or the highest salinity.
    pub minimum: f64,
    /// What the sheets' nominal values make here.
    pub nominal: f64,
    /// ln(seen / minimum).
    pub ln_ratio: Estimate,
    /// The answer.
    pub outcome: Outcome,
    /// Share of each reading in the variance.
    pub shares: Vec<(Quantity, f64)>,
}

impl Criterion {
    /// Ends of the 95 % interval of seen over minimum.
    pub fn interval(&self) -> (f64, f64) {
        let half = HALF_95 * self.ln_ratio.sd;
        (math::exp(self.ln_ratio.value - half), math::exp(self.ln_ratio.value + half))
    }

    /// The share of the variance that no reading has.
    pub fn model_share(&self) -> f64 {
        (1.0 - self.shares.iter().map(|(_, share)| share).sum::<f64>()).max(0.0)
    }

    /// Between minimum and nominal? What equals the nominal value but for rounding is not.
    pub fn between(&self) -> bool {
        let (low, high) = (self.minimum.min(self.nominal), self.minimum.max(self.nominal));
        let as_nominal = (self.seen.value / self.nominal - 1.0).abs() < ROUNDING;
        low <= self.seen.value && self.seen.value < high && !as_nominal
    }
}

/// Share that two ways to the same figure may differ by; a meter shows a thousand times that.
const ROUNDING: f64 = 1e-6;

/// The exact condition that the readings make.
pub(super) fn condition(readings: &Readings) -> Condition {
    let exact = |measured: Option<Measured>| measured.map(|measured| plant::Estimate::exact(measured.value));
    let sum = |a: Option<Measured>, b: Option<Measured>| Some(plant::Estimate::exact(a?.value + b?.value));
    Condition {
        feed_temperature_c: exact(readings.feed_temperature_c),
        feed_salinity_g_kg: exact(readings.feed_salinity_g_kg),
        feed_pressure_bar: exact(readings.feed_pressure_bar),
        concentrate_pressure_bar: exact(readings.concentrate_pressure_bar),
        feed_flow_l_h: exact(readings.feed_flow_l_h)
            .or_else(|| sum(readings.product_flow_l_h, readings.concentrate_flow_l_h)),
        product_pressure_bar: exact(readings.product_pressure_bar),
        ..Condition::default()
    }
}

/// Everything the two figures need.
pub(super) struct Judge<'a> {
    parts: &'a Parts,
    readings: Readings,
    salt_read_as: Quantity,
    minimum: Calibration,
    nominal: Calibration,
    /// Elements of nominal flow with the minimum rejection.
    minimum_rejection: Calibration,
}

/// Minimum and nominal flow nearer than this (as a logarithm) are the same flow.
const SAME_FLOW: f64 = 1e-3;

type Field = fn(&mut Readings) -> &mut Option<Measured>;

/// The readings that move a figure.
const FIELDS: [(Quantity, Field); 9] = [
    (Quantity::ProductFlow, |r| &mut r.product_flow_l_h),
    (Quantity::ProductConductivity, |r| &mut r.product_tds_mg_l),
    (Quantity::FeedFlow, |r| &mut r.feed_flow_l_h),
    (Quantity::ConcentrateFlow, |r| &mut r.concentrate_flow_l_h),
    (Quantity::FeedTemperature, |r| &mut r.feed_temperature_c),
    (Quantity::FeedSalinity, |r| &mut r.feed_salinity_g_kg),
    (Quantity::FeedPressure, |r| &mut r.feed_pressure_bar),
    (Quantity::ConcentratePressure, |r| &mut r.concentrate_pressure_bar),
    (Quantity::ProductPressure, |r| &mut r.product_pressure_bar),
];

impl<'a> Judge<'a> {
    pub fn new(parts: &'a Parts, readings: Readings, means: &[Mean]) -> Result<Self, Unjudged> {
        // A pressure must have been read: one that is set is no reading.
        if readings.feed_pressure_bar.or(readings.concentrate_pressure_bar).is_none() {
            return Err(NotComputable::PressureUnknown.into());
        }
        let salt_read_as = match means.iter().any(|mean| mean.quantity == Quantity::ProductSalinity) {
            true => Quantity::ProductSalinity,
            false => Quantity::ProductConductivity,
        };
        let (minimum, nominal) =
            (Calibration::from_minimum_sheets(parts)?, Calibration::from_nominal_sheets(parts)?);
        let mut of_nominal_flow = parts.clone();
        for element in &mut of_nominal_flow.elements {
            element.sheet.minimum_flow_l_h = None;
        }
        let minimum_rejection = Calibration::from_minimum_sheets(&of_nominal_flow)?;
        Ok(Self { parts, readings, salt_read_as, minimum, nominal, minimum_rejection })
    }

    /// Product flow against the least of the sheets.
    pub fn flow(&self) -> Result<Criterion, Unjudged> {
        if self.parts.elements.iter().any(|element| element.sheet.minimum_flow_l_h.is_none()) {
            return Err(Unjudged::NoMinimum);
        }
        let seen = self.readings.product_flow_l_h.ok_or(NotComputable::ProductFlowUnknown)?;
        self.criterion(Quantity::ProductFlow, seen, LN_MODEL_FLOW_SD, |figures| figures.product_flow_l_h)
    }

    /// Salinity of the product against the highest that the sheets allow. A rejection holds at the element's own flow in the test, so what is allowed depends on the flow; a shortfall
    /// of the flow, which makes the product saltier, is not counted again here.
    pub fn salt(&self) -> Result<Criterion, Unjudged> {
        let sheets = || self.parts.elements.iter().map(|element| element.sheet);
        if sheets().any(|sheet| sheet.minimum_rejection.is_none() || sheet.minimum_flow_l_h.is_none()) {
            return Err(Unjudged::NoMinimum);
        }
        let seen = self.readings.product_tds_mg_l.ok_or(NotComputable::ProductSalinityUnknown)?;
        self.criterion(self.salt_read_as, seen, LN_MODEL_SALT_SD, |figures| figures.product_tds_mg_l)
    }

    /// The highest salinity of the product that the sheets allow for so much product, mg/L. Between minimum and nominal flow, and above, by the salinities of both at the minimum
    /// rejection; below, as much salt as at the minimum flow in less product.
    fn most_salt(&self, readings: &Readings) -> Result<f64, NotComputable> {
        let today = condition(readings);
        let least = expect_central(self.parts, &today, &self.minimum)?.output;
        let product = readings.product_flow_l_h.ok_or(NotComputable::ProductFlowUnknown)?.value;
        let more = math::ln(product / least.product_flow_l_h);
        if more <= 0.0 {
            return Ok(least.product_tds_mg_l * math::exp(-more));
        }
        let usual = expect_central(self.parts, &today, &self.minimum_rejection)?.output;
        let span = math::ln(usual.product_flow_l_h / least.product_flow_l_h);
        if span < SAME_FLOW {
            return Ok(least.product_tds_mg_l);
        }
        Ok(least.product_tds_mg_l * math::pow(usual.product_tds_mg_l / least.product_tds_mg_l, more / span))
    }

    fn criterion(
        &self,
        of: Quantity,
        seen: Measured,
        model_sd: f64,
        figure: fn(&plant::Figures) -> f64,
    ) -> Result<Criterion, Unjudged> {
        let flow = of == Quantity::ProductFlow;
        let ln_ratio = |readings: &Readings| -> Result<f64, NotComputable> {
            let value = |measured: Option<Measured>| measured.map_or(f64::NAN, |measured| measured.value);
            if flow {
                let least = expect_central(self.parts, &condition(readings), &self.minimum)?.output;
                return Ok(math::ln(value(readings.product_flow_l_h) / least.product_flow_l_h));
            }
            Ok(math::ln(value(readings.product_tds_mg_l) / self.most_salt(readings)?))
        };
        let today = condition(&self.readings);
        let minimum = expect(self.parts, &today, &self.minimum)?;
        let nominal = expect_central(self.parts, &today, &self.nominal)?;
        let value = ln_ratio(&self.readings)?;
        if !value.is_finite() {
            return Err(NotComputable::ProductFlowUnknown.into());
        }
        let relative = figure(&minimum.uncertainty) / figure(&minimum.output);
        // Both tell of the same doubt, that of the model's forms; so the larger of the two, not their sum.
        let model = relative.max(model_sd);
        let mut variance = model * model;
        let (of_readings, mut shares) = self.variance(&ln_ratio)?;
        variance += of_readings;
        shares.iter_mut().for_each(|(_, share)| *share /= variance);
        let sd = variance.sqrt();
        // More flow is better, more salt is not.
        let good = if flow { value } else { -value };
        let outcome = match (0.0 <= good - HALF_95 * sd, good + HALF_95 * sd < 0.0) {
            (true, _) => Outcome::Meets,
            // Without a flow beside the product the shortfall may be the pump's.
            (_, true) if !flow || self.readings.flow_measured() => Outcome::DoesNotMeet,
            _ => Outcome::CannotTell,
        };
        Ok(Criterion {
            of,
            seen: Estimate { value: seen.value, sd: seen.variance().sqrt() },
            minimum: seen.value * math::exp(-value),
            nominal: figure(&nominal.output),
            ln_ratio: Estimate { value, sd },
            outcome,
            shares,
        })
    }

    /// Variance that the readings bring, and what each brings alone.
    fn variance(
        &self,
        ln_ratio: &impl Fn(&Readings) -> Result<f64, NotComputable>,
    ) -> Result<(f64, Vec<(Quantity, f64)>), NotComputable> {
        let (mut random, mut shared, mut shares) = (0.0, Vec::<(u16, f64)>::new(), Vec::new());
        for (quantity, field) in FIELDS {
            let mut moved = self.readings;
            let Some(measured) = *field(&mut moved) else { continue };
            let sd = measured.variance().sqrt();
            if sd <= 0.0 {
                continue;
            }
            let mut at = |value: f64| {
                *field(&mut moved) = Some(Measured { value, ..measured });
                ln_ratio(&moved)
            };
            let slope = (at(measured.value + sd)? - at(measured.value - sd)?) / (2.0 * sd);
            random += slope * slope * measured.random * measured.random;
            let systematic = slope * measured.systematic;
            // Number 0 stands for an instrument that nobody named: nothing tells that two such are the same one.
            let same = measured.instrument.filter(|number| *number != 0);
            match same.and_then(|number| shared.iter_mut().find(|(known, _)| *known == number)) {
                Some((_, sum)) => *sum += systematic,
                None => shared.push((same.unwrap_or(0), systematic)),
            }
            let named = if quantity == Quantity::ProductConductivity { self.salt_read_as } else { quantity };
            shares.push((named, slope * slope * sd * sd));
        }
        Ok((random + shared.iter().map(|(_, sum)| sum * sum).sum::<f64>(), shares))
    }
}
