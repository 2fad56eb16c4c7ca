//! The means of one run as the seven numbers that the model needs.
//!
//! What is missing is completed from the next best source, and says so: feed flow from concentrate and product, else from the pump's
//! nameplate; salinity from the concentrate's balance, else assumed. A number that was assumed carries its spread and never cancels against the baseline.

use crate::membrane::specification::element_from_sheet;
use crate::membrane::{DifferentialPressureLaw, Element, Form, TestConditions, Train, element};
use crate::parts::Parts;
use crate::quantity::{Area, Conductivity, Flow, MassConcentration, Pressure, Salinity, Temperature};
use crate::records::{Mean, Origin};
use crate::seawater::product_water;
use crate::{Quantity, math};

/// Delivery of a plunger pump as a share of its nameplate, and its spread, when nothing better is known (public pump pages give 0.90 to 0.96).
const DELIVERY: (f64, f64) = (0.90, 0.05);
/// Spread of an assumed feed flow, as a share: wear is not known.
const ASSUMED_FLOW_SPREAD: f64 = 0.10;
/// Salinity of the open sea when nothing is known, g/kg, and its spread.
pub const OPEN_SEA_G_KG: (f64, f64) = (35.0, 3.0);
/// Pressure drop between inlet and outlet of a vessel when only one of them is measured, bar, and its spread.
const VESSEL_DROP_BAR: (f64, f64) = (0.35, 0.3);

/// The seven inputs, in the order of [`Observed::entries`].
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

/// One input with its errors, all in its own unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry {
    /// Value.
    pub value: f64,
    /// Standard deviation from run to run.
    pub random: f64,
    /// Standard deviation that all readings of this instrument share.
    pub systematic: f64,
    /// Instrument and quantity, if it was measured: the same pair cancels against the baseline.
    pub instrument: Option<(u16, Quantity)>,
}

/// What a run shows.
#[derive(Clone, Debug, PartialEq)]
pub struct Observed {
    /// The inputs, in the order of [`Input`].
    pub entries: [Entry; Input::COUNT],
    /// Was the feed or the concentrate flow measured?
    pub flow_measured: bool,
    /// Was the product's salinity measured?
    pub salt_measured: bool,
    /// Delivery of the pump as a share of its nameplate, with its standard deviation, if the flow was measured.
    pub delivery: Option<(f64, f64)>,
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

impl Observed {
    /// Value of one input.
    pub fn value(&self, input: Input) -> f64 {
        self.entries[input as usize].value
    }
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
    let mean = |quantity: Quantity| means.iter().find(|mean| mean.quantity == quantity);
    let mut assumed = Vec::new();
    let product = entry(mean(Quantity::ProductFlow).ok_or(NotJudged::ProductFlow)?);
    if product.value <= 0.0 {
        return Err(NotJudged::ProductFlow);
    }
    let temperature = entry(mean(Quantity::FeedTemperature).ok_or(NotJudged::Temperature)?);
    let pressure = pressure(&mean, &mut assumed).ok_or(NotJudged::Pressure)?;
    let (feed, flow_measured) = feed_flow(parts, &mean, &product, baseline_delivery, &mut assumed);
    let (product_salinity, salt_measured) = product_salinity(&mean, &mut assumed);
    let salinity =
        feed_salinity(&mean, &feed, &product, &product_salinity, usual_salinity_g_kg, &mut assumed);
    let product_pressure = mean(Quantity::ProductPressure).map_or_else(|| guess(0.0, 0.05), entry);
    let nameplate = parts.pump.nameplate_flow_l_h;
    let delivery = (flow_measured && 0.0 < nameplate).then(|| {
        let sd = (feed.random * feed.random + feed.systematic * feed.systematic).sqrt();
        (feed.value / nameplate, sd / nameplate)
    });
    let entries = [product, feed, pressure, temperature, salinity, product_salinity, product_pressure];
    Ok(Observed { entries, flow_measured, salt_measured, delivery, assumed })
}

fn entry(mean: &Mean) -> Entry {
    let assumed = matches!(mean.origin, Origin::Assumed(_));
    Entry {
        value: mean.value,
        random: mean.random,
        systematic: mean.systematic,
        instrument: (!assumed).then_some((mean.instrument, mean.quantity)),
    }
}

fn guess(value: f64, spread: f64) -> Entry {
    Entry { value, random: spread, systematic: 0.0, instrument: None }
}

fn pressure<'a>(
    mean: &impl Fn(Quantity) -> Option<&'a Mean>,
    assumed: &mut Vec<&'static str>,
) -> Option<Entry> {
    if let Some(feed) = mean(Quantity::FeedPressure) {
        return Some(entry(feed));
    }
    let mut outlet = entry(mean(Quantity::ConcentratePressure)?);
    let (drop, spread) = match mean(Quantity::DifferentialPressure) {
        Some(drop) => (drop.value, drop.random),
        None => {
            assumed.push("pressure drop of the vessel 0.35 bar");
            VESSEL_DROP_BAR
        }
    };
    outlet.value += drop;
    outlet.random = (outlet.random * outlet.random + spread * spread).sqrt();
    Some(outlet)
}

