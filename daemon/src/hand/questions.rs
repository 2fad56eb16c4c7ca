//! Which readings are worth asking for, in which order.
//!
//! First comes what this pressure control leaves free, since that is what a fault shows in, then what is needed to judge it, then what
//! makes the answer say more. What a sensor on the bus gives is not asked. What the settings name as read by hand is asked, and what an
//! answer needs (product flow, a pressure, the temperature, the salt) is asked even if no source is named. The order is our choice.

use super::Remembered;
use crate::case::usual_instrument;
use crate::publish::words;
use crate::settings::{Gallon, InstrumentKind, PpmScale, Settings, Source, UnitSettings};
use barrico_model::parts::{DriveKind, PressureControl};
use barrico_model::{Dimension, Quantity};
use std::collections::BTreeMap;

/// Most questions of a round. A boat with more gauges writes the rest down with `--reading`; a longer round is not finished (our choice).
pub const QUESTIONS_MAX: usize = 12;

/// One question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Question {
    /// What is asked for.
    pub quantity: Quantity,
    /// In words, with its place.
    pub words: String,
    /// How it is read.
    pub how: &'static str,
    /// The unit that the person probably reads: as last written, else as the instrument has it, else the usual one.
    pub unit: String,
    /// Instrument that the settings name for it.
    pub instrument: Option<String>,
}

/// The questions for this unit, the most telling first; at most [`QUESTIONS_MAX`].
pub fn questions(
    settings: &Settings,
    unit: &UnitSettings,
    remembered: &BTreeMap<Quantity, Remembered>,
) -> Vec<Question> {
    wanted(unit).into_iter().take(QUESTIONS_MAX).map(|q| question(settings, unit, q, remembered)).collect()
}

/// Where readings come from, as the settings say.
struct Sources<'a>(&'a UnitSettings);

impl Sources<'_> {
    fn live(&self, quantity: Quantity) -> bool {
        self.0.sources.iter().any(|rule| rule.quantity == quantity && matches!(rule.source, Source::Bus(_)))
    }

    fn by_hand(&self, quantity: Quantity) -> bool {
        self.0.sources.iter().any(|rule| rule.quantity == quantity && rule.source == Source::Hand)
    }

    /// One of several that stand for the same: those that are read by hand, else the first; none if one of them is live.
    fn one_of(&self, group: &[Quantity]) -> Vec<Quantity> {
        let named: Vec<Quantity> = group.iter().copied().filter(|q| self.by_hand(*q)).collect();
        if !named.is_empty() {
            named
        } else if group.iter().any(|q| self.live(*q)) {
            vec![]
        } else {
            group.first().copied().into_iter().collect()
        }
    }
}

fn wanted(unit: &UnitSettings) -> Vec<Quantity> {
    use Quantity as Q;
    let (sources, parts) = (Sources(unit), &unit.parts);
    let pressure = sources.one_of(&[Q::FeedPressure, Q::ConcentratePressure]);
    let flow = vec![Q::ProductFlow];
    let mut wanted = match parts.pressure_control {
        // The pressure is held or set: the flow is what tells.
        PressureControl::Regulated | PressureControl::HandSetPressure => [flow, pressure].concat(),
        // The pressure floats, or is what the set flow takes: it tells first.
        PressureControl::FixedValve | PressureControl::HandSetFlow | PressureControl::FixedRecovery => {
            [pressure, flow].concat()
        }
    };
    wanted.push(Q::FeedTemperature);
    wanted.extend(sources.one_of(&[Q::ProductConductivity, Q::ProductSalinity]));
    let through = sources.one_of(&[Q::ConcentrateFlow, Q::FeedFlow]);
    // The pump of an energy-recovery unit holds product to feed by its geometry; the concentrate follows from the product.
    let follows = parts.pressure_control == PressureControl::FixedRecovery;
    wanted.extend(through.into_iter().filter(|quantity| !follows || sources.by_hand(*quantity)));
    wanted.extend(sources.one_of(&[Q::FeedSalinity, Q::FeedConductivity, Q::ConcentrateSalinity]));
    wanted.extend(drive(&sources, parts.drive.kind));
    let limits = &parts.limits;
    wanted.extend(limits.minimum_inlet_pressure_bar.map(|_| Q::InletPressure));
    wanted.extend(limits.maximum_low_side_pressure_bar.map(|_| Q::LowSidePressure));
    // Any further gauge that the owner named.
    wanted.extend(Q::ALL.iter().copied().filter(|quantity| sources.by_hand(*quantity)));
    let counts_itself = unit.status_from.is_some()
        || [Q::OperatingState, Q::FeedPressure, Q::ConcentratePressure, Q::ProductFlow]
            .into_iter()
            .any(|quantity| sources.live(quantity));
    if !counts_itself {
        wanted.push(Q::RunTime);
    }
    let mut seen = Vec::new();
    wanted.retain(|quantity| {
        let new = !seen.contains(quantity) && !sources.live(*quantity) && !words::is_named(*quantity);
        seen.push(*quantity);
        new
    });
    wanted
}

