//! From readings back to permeabilities, with covariance.
//!
//! The two permeabilities are those with which the forward model gives the product flow and salinity that were read, at the feed flow,
//! pressure, temperature and salinity that were read. Errors are carried by finite differences of the same model. With a measured feed or concentrate flow
//! the answer is a [`MembraneState`]. Without one it is a [`JointRegion`] of water permeability and pump delivery: a worn pump and a
//! fouled membrane then look alike, and no figure for the membrane alone would be honest.

use super::NotComputable;
use super::lost_pressure::{Lost, lost_pressure};
use super::membrane_state::{Effect, EffectOf, MembraneState};
use super::readings::{Measured, Readings, product_g_kg};
use super::salt_balance;
use crate::math;
use crate::membrane::{
    Form, GivenPressure, Permeabilities, Polarisation, Salt, TemperatureResponse, Train, TrainAt, TrainError,
    Water, Working,
};
use crate::quantity::{Flow, Pressure, Salinity, SaltPermeability, Temperature, WaterPermeability};
use crate::solve::bracketed::SolveError;

/// The pump in place of a flow that was not measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PumpAssumption {
    /// Flow that the pump would deliver without slip at the speed believed, L/h.
    pub swept_flow_l_h: f64,
    /// Share of it that is believed to be delivered.
    pub delivery: f64,
    /// Standard deviation of that share.
    pub delivery_sd: f64,
}

/// One point of the joint region: if the pump delivers this, the membranes are that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointPoint {
    /// Share of the swept flow that is delivered.
    pub delivery: f64,
    /// Feed flow that goes with it, L/h.
    pub feed_flow_l_h: f64,
    /// Water permeability at 25 °C.
    pub a25: WaterPermeability,
    /// Salt permeability at 25 °C.
    pub b25: SaltPermeability,
}

/// Pairs of pump delivery and permeabilities that explain the readings equally well.
#[derive(Clone, Debug, PartialEq)]
pub struct JointRegion {
    /// The pairs, by rising delivery.
    pub points: Vec<JointPoint>,
    /// The state at the believed delivery, whose error is among its effects. Not a membrane figure: it moves with the delivery.
    pub at_believed_delivery: MembraneState,
    /// What was believed.
    pub believed: PumpAssumption,
}

impl JointRegion {
    /// What to measure to tell pump and membrane apart.
    pub const REQUEST: &'static str =
        "measure the concentrate flow with a jug and a watch (never close or kink the concentrate hose)";

    /// The delivery with which the membranes would have this water permeability, if it lies within the region.
    pub fn delivery_for(&self, a25: WaterPermeability) -> Option<f64> {
        self.points.windows(2).find_map(|pair| {
            let (low, high) = (pair[0], pair[1]);
            let ln = |a: WaterPermeability| math::ln(a.as_m_s_pa());
            let share = (ln(a25) - ln(low.a25)) / (ln(high.a25) - ln(low.a25));
            (0.0..=1.0).contains(&share).then_some(low.delivery + share * (high.delivery - low.delivery))
        })
    }
}

/// Outcome of an inversion.
#[derive(Clone, Debug, PartialEq)]
pub enum Inversion {
    /// Feed or concentrate flow was measured.
    Membrane(MembraneState),
    /// It was not: pump and membrane cannot be told apart.
    Joint(JointRegion),
}

/// Deliveries of the joint region, as shares of the swept flow: from a pump with a dead cylinder out of two to one better than its nameplate.
const JOINT_DELIVERIES: [f64; 8] = [0.50, 0.60, 0.70, 0.80, 0.85, 0.90, 0.95, 1.05];

/// Relative step of finite differences. Large against the solver's noise of 1e-9, small against any curvature.
const STEP: f64 = 1e-3;

