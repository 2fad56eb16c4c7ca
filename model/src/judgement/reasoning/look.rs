//! What a person can look at next: how much effort it is, how it is done, what it would mean, what must not be done meanwhile.

use crate::Quantity;
use crate::findings::NextMeasurement;

/// One look.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// A reading of this quantity.
    Read(Quantity),
    /// A second instrument on this quantity.
    Second(Quantity),
    /// Salinity of each element's product alone.
    ByElement,
    /// Looking, listening, smelling, a strip test, an entry in the log, closing one valve.
    Inspection,
}

impl Look {
    /// Minutes of work for a person aboard, with what it takes to be there (our choice; only the order counts).
    pub const fn effort(self) -> f64 {
        match self {
            Self::Inspection => 4.0,
            Self::ByElement => 20.0,
            Self::Second(_) => 6.0,
            Self::Read(quantity) => match quantity {
                Quantity::ConcentrateFlow | Quantity::ProductFlow => 6.0,
                Quantity::FeedFlow => 8.0,
                Quantity::FeedSalinity | Quantity::ProductConductivity | Quantity::FeedConductivity => 5.0,
                Quantity::PumpSpeed | Quantity::SupplyVoltage | Quantity::SupplyCurrent => 8.0,
                Quantity::SupplyFrequency | Quantity::DifferentialPressure => 8.0,
                _ => 4.0,
            },
        }
    }

    /// Can it be taken with what most boats have: a jug and a watch, a thermometer, a hand meter?
    pub const fn is_at_hand(self) -> bool {
        match self {
            Self::Read(quantity) => matches!(
                quantity,
                Quantity::ConcentrateFlow
                    | Quantity::ProductFlow
                    | Quantity::FeedTemperature
                    | Quantity::ProductConductivity
                    | Quantity::FeedSalinity
                    | Quantity::FeedPressure
                    | Quantity::TankLevel
            ),
            _ => true,
        }
    }

    /// How it is done, what outcomes mean.
    pub fn how(self) -> NextMeasurement {
        let (quantity, how, meaning) = match self {
            Self::Read(quantity) => {
                let (how, meaning) = read(quantity);
                (Some(quantity), how, meaning)
            }
            Self::Second(quantity) => {
                let (how, meaning) = second(quantity);
                (Some(quantity), how, meaning)
            }
            Self::ByElement => (
                Some(Quantity::ProductConductivity),
                "Measure the product of each element alone if the unit has ports for it, with the same meter, and with nothing on the product side shut.",
                "One element far saltier: its seal, connector or glue line. The last a little saltier: scale, or the saltier water it works in. All alike: the membranes themselves, or the meter.",
            ),
            Self::Inspection => (
                None,
                "Look, listen and smell by the question below; look from a distance at what is under pressure, touch only hoses of the low side.",
                "What is found names the part; what is not found takes it from the list.",
            ),
        };
        NextMeasurement { quantity, how: how.to_owned(), meaning: meaning.to_owned() }
    }
}

fn read(quantity: Quantity) -> (&'static str, &'static str) {
    match quantity {
        Quantity::ConcentrateFlow | Quantity::FeedFlow => (
            "Time a jug at the open end of the concentrate hose overboard while the unit runs as usual; never close or kink the hose. Time the product too.",
            "Both together well below the pump's usual delivery: pump, belt or feed. As usual: membrane, salinity or gauge.",
        ),
        Quantity::FeedSalinity => (
            "Measure the salinity of the sea beside the boat with a meter or refractometer.",
            "Saltier than believed: the sea explains it. As believed: look at gauge, pump and membrane.",
        ),
        Quantity::FeedPressure | Quantity::ConcentratePressure => (
            "Read the gauge of the high side, and look whether it returns to zero with the pump off.",
            "As usual: the pressure is not the reason. Lower: valve, by-pass, pump or feed. No zero: the gauge.",
        ),
        Quantity::FeedTemperature => (
            "Measure the sea in a bucket with a second thermometer.",
            "More than one degree apart: the sensor or its place is the fault.",
        ),
        Quantity::ProductConductivity | Quantity::ProductSalinity => (
            "Measure the product with a hand-held meter; note its scale and temperature compensation.",
            "Within your limit: salinity is not the trouble. Above: keep it out of the tank and look for the reason.",
        ),
        Quantity::SupplyVoltage => (
            "Read the volts at the motor under load on a meter that is fitted, or let a qualified person measure them; never touch live parts.",
            "Well below the motor's rating: lead, battery or source. As rated: motor and pump.",
        ),
        Quantity::SupplyCurrent => (
            "Read the motor's current on the panel or with a clamp around one insulated lead; never open a connection that is live.",
            "None: open circuit. Far above the rating: stop, it does not turn. The same as usual at this pressure: packings or valves. Less: a cylinder or the drive.",
        ),
        Quantity::PumpSpeed | Quantity::EngineSpeed | Quantity::SupplyFrequency => (
            "Read the pump's speed with an optical tachometer from outside its guards, or the mains frequency; keep clear of belts.",
            "Lower than rated: belt, engine, governor, mains or volts. As rated: the pump itself.",
        ),
        Quantity::PrefilterDifferentialPressure | Quantity::InletPressure => (
            "Read the gauges before and after the pre-filter while the unit runs.",
            "A large drop: the cartridge. Little pressure and a small drop: boost pump, strainer or inlet.",
        ),
        Quantity::TankLevel => (
            "Read the tank before and after an hour in which nobody draws water.",
            "It gains as much as the meter shows: the meter is right. Less: water goes back. It falls with the unit off: a tap, the flush valve or a check valve.",
        ),
        Quantity::ProductPressure => (
            "Read the gauge in the product line if there is one; never close a product outlet.",
            "Above a few tenths of a bar: the product has no way out.",
        ),
        Quantity::FeedConductivity => (
            "Measure the conductivity of what enters the unit.",
            "Fresh: it is being flushed, or tank water gets into the feed. As the sea: look further.",
        ),
        Quantity::DifferentialPressure => (
            "Read the gauges at both ends of the vessel, finer than a tenth of a bar.",
            "Larger than at the baseline: deposit in the channels. Smaller: water goes past the element.",
        ),
        _ => (
            "Time the product with a jug and a watch.",
            "Another value than the meter: the flow meter is the fault. The same: meter excluded.",
        ),
    }
}

fn second(quantity: Quantity) -> (&'static str, &'static str) {
    match quantity {
        Quantity::FeedPressure | Quantity::ConcentratePressure => (
            "Compare with a second gauge, read what is printed on this one and where its pipe ends, and look whether it returns to zero with the pump off.",
            "Another value, unit or place than believed, or no zero: the gauge is the fault. The same value: gauge excluded.",
        ),
        Quantity::FeedTemperature => (
            "Measure the sea in a bucket with a second thermometer.",
            "More than one degree apart: the sensor or its place is the fault.",
        ),
        Quantity::ProductConductivity | Quantity::ProductSalinity => (
            "Measure the product with a second, hand-held meter; note its scale and temperature compensation.",
            "A lower value: the fitted cell drifts or is dirty. The same: the product is salty. A factor of 1.4: two scales of ppm.",
        ),
        Quantity::ProductFlow | Quantity::ConcentrateFlow | Quantity::FeedFlow => (
            "Time it with a jug and a watch at the open end of its hose; never close or kink a hose.",
            "Another value than the meter: the flow meter is the fault. The same: meter excluded.",
        ),
        _ => (
            "Compare with a second instrument.",
            "Another value: the fitted one is the fault. The same: instrument excluded.",
        ),
    }
}
