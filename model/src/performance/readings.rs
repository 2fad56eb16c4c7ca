//! The readings of one working point, with their errors, as the inversion needs them.

use crate::Quantity;
use crate::quantity::{Conductivity, MassConcentration, Temperature};
use crate::records::{Mean, Origin};
use crate::seawater::{product_water, salinity_scales};

/// A reading with both parts of its error, all in the unit of the field's name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    /// The value.
    pub value: f64,
    /// Standard deviation from reading to reading.
    pub random: f64,
    /// Standard deviation that all readings of the instrument share.
    pub systematic: f64,
    /// Which instrument; none for what no other reading shares an error with.
    pub instrument: Option<u16>,
}

impl Measured {
    /// A reading whose error is all its own.
    pub const fn alone(value: f64, random: f64) -> Self {
        Self { value, random, systematic: 0.0, instrument: None }
    }

    /// Variance of both parts together.
    pub fn variance(&self) -> f64 {
        self.random * self.random + self.systematic * self.systematic
    }

    /// A function of the reading, errors carried by its slope.
    fn map(self, slope_step: f64, f: impl Fn(f64) -> Option<f64>) -> Option<Self> {
        let value = f(self.value)?;
        let slope = ((f(self.value + slope_step)? - value) / slope_step).abs();
        Some(Self { value, random: slope * self.random, systematic: slope * self.systematic, ..self })
    }
}

impl From<&Mean> for Measured {
    fn from(mean: &Mean) -> Self {
        Self {
            value: mean.value,
            random: mean.random,
            systematic: mean.systematic,
            // What was assumed was read by nothing.
            instrument: (!matches!(mean.origin, Origin::Assumed(_))).then_some(mean.instrument),
        }
    }
}

/// Readings of one working point. What was not read is `None`; nothing is made up here.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Readings {
    /// Product, L/h.
    pub product_flow_l_h: Option<Measured>,
    /// Dissolved solids of the product at 25 °C, mg/L.
    pub product_tds_mg_l: Option<Measured>,
    /// Feed, L/h.
    pub feed_flow_l_h: Option<Measured>,
    /// Concentrate, L/h.
    pub concentrate_flow_l_h: Option<Measured>,
    /// Temperature of the feed, °C.
    pub feed_temperature_c: Option<Measured>,
    /// Salinity of the feed, g/kg; measured, or assumed by the caller with its spread.
    pub feed_salinity_g_kg: Option<Measured>,
    /// Salinity of the concentrate, g/kg.
    pub concentrate_salinity_g_kg: Option<Measured>,
    /// Pressure at the membrane inlet, bar gauge.
    pub feed_pressure_bar: Option<Measured>,
    /// Pressure at the concentrate outlet, bar gauge.
    pub concentrate_pressure_bar: Option<Measured>,
    /// Pressure in the product line, bar gauge. None: open to the air.
    pub product_pressure_bar: Option<Measured>,
    /// Pressure lost along the train, by an instrument of its own, bar.
    pub differential_pressure_bar: Option<Measured>,
}

impl Readings {
    /// From the means of a run or a baseline. Conductivities become salinities where no salinity was read.
    pub fn from_means(means: &[Mean]) -> Self {
        let get = |quantity| means.iter().find(|mean| mean.quantity == quantity).map(Measured::from);
        let product_tds_mg_l = get(Quantity::ProductSalinity)
            .or_else(|| get(Quantity::ProductConductivity)?.map(1.0, tds_from_us_cm));
        let feed_salinity_g_kg = get(Quantity::FeedSalinity)
            .or_else(|| get(Quantity::FeedConductivity)?.map(10.0, g_kg_from_us_cm));
        Self {
            product_flow_l_h: get(Quantity::ProductFlow),
            product_tds_mg_l,
            feed_flow_l_h: get(Quantity::FeedFlow),
            concentrate_flow_l_h: get(Quantity::ConcentrateFlow),
            feed_temperature_c: get(Quantity::FeedTemperature),
            feed_salinity_g_kg,
            concentrate_salinity_g_kg: get(Quantity::ConcentrateSalinity),
            feed_pressure_bar: get(Quantity::FeedPressure),
            concentrate_pressure_bar: get(Quantity::ConcentratePressure),
            product_pressure_bar: get(Quantity::ProductPressure),
            differential_pressure_bar: get(Quantity::DifferentialPressure),
        }
    }

    /// Was the feed or the concentrate flow measured?
    pub fn flow_measured(&self) -> bool {
        self.feed_flow_l_h.is_some() || self.concentrate_flow_l_h.is_some()
    }
}

fn tds_from_us_cm(us_cm: f64) -> Option<f64> {
    let solids = product_water::solids_from_conductivity(Conductivity::from_us_cm(us_cm).ok()?).ok()?;
    Some(solids.as_mg_l())
}

fn g_kg_from_us_cm(us_cm: f64) -> Option<f64> {
    let salinity = product_water::salinity_from_conductivity(Conductivity::from_us_cm(us_cm).ok()?).ok()?;
    Some(salinity.as_g_kg())
}

/// Salinity of product by mass, g/kg, from dissolved solids at 25 °C.
pub(crate) fn product_g_kg(tds_mg_l: f64) -> Option<f64> {
    let at_25c = Temperature::from_celsius(25.0).ok()?;
    let solids = MassConcentration::from_mg_l(tds_mg_l).ok()?;
    salinity_scales::salinity_by_mass(solids, at_25c).ok().map(|salinity| salinity.as_g_kg())
}
