//! Units for people: metric, or those of a boat that writes US units. JSON keeps its own.

use super::format;
use crate::quantity_text::{PSI_BAR, US_GALLON_L};
use barrico_model::{Dimension, Quantity};

/// Which.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, clap::ValueEnum)]
pub(crate) enum Units {
    /// L/h, bar, °C
    #[default]
    Metric,
    /// US gal/h, psi, °F
    Us,
}

impl Units {
    /// Flow from L/h.
    pub const fn flow(self) -> (f64, &'static str) {
        match self {
            Self::Metric => (1.0, "L/h"),
            Self::Us => (1.0 / US_GALLON_L, "US gal/h"),
        }
    }

    /// Pressure from bar.
    pub const fn pressure(self) -> (f64, &'static str) {
        match self {
            Self::Metric => (1.0, "bar"),
            Self::Us => (1.0 / PSI_BAR, "psi"),
        }
    }

    /// Energy of a volume from Wh/L.
    pub const fn per_volume(self) -> (f64, &'static str) {
        match self {
            Self::Metric => (1.0, "Wh/L"),
            Self::Us => (US_GALLON_L, "Wh/US gal"),
        }
    }

    /// A temperature with its unit.
    pub fn temperature(self, celsius: f64) -> String {
        format!(
            "{} {}",
            plain(self.of(Quantity::FeedTemperature, celsius)),
            self.name(Quantity::FeedTemperature)
        )
    }

    /// The unit in which a quantity is shown.
    pub fn name(self, quantity: Quantity) -> &'static str {
        match (self, quantity.dimension()) {
            (Self::Us, Dimension::Flow) => self.flow().1,
            (Self::Us, Dimension::Pressure | Dimension::PressureDifference) => self.pressure().1,
            (Self::Us, Dimension::Temperature) => "°F",
            _ => quantity.unit(),
        }
    }

    /// How much of that unit one of the model's unit is, for differences and deviations.
    pub fn step(self, quantity: Quantity) -> f64 {
        match (self, quantity.dimension()) {
            (Self::Us, Dimension::Flow) => self.flow().0,
            (Self::Us, Dimension::Pressure | Dimension::PressureDifference) => self.pressure().0,
            (Self::Us, Dimension::Temperature) => 1.8,
            _ => 1.0,
        }
    }

    /// A value in that unit.
    pub fn of(self, quantity: Quantity, value: f64) -> f64 {
        let zero = match (self, quantity.dimension()) {
            (Self::Us, Dimension::Temperature) => 32.0,
            _ => 0.0,
        };
        self.step(quantity) * value + zero
    }
}

/// A number with one digit after the point, or none if that would be zero.
pub(crate) fn plain(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0;
    format::number(rounded, usize::from(rounded.fract() != 0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// NIST SP 811: 800 psi is 55.158 bar; a US gallon is 231 cubic inches; 68 °F is 20 °C.
    #[test]
    fn us_units_are_those_of_the_standard() {
        let near = |a: f64, b: f64| (a - b).abs() < 1e-3 * b;
        assert!(near(Units::Us.of(Quantity::FeedPressure, 55.158), 800.0));
        assert!(near(Units::Us.of(Quantity::ProductFlow, 231.0 * 2.54_f64.powi(3) / 1e3), 1.0));
        assert_eq!(Units::Us.temperature(20.0), "68 °F");
        assert_eq!(Units::Metric.temperature(20.5), "20.5 °C");
        assert_eq!(Units::Us.name(Quantity::FeedSalinity), "g/kg");
        assert!(near(Units::Us.step(Quantity::PrefilterDifferentialPressure), 14.5038));
    }
}