fn feed_flow<'a>(
    parts: &Parts,
    mean: &impl Fn(Quantity) -> Option<&'a Mean>,
    product: &Entry,
    baseline_delivery: Option<f64>,
    assumed: &mut Vec<&'static str>,
) -> (Entry, bool) {
    if let Some(feed) = mean(Quantity::FeedFlow) {
        return (entry(feed), true);
    }
    if let Some(concentrate) = mean(Quantity::ConcentrateFlow) {
        let concentrate = entry(concentrate);
        let random = (concentrate.random * concentrate.random + product.random * product.random).sqrt();
        let value = concentrate.value + product.value;
        return (Entry { value, random, ..concentrate }, true);
    }
    assumed.push("feed flow from the pump's nameplate");
    let (share, spread) = match baseline_delivery.or(parts.pump.delivery) {
        Some(share) => (share, ASSUMED_FLOW_SPREAD * share),
        None => (DELIVERY.0, math::pow(DELIVERY.1 * DELIVERY.1 + math::pow(ASSUMED_FLOW_SPREAD, 2.0), 0.5)),
    };
    let nameplate = parts.pump.nameplate_flow_l_h;
    // Less than the product plus a little cannot have been fed.
    let value = (nameplate * share).max(1.2 * product.value);
    (guess(value, nameplate * spread), false)
}

fn product_salinity<'a>(
    mean: &impl Fn(Quantity) -> Option<&'a Mean>,
    assumed: &mut Vec<&'static str>,
) -> (Entry, bool) {
    let from_conductivity = |us_cm: f64| {
        let at_25c = Conductivity::from_us_cm(us_cm).ok()?;
        Some(product_water::salinity_from_conductivity(at_25c).ok()?.as_g_kg())
    };
    // Solids per litre over solids per kilogram of product: its density is within 0.3 % of one.
    let from_solids = |mg_l: f64| Some(mg_l / 1000.0);
    let conductivity = mean(Quantity::ProductConductivity).map(|mean| (mean, from_conductivity(mean.value)));
    let solids = mean(Quantity::ProductSalinity).map(|mean| (mean, from_solids(mean.value)));
    // The measured one of the two counts, not the one computed from it.
    let measured = [conductivity, solids]
        .into_iter()
        .flatten()
        .min_by_key(|(mean, _)| matches!(mean.origin, Origin::Computed(_)));
    if let Some((mean, Some(g_kg))) = measured
        && 0.0 < g_kg
        && 0.0 < mean.value
    {
        let scale = g_kg / mean.value;
        let scaled = Entry {
            value: g_kg,
            random: mean.random * scale,
            systematic: mean.systematic * scale,
            instrument: Some((mean.instrument, mean.quantity)),
        };
        return (scaled, true);
    }
    assumed.push("product salinity 0.3 g/kg");
    (guess(0.3, 0.15), false)
}

fn feed_salinity<'a>(
    mean: &impl Fn(Quantity) -> Option<&'a Mean>,
    feed: &Entry,
    product: &Entry,
    product_salinity: &Entry,
    usual: Option<(f64, f64)>,
    assumed: &mut Vec<&'static str>,
) -> Entry {
    if let Some(salinity) = mean(Quantity::FeedSalinity) {
        return entry(salinity);
    }
    if let Some(concentrate) = mean(Quantity::ConcentrateSalinity) {
        let recovery = (product.value / feed.value).clamp(0.0, 0.9);
        let salt = entry(concentrate);
        let value = (1.0 - recovery) * salt.value + recovery * product_salinity.value;
        let share = 1.0 - recovery;
        return Entry { value, random: salt.random * share, systematic: salt.systematic * share, ..salt };
    }
    match usual {
        Some((value, spread)) => {
            assumed.push("feed salinity as usual here");
            guess(value, spread)
        }
        None => {
            assumed.push("feed salinity of the open sea, 35 ± 3 g/kg");
            guess(OPEN_SEA_G_KG.0, OPEN_SEA_G_KG.1)
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

/// A salinity by mass from a plain number.
pub(super) fn salinity(g_kg: f64) -> Option<Salinity> {
    Salinity::from_g_kg(g_kg).ok()
}
