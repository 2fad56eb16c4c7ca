//! What a set of readings says of pump, motor and vessel, beside the membranes.
//!
//! Three figures, each as a logarithm with the errors of the readings it rests on, so that in a ratio to the baseline the error of an instrument that served
//! both cancels. Delivery: (product + concentrate) or feed over what the pump sweeps at its speed. Motor constant: electric power, or current, over pressure
//! rise times swept flow; torque at held pressure does not know how much the pump delivers, so a worn pump leaves it alone (P = n V_d dp/eta; own derivation).
//! Vessel: pressure lost along the elements at the flow there, brought to another flow by Q^1.43 (fitted to open data of one 2540 element; public manuals use 1.4
//! to 1.5). What cannot be had says which reading would make it so. An induction motor keeps its no-load current, so a constant of current moves a little with load.

use super::comparison::Estimate;
use crate::parts::{Parts, PumpKind};
use crate::performance::Readings;
use crate::performance::differential_pressure::{EXPONENT, MINIMUM_BAR, mean_flow_l_h};
use crate::plant::{Condition, pump};
use crate::records::{Mean, Origin};
use crate::{Quantity, math};

/// One reading's share in a figure: what its errors do to the logarithm.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Part {
    instrument: u16,
    quantity: Quantity,
    random: f64,
    /// With the sign of the reading's effect: one instrument at both ends of a difference nearly cancels.
    systematic: f64,
}

/// A logarithm and the errors of the readings it rests on.
#[derive(Clone, Debug, PartialEq)]
pub struct LnFigure {
    /// The logarithm.
    pub ln: f64,
    parts: Vec<Part>,
}

/// Difference of a figure to the baseline's: its value, and the variances that are drawn anew and that are shared by all later sets.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Difference {
    /// ln of the figure over the baseline's.
    pub ln: f64,
    /// Variance of this set alone.
    pub own: f64,
    /// Variance that all sets of these instruments share.
    pub shared: f64,
}

impl Difference {
    /// Value and standard deviation.
    pub fn estimate(&self) -> Estimate {
        Estimate { value: self.ln, sd: (self.own + self.shared).sqrt() }
    }
}

impl LnFigure {
    fn push(&mut self, mean: &Mean, effect: f64) {
        let part = Part {
            instrument: mean.instrument,
            quantity: mean.quantity,
            random: (effect * mean.random).abs(),
            systematic: effect * mean.systematic,
        };
        self.parts.push(part);
    }

    /// The figure itself with its standard deviation.
    pub fn estimate(&self) -> Estimate {
        let variance = self.random_variance()
            + self.errors().iter().map(|(_, systematic)| systematic * systematic).sum::<f64>();
        let value = math::exp(self.ln);
        Estimate { value, sd: value * variance.sqrt() }
    }

    fn random_variance(&self) -> f64 {
        self.parts.iter().map(|part| part.random * part.random).sum()
    }

    /// Systematic errors by instrument and dimension; an instrument without a name is one for each quantity.
    fn errors(&self) -> Vec<(Key, f64)> {
        let mut errors: Vec<(Key, f64)> = Vec::with_capacity(self.parts.len());
        for part in &self.parts {
            let key = Key::of(part);
            match errors.iter_mut().find(|(known, _)| *known == key) {
                Some((_, sum)) => *sum += part.systematic,
                None => errors.push((key, part.systematic)),
            }
        }
        errors
    }

    /// This figure over that of the baseline.
    pub fn over(&self, baseline: &Self) -> Difference {
        let mut then = baseline.errors();
        let mut shared = baseline.random_variance();
        for (key, now) in self.errors() {
            let same = then.iter().position(|(known, _)| *known == key);
            let before = same.map_or(0.0, |at| then.swap_remove(at).1);
            shared += (now - before) * (now - before);
        }
        shared += then.iter().map(|(_, left)| left * left).sum::<f64>();
        Difference { ln: self.ln - baseline.ln, own: self.random_variance(), shared }
    }
}

/// Whose error a systematic part is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Key {
    Named(u16, crate::Dimension),
    Unnamed(Quantity),
}

impl Key {
    fn of(part: &Part) -> Self {
        match (part.instrument, part.quantity.dimension()) {
            (0, _) => Self::Unnamed(part.quantity),
            // Two gauges or one with a switch: a difference of pressures is read on the same dial.
            (named, crate::Dimension::PressureDifference) => Self::Named(named, crate::Dimension::Pressure),
            (named, dimension) => Self::Named(named, dimension),
        }
    }
}

/// What the electric side was read as. Constants of different kinds are not compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MotorReading {
    /// Power, W.
    Power,
    /// Volts times amperes, without power factor.
    Apparent,
    /// Current alone, A; the voltage is taken to be the usual one.
    Current,
}

/// A figure that cannot be had from these readings, and the reading that would make it so.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotIdentified {
    /// What is not known.
    pub what: &'static str,
    /// What to read.
    pub needs: &'static str,
    /// The quantity of that reading.
    pub quantity: Quantity,
}

