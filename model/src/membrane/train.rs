//! Elements in series, and equal trains side by side.
//!
//! The concentrate of one element is the feed of the next; pressure carries on; all products meet at one product pressure. Trains
//! side by side share the feed equally. [`TrainAt`] is a train in water of one temperature: everything that depends on temperature only is
//! worked out once, and many marches follow.

use super::concentration_polarisation::{film_constant, speed_per_flow};
use super::temperature_correction::TemperatureResponse;
use super::{Element, Polarisation};
use crate::quantity::{Flow, NotFinite, Pressure, Salinity, Temperature};
use crate::seawater::density::DensityAt;
use crate::seawater::osmotic_pressure::OsmoticPressureAt;
use crate::seawater::sodium_chloride::SodiumChlorideAt;
use crate::seawater::viscosity::ViscosityAt;
use crate::solve::bracketed::SolveError;

/// Most elements in one train. Vessels of small units hold one to three; eight is a long vessel of a large plant.
pub const ELEMENTS_MAX: usize = 16;

/// Most slices in one element; beyond this rounding and time grow, not accuracy.
pub const SLICES_MAX: usize = 1000;

/// Why a train could not be computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum TrainError {
    /// The train has no elements or too many, no slices or too many, or no trains side by side.
    #[error("the train has no element, or more than {ELEMENTS_MAX}")]
    Shape,
    /// A permeability or an area is zero or negative.
    #[error("area and permeabilities of an element must be above zero")]
    Element,
    /// No feed.
    #[error("there is no feed flow")]
    NoFeed,
    /// The elements would take nearly all the feed, or leave a saturated concentrate.
    #[error("the feed flow is too small for these elements at this pressure")]
    FeedUsedUp,
    /// Salinity below zero or beyond saturation.
    #[error("the feed salinity is impossible")]
    Salinity,
    /// The temperature is not that of liquid water.
    #[error("the feed temperature is impossible")]
    Temperature,
    /// A search ended without a result.
    #[error(transparent)]
    Solve(#[from] SolveError),
    /// A number left the range.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
}

/// Whose osmotic pressure counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Salt {
    /// Sea salt.
    Sea,
    /// Sodium chloride of an element's test.
    SodiumChloride,
}

/// The water that is fed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Temperature of the feed.
    pub temperature: Temperature,
    /// Salinity of the feed.
    pub salinity: Salinity,
    /// Its salt.
    pub salt: Salt,
}

/// The forms and parameters of the model that are not the train's own.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Form {
    /// Polarisation.
    pub polarisation: Polarisation,
    /// Temperature response of the permeabilities.
    pub temperature: TemperatureResponse,
    /// Multiplier of the osmotic pressure: 1, except to see what its error does.
    pub osmotic_factor: f64,
    /// Slices per element. 10 are within 0.02 % of the limit for a two-element train, 5 within 0.07 %.
    pub slices: usize,
}

impl Default for Form {
    fn default() -> Self {
        Self {
            polarisation: Polarisation::default(),
            temperature: TemperatureResponse::default(),
            osmotic_factor: 1.0,
            slices: 10,
        }
    }
}

/// Elements in series, and how many such trains stand side by side.
#[derive(Clone, Debug, PartialEq)]
pub struct Train {
    /// The elements, in the order of the flow.
    pub elements: Vec<Element>,
    /// Equal trains side by side, at least 1.
    pub parallel: u32,
}

/// Osmotic pressure of either salt at one temperature.
#[derive(Clone, Copy, Debug)]
pub(crate) struct OsmoticAt {
    pub(super) kind: OsmoticKind,
    pub(super) factor: f64,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum OsmoticKind {
    Sea(OsmoticPressureAt),
    SodiumChloride(SodiumChlorideAt),
}

impl OsmoticAt {
    #[inline]
    pub(crate) fn pa_and_slope(&self, salinity_g_kg: f64) -> (f64, f64) {
        let (pa, slope) = match &self.kind {
            OsmoticKind::Sea(at) => at.pa_and_slope(salinity_g_kg),
            OsmoticKind::SodiumChloride(at) => at.pa_and_slope(salinity_g_kg),
        };
        (pa * self.factor, slope * self.factor)
    }
}

/// An element in water of one temperature. SI.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ElementAt {
    pub area_m2: f64,
    pub a: f64,
    pub b: f64,
    pub leak: f64,
    pub speed_per_flow: f64,
    pub dp_coefficient: f64,
    pub dp_exponent: f64,
}