/// Finds what membranes the readings mean.
///
/// `train` gives the elements' areas and laws; its permeabilities are a first guess. `deviations` are the standard deviations of the
/// temperature parameters (water above 25 °C, below, salt; K).
///
/// # Errors
/// [`NotComputable`] for a missing reading by name; [`NotComputable::FeedFlowUnknown`] if there is neither a measured flow nor a pump to assume one
/// from; [`NotComputable::NoMembraneFits`] if no membrane explains the readings.
pub fn invert(
    train: &Train,
    form: &Form,
    temperature_sd_k: [f64; 3],
    readings: &Readings,
    pump: Option<PumpAssumption>,
) -> Result<Inversion, NotComputable> {
    let product = readings.product_flow_l_h.ok_or(NotComputable::ProductFlowUnknown)?;
    let mut inverter = Inverter::new(train, form, temperature_sd_k, readings, product)?;
    let measured = match (readings.feed_flow_l_h, readings.concentrate_flow_l_h) {
        (Some(feed), _) => Some((feed.value, vec![flow(EffectOf::FeedFlow, feed)])),
        // Feed is product plus concentrate, so an error of the product flow moves both.
        (None, Some(concentrate)) => Some((
            product.value + concentrate.value,
            vec![flow(EffectOf::ProductFlow, product), flow(EffectOf::ConcentrateFlow, concentrate)],
        )),
        (None, None) => None,
    };
    if let Some((feed_l_h, errors)) = measured {
        inverter.point.feed_l_h = feed_l_h;
        return inverter.state(&errors).map(Inversion::Membrane);
    }
    let pump = pump.ok_or(NotComputable::FeedFlowUnknown)?;
    inverter.point.feed_l_h = pump.swept_flow_l_h * pump.delivery;
    let error = FlowError {
        of: EffectOf::Delivery,
        instrument: None,
        l_h_per_unit: pump.swept_flow_l_h,
        random: 0.0,
        systematic: pump.delivery_sd,
    };
    let at_believed_delivery = inverter.state(&[error])?;
    let mut points = Vec::with_capacity(JOINT_DELIVERIES.len());
    for delivery in JOINT_DELIVERIES {
        inverter.point.feed_l_h = pump.swept_flow_l_h * delivery;
        // A delivery at which no membrane would do is no part of the region.
        if let Ok(found) = inverter.fit() {
            let (a25, b25) = (found.a25, found.b25);
            points.push(JointPoint { delivery, feed_flow_l_h: inverter.point.feed_l_h, a25, b25 });
        }
    }
    Ok(Inversion::Joint(JointRegion { points, at_believed_delivery, believed: pump }))
}

/// An error that moves the feed flow.
struct FlowError {
    of: EffectOf,
    instrument: Option<u16>,
    l_h_per_unit: f64,
    random: f64,
    systematic: f64,
}

fn flow(of: EffectOf, measured: Measured) -> FlowError {
    FlowError {
        of,
        instrument: measured.instrument,
        l_h_per_unit: 1.0,
        random: measured.random,
        systematic: measured.systematic,
    }
}

/// Everything the forward model is given at a working point.
#[derive(Clone, Copy, Debug)]
struct Point {
    feed_l_h: f64,
    pressure_bar: f64,
    product_bar: f64,
    temperature_c: f64,
    salinity_g_kg: f64,
    response: TemperatureResponse,
    ln_film: f64,
    ln_osmotic: f64,
    ln_dp: f64,
}

/// Effect on both logarithms of one unit of whatever the second argument moves by a step.
type Response<'a> = dyn Fn(f64, &dyn Fn(&mut Point, f64)) -> Result<(f64, f64), NotComputable> + 'a;

struct Inverter<'a> {
    train: Train,
    form: &'a Form,
    temperature_sd_k: [f64; 3],
    point: Point,
    at_inlet: bool,
    product: Measured,
    solids: Measured,
    temperature: Measured,
    salinity: Measured,
    feed_pressure: Option<(Measured, f64)>,
    concentrate_pressure: Option<(Measured, f64)>,
    product_pressure: Option<Measured>,
    /// Differential pressure that was read well enough to replace the law, bar.
    lost_bar: Option<f64>,
    ln_dp_sd: f64,
}

/// Rounds of scaling the differential pressure; each leaves under a tenth of the deviation.
const SETTLE_ROUNDS: usize = 3;

/// Relative deviation of the differential pressure that is left alone; a gauge shows a hundred times that.
const SETTLED: f64 = 1e-4;

