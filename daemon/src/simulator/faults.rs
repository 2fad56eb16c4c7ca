//! What can go wrong on the simulated boat, and how fast.
//!
//! Each fault starts at its hour and grows with the hours after that, running or not, so that a demonstration of some days shows it from the first
//! sign to the alert. Real ones mostly take months. The paces are our own choice.

use super::sea::Water;
use barrico_model::findings::FindingCode;
use barrico_model::math;

/// A fault of the simulated boat.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Fault {
    /// Silt and growth on the membranes.
    Fouling,
    /// Scale on the last element.
    Scale,
    /// Worn packings and valves of the high-pressure pump.
    PumpWear,
    /// Chlorine reached the membranes.
    Oxidation,
    /// A seal lets feed water into the product.
    SealLeak,
    /// One of the two sea temperature sensors repeats its last value.
    SeaTemperatureStuck,
    /// The product flow sensor is silent.
    SensorLost,
    /// The salinity cell of the product reads higher and higher.
    ProductConductivityDrift,
    /// The pressure regulator sticks.
    OverPressure,
    /// The boat goes up a river mouth and runs the unit there.
    BrackishHarbour,
    /// Nobody runs or flushes the unit any more.
    NoFlush,
}

/// A fault with its name and texts.
#[derive(Clone, Copy, Debug)]
pub struct FaultEntry {
    /// Which one.
    pub fault: Fault,
    /// The name people type.
    pub name: &'static str,
    /// One line on what happens.
    pub line: &'static str,
    /// The finding that it leads to.
    pub leads_to: FindingCode,
    /// By then the finding is there, hours after the fault began.
    pub within_h: f64,
}

/// All faults, in the order in which they are listed.
pub const FAULTS: [FaultEntry; 11] = [
    FaultEntry {
        fault: Fault::Fouling,
        name: "fouling",
        line: "membranes foul: output falls by a quarter in three days",
        leads_to: FindingCode::OutputLow,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::Scale,
        name: "scale",
        line: "scale grows on the last element: less output, more salt",
        leads_to: FindingCode::OutputLow,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::PumpWear,
        name: "pump-wear",
        line: "the high-pressure pump wears: it feeds less and less",
        leads_to: FindingCode::OutputLow,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::Oxidation,
        name: "oxidation",
        line: "chlorine reached the membranes: salt passage doubles in three days",
        leads_to: FindingCode::SaltPassageUp,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::SealLeak,
        name: "seal-leak",
        line: "a seal between the elements leaks feed water into the product",
        leads_to: FindingCode::SaltPassageUp,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::SeaTemperatureStuck,
        name: "sea-temperature-stuck",
        line: "one of two sea temperature sensors repeats an old value 3 degrees off",
        leads_to: FindingCode::ReadingUnreliable,
        within_h: 24.0,
    },
    FaultEntry {
        fault: Fault::SensorLost,
        name: "sensor-lost",
        line: "the product flow sensor falls silent",
        leads_to: FindingCode::ReadingUnreliable,
        within_h: 24.0,
    },
    FaultEntry {
        fault: Fault::ProductConductivityDrift,
        name: "product-conductivity-drift",
        line: "the product's salinity cell reads higher every hour",
        leads_to: FindingCode::SaltPassageUp,
        within_h: 72.0,
    },
    FaultEntry {
        fault: Fault::OverPressure,
        name: "over-pressure",
        line: "the pressure regulator sticks soon after the next start",
        leads_to: FindingCode::OverPressure,
        within_h: 24.0,
    },
    FaultEntry {
        fault: Fault::BrackishHarbour,
        name: "brackish-harbour",
        line: "the boat lies in a river mouth and runs the unit in brackish water",
        leads_to: FindingCode::OutputAboveElementLimit,
        within_h: 24.0,
    },
    FaultEntry {
        fault: Fault::NoFlush,
        name: "no-flush",
        line: "the crew stops running and flushing the unit",
        leads_to: FindingCode::IdleWithoutFlush,
        within_h: 168.0,
    },
];

impl Fault {
    /// The fault of this name.
    pub fn from_name(name: &str) -> Option<Self> {
        FAULTS.iter().find(|entry| entry.name == name).map(|entry| entry.fault)
    }