impl NotIdentified {
    /// A membrane figure without a measured flow.
    pub const WATER_PERMEABILITY: Self = Self {
        what: "water permeability apart from the pump's delivery",
        needs: "concentrate flow: a jug and a watch at the open end of its hose",
        quantity: Quantity::ConcentrateFlow,
    };
    /// No product salinity.
    pub const SALT_PERMEABILITY: Self = Self {
        what: "salt permeability",
        needs: "conductivity of the product, with a hand meter",
        quantity: Quantity::ProductConductivity,
    };
    /// Leak and diffusion in one number.
    pub const LEAK: Self = Self {
        what: "leak apart from diffusion",
        needs: "a second set of readings at a pressure some bar lower, by the unit's manual",
        quantity: Quantity::FeedPressure,
    };
    const DELIVERY: Self = Self {
        what: "delivery of the pump",
        needs: "concentrate flow: a jug and a watch at the open end of its hose",
        quantity: Quantity::ConcentrateFlow,
    };
    const MOTOR: Self = Self {
        what: "constant of the motor",
        needs: "power or current of the motor, and the feed pressure",
        quantity: Quantity::SupplyCurrent,
    };
    const VESSEL: Self = Self {
        what: "differential pressure at the baseline's flow",
        needs: "two gauges finer than 0.1 bar or one differential gauge, and the concentrate flow",
        quantity: Quantity::DifferentialPressure,
    };
}

/// Figures of pump, motor and vessel from one set of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct PlantFigures {
    /// ln of the share of the nameplate flow, at the speed read, that is delivered.
    pub delivery: Result<LnFigure, NotIdentified>,
    /// ln of electric power or current over hydraulic power of the swept flow.
    pub motor_constant: Result<(MotorReading, LnFigure), NotIdentified>,
    /// ln of the pressure lost along the elements, bar, and the mean flow it belongs to, L/h.
    pub differential_pressure: Result<(LnFigure, f64), NotIdentified>,
}

/// Largest relative standard deviation of a differential pressure that says anything (our choice: then a doubling shows at two of them).
const VESSEL_SD_MAX: f64 = 0.5;

impl PlantFigures {
    /// From the means of a run, a baseline or a set of readings.
    pub fn of(parts: &Parts, means: &[Mean]) -> Self {
        let read = Read { parts, means };
        Self {
            delivery: read.delivery().ok_or(NotIdentified::DELIVERY),
            motor_constant: read.motor_constant().ok_or(NotIdentified::MOTOR),
            differential_pressure: read.differential_pressure().ok_or(NotIdentified::VESSEL),
        }
    }

    /// What cannot be had, and what would make it so.
    pub fn not_identified(&self) -> Vec<NotIdentified> {
        let mut missing = Vec::new();
        missing.extend(self.delivery.as_ref().err());
        missing.extend(self.motor_constant.as_ref().err());
        missing.extend(self.differential_pressure.as_ref().err());
        missing
    }

    /// Motor constant over the baseline's, if both were read in the same way.
    pub fn motor_over(&self, baseline: &Self) -> Option<Difference> {
        match (&self.motor_constant, &baseline.motor_constant) {
            (Ok((now, figure)), Ok((then, before))) if now == then => Some(figure.over(before)),
            _ => None,
        }
    }

    /// Delivery over the baseline's.
    pub fn delivery_over(&self, baseline: &Self) -> Option<Difference> {
        Some(self.delivery.as_ref().ok()?.over(baseline.delivery.as_ref().ok()?))
    }

    /// Differential pressure, brought to the baseline's mean flow, over the baseline's.
    pub fn differential_pressure_over(&self, baseline: &Self) -> Option<Difference> {
        let (now, flow_now) = self.differential_pressure.as_ref().ok()?;
        let (then, flow_then) = baseline.differential_pressure.as_ref().ok()?;
        let mut difference = now.over(then);
        difference.ln += EXPONENT * math::ln(flow_then / flow_now);
        Some(difference)
    }
}

struct Read<'a> {
    parts: &'a Parts,
    means: &'a [Mean],
}

