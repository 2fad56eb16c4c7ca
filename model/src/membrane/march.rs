//! The march along a train: mass balances of water and salt, slice by slice, by the midpoint rule.
//!
//! The state at the middle of a slice is predicted with the flux carried on from the slices before, which leaves the scheme of second order
//! with one solution per slice. Flows here are those of one train; outputs are those of all trains together.

use super::Polarisation;
use super::concentration_polarisation::mass_transfer_m_s;
use super::differential_pressure::SlowPower;
use super::flux::{Flux, Patch, PatchPolarisation};
use super::train::{ElementAt, ElementOutput, SATURATED_G_KG, TrainAt, TrainError, TrainOutput};
use crate::math;
use crate::solve::bracketed::{Search, secant_rising};

/// Share of a slice's feed that may pass the membrane. More means a train with far too little feed, where the model says nothing.
const SLICE_RECOVERY_MAX: f64 = 0.5;

/// Tolerance of the pressure at the outlet, Pa: five orders below what a gauge shows.
const PRESSURE_TOLERANCE_PA: f64 = 1.0;

/// The same as a share of that pressure, which counts below 10 bar, and the least, Pa: with hardly any pressure a pascal is much of it.
const PRESSURE_TOLERANCE_SHARE: f64 = 1e-6;
const PRESSURE_TOLERANCE_LEAST_PA: f64 = 1e-3;

/// Stream along one train. SI, salinity in g/kg.
#[derive(Clone, Copy, Debug)]
struct Stream {
    mass_kg_s: f64,
    salinity_g_kg: f64,
    pressure_pa: f64,
}

/// Flow and density of the stream at one place.
#[derive(Clone, Copy, Debug)]
struct Channel {
    volume_m3_s: f64,
    density_kg_m3: f64,
}

/// What has passed the membranes so far.
#[derive(Clone, Copy, Debug, Default)]
struct Product {
    volume_m3_s: f64,
    mass_kg_s: f64,
    salt_g_s: f64,
}

impl Product {
    fn salinity_g_kg(&self, otherwise: f64) -> f64 {
        if self.mass_kg_s > 0.0 { self.salt_g_s / self.mass_kg_s } else { otherwise }
    }
}

/// Water flux along an element, m/s: at the middles of the last three slices, from which it is carried on to the next.
#[derive(Clone, Copy, Debug)]
struct FluxTrend {
    last: f64,
    before: f64,
    earlier: f64,
}

impl FluxTrend {
    /// Nothing is known but the flux at the inlet.
    fn level(inlet: f64) -> Self {
        Self { last: inlet, before: inlet, earlier: inlet }
    }

    /// Through the inlet and the first middle, half a slice on: a straight line, carried on backwards as if there were slices.
    fn straight(inlet: f64, first: f64) -> Self {
        let before = 2.0 * inlet - first;
        Self { last: first, before, earlier: 2.0 * before - first }
    }

    fn then(self, flux: f64) -> Self {
        Self { last: flux, before: self.last, earlier: self.before }
    }

    /// Mean over the first half of the next slice.
    fn next_half(&self) -> f64 {
        (1.75 * self.last - 0.75 * self.before).max(0.0)
    }

    /// At the next middle, by a parabola: only a first guess, which saves the solver a step.
    fn next_middle(&self) -> f64 {
        self.earlier + 3.0 * (self.last - self.before)
    }
}

impl TrainAt {
    /// Marches from a given inlet pressure.
    pub(crate) fn march(
        &self,
        feed_m3_s: f64,
        inlet_pa: f64,
        product_pa: f64,
    ) -> Result<TrainOutput, TrainError> {
        if !(0.0 < feed_m3_s && feed_m3_s.is_finite()) {
            return Err(TrainError::NoFeed);
        }
        let mut stream = Stream {
            mass_kg_s: feed_m3_s / self.parallel * self.feed_density_kg_m3(),
            salinity_g_kg: self.feed_g_kg,
            pressure_pa: inlet_pa,
        };
        let mut total = Product::default();
        let mut elements = Vec::with_capacity(self.elements.len());
        for element in &self.elements {
            let (next, product, output) = self.element_march(element, stream, product_pa)?;
            total.volume_m3_s += product.volume_m3_s;
            total.mass_kg_s += product.mass_kg_s;
            total.salt_g_s += product.salt_g_s;
            elements.push(output);
            stream = next;
        }
        Ok(TrainOutput {
            product_m3_s: total.volume_m3_s * self.parallel,
            product_g_kg: total.salinity_g_kg(self.feed_g_kg),
            feed_m3_s,
            concentrate_m3_s: self.volume_flow(&stream) * self.parallel,
            concentrate_g_kg: stream.salinity_g_kg,
            inlet_pa,
            outlet_pa: stream.pressure_pa,
            elements,
        })
    }

