//! Permeabilities found from readings, and all that can be wrong with them.
//!
//! Each input's effect on ln(A25) and ln(B25) is kept with the random and the systematic part of its error. So the ratio of two states knows
//! which errors they share: those of the same instrument and those of the model's own parameters, which cancel as far as the two
//! working points are alike.

use super::answers::{Answers, FitPoint};
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
    /// Adds one independent error: its effect on both logarithms, times a scale.
    pub(crate) fn add(&mut self, (a, b): (f64, f64), scale: f64) {
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
    /// The working point they were found at.
    pub point: FitPoint,
    /// How they answer to each source there.
    pub answers: Answers,
}

/// What an instrument reads. Errors of one instrument are one within a group and apart between groups: a meter's cell is not its thermometer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Group {
    Flow,
    Pressure,
    Temperature,
    ProductSalt,
    FeedSalt,
}

/// An error that several effects may share.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Shared {
    /// A named instrument.
    Instrument(u16, Group),
    /// The boat's usual instrument for one reading, without a name in the settings.
    Unnamed(EffectOf),
    /// A parameter of the model, or of this unit's pump.
    Model(EffectOf),
    /// Assumed, or read once by something that is never seen again: shared with no other state.
    Alone(EffectOf),
}

/// Number of what is not named in the settings.
const UNNAMED: u16 = 0;

impl Effect {
    fn shared(&self) -> Shared {
        let group = match self.of {
            EffectOf::ProductFlow | EffectOf::FeedFlow | EffectOf::ConcentrateFlow => Group::Flow,
            EffectOf::FeedPressure | EffectOf::ConcentratePressure | EffectOf::ProductPressure => {
                Group::Pressure
            }
            EffectOf::Temperature => Group::Temperature,
            EffectOf::ProductSolids => Group::ProductSalt,
            EffectOf::Salinity => Group::FeedSalt,
            EffectOf::Delivery
            | EffectOf::WaterWarm
            | EffectOf::WaterCold
            | EffectOf::SaltTemperature
            | EffectOf::Film
            | EffectOf::Osmotic
            | EffectOf::DifferentialPressure => return Shared::Model(self.of),
        };
        match self.instrument {
            None => Shared::Alone(self.of),
            Some(UNNAMED) => Shared::Unnamed(self.of),
            Some(named) => Shared::Instrument(named, group),
        }
    }
}

impl Shared {
    const fn cancels(self) -> bool {
        !matches!(self, Self::Alone(_))
    }
}

/// One shared error by its name, and what one standard deviation of it does to ln(A25) and ln(B25).
pub(crate) type SharedError = (SharedKey, (f64, f64));

/// Name of a shared error: equal names are one error.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct SharedKey(Shared);

impl SharedKey {
    /// It is shared with no other state.
    pub(crate) const fn is_alone(self) -> bool {
        !self.0.cancels()
    }

    /// It is one of the temperature parameters.
    pub(crate) const fn is_temperature_law(self) -> bool {
        matches!(self.0, Shared::Model(EffectOf::WaterWarm | EffectOf::WaterCold | EffectOf::SaltTemperature))
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

    /// The shared errors by name.
    pub(crate) fn named_errors(&self) -> Vec<SharedError> {
        self.shared_errors().into_iter().map(|(shared, effect)| (SharedKey(shared), effect)).collect()
    }

    /// Covariance of the ratio to a baseline that is left of the systematic errors: what both have in common cancels.
    pub fn shared_covariance_over(&self, baseline: &Self) -> Covariance {
        let mut covariance = Covariance::default();
        let (now, mut then) = (self.shared_errors(), baseline.shared_errors());
        for (shared, (a, b)) in now {
            let same = then.iter().position(|(other, _)| *other == shared && shared.cancels());
            let before = same.map_or((0.0, 0.0), |at| then.swap_remove(at).1);
            covariance.add((a - before.0, b - before.1), 1.0);
        }
        for (_, effect) in then {
            covariance.add(effect, 1.0);
        }
        covariance
    }

    /// Ratio of this state to a baseline, with what both have in common cancelled.
    pub fn over(&self, baseline: &Self) -> PermeabilityRatio {
        let mut covariance = self.shared_covariance_over(baseline);
        for part in [self.random_covariance(), baseline.random_covariance()] {
            covariance.aa += part.aa;
            covariance.ab += part.ab;
            covariance.bb += part.bb;
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