/// A train in water of one temperature and salinity.
#[derive(Clone, Debug)]
pub struct TrainAt {
    pub(crate) elements: Vec<ElementAt>,
    pub(crate) parallel: f64,
    pub(crate) polarisation: Polarisation,
    pub(crate) slices: usize,
    pub(crate) osmotic: OsmoticAt,
    pub(crate) density: DensityAt,
    pub(crate) viscosity: ViscosityAt,
    pub(crate) film_constant: f64,
    pub(crate) water_factor: f64,
    pub(crate) salt_factor: f64,
    pub(crate) feed_g_kg: f64,
}

/// What one element does. Flows are those of all trains side by side together.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ElementOutput {
    /// Product, m3/s.
    pub product_m3_s: f64,
    /// Salinity of the product, g/kg.
    pub product_g_kg: f64,
    /// Feed, m3/s.
    pub feed_m3_s: f64,
    /// Concentrate, m3/s.
    pub concentrate_m3_s: f64,
    /// Salinity of the concentrate, g/kg.
    pub concentrate_g_kg: f64,
    /// Pressure at the inlet, Pa gauge.
    pub inlet_pa: f64,
    /// Pressure at the outlet, Pa gauge.
    pub outlet_pa: f64,
    /// Mean water flux, m/s.
    pub flux_m_s: f64,
    /// Mean polarisation factor.
    pub polarisation: f64,
}

impl ElementOutput {
    /// Product over feed, by volume.
    pub fn recovery(&self) -> f64 {
        self.product_m3_s / self.feed_m3_s
    }
}

/// What a train does. Flows are those of all trains side by side together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TrainOutput {
    /// Product, m3/s.
    pub product_m3_s: f64,
    /// Salinity of the mixed product, g/kg.
    pub product_g_kg: f64,
    /// Feed, m3/s.
    pub feed_m3_s: f64,
    /// Concentrate, m3/s.
    pub concentrate_m3_s: f64,
    /// Salinity of the concentrate, g/kg.
    pub concentrate_g_kg: f64,
    /// Pressure at the inlet of the first element, Pa gauge.
    pub inlet_pa: f64,
    /// Pressure at the outlet of the last element, Pa gauge.
    pub outlet_pa: f64,
    /// Each element, in the order of the flow.
    pub elements: Vec<ElementOutput>,
}

impl TrainOutput {
    /// Product over feed, by volume.
    pub fn recovery(&self) -> f64 {
        self.product_m3_s / self.feed_m3_s
    }
}

/// Coldest and warmest water that counts as liquid seawater, °C.
const TEMPERATURE_RANGE_C: (f64, f64) = (-5.0, 60.0);

/// Salinity beyond which salt falls out, g/kg (sodium chloride, from memory: 264).
pub(crate) const SATURATED_G_KG: f64 = 260.0;

impl Train {
    /// So many equal elements in series, one train.
    pub fn of_equal(element: Element, count: usize) -> Self {
        Self { elements: vec![element; count], parallel: 1 }
    }

