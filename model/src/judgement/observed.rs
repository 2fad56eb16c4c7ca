//! The means of one run as the readings that the inversion needs.
//!
//! What is missing is completed from the next best source, and says so: feed flow from concentrate and product, else from the pump's
//! nameplate; salinity from the concentrate's balance, else assumed. What was assumed carries its spread, is the same error in all runs, and never cancels against the
//! baseline; only the pump's own share does, since it is the same pump.

use super::plant_figures::{NotIdentified, PlantFigures, membrane_not_identified};
use crate::Quantity;
use crate::membrane::specification::element_from_sheet;
use crate::membrane::{DifferentialPressureLaw, Element, Form, TestConditions, Train, element};
use crate::parts::Parts;
use crate::performance::{Measured, PumpAssumption, Readings, salt_balance};
use crate::quantity::{Area, Conductivity, Flow, MassConcentration, Pressure, Temperature};
use crate::records::{Mean, Origin};
use crate::seawater::product_water;

/// Delivery of a plunger pump as a share of its nameplate, and its spread, when nothing better is known (public pump pages give 0.90 to 0.96).
const DELIVERY: (f64, f64) = (0.90, 0.05);
/// Spread of the wear of a pump whose flow is not measured, as a share of the flow. Our choice, no source.
pub(super) const WEAR_SPREAD: f64 = 0.10;
/// Spread of a pump's share that was entered or measured at a baseline, relative.
const KNOWN_DELIVERY_SPREAD: f64 = 0.03;
/// Salinity of the open sea when nothing is known, g/kg, and its spread.
pub const OPEN_SEA_G_KG: (f64, f64) = (35.0, 3.0);
/// Salinity of the product when it is not measured, mg/L, and its spread: A hardly depends on it.
const PRODUCT_MG_L: (f64, f64) = (300.0, 150.0);

/// The seven inputs that causes are weighed over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Input {
    /// Product flow, L/h.
    ProductFlow = 0,
    /// Feed flow, L/h.
    FeedFlow = 1,
    /// Pressure at the inlet of the first element, bar gauge.
    Pressure = 2,
    /// Temperature of the feed, °C.
    Temperature = 3,
    /// Salinity of the feed, g/kg.
    Salinity = 4,
    /// Salinity of the product, g/kg.
    ProductSalinity = 5,
    /// Pressure of the product, bar gauge.
    ProductPressure = 6,
}

impl Input {
    /// Number of inputs.
    pub const COUNT: usize = 7;
}

/// What a run shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Observed {
    /// The readings, completed.
    pub readings: Readings,
    /// The pump in place of a flow that was not measured.
    pub pump: Option<PumpAssumption>,
    /// Was the feed or the concentrate flow measured?
    pub flow_measured: bool,
    /// Was the product's salinity measured?
    pub salt_measured: bool,
    /// Figures of pump, motor and vessel.
    pub figures: PlantFigures,
    /// What these readings leave open.
    pub not_identified: Vec<NotIdentified>,
    /// What was assumed, in words.
    pub assumed: Vec<&'static str>,
}

/// Why a run cannot be judged, in the owner's words.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotJudged {
    /// No product flow.
    #[error("product flow was not measured")]
    ProductFlow,
    /// No pressure at the membranes.
    #[error("feed pressure was not measured")]
    Pressure,
    /// No temperature.
    #[error("feed temperature was not measured; it decides what the sea allows")]
    Temperature,
    /// The parts list gives no usable train.
    #[error("the parts list gives no usable element")]
    Parts,
    /// The readings contradict each other.
    #[error("the readings do not fit together: no membrane gives this product; check units and instruments")]
    Contradiction,
}

/// Reads a run.
///
/// # Errors
/// [`NotJudged`] by name of what is missing.
pub fn observe(
    parts: &Parts,
    means: &[Mean],
    usual_salinity_g_kg: Option<(f64, f64)>,
    baseline_delivery: Option<f64>,
) -> Result<Observed, NotJudged> {
    let mut assumed = Vec::new();
    let mut readings = Readings::from_means(means);
    let product = readings.product_flow_l_h.filter(|product| 0.0 < product.value);
    let product = product.ok_or(NotJudged::ProductFlow)?;
    if readings.feed_temperature_c.is_none() {
        return Err(NotJudged::Temperature);
    }
    if readings.feed_pressure_bar.or(readings.concentrate_pressure_bar).is_none() {
        return Err(NotJudged::Pressure);
    }
    let salt = product_solids(means);
    let salt_measured = salt.is_some();
    readings.product_tds_mg_l = Some(salt.unwrap_or_else(|| {
        assumed.push("product salinity 0.3 g/kg");
        guess(PRODUCT_MG_L)
    }));
    let flow_measured = readings.flow_measured();
    let pump = (!flow_measured).then(|| {
        assumed.push("feed flow from the pump's nameplate");
        assumed_pump(parts, product.value, baseline_delivery)
    });
    if readings.feed_salinity_g_kg.is_none() {
        readings.feed_salinity_g_kg = Some(feed_salinity(&readings, pump, usual_salinity_g_kg, &mut assumed));
    }
    let figures = PlantFigures::of(parts, means);
    let mut not_identified = membrane_not_identified(&readings, salt_measured);
    not_identified.extend(figures.not_identified());
    not_identified.dedup_by_key(|missing| missing.what);
    Ok(Observed { readings, pump, flow_measured, salt_measured, figures, not_identified, assumed })
}

