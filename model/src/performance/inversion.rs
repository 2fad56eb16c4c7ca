//! From readings back to permeabilities, with covariance.
//!
//! The two permeabilities are those with which the forward model gives the product flow and salinity that were read, at the feed flow,
//! pressure, temperature and salinity that were read. Errors are carried by finite differences of the same model. With a measured feed or concentrate flow
//! the answer is a [`MembraneState`]. Without one it is a [`JointRegion`] of water permeability and pump delivery: a worn pump and a
//! fouled membrane then look alike, and no figure for the membrane alone would be honest.

use super::NotComputable;
use super::answers::{Answers, Fit, FitPoint, Source};
use super::lost_pressure::{Lost, lost_pressure};
use super::membrane_state::{Effect, EffectOf, MembraneState};
use super::readings::{Measured, Readings, product_g_kg};
use super::salt_balance;
use crate::math;
use crate::membrane::{Form, Polarisation, Train};
use crate::quantity::{SaltPermeability, WaterPermeability};

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
    if readings.flow_measured() {
        return state(train, form, temperature_sd_k, readings, None, None).map(Inversion::Membrane);
    }
    let at_believed_delivery = state(train, form, temperature_sd_k, readings, pump, None)?;
    let believed = pump.ok_or(NotComputable::FeedFlowUnknown)?;
    let mut inverter = Inverter::new(train, form, temperature_sd_k, readings)?;
    let mut points = Vec::with_capacity(JOINT_DELIVERIES.len());
    for delivery in JOINT_DELIVERIES {
        inverter.point.feed_l_h = believed.swept_flow_l_h * delivery;
        // A delivery at which no membrane would do is no part of the region.
        if let Ok([ln_a, ln_b]) = inverter.fit().permeabilities(&inverter.point) {
            points.push(JointPoint {
                delivery,
                feed_flow_l_h: inverter.point.feed_l_h,
                a25: WaterPermeability::from_m_s_pa(math::exp(ln_a))?,
                b25: SaltPermeability::from_m_s(math::exp(ln_b))?,
            });
        }
    }
    Ok(Inversion::Joint(JointRegion { points, at_believed_delivery, believed }))
}