impl Read<'_> {
    fn mean(&self, quantity: Quantity) -> Option<&Mean> {
        self.means.iter().find(|mean| mean.quantity == quantity && !matches!(mean.origin, Origin::Assumed(_)))
    }

    /// Speed of the pump over its rated speed, if anything tells it; 1 otherwise.
    fn speed(&self) -> f64 {
        let value =
            |quantity| self.mean(quantity).map(|mean| crate::plant::Estimate::new(mean.value, mean.random));
        let condition = Condition {
            pump_speed_rpm: value(Quantity::PumpSpeed),
            engine_speed_rpm: value(Quantity::EngineSpeed),
            supply_frequency_hz: value(Quantity::SupplyFrequency),
            supply_voltage_v: value(Quantity::SupplyVoltage),
            ..Condition::default()
        };
        match pump::speed(self.parts, &condition) {
            Ok(speed) if !speed.assumed => speed.ratio.value,
            _ => 1.0,
        }
    }

    /// Feed flow and the readings it is made of, each with its effect on the flow.
    fn feed(&self) -> Option<(f64, Vec<(&Mean, f64)>)> {
        let product = self.mean(Quantity::ProductFlow);
        match (self.mean(Quantity::FeedFlow), self.mean(Quantity::ConcentrateFlow), product) {
            (Some(feed), _, _) => Some((feed.value, vec![(feed, 1.0)])),
            (None, Some(concentrate), Some(product)) => {
                Some((concentrate.value + product.value, vec![(concentrate, 1.0), (product, 1.0)]))
            }
            _ => None,
        }
    }

    fn delivery(&self) -> Option<LnFigure> {
        let swept = self.parts.pump.nameplate_flow_l_h * self.speed();
        let (feed, readings) = self.feed()?;
        if !(0.0 < swept && 0.0 < feed) {
            return None;
        }
        let mut figure = LnFigure { ln: math::ln(feed / swept), parts: Vec::new() };
        readings.iter().for_each(|(mean, effect)| figure.push(mean, effect / feed));
        Some(figure)
    }

    fn motor_constant(&self) -> Option<(MotorReading, LnFigure)> {
        let measured =
            |quantity| self.mean(quantity).filter(|mean| !matches!(mean.origin, Origin::Computed(_)));
        let power = measured(Quantity::SupplyPower);
        let (current, voltage) = (self.mean(Quantity::SupplyCurrent), self.mean(Quantity::SupplyVoltage));
        let (kind, factors): (_, Vec<&Mean>) = match (power, current, voltage) {
            (Some(power), _, _) => (MotorReading::Power, vec![power]),
            (None, Some(current), Some(voltage)) => (MotorReading::Apparent, vec![current, voltage]),
            (None, Some(current), None) => (MotorReading::Current, vec![current]),
            _ => return None,
        };
        let pressure = self.mean(Quantity::FeedPressure).or(self.mean(Quantity::ConcentratePressure))?;
        let inlet = self.mean(Quantity::InletPressure);
        let rise_bar = pressure.value - inlet.map_or(0.0, |inlet| inlet.value);
        let worked_l_h = match self.parts.pump.kind {
            PumpKind::Plunger => self.parts.pump.nameplate_flow_l_h * self.speed(),
            // The concentrate gives its work back: what remains is that on the product.
            PumpKind::EnergyRecovery { .. } => self.mean(Quantity::ProductFlow)?.value,
        };
        let positive = 0.0 < rise_bar && 0.0 < worked_l_h && factors.iter().all(|mean| 0.0 < mean.value);
        if !positive {
            return None;
        }
        let hydraulic_w = pump::shaft_power_w(&self.parts.pump, worked_l_h, worked_l_h, rise_bar, 1.0);
        let product: f64 = factors.iter().map(|mean| mean.value).product();
        let mut figure = LnFigure { ln: math::ln(product / hydraulic_w), parts: Vec::new() };
        factors.iter().for_each(|mean| figure.push(mean, 1.0 / mean.value));
        figure.push(pressure, -1.0 / rise_bar);
        if let Some(inlet) = inlet {
            figure.push(inlet, 1.0 / rise_bar);
        }
        Some((kind, figure))
    }

    fn differential_pressure(&self) -> Option<(LnFigure, f64)> {
        let (inlet, outlet) = (self.mean(Quantity::FeedPressure), self.mean(Quantity::ConcentratePressure));
        let (bar, readings): (f64, Vec<(&Mean, f64)>) =
            match (self.mean(Quantity::DifferentialPressure), inlet, outlet) {
                (Some(drop), _, _) => (drop.value, vec![(drop, 1.0)]),
                (None, Some(inlet), Some(outlet)) => {
                    (inlet.value - outlet.value, vec![(inlet, 1.0), (outlet, -1.0)])
                }
                _ => return None,
            };
        let (feed, flows) = self.feed()?;
        let mean_l_h = mean_flow_l_h(feed, self.mean(Quantity::ProductFlow)?.value);
        if bar < MINIMUM_BAR || mean_l_h <= 0.0 {
            return None;
        }
        let mut figure = LnFigure { ln: math::ln(bar), parts: Vec::new() };
        readings.iter().for_each(|(mean, effect)| figure.push(mean, effect / bar));
        flows.iter().for_each(|(mean, effect)| figure.push(mean, -EXPONENT * effect / mean_l_h));
        (figure.estimate().sd <= VESSEL_SD_MAX * bar).then_some((figure, mean_l_h))
    }
}

/// What of the membranes these readings leave open.
pub(super) fn membrane_not_identified(readings: &Readings, salt_measured: bool) -> Vec<NotIdentified> {
    let mut missing = Vec::new();
    if !readings.flow_measured() {
        missing.push(NotIdentified::WATER_PERMEABILITY);
    }
    missing.push(if salt_measured { NotIdentified::LEAK } else { NotIdentified::SALT_PERMEABILITY });
    missing
}