/// Something assumed: one error in all runs, and no instrument to share it with.
fn guess((value, spread): (f64, f64)) -> Measured {
    Measured { value, random: 0.0, systematic: spread, instrument: None }
}

fn assumed_pump(parts: &Parts, product_l_h: f64, baseline_delivery: Option<f64>) -> PumpAssumption {
    let nameplate = parts.pump.nameplate_flow_l_h;
    let (share, delivery_sd) = match baseline_delivery.or(parts.pump.delivery) {
        Some(share) => (share, KNOWN_DELIVERY_SPREAD * share),
        None => DELIVERY,
    };
    // Less than the product plus a little cannot have been fed.
    let least_l_h = 1.2 * product_l_h;
    let swept_flow_l_h = if 0.0 < nameplate { nameplate } else { least_l_h };
    PumpAssumption { swept_flow_l_h, delivery: share.max(least_l_h / swept_flow_l_h), delivery_sd }
}

/// Dissolved solids of the product, mg/L: the measured one of conductivity and solids counts, not the one computed from it.
fn product_solids(means: &[Mean]) -> Option<Measured> {
    let of = |quantity: Quantity| means.iter().find(|mean| mean.quantity == quantity);
    let from_conductivity = |us_cm: f64| {
        let at_25c = Conductivity::from_us_cm(us_cm).ok()?;
        Some(product_water::solids_from_conductivity(at_25c).ok()?.as_mg_l())
    };
    let conductivity =
        of(Quantity::ProductConductivity).and_then(|mean| Some((mean, from_conductivity(mean.value)?)));
    let solids = of(Quantity::ProductSalinity).map(|mean| (mean, mean.value));
    let (mean, mg_l) = [conductivity, solids]
        .into_iter()
        .flatten()
        .filter(|(mean, mg_l)| 0.0 < *mg_l && 0.0 < mean.value)
        .min_by_key(|(mean, _)| matches!(mean.origin, Origin::Computed(_)))?;
    // Conductivity is proportional to solids within a few percent, so relative errors carry over.
    let scale = mg_l / mean.value;
    Some(Measured {
        value: mg_l,
        random: mean.random * scale,
        systematic: mean.systematic * scale,
        instrument: Some(mean.instrument),
    })
}

fn feed_salinity(
    readings: &Readings,
    pump: Option<PumpAssumption>,
    usual: Option<(f64, f64)>,
    assumed: &mut Vec<&'static str>,
) -> Measured {
    let feed = pump.map(|pump| {
        let l_h = pump.swept_flow_l_h * pump.delivery;
        Measured::alone(l_h, WEAR_SPREAD * l_h)
    });
    let with_pump = Readings { feed_flow_l_h: readings.feed_flow_l_h.or(feed), ..*readings };
    if let Some(balance) = salt_balance::feed_salinity(&with_pump) {
        return balance;
    }
    match usual {
        Some(usual) => {
            assumed.push("feed salinity as usual here");
            guess(usual)
        }
        None => {
            assumed.push("feed salinity of the open sea, 35 ± 3 g/kg");
            guess(OPEN_SEA_G_KG)
        }
    }
}

/// The train of the parts list, each element as its sheet promises.
///
/// # Errors
/// [`NotJudged::Parts`] if there is no element or a sheet that no membrane meets.
pub fn nominal_train(parts: &Parts, form: &Form) -> Result<Train, NotJudged> {
    let elements: Option<Vec<Element>> =
        parts.elements.iter().map(|element| nominal_element(element, form)).collect();
    let elements = elements.filter(|elements| !elements.is_empty()).ok_or(NotJudged::Parts)?;
    Ok(Train { elements, parallel: parts.parallel_trains.max(1) })
}

fn nominal_element(part: &crate::parts::Element, form: &Form) -> Option<Element> {
    let sheet = TestConditions {
        product: Flow::from_l_h(part.sheet.nominal_flow_l_h).ok()?,
        rejection: part.sheet.nominal_rejection,
        pressure: Pressure::from_bar(part.sheet.pressure_bar).ok()?,
        temperature: Temperature::from_celsius(part.sheet.temperature_c).ok()?,
        sodium_chloride: MassConcentration::from_mg_l(part.sheet.sodium_chloride_mg_l).ok()?,
        recovery: part.sheet.recovery,
    };
    let area = Area::from_m2(part.area_m2).ok()?;
    let law = DifferentialPressureLaw::small_element();
    element_from_sheet(area, element::active_length_m(&part.size), &sheet, law, form).ok()
}