    /// Its name and texts.
    pub fn entry(self) -> &'static FaultEntry {
        &FAULTS[self as usize]
    }
}

/// A fault and the simulated hour at which it begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaultOrder {
    /// Which one.
    pub fault: Fault,
    /// Hours since the beginning of the simulation.
    pub from_h: f64,
}

/// The state of all faults at one moment.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Faults {
    hours: [Option<f64>; FAULTS.len()],
}

impl Faults {
    /// At so many hours since the beginning.
    pub fn at(orders: &[FaultOrder], hours: f64) -> Self {
        let mut faults = Self::default();
        for order in orders.iter().filter(|order| order.from_h <= hours) {
            let slot = &mut faults.hours[order.fault as usize];
            *slot = Some(slot.unwrap_or(0.0).max(hours - order.from_h));
        }
        faults
    }

    /// Hours since this fault began, if it did.
    pub fn since(&self, fault: Fault) -> Option<f64> {
        self.hours[fault as usize]
    }

    /// What they have made of the unit.
    pub fn wear(&self) -> Wear {
        let grown =
            |fault: Fault, per_h: f64, most: f64| self.since(fault).map_or(0.0, |h| (per_h * h).min(most));
        let scale = grown(Fault::Scale, 0.007, 0.6);
        Wear {
            ln_a: grown(Fault::Oxidation, 0.0012, 0.15) - grown(Fault::Fouling, 0.004, 0.5),
            ln_a_last: -scale,
            ln_b: grown(Fault::Oxidation, 0.010, 1.4) + 0.7 * scale,
            ln_differential: grown(Fault::Fouling, 0.003, 0.4) + scale,
            leak: self.since(Fault::SealLeak).map_or(0.0, |h| 0.004 + (6e-5 * h).min(0.006)),
            delivery: math::exp(-grown(Fault::PumpWear, 0.007, 0.7)),
            stuck_bar: 0.0,
        }
    }

    /// The water they lead the boat into: within three hours into a river mouth.
    pub fn water(&self, sea: Water) -> Water {
        let Some(hours) = self.since(Fault::BrackishHarbour) else { return sea };
        let share = (hours / 3.0).min(1.0);
        Water {
            temperature_c: sea.temperature_c + 1.5 * share,
            salinity_g_kg: sea.salinity_g_kg + share * (7.0 - sea.salinity_g_kg),
            ..sea
        }
    }

    /// What the salinity cell shows over what is there.
    pub fn cell_factor(&self) -> f64 {
        1.0 + self.since(Fault::ProductConductivityDrift).map_or(0.0, |h| (0.012 * h).min(1.5))
    }
}

/// What is worn or blocked, beside what a healthy unit is.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Wear {
    /// Change of ln A of all elements.
    pub ln_a: f64,
    /// Further change of ln A of the last element.
    pub ln_a_last: f64,
    /// Change of ln B of all elements.
    pub ln_b: f64,
    /// Change of the logarithm of the pressure lost along the train.
    pub ln_differential: f64,
    /// Feed water in the product, share of the product.
    pub leak: f64,
    /// Delivery over that of the healthy pump.
    pub delivery: f64,
    /// How far the regulator is too high, bar.
    pub stuck_bar: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_is_in_the_order_of_the_enumeration() {
        for (index, entry) in FAULTS.iter().enumerate() {
            assert_eq!(entry.fault as usize, index);
            assert_eq!(Fault::from_name(entry.name), Some(entry.fault));
        }
        assert_eq!(Fault::from_name("rust"), None);
    }

    #[test]
    fn nothing_is_worn_before_the_hour() {
        let orders = [FaultOrder { fault: Fault::PumpWear, from_h: 10.0 }];
        assert_eq!(Faults::at(&orders, 9.9).wear().delivery, 1.0);
        let worn = Faults::at(&orders, 110.0).wear();
        assert!((worn.delivery - math::exp(-0.7)).abs() < 1e-12);
        assert_eq!(Faults::at(&orders, 1e4).wear(), worn);
    }
}