impl<'a> Inverter<'a> {
    fn new(
        train: &Train,
        form: &'a Form,
        temperature_sd_k: [f64; 3],
        readings: &Readings,
        product: Measured,
    ) -> Result<Self, NotComputable> {
        let solids = readings.product_tds_mg_l.ok_or(NotComputable::ProductSalinityUnknown)?;
        let temperature = readings.feed_temperature_c.ok_or(NotComputable::TemperatureUnknown)?;
        let salinity = readings
            .feed_salinity_g_kg
            .or_else(|| salt_balance::feed_salinity(readings))
            .ok_or(NotComputable::SalinityUnknown)?;
        let mut train = train.clone();
        let Lost { bar: lost, trusted, ln_sd: ln_dp_sd } =
            lost_pressure(&mut train, readings, product.value)?;
        let (feed, concentrate) = (readings.feed_pressure_bar, readings.concentrate_pressure_bar);
        let (pressure_bar, at_inlet, feed_share) = match (feed, concentrate) {
            (Some(feed), None) => (feed.value, true, 1.0),
            (None, Some(concentrate)) => (concentrate.value, false, 0.0),
            (Some(feed), Some(concentrate)) => {
                // Both gauges, each by its weight; exact ones share alike.
                let (vf, vc) = (feed.variance().max(1e-12), concentrate.variance().max(1e-12));
                let share = vc / (vf + vc);
                (share * feed.value + (1.0 - share) * (concentrate.value + lost), true, share)
            }
            (None, None) => return Err(NotComputable::PressureUnknown),
        };
        Ok(Self {
            train,
            form,
            temperature_sd_k,
            point: Point {
                feed_l_h: 0.0,
                pressure_bar,
                product_bar: readings.product_pressure_bar.map_or(0.0, |measured| measured.value),
                temperature_c: temperature.value,
                salinity_g_kg: salinity.value,
                response: form.temperature,
                ln_film: 0.0,
                ln_osmotic: 0.0,
                ln_dp: 0.0,
            },
            at_inlet,
            product,
            solids,
            temperature,
            salinity,
            feed_pressure: feed.map(|measured| (measured, feed_share)),
            concentrate_pressure: concentrate.map(|measured| (measured, 1.0 - feed_share)),
            product_pressure: readings.product_pressure_bar,
            lost_bar: trusted.then_some(lost),
            ln_dp_sd,
        })
    }

    fn train_at(&self, point: &Point) -> Result<TrainAt, NotComputable> {
        let mut form = *self.form;
        form.temperature = point.response;
        form.osmotic_factor *= math::exp(point.ln_osmotic);
        if let Polarisation::Film { multiplier } = &mut form.polarisation {
            *multiplier *= math::exp(point.ln_film);
        }
        let water = Water {
            temperature: Temperature::from_celsius(point.temperature_c)?,
            salinity: Salinity::from_g_kg(point.salinity_g_kg)?,
            salt: Salt::Sea,
        };
        let mut at = self.train.at(&water, &form)?;
        if point.ln_dp != 0.0 {
            at.scale_differential_pressure(math::exp(point.ln_dp));
        }
        Ok(at)
    }

    fn working(&self, point: &Point) -> Result<Working, NotComputable> {
        let pressure = Pressure::from_bar(point.pressure_bar)?;
        Ok(Working {
            feed: Flow::from_l_h(point.feed_l_h)?,
            pressure: if self.at_inlet {
                GivenPressure::Inlet(pressure)
            } else {
                GivenPressure::Outlet(pressure)
            },
            product: Pressure::from_bar(point.product_bar)?,
        })
    }

    /// Salinity of the product that was read, g/kg.
    fn product_g_kg(&self) -> Result<f64, NotComputable> {
        product_g_kg(self.solids.value).ok_or(NotComputable::ProductSalinityUnknown)
    }

    fn fit(&self) -> Result<Permeabilities, NotComputable> {
        let point = &self.point;
        if point.feed_l_h <= self.product.value {
            return Err(NotComputable::MoreProductThanFeed);
        }
        let product_g_kg = self.product_g_kg()?;
        if point.salinity_g_kg <= product_g_kg {
            return Err(NotComputable::ProductAsSaltyAsFeed);
        }
        let product = Flow::from_l_h(self.product.value)?;
        self.train_at(point)?.fit(&self.working(point)?, product, Salinity::from_g_kg(product_g_kg)?).map_err(
            |error| match error {
                TrainError::Solve(SolveError::RootAbove | SolveError::RootBelow) => {
                    NotComputable::NoMembraneFits
                }
                TrainError::FeedUsedUp => NotComputable::NoMembraneFits,
                other => other.into(),
            },
        )
    }