    /// The train in this water.
    ///
    /// # Errors
    /// [`TrainError`] for a shape, element, salinity or temperature that cannot be.
    pub fn at(&self, water: &Water, form: &Form) -> Result<TrainAt, TrainError> {
        let shape_holds = (1..=ELEMENTS_MAX).contains(&self.elements.len())
            && (1..=SLICES_MAX).contains(&form.slices)
            && 1 <= self.parallel;
        if !shape_holds {
            return Err(TrainError::Shape);
        }
        let feed_g_kg = water.salinity.as_g_kg();
        if !(0.0..=SATURATED_G_KG).contains(&feed_g_kg) {
            return Err(TrainError::Salinity);
        }
        let (low, high) = TEMPERATURE_RANGE_C;
        if !(low..=high).contains(&water.temperature.as_celsius()) {
            return Err(TrainError::Temperature);
        }
        let viscosity = ViscosityAt::new(water.temperature);
        let multiplier = match form.polarisation {
            Polarisation::Film { multiplier } => multiplier,
            Polarisation::Exponential | Polarisation::Absent => 1.0,
        };
        if !(0.0 < multiplier && multiplier.is_finite() && form.osmotic_factor.is_finite()) {
            return Err(TrainError::Element);
        }
        let kind = match water.salt {
            Salt::Sea => OsmoticKind::Sea(OsmoticPressureAt::new(water.temperature)),
            Salt::SodiumChloride => OsmoticKind::SodiumChloride(SodiumChlorideAt::new(water.temperature)),
        };
        let mut at = TrainAt {
            elements: Vec::with_capacity(self.elements.len()),
            parallel: f64::from(self.parallel),
            polarisation: form.polarisation,
            slices: form.slices,
            osmotic: OsmoticAt { kind, factor: form.osmotic_factor },
            density: DensityAt::new(water.temperature),
            viscosity,
            film_constant: multiplier * film_constant(water.temperature, &viscosity),
            water_factor: form.temperature.water(water.temperature),
            salt_factor: form.temperature.salt(water.temperature),
            feed_g_kg,
        };
        for element in &self.elements {
            at.elements.push(at.element(element)?);
        }
        Ok(at)
    }
}

impl TrainAt {
    fn element(&self, element: &Element) -> Result<ElementAt, TrainError> {
        let (a25, b25) = (element.a25.as_m_s_pa(), element.b25.as_m_s());
        let sound = 0.0 < element.area.as_m2()
            && 0.0 < element.length_m
            && element.length_m.is_finite()
            && 0.0 < a25
            && 0.0 < b25
            && (0.0..1.0).contains(&element.leak);
        if !sound {
            return Err(TrainError::Element);
        }
        Ok(ElementAt {
            area_m2: element.area.as_m2(),
            a: a25 * self.water_factor,
            b: b25 * self.salt_factor,
            leak: element.leak,
            speed_per_flow: speed_per_flow(element.area, element.length_m),
            dp_coefficient: element.differential_pressure.coefficient(),
            dp_exponent: element.differential_pressure.exponent,
        })
    }

    /// Multiplies the pressure lost in every element.
    pub fn scale_differential_pressure(&mut self, factor: f64) {
        for element in &mut self.elements {
            element.dp_coefficient *= factor;
        }
    }

    /// Density of the feed, kg/m3.
    pub fn feed_density_kg_m3(&self) -> f64 {
        self.density.kg_m3(self.feed_g_kg)
    }

    /// Density of any water of this temperature, kg/m3, from its salinity in g/kg.
    pub fn density_kg_m3(&self, salinity_g_kg: f64) -> f64 {
        self.density.kg_m3(salinity_g_kg)
    }

    /// What the train does with the pressure at its inlet given.
    ///
    /// # Errors
    /// [`TrainError::NoFeed`], [`TrainError::FeedUsedUp`] or a search that failed.
    pub fn with_inlet_pressure(
        &self,
        feed: Flow,
        inlet: Pressure,
        product: Pressure,
    ) -> Result<TrainOutput, TrainError> {
        self.march(feed.as_m3_s(), inlet.as_pa(), product.as_pa())
    }

    /// What the train does with the pressure at its outlet given, as a regulating valve behind it holds it.
    ///
    /// # Errors
    /// [`TrainError::NoFeed`], [`TrainError::FeedUsedUp`] or a search that failed.
    pub fn with_outlet_pressure(
        &self,
        feed: Flow,
        outlet: Pressure,
        product: Pressure,
    ) -> Result<TrainOutput, TrainError> {
        self.march_to_outlet(feed.as_m3_s(), outlet.as_pa(), product.as_pa())
    }
}