/// What the speed of the pump follows from, and so the feed.
fn drive(sources: &Sources<'_>, kind: DriveKind) -> Vec<Quantity> {
    if sources.live(Quantity::PumpSpeed) {
        return vec![];
    }
    match kind {
        DriveKind::Dc { .. } => vec![Quantity::SupplyVoltage],
        DriveKind::Belt { .. } => vec![Quantity::EngineSpeed],
        DriveKind::Inverter { output_frequency_hz: Some(_), .. } => vec![Quantity::DriveFrequency],
        // The mains frequency holds within a few percent, and its effect with it.
        DriveKind::AcSinglePhase { .. }
        | DriveKind::AcThreePhase { .. }
        | DriveKind::Inverter { .. }
        | DriveKind::Hydraulic => vec![],
    }
}

fn question(
    settings: &Settings,
    unit: &UnitSettings,
    quantity: Quantity,
    remembered: &BTreeMap<Quantity, Remembered>,
) -> Question {
    let instrument = usual_instrument(settings, unit, quantity);
    let kind = instrument.map(|instrument| instrument.kind);
    let shown = match remembered.get(&quantity) {
        Some(last) => last.unit.clone(),
        None => match (quantity.dimension(), instrument) {
            (Dimension::Flow, Some(i)) if i.gallon == Some(Gallon::Us) => "US gal/h".to_owned(),
            (Dimension::Flow, Some(i)) if i.gallon == Some(Gallon::Imperial) => "imp gal/h".to_owned(),
            (Dimension::Conductivity, Some(i)) if i.ppm == Some(PpmScale::Nacl) => "ppm NaCl".to_owned(),
            (Dimension::Conductivity, Some(i)) if i.ppm == Some(PpmScale::Scale442) => "ppm 442".to_owned(),
            _ => usual_unit(quantity).to_owned(),
        },
    };
    Question {
        quantity,
        words: format!("{}{}", words::sentence(quantity.label()), place(quantity)),
        how: how(quantity, kind),
        unit: shown,
        instrument: instrument.map(|instrument| instrument.id.clone()),
    }
}

fn usual_unit(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::RunTime => "h",
        Quantity::FeedConductivity => "mS/cm",
        _ => quantity.unit(),
    }
}

const fn place(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::FeedPressure => ", at the membranes' inlet",
        Quantity::ConcentratePressure => ", at the membranes' outlet",
        Quantity::FeedTemperature | Quantity::FeedSalinity => ", of the sea at the intake",
        Quantity::RunTime => ", as the hour meter shows it",
        _ => "",
    }
}

const fn how(quantity: Quantity, kind: Option<InstrumentKind>) -> &'static str {
    match (quantity, kind) {
        (Quantity::ProductFlow, Some(InstrumentKind::FlowTube)) => {
            "the float in the tube, eyes at its height, when it stands still"
        }
        (Quantity::ProductFlow, Some(InstrumentKind::FlowMeter)) => "the flow meter's display",
        (Quantity::ProductFlow, _) => {
            "a jug and a watch at the product outlet: litres over minutes; one minute or more"
        }
        (Quantity::ConcentrateFlow, _) => {
            "a jug and a watch at the open end of the concentrate hose; never close or kink it"
        }
        (Quantity::FeedPressure | Quantity::ConcentratePressure, _) => {
            "the gauge, five minutes or more after the start, when it stands still; touch no fitting under pressure"
        }
        (Quantity::ProductConductivity | Quantity::ProductSalinity, _) => {
            "a meter in product water, after ten minutes of running; the meter must compensate to 25 °C"
        }
        (Quantity::FeedTemperature, _) => "a thermometer in a bucket of sea water drawn just now",
        (Quantity::FeedSalinity | Quantity::FeedConductivity, _) => {
            "a refractometer or a meter in sea water from beside the boat; skip it if there is none"
        }
        (Quantity::ConcentrateSalinity, _) => "a refractometer or a meter in a jug of concentrate",
        (Quantity::InletPressure, _) => {
            "the gauge before the high-pressure pump; a vacuum as the gauge shows it, `5 inHg vac`"
        }
        (Quantity::PrefilterInletPressure, _) => "the gauge before the pre-filter",
        (Quantity::PrefilterDifferentialPressure, _) => {
            "the gauge before the pre-filter less the one behind it"
        }
        (Quantity::LowSidePressure, _) => "the gauge between feed pump and energy-recovery pump",
        (Quantity::SupplyVoltage, _) => {
            "a display or battery monitor, while the pump runs; open no terminal box"
        }
        (Quantity::SupplyCurrent | Quantity::SupplyPower, _) => {
            "a display or battery monitor, while the pump runs; what runs beside it counts too"
        }
        (Quantity::EngineSpeed, _) => "the rev counter",
        (Quantity::DriveFrequency, _) => "the inverter's display",
        (Quantity::TankLevel, _) => "the tank's gauge or sight glass",
        (Quantity::RunTime, _) => "hours in all, so that ages of oil, seals and elements can be told",
        _ => "as its gauge or display shows it",
    }
}