/// One state of the membranes with all its effects. Where no flow was measured, `pump` stands in, and the state is no membrane figure by itself: [`invert`]
/// never gives it alone. `known` are ln A25 and ln B25 that are known already (those of a baseline); `None`: they are fitted.
///
/// # Errors
/// As [`invert`].
pub fn state(
    train: &Train,
    form: &Form,
    temperature_sd_k: [f64; 3],
    readings: &Readings,
    pump: Option<PumpAssumption>,
    known: Option<[f64; 2]>,
) -> Result<MembraneState, NotComputable> {
    let mut inverter = Inverter::new(train, form, temperature_sd_k, readings)?;
    let product = inverter.product;
    let errors = match (readings.feed_flow_l_h, readings.concentrate_flow_l_h, pump) {
        (Some(feed), _, _) => {
            inverter.point.feed_l_h = feed.value;
            vec![flow(EffectOf::FeedFlow, feed)]
        }
        // Feed is product plus concentrate, so an error of the product flow moves both.
        (None, Some(concentrate), _) => {
            inverter.point.feed_l_h = product.value + concentrate.value;
            vec![flow(EffectOf::ProductFlow, product), flow(EffectOf::ConcentrateFlow, concentrate)]
        }
        (None, None, Some(pump)) => {
            inverter.point.feed_l_h = pump.swept_flow_l_h * pump.delivery;
            vec![FlowError {
                of: EffectOf::Delivery,
                instrument: None,
                l_h_per_unit: pump.swept_flow_l_h,
                random: 0.0,
                systematic: pump.delivery_sd,
            }]
        }
        (None, None, None) => return Err(NotComputable::FeedFlowUnknown),
    };
    inverter.state(&errors, known)
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

struct Inverter<'a> {
    train: Train,
    form: &'a Form,
    temperature_sd_k: [f64; 3],
    point: FitPoint,
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
    ) -> Result<Self, NotComputable> {
        let product = readings.product_flow_l_h.ok_or(NotComputable::ProductFlowUnknown)?;
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
            point: FitPoint {
                product_l_h: product.value,
                product_g_kg: product_g_kg(solids.value).ok_or(NotComputable::ProductSalinityUnknown)?,
                pressure_bar,
                at_inlet,
                product_bar: readings.product_pressure_bar.map_or(0.0, |measured| measured.value),
                temperature_c: temperature.value,
                salinity_g_kg: salinity.value,
                ..FitPoint::default()
            },
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

    fn fit(&self) -> Fit<'_> {
        Fit { train: &self.train, form: self.form }
    }

    /// Fits, and where the differential pressure was read, scales the law until the march loses just that.
    fn settle(&mut self, known: Option<[f64; 2]>) -> Result<[f64; 2], NotComputable> {
        let permeabilities = |this: &Self| known.map_or_else(|| this.fit().permeabilities(&this.point), Ok);
        let mut found = permeabilities(self)?;
        let Some(lost_bar) = self.lost_bar else { return Ok(found) };
        for _ in 0..SETTLE_ROUNDS {
            let output = self.fit().forward(&self.point, found)?;
            let modelled_bar = (output.inlet_pa - output.outlet_pa) / 1e5;
            if modelled_bar <= 0.0 || (lost_bar / modelled_bar - 1.0).abs() < SETTLED {
                break;
            }
            self.point.ln_dp += math::ln(lost_bar / modelled_bar);
            found = permeabilities(self)?;
        }
        Ok(found)
    }

    fn state(
        &mut self,
        flow_errors: &[FlowError],
        known: Option<[f64; 2]>,
    ) -> Result<MembraneState, NotComputable> {
        let found = self.settle(known)?;
        let answers = self.fit().answers(&self.point, found)?;
        let mut effects = Vec::with_capacity(16);
        self.reading_effects(&mut effects, &answers, flow_errors);
        self.model_effects(&mut effects, &answers);
        Ok(MembraneState {
            a25: WaterPermeability::from_m_s_pa(math::exp(found[0]))?,
            b25: SaltPermeability::from_m_s(math::exp(found[1]))?,
            feed_flow_l_h: self.point.feed_l_h,
            effects,
            point: self.point,
            answers,
        })
    }

    fn reading_effects(&self, effects: &mut Vec<Effect>, answers: &Answers, flow_errors: &[FlowError]) {
        let by = |source: Source, scale: f64| {
            let [a, b] = answers.by(source);
            (a * scale, b * scale)
        };
        measured_effect(effects, EffectOf::ProductFlow, &self.product, by(Source::ProductFlow, 1.0));
        // Mass and volume of product are proportional within 1e-4.
        let g_kg_per_mg_l = self.point.product_g_kg / self.solids.value;
        let effect = by(Source::ProductSalinity, g_kg_per_mg_l);
        measured_effect(effects, EffectOf::ProductSolids, &self.solids, effect);
        for error in flow_errors {
            let effect = by(Source::FeedFlow, error.l_h_per_unit);
            add(effects, error.of, error.instrument, effect, (error.random, error.systematic));
        }
        let gauges = [
            (EffectOf::FeedPressure, self.feed_pressure),
            (EffectOf::ConcentratePressure, self.concentrate_pressure),
        ];
        for (of, gauge) in gauges {
            if let Some((measured, share)) = gauge {
                measured_effect(effects, of, &measured, by(Source::Pressure, share));
            }
        }
        if let Some(measured) = self.product_pressure {
            measured_effect(effects, EffectOf::ProductPressure, &measured, by(Source::ProductPressure, 1.0));
        }
        measured_effect(effects, EffectOf::Temperature, &self.temperature, by(Source::Temperature, 1.0));
        measured_effect(effects, EffectOf::Salinity, &self.salinity, by(Source::Salinity, 1.0));
    }

    /// Effects of the model's own parameters.
    fn model_effects(&self, effects: &mut Vec<Effect>, answers: &Answers) {
        let [warm, cold, salt] = self.temperature_sd_k;
        let mut own = |of, source: Source, sd: f64| {
            let [a, b] = answers.by(source);
            add(effects, of, None, (a, b), (0.0, sd));
        };
        own(EffectOf::WaterWarm, Source::WaterWarm, warm);
        own(EffectOf::WaterCold, Source::WaterCold, cold);
        own(EffectOf::SaltTemperature, Source::SaltTemperature, salt);
        if matches!(self.form.polarisation, Polarisation::Film { .. }) {
            own(EffectOf::Film, Source::Film, Polarisation::LN_FILM_MULTIPLIER_SD);
        }
        own(EffectOf::Osmotic, Source::Osmotic, LN_OSMOTIC_SD);
        own(EffectOf::DifferentialPressure, Source::DifferentialPressure, self.ln_dp_sd);
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