    /// Logarithms of product flow and salinity.
    fn forward(&self, point: &Point, ln_a: f64, ln_b: f64) -> Result<[f64; 2], NotComputable> {
        let mut train = self.train_at(point)?;
        train.set_ln_permeabilities(ln_a, ln_b);
        let output = train.solve(&self.working(point)?)?;
        Ok([math::ln(output.product_m3_s), math::ln(output.product_g_kg)])
    }

    /// Fits, and where the differential pressure was read, scales the law until the march loses just that.
    fn settle(&mut self) -> Result<Permeabilities, NotComputable> {
        let mut found = self.fit()?;
        let Some(lost_bar) = self.lost_bar else { return Ok(found) };
        for _ in 0..SETTLE_ROUNDS {
            let mut train = self.train_at(&self.point)?;
            train.set_ln_permeabilities(math::ln(found.a25.as_m_s_pa()), math::ln(found.b25.as_m_s()));
            let output = train.solve(&self.working(&self.point)?)?;
            let modelled_bar = (output.inlet_pa - output.outlet_pa) / 1e5;
            if modelled_bar <= 0.0 || (lost_bar / modelled_bar - 1.0).abs() < SETTLED {
                break;
            }
            self.point.ln_dp += math::ln(lost_bar / modelled_bar);
            found = self.fit()?;
        }
        Ok(found)
    }

    fn state(&mut self, flow_errors: &[FlowError]) -> Result<MembraneState, NotComputable> {
        let found = self.settle()?;
        let (ln_a, ln_b) = (math::ln(found.a25.as_m_s_pa()), math::ln(found.b25.as_m_s()));
        let slope =
            |up: Result<[f64; 2], NotComputable>, down: Result<[f64; 2], NotComputable>, width: f64| {
                let (up, down) = (up?, down?);
                Ok::<_, NotComputable>([(up[0] - down[0]) / width, (up[1] - down[1]) / width])
            };
        let here = self.point;
        let by_a = slope(
            self.forward(&here, ln_a + STEP, ln_b),
            self.forward(&here, ln_a - STEP, ln_b),
            2.0 * STEP,
        )?;
        let by_b = slope(
            self.forward(&here, ln_a, ln_b + STEP),
            self.forward(&here, ln_a, ln_b - STEP),
            2.0 * STEP,
        )?;
        let determinant = by_a[0] * by_b[1] - by_a[1] * by_b[0];
        if determinant.is_nan() || determinant == 0.0 {
            return Err(NotComputable::NoMembraneFits);
        }
        // Change of the permeabilities that undoes a change of flow and salinity.
        let undo = |[flow, salt]: [f64; 2]| {
            ((by_b[1] * flow - by_b[0] * salt) / determinant, (by_a[0] * salt - by_a[1] * flow) / determinant)
        };
        let by = |step: f64, change: &dyn Fn(&mut Point, f64)| {
            let (mut up, mut down) = (here, here);
            change(&mut up, step);
            change(&mut down, -step);
            let [flow, salt] =
                slope(self.forward(&up, ln_a, ln_b), self.forward(&down, ln_a, ln_b), 2.0 * step)?;
            Ok::<_, NotComputable>(undo([-flow, -salt]))
        };
        let mut effects = Vec::with_capacity(16);
        self.target_effects(&mut effects, &undo)?;
        let per_l_h = by(STEP * here.feed_l_h, &|point, step| point.feed_l_h += step)?;
        for error in flow_errors {
            let effect = (per_l_h.0 * error.l_h_per_unit, per_l_h.1 * error.l_h_per_unit);
            add(&mut effects, error.of, error.instrument, effect, (error.random, error.systematic));
        }
        let per_bar = by(STEP * here.pressure_bar.abs().max(1.0), &|point, step| point.pressure_bar += step)?;
        let gauges = [
            (EffectOf::FeedPressure, self.feed_pressure),
            (EffectOf::ConcentratePressure, self.concentrate_pressure),
        ];
        for (of, gauge) in gauges {
            if let Some((measured, share)) = gauge {
                measured_effect(&mut effects, of, &measured, (per_bar.0 * share, per_bar.1 * share));
            }
        }
        if let Some(measured) = self.product_pressure {
            let effect =
                by(STEP * here.pressure_bar.abs().max(1.0), &|point, step| point.product_bar += step)?;
            measured_effect(&mut effects, EffectOf::ProductPressure, &measured, effect);
        }
        let effect = by(0.02, &|point, step| point.temperature_c += step)?;
        measured_effect(&mut effects, EffectOf::Temperature, &self.temperature, effect);
        let effect = by(STEP * here.salinity_g_kg, &|point, step| point.salinity_g_kg += step)?;
        measured_effect(&mut effects, EffectOf::Salinity, &self.salinity, effect);
        self.model_effects(&mut effects, &by)?;
        Ok(MembraneState { a25: found.a25, b25: found.b25, feed_flow_l_h: here.feed_l_h, effects })
    }