    /// Marches so that the pressure at the outlet is the given one. The pressure lost depends so little on the pressure that the first
    /// correction is right to a thousandth.
    pub(crate) fn march_to_outlet(
        &self,
        feed_m3_s: f64,
        outlet_pa: f64,
        product_pa: f64,
    ) -> Result<TrainOutput, TrainError> {
        let most_lost_pa: f64 = self
            .elements
            .iter()
            .map(|element| {
                element.dp_coefficient * math::pow(feed_m3_s.max(0.0) / self.parallel, element.dp_exponent)
            })
            .sum();
        let tolerance_pa = (PRESSURE_TOLERANCE_SHARE * outlet_pa.abs())
            .clamp(PRESSURE_TOLERANCE_LEAST_PA, PRESSURE_TOLERANCE_PA);
        // In small units about 0.7 of what the whole feed would lose.
        let search = Search {
            low: outlet_pa - tolerance_pa,
            high: outlet_pa + most_lost_pa + tolerance_pa,
            guess: outlet_pa + 0.7 * most_lost_pa,
            tolerance: tolerance_pa,
        };
        let mut found = None;
        let inlet_pa = secant_rising(search, 1.0, |inlet_pa| {
            let output = self.march(feed_m3_s, inlet_pa, product_pa)?;
            let excess_pa = output.outlet_pa - outlet_pa;
            found = Some(output);
            Ok::<_, TrainError>(if excess_pa.abs() < 0.1 * tolerance_pa { 0.0 } else { excess_pa })
        })?;
        match found {
            Some(output) if (output.inlet_pa - inlet_pa).abs() < 0.1 * tolerance_pa => Ok(output),
            _ => self.march(feed_m3_s, inlet_pa, product_pa),
        }
    }

    fn volume_flow(&self, stream: &Stream) -> f64 {
        stream.mass_kg_s / self.density.kg_m3(stream.salinity_g_kg)
    }

    /// One element, with the polarisation of the form. exp(0.7 Y) needs the element's own recovery, which falls as the factor rises.
    fn element_march(
        &self,
        element: &ElementAt,
        feed: Stream,
        product_pa: f64,
    ) -> Result<(Stream, Product, ElementOutput), TrainError> {
        let factor = match self.polarisation {
            Polarisation::Film { .. } => None,
            Polarisation::Absent => Some(1.0),
            Polarisation::Exponential => {
                let search = Search { low: -1e-9, high: 1.0, guess: 0.2, tolerance: 1e-10 };
                let recovery = secant_rising(search, 1.2, |recovery| {
                    let factor = math::exp(Polarisation::EXPONENT * recovery);
                    match self.slices(element, feed, product_pa, Some(factor)) {
                        Ok((_, _, output)) => Ok(recovery - output.recovery()),
                        // More than all the feed would pass at this factor: the recovery is higher.
                        Err(TrainError::FeedUsedUp) => Ok(recovery - 1.0),
                        Err(other) => Err(other),
                    }
                })?;
                Some(math::exp(Polarisation::EXPONENT * recovery))
            }
        };
        self.slices(element, feed, product_pa, factor)
    }

    /// The membrane's face at one place of the stream.
    #[inline]
    fn patch(
        &self,
        element: &ElementAt,
        stream: &Stream,
        channel: Channel,
        product_pa: f64,
        fixed_factor: Option<f64>,
    ) -> Patch {
        Patch {
            net_pa: stream.pressure_pa - product_pa,
            bulk_g_kg: stream.salinity_g_kg,
            a: element.a,
            b: element.b,
            polarisation: match fixed_factor {
                Some(factor) => PatchPolarisation::Fixed(factor),
                None => PatchPolarisation::Film(mass_transfer_m_s(
                    self.film_constant,
                    element.speed_per_flow * channel.volume_m3_s,
                    self.viscosity.pa_s(stream.salinity_g_kg) / channel.density_kg_m3,
                )),
            },
        }
    }

