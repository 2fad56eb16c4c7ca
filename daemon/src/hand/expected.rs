//! Between which values an answer is no surprise.
//!
//! The model is asked with what was answered so far; what is not known spans its whole range aboard. The span is widened by what a fault
//! can do, so that a fault is not talked away as a wrong unit. Only confusions of units are far larger: psi for bar 14.5, US gallons for
//! litres 3.8, minutes for hours 60. A value outside is never refused.

use super::{Answered, Remembered};
use barrico_model::Quantity;
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::parts::{DriveKind, PressureControl};
use barrico_model::plant::{Calibration, Condition, Estimate, Figures, expect_central};

use crate::settings::UnitSettings;

/// Values that are no surprise, in the unit of the quantity's JSON key.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
    /// What is expected, if that is one figure.
    pub about: Option<f64>,
}

impl Window {
    /// Is this value no surprise?
    pub fn fits(&self, value: f64) -> bool {
        self.low <= value && value <= self.high
    }
}

/// Sea temperatures for which a unit is expected when nobody measured, °C (our choice: what cruising boats meet).
const SEA_C: (f64, f64) = (5.0, 32.0);

/// How far faults move a flow from what is expected, as factors (our choice: half the output lost, a valve turned, sheets in error).
const FLOW: (f64, f64) = (0.4, 1.5);
/// The same for a pressure.
const PRESSURE: (f64, f64) = (0.5, 1.4);
/// The same for the product's salt: a new element against a leaking one.
const SALT: (f64, f64) = (0.35, 3.0);
/// How far a reading moves from the last one when the model has no say.
const LAST: (f64, f64) = (0.4, 2.0);
/// Sea water that a boat floats in, °C. The warmest open sea reaches about 36 °C (Persian Gulf; from memory).
const SEA_RANGE_C: (f64, f64) = (-2.0, 36.0);
/// From a river's mouth to an enclosed hot bay, g/kg (from memory).
const SEA_RANGE_G_KG: (f64, f64) = (2.0, 50.0);
/// Supply voltage and speeds against their rated values, as factors.
const SUPPLY: (f64, f64) = (0.7, 1.3);

/// The window of a quantity; `None`: nothing is known that could tell.
pub fn window(
    unit: &UnitSettings,
    quantity: Quantity,
    answered: &Answered,
    last: Option<&Remembered>,
) -> Option<Window> {
    fixed(quantity).or_else(|| rated(unit, quantity)).or_else(|| by_model(unit, quantity, answered)).or_else(
        || last.filter(|last| 0.0 < last.value).map(|last| around(last.value, last.value, LAST, true)),
    )
}

fn around(low: f64, high: f64, factors: (f64, f64), one: bool) -> Window {
    Window { low: low * factors.0, high: high * factors.1, about: one.then(|| (low + high) / 2.0) }
}

fn fixed(quantity: Quantity) -> Option<Window> {
    let span = |(low, high)| Some(Window { low, high, about: None });
    match quantity {
        Quantity::FeedTemperature => span(SEA_RANGE_C),
        Quantity::FeedSalinity => span(SEA_RANGE_G_KG),
        Quantity::ProductTemperature => span((SEA_RANGE_C.0, SEA_RANGE_C.1 + 10.0)),
        _ => None,
    }
}

fn rated(unit: &UnitSettings, quantity: Quantity) -> Option<Window> {
    let parts = &unit.parts;
    let value = match (quantity, parts.drive.kind) {
        (
            Quantity::SupplyVoltage,
            DriveKind::Dc { voltage_v }
            | DriveKind::AcSinglePhase { voltage_v, .. }
            | DriveKind::AcThreePhase { voltage_v, .. }
            | DriveKind::Inverter { voltage_v, .. },
        ) => voltage_v,
        (Quantity::PumpSpeed, _) => parts.pump.rated_speed_rpm?,
        (Quantity::FeedPressure | Quantity::ConcentratePressure, _)
            if matches!(
                parts.pressure_control,
                PressureControl::Regulated | PressureControl::HandSetPressure
            ) =>
        {
            let set = parts.set_pressure_bar?;
            return Some(around(set, set, PRESSURE, true));
        }
        _ => return None,
    };
    Some(around(value, value, SUPPLY, true))
}

/// What the model expects between the coldest and the warmest water that is still possible.
fn by_model(unit: &UnitSettings, quantity: Quantity, answered: &Answered) -> Option<Window> {
    let of = |figures: &Figures| match quantity {
        Quantity::FeedPressure => Some((figures.feed_pressure_bar, PRESSURE)),
        Quantity::ConcentratePressure => Some((figures.concentrate_pressure_bar, PRESSURE)),
        Quantity::ProductFlow => Some((figures.product_flow_l_h, FLOW)),
        Quantity::FeedFlow => Some((figures.feed_flow_l_h, FLOW)),
        Quantity::ConcentrateFlow => Some((figures.concentrate_flow_l_h, FLOW)),
        Quantity::ProductConductivity => Some((figures.product_conductivity_us_cm_25c, SALT)),
        Quantity::ProductSalinity => Some((figures.product_tds_mg_l, SALT)),
        _ => None,
    };
    let calibration = Calibration::from_nominal_sheets(&unit.parts).ok()?;
    let known = answered.get(&Quantity::FeedTemperature).copied();
    let waters = known.map_or([SEA_C.0, SEA_C.1], |celsius| [celsius; 2]);
    let mut found = Vec::new();
    for celsius in waters {
        let condition = condition(unit, celsius, answered);
        let expected = expect_central(&unit.parts, &condition, &calibration).ok()?;
        found.push(of(&expected.output)?);
    }
    let low = found.iter().map(|(value, _)| *value).fold(f64::INFINITY, f64::min);
    let high = found.iter().map(|(value, _)| *value).fold(0.0, f64::max);
    let factors = found.first()?.1;
    (0.0 < low && low.is_finite()).then(|| around(low, high, factors, known.is_some()))
}

fn condition(unit: &UnitSettings, celsius: f64, answered: &Answered) -> Condition {
    let given = |quantity: Quantity| answered.get(&quantity).map(|value| Estimate::exact(*value));
    let usual = unit.usual_feed_salinity.unwrap_or(OPEN_SEA_G_KG).0;
    Condition {
        feed_temperature_c: Some(Estimate::exact(celsius)),
        feed_salinity_g_kg: given(Quantity::FeedSalinity).or(Some(Estimate::exact(usual))),
        feed_pressure_bar: given(Quantity::FeedPressure),
        concentrate_pressure_bar: given(Quantity::ConcentratePressure),
        engine_speed_rpm: given(Quantity::EngineSpeed),
        supply_voltage_v: given(Quantity::SupplyVoltage),
        drive_frequency_hz: given(Quantity::DriveFrequency),
        pump_speed_rpm: given(Quantity::PumpSpeed),
        ..Condition::default()
    }
}