    /// Effects of the two readings that the model must reproduce.
    fn target_effects(
        &self,
        effects: &mut Vec<Effect>,
        undo: &dyn Fn([f64; 2]) -> (f64, f64),
    ) -> Result<(), NotComputable> {
        let per_flow = undo([1.0 / self.product.value, 0.0]);
        measured_effect(effects, EffectOf::ProductFlow, &self.product, per_flow);
        // Mass and volume of product are proportional within 1e-4.
        let per_solids = undo([0.0, 1.0 / self.solids.value]);
        measured_effect(effects, EffectOf::ProductSolids, &self.solids, per_solids);
        Ok(())
    }

    /// Effects of the model's own parameters. The temperature laws act through A25 = A(T)/f(T) only, so their effect is exact.
    fn model_effects(&self, effects: &mut Vec<Effect>, by: &Response<'_>) -> Result<(), NotComputable> {
        let [warm, cold, salt] = self.temperature_sd_k;
        let reach = TemperatureResponse::reach_per_k(Temperature::from_celsius(self.point.temperature_c)?);
        let side = |warm: bool| if (reach > 0.0) == warm { -reach } else { 0.0 };
        add(effects, EffectOf::WaterWarm, None, (side(true), 0.0), (0.0, warm));
        add(effects, EffectOf::WaterCold, None, (side(false), 0.0), (0.0, cold));
        add(effects, EffectOf::SaltTemperature, None, (0.0, -reach), (0.0, salt));
        if matches!(self.form.polarisation, Polarisation::Film { .. }) {
            let effect = by(0.02, &|point, step| point.ln_film += step)?;
            add(effects, EffectOf::Film, None, effect, (0.0, Polarisation::LN_FILM_MULTIPLIER_SD));
        }
        let effect = by(STEP, &|point, step| point.ln_osmotic += step)?;
        add(effects, EffectOf::Osmotic, None, effect, (0.0, LN_OSMOTIC_SD));
        let effect = by(0.05, &|point, step| point.ln_dp += step)?;
        add(effects, EffectOf::DifferentialPressure, None, effect, (0.0, self.ln_dp_sd));
        Ok(())
    }
}

/// Standard deviation of the osmotic pressure's logarithm: bias of the correlation against TEOS-10.
const LN_OSMOTIC_SD: f64 = 0.004;

fn measured_effect(effects: &mut Vec<Effect>, of: EffectOf, measured: &Measured, effect: (f64, f64)) {
    add(effects, of, measured.instrument, effect, (measured.random, measured.systematic));
}

/// Adds an effect; what moves by two ways (a product flow that is part of the feed flow) is one effect.
fn add(
    effects: &mut Vec<Effect>,
    of: EffectOf,
    instrument: Option<u16>,
    (ln_a, ln_b): (f64, f64),
    (random, systematic): (f64, f64),
) {
    match effects.iter_mut().find(|effect| effect.of == of && effect.instrument == instrument) {
        Some(effect) => {
            effect.ln_a += ln_a;
            effect.ln_b += ln_b;
        }
        None => effects.push(Effect { of, instrument, ln_a, ln_b, random, systematic }),
    }
}