    fn slices(
        &self,
        element: &ElementAt,
        feed: Stream,
        product_pa: f64,
        fixed_factor: Option<f64>,
    ) -> Result<(Stream, Product, ElementOutput), TrainError> {
        let slices = self.slices as f64;
        let slice_m2 = element.area_m2 / slices;
        let feed_m3_s = self.volume_flow(&feed);
        let mut power = SlowPower::new(feed_m3_s, element.dp_exponent);
        let mut stream = feed;
        let mut product = Product::default();
        let mut factors = 0.0;

        // Flux at the inlet; then of the middle of the last slice and the one before it.
        let patch =
            |stream: &Stream, flow: Channel| self.patch(element, stream, flow, product_pa, fixed_factor);
        let inlet = Channel { volume_m3_s: feed_m3_s, density_kg_m3: self.density.kg_m3(feed.salinity_g_kg) };
        let at_inlet = patch(&feed, inlet);
        let inlet_flux = at_inlet.solve(&self.osmotic, at_inlet.first_guess(&self.osmotic))?;
        let passing_g_kg =
            |flux: &Flux| (flux.product_g_kg + element.leak * flux.face_g_kg).min(flux.face_g_kg);
        let mut trend = FluxTrend::level(inlet_flux.water_m_s);
        // Salinity and density of what passed last, leak included: taken without either, the scheme would be of first order.
        let mut passed_g_kg = passing_g_kg(&inlet_flux);
        let mut passed_kg_m3 = self.density.kg_m3(passed_g_kg);

        for slice in 0..self.slices {
            let half_kg_s = (0.5 * trend.next_half() * slice_m2 * passed_kg_m3)
                .min(0.5 * SLICE_RECOVERY_MAX * stream.mass_kg_s);
            let middle_kg_s = stream.mass_kg_s - half_kg_s;
            let middle_g_kg =
                stream.salinity_g_kg + (stream.salinity_g_kg - passed_g_kg) * half_kg_s / middle_kg_s;
            let density_kg_m3 = self.density.kg_m3(middle_g_kg);
            let middle_m3_s = middle_kg_s / density_kg_m3;
            let lost_pa = element.dp_coefficient * power.of(middle_m3_s) / slices;
            let middle = Stream {
                mass_kg_s: middle_kg_s,
                salinity_g_kg: middle_g_kg,
                pressure_pa: stream.pressure_pa - 0.5 * lost_pa,
            };
            let channel = Channel { volume_m3_s: middle_m3_s, density_kg_m3 };
            let flux = patch(&middle, channel).solve(&self.osmotic, trend.next_middle())?;
            trend = match slice {
                0 => FluxTrend::straight(inlet_flux.water_m_s, flux.water_m_s),
                _ => trend.then(flux.water_m_s),
            };

            passed_g_kg = passing_g_kg(&flux);
            passed_kg_m3 = self.density.kg_m3(passed_g_kg);
            let passed_m3_s = flux.water_m_s * slice_m2;
            let passed_kg_s = passed_m3_s * passed_kg_m3;
            if passed_kg_s > SLICE_RECOVERY_MAX * stream.mass_kg_s {
                return Err(TrainError::FeedUsedUp);
            }
            product.volume_m3_s += passed_m3_s;
            product.mass_kg_s += passed_kg_s;
            product.salt_g_s += passed_kg_s * passed_g_kg;
            factors += flux.factor;
            let left_kg_s = stream.mass_kg_s - passed_kg_s;
            stream = Stream {
                mass_kg_s: left_kg_s,
                salinity_g_kg: (stream.mass_kg_s * stream.salinity_g_kg - passed_kg_s * passed_g_kg)
                    / left_kg_s,
                pressure_pa: stream.pressure_pa - lost_pa,
            };
            if stream.salinity_g_kg > SATURATED_G_KG {
                return Err(TrainError::FeedUsedUp);
            }
        }
        let output = ElementOutput {
            product_m3_s: product.volume_m3_s * self.parallel,
            product_g_kg: product.salinity_g_kg(feed.salinity_g_kg),
            feed_m3_s: feed_m3_s * self.parallel,
            concentrate_m3_s: self.volume_flow(&stream) * self.parallel,
            concentrate_g_kg: stream.salinity_g_kg,
            inlet_pa: feed.pressure_pa,
            outlet_pa: stream.pressure_pa,
            flux_m_s: product.volume_m3_s / element.area_m2,
            polarisation: factors / slices,
        };
        Ok((stream, product, output))
    }
}
