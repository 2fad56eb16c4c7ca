//! Permeabilities found from readings, and all that can be wrong with them.
//!
//! Each input's effect on ln(A25) and ln(B25) is kept with the random and the systematic part of its error. So the ratio of two states knows
//! which errors they share: those of the same instrument and those of the model's own parameters, which cancel as far as the two
//! working points are alike.

use crate::quantity::{SaltPermeability, WaterPermeability};

/// A symmetric two-by-two covariance of (ln A25, ln B25).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Covariance {
    /// Variance of ln(A25).
    pub aa: f64,
    /// Covariance of the two.
    pub ab: f64,
    /// Variance of ln(B25).
    pub bb: f64,
}

impl Covariance {
    fn add(&mut self, (a, b): (f64, f64), scale: f64) {
        self.aa += a * a * scale * scale;
        self.ab += a * b * scale * scale;
        self.bb += b * b * scale * scale;
    }

    /// Standard deviation of ln(A25).
    pub fn ln_a_sd(&self) -> f64 {
        self.aa.max(0.0).sqrt()
    }

    /// Standard deviation of ln(B25).
    pub fn ln_b_sd(&self) -> f64 {
        self.bb.max(0.0).sqrt()
    }

    /// Standard deviation of a ln(A25) + b ln(B25).
    pub fn along(&self, a: f64, b: f64) -> f64 {
        (a * a * self.aa + 2.0 * a * b * self.ab + b * b * self.bb).max(0.0).sqrt()
    }
}

/// What an effect comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EffectOf {
    /// Product flow, L/h.
    ProductFlow,
    /// Dissolved solids of the product, mg/L.
    ProductSolids,
    /// Feed flow, L/h.
    FeedFlow,
    /// Concentrate flow, L/h.
    ConcentrateFlow,
    /// Delivery of the pump, where it stands for a flow that was not measured.
    Delivery,
    /// Feed pressure, bar.
    FeedPressure,
    /// Concentrate pressure, bar.
    ConcentratePressure,
    /// Product pressure, bar.
    ProductPressure,
    /// Feed temperature, °C.
    Temperature,
    /// Feed salinity, g/kg.
    Salinity,
    /// Temperature parameter of water above 25 °C, K.
    WaterWarm,
    /// Temperature parameter of water below 25 °C, K.
    WaterCold,
    /// Temperature parameter of salt, K.
    SaltTemperature,
    /// Logarithm of the film's multiplier.
    Film,
    /// Logarithm of the osmotic pressure.
    Osmotic,
    /// Logarithm of the pressure lost along the train.
    DifferentialPressure,
}

/// Effect of one input on both logarithms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Effect {
    /// Of what.
    pub of: EffectOf,
    /// Instrument that read it; none for a parameter of the model.
    pub instrument: Option<u16>,
    /// Change of ln(A25) for one unit of the input.
    pub ln_a: f64,
    /// Change of ln(B25) for one unit of the input.
    pub ln_b: f64,
    /// Random standard deviation of the input.
    pub random: f64,
    /// Systematic standard deviation of the input.
    pub systematic: f64,
}

/// Permeabilities that explain a set of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct MembraneState {
    /// Water permeability at 25 °C.
    pub a25: WaterPermeability,
    /// Salt permeability at 25 °C.
    pub b25: SaltPermeability,
    /// Feed flow that was read, worked out from product and concentrate, or assumed, L/h.
    pub feed_flow_l_h: f64,
    /// Effects of all inputs.
    pub effects: Vec<Effect>,
}

/// An error that several effects may share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Shared {
    Instrument(u16),
    Own(EffectOf),
}

impl Effect {
    fn shared(&self) -> Shared {
        self.instrument.map_or(Shared::Own(self.of), Shared::Instrument)
    }
}

impl MembraneState {
    /// Covariance of (ln A25, ln B25) as absolute figures: chance, instruments and model.
    pub fn covariance(&self) -> Covariance {
        let mut covariance = self.random_covariance();
        for (a, b) in self.shared_errors().into_iter().map(|(_, effect)| effect) {
            covariance.add((a, b), 1.0);
        }
        covariance
    }

    /// The part of the covariance that changes from reading to reading.
    pub fn random_covariance(&self) -> Covariance {
        let mut covariance = Covariance::default();
        for effect in &self.effects {
            covariance.add((effect.ln_a, effect.ln_b), effect.random);
        }
        covariance
    }

    /// Each shared error, one standard deviation of it, as its effect on both logarithms; readings of one instrument err together.
    fn shared_errors(&self) -> Vec<(Shared, (f64, f64))> {
        let mut errors: Vec<(Shared, (f64, f64))> = Vec::with_capacity(self.effects.len());
        for effect in self.effects.iter().filter(|effect| effect.systematic > 0.0) {
            let (a, b) = (effect.ln_a * effect.systematic, effect.ln_b * effect.systematic);
            match errors.iter_mut().find(|(shared, _)| *shared == effect.shared()) {
                Some((_, sum)) => *sum = (sum.0 + a, sum.1 + b),
                None => errors.push((effect.shared(), (a, b))),
            }
        }
        errors
    }

    /// Ratio of this state to a baseline, with what both have in common cancelled.
    pub fn over(&self, baseline: &Self) -> PermeabilityRatio {
        let mut covariance = self.random_covariance();
        let other = baseline.random_covariance();
        covariance.aa += other.aa;
        covariance.ab += other.ab;
        covariance.bb += other.bb;
        let (now, mut then) = (self.shared_errors(), baseline.shared_errors());
        for (shared, (a, b)) in now {
            let before = match then.iter().position(|(other, _)| *other == shared) {
                Some(at) => then.swap_remove(at).1,
                None => (0.0, 0.0),
            };
            covariance.add((a - before.0, b - before.1), 1.0);
        }
        for (_, effect) in then {
            covariance.add(effect, 1.0);
        }
        PermeabilityRatio {
            a: self.a25.as_m_s_pa() / baseline.a25.as_m_s_pa(),
            b: self.b25.as_m_s() / baseline.b25.as_m_s(),
            covariance,
        }
    }
}

/// Permeabilities over those of a baseline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PermeabilityRatio {
    /// A25 over its baseline.
    pub a: f64,
    /// B25 over its baseline.
    pub b: f64,
    /// Covariance of the logarithms of both ratios.
    pub covariance: Covariance,
}
