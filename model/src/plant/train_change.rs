//! A train that got an element more or less: what that should have brought, and what it did.
//!
//! Prediction: the elements that stayed with the permeabilities of the old baseline, new ones as their sheets promise, in the water, at the feed pressure and the feed
//! flow of the old baseline. Achieved: the new train with the permeabilities of its own baseline, in that same water. What both rest on alike (water, pressure, flow)
//! falls out of the difference; what stays is the doubt of each permeability.

use super::calibration::{Calibration, SHEET_LN_A_SD};
use super::condition::{Condition, Estimate};
use super::expect::expect_central;
use crate::membrane::Element;
use crate::parts::{self, Parts};
use crate::performance::NotComputable;
use crate::quantity::WaterPermeability;
use crate::records::Baseline;
use crate::{Quantity, math};

/// What a change of the train brought. Flows in L/h, each with one standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrainChange {
    /// Number of the old baseline.
    pub old_baseline: u64,
    /// Elements before.
    pub before: usize,
    /// Elements now.
    pub now: usize,
    /// Product of the old train at its baseline.
    pub product_before_l_h: Estimate,
    /// Product more (or less) by the nominal values of the new elements' sheets.
    pub gain_nominal_l_h: Estimate,
    /// The same by their minimum values; as nominal where none were entered or no element is new.
    pub gain_minimum_l_h: Estimate,
    /// Product more (or less) by the new baseline; `None`: there is none yet.
    pub gain_achieved_l_h: Option<Estimate>,
}

/// An element aboard with its mark.
#[derive(Clone, Copy, Debug)]
pub struct Marked<'a> {
    /// Serial number or place.
    pub mark: &'a str,
    /// As in the parts list.
    pub part: &'a parts::Element,
}

/// What the change from the train of the old baseline to the one fitted now should bring and brought. `aboard`: elements that are listed, fitted or by-passed; an element
/// of the old train that is not among them is taken to be of the size of the first one fitted now.
///
/// # Errors
/// [`NotComputable`]: a baseline without temperature or train, a sheet that no membrane meets, no working point.
pub fn train_change(
    parts: &Parts,
    marks: &[String],
    aboard: &[Marked<'_>],
    old: &Baseline,
    new: Option<&Baseline>,
) -> Result<TrainChange, NotComputable> {
    let first =
        parts.elements.first().ok_or(NotComputable::ImpossiblePart { what: "a unit without elements" })?;
    if old.elements.is_empty() {
        return Err(NotComputable::ImpossiblePart { what: "a baseline without its elements" });
    }
    let part_of = |mark: &String| {
        aboard
            .iter()
            .find(|known| known.mark == mark)
            .map_or_else(|| first.clone(), |known| known.part.clone())
    };
    let before = Parts { elements: old.elements.iter().map(part_of).collect(), ..parts.clone() };
    let kept = Calibration::from_baseline(&before, old)?;
    let condition = water_of(&before, &kept, old)?;
    let product = |parts: &Parts, calibration: &Calibration| {
        Ok::<f64, NotComputable>(expect_central(parts, &condition, calibration)?.output.product_flow_l_h)
    };
    let was = product(&before, &kept)?;
    let was_more = product(&before, &shifted(&kept, |_| kept.ln_a_sd)?)?;

    let predicted = |sheets: Calibration| -> Result<Estimate, NotComputable> {
        let is_kept =
            |at: usize| marks.get(at).and_then(|mark| old.elements.iter().position(|old| old == mark));
        let mut train = Calibration { elements: Vec::with_capacity(marks.len()), ..kept.clone() };
        for (at, sheet) in sheets.elements.iter().enumerate() {
            train.elements.push(match is_kept(at) {
                Some(place) => kept.elements[place],
                None => Element { differential_pressure: kept.elements[0].differential_pressure, ..*sheet },
            });
        }
        let gain = product(parts, &train)? - was;
        // The old permeability carries both trains; a new element's sheet only its own.
        let by_old = shifted(&train, |at| if is_kept(at).is_some() { kept.ln_a_sd } else { 0.0 })?;
        let by_sheet = shifted(&train, |at| if is_kept(at).is_some() { 0.0 } else { SHEET_LN_A_SD })?;
        let effects = [product(parts, &by_old)? - was_more - gain, product(parts, &by_sheet)? - was - gain];
        Ok(Estimate::new(gain, root_of_squares(&effects)))
    };
    let achieved = new
        .map(|new| -> Result<Estimate, NotComputable> {
            let own = Calibration::from_baseline(parts, new)?;
            let found = product(parts, &own)?;
            let effects = [product(parts, &shifted(&own, |_| own.ln_a_sd)?)? - found, was_more - was];
            Ok(Estimate::new(found - was, root_of_squares(&effects)))
        })
        .transpose()?;
    Ok(TrainChange {
        old_baseline: old.id,
        before: old.elements.len(),
        now: parts.elements.len(),
        product_before_l_h: Estimate::new(was, (was_more - was).abs()),
        gain_nominal_l_h: predicted(Calibration::from_nominal_sheets(parts)?)?,
        gain_minimum_l_h: predicted(Calibration::from_minimum_sheets(parts)?)?,
        gain_achieved_l_h: achieved,
    })
}

/// Water, feed pressure and feed flow of a baseline, taken as exact: both trains are put into the same.
fn water_of(parts: &Parts, calibration: &Calibration, old: &Baseline) -> Result<Condition, NotComputable> {
    let mean = |quantity| old.means.iter().find(|mean| mean.quantity == quantity).map(|mean| mean.value);
    let exact = |quantity| mean(quantity).map(Estimate::exact);
    let feed = mean(Quantity::FeedFlow)
        .or_else(|| Some(mean(Quantity::ProductFlow)? + mean(Quantity::ConcentrateFlow)?))
        .unwrap_or(parts.pump.nameplate_flow_l_h * calibration.delivery.value);
    Ok(Condition {
        feed_temperature_c: Some(exact(Quantity::FeedTemperature).ok_or(NotComputable::TemperatureUnknown)?),
        feed_salinity_g_kg: Some(
            exact(Quantity::FeedSalinity).unwrap_or(Estimate::exact(crate::judgement::OPEN_SEA_G_KG.0)),
        ),
        feed_pressure_bar: exact(Quantity::FeedPressure),
        concentrate_pressure_bar: exact(Quantity::ConcentratePressure),
        product_pressure_bar: exact(Quantity::ProductPressure),
        feed_flow_l_h: Some(Estimate::exact(feed)),
        ..Condition::default()
    })
}

/// With each element's ln(A25) moved.
fn shifted(calibration: &Calibration, by: impl Fn(usize) -> f64) -> Result<Calibration, NotComputable> {
    let mut moved = calibration.clone();
    for (at, element) in moved.elements.iter_mut().enumerate() {
        element.a25 = WaterPermeability::from_m_s_pa(element.a25.as_m_s_pa() * math::exp(by(at)))?;
    }
    Ok(moved)
}

fn root_of_squares(effects: &[f64]) -> f64 {
    effects.iter().map(|effect| effect * effect).sum::<f64>().sqrt()
}
