//! The command `expect`: what this unit should make in given water.
//!
//! From the unit's own baseline if the history has one, else from the parts list alone. What is given counts as exact; what is not given is taken from the settings, and said. The temperature has no
//! stand-in: without it nothing is computed.

use super::figures;
use super::given::{Given, Takes, flag, unit_of};
use super::ground::{Ground, usual_salinity};
use super::print::{list, paragraph, print, print_json};
use super::{expect_table, handover};
use crate::publish::format;
use crate::publish::units::Units;
use crate::settings::UnitSettings;
use barrico_model::Quantity;
use barrico_model::performance::NotComputable;
use barrico_model::plant::{Condition, Estimate, Expected, Note, expect};
use barrico_model::records::HandReading;
use serde_json::{Value, json};
use std::path::Path;
use std::process::ExitCode;

/// What decides the working point.
#[derive(Clone, Copy, Debug)]
struct Water;

impl Takes for Water {
    const QUANTITIES: &'static [Quantity] = &[
        Quantity::FeedTemperature,
        Quantity::FeedSalinity,
        Quantity::FeedPressure,
        Quantity::ConcentratePressure,
        Quantity::FeedFlow,
        Quantity::ProductPressure,
        Quantity::InletPressure,
        Quantity::PumpSpeed,
        Quantity::EngineSpeed,
        Quantity::SupplyVoltage,
        Quantity::SupplyFrequency,
        Quantity::DriveFrequency,
    ];
}

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    #[command(flatten)]
    water: Given<Water>,
    /// Short name of the unit in the settings; not needed if there is only one
    #[arg(long, value_name = "ID")]
    unit: Option<String>,
    /// Ignore the unit's own baseline, which is used by itself if there is one: compute from the sheets of the parts list alone
    #[arg(long)]
    from_parts_list: bool,
    #[command(flatten)]
    card: expect_table::Options,
    /// One-page sheet for a charter or delivery crew, with this boat's usual values
    #[arg(long, conflicts_with = "table")]
    handover: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn main(settings: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let settings = crate::settings::load(settings)?;
    let unit = unit_of(&settings, arguments.unit.as_deref())?;
    let given = arguments.water.readings(&settings, unit)?;
    let ground = || Ground::of(&settings, unit, arguments.from_parts_list).map_err(|why| refusal(&why));
    if arguments.card.wanted() {
        for quantity in [Quantity::FeedTemperature, Quantity::FeedSalinity] {
            if given.iter().any(|reading| reading.quantity == quantity) {
                anyhow::bail!(
                    "--{} and --table: the card has its own, see --temperatures and --salinities",
                    flag(quantity)
                );
            }
        }
        let asked = expect_table::Asked { settings: &settings, unit, given: &condition(&given) };
        expect_table::main(&asked, ground()?, &arguments.card, arguments.json)?;
        return Ok(ExitCode::SUCCESS);
    }
    if arguments.handover {
        let asked = expect_table::Asked { settings: &settings, unit, given: &condition(&given) };
        handover::main(&asked, &ground()?, arguments.from_parts_list, &arguments.card, arguments.json)?;
        return Ok(ExitCode::SUCCESS);
    }
    if arguments.card.html().is_some() {
        anyhow::bail!("--html goes with --table or --handover");
    }
    let answer = Answer::new(unit, &given, ground()?)?;
    if arguments.json {
        print_json(&answer.json())?
    } else {
        print(&answer.text(arguments.card.units()))?
    }
    Ok(ExitCode::SUCCESS)
}

/// What was given, as exact.
fn condition(given: &[HandReading]) -> Condition {
    let exact = |quantity| {
        given
            .iter()
            .find(|reading| reading.quantity == quantity)
            .map(|reading| Estimate::exact(reading.value))
    };
    Condition {
        feed_temperature_c: exact(Quantity::FeedTemperature),
        feed_salinity_g_kg: exact(Quantity::FeedSalinity),
        feed_pressure_bar: exact(Quantity::FeedPressure),
        concentrate_pressure_bar: exact(Quantity::ConcentratePressure),
        product_flow_l_h: None,
        feed_flow_l_h: exact(Quantity::FeedFlow),
        product_pressure_bar: exact(Quantity::ProductPressure),
        inlet_pressure_bar: exact(Quantity::InletPressure),
        pump_speed_rpm: exact(Quantity::PumpSpeed),
        engine_speed_rpm: exact(Quantity::EngineSpeed),
        supply_frequency_hz: exact(Quantity::SupplyFrequency),
        drive_frequency_hz: exact(Quantity::DriveFrequency),
        supply_voltage_v: exact(Quantity::SupplyVoltage),
    }
}

struct Answer<'a> {
    unit: &'a UnitSettings,
    given: &'a [HandReading],
    assumed: Vec<String>,
    salinity: Estimate,
    expected: Expected,
    ground: Ground,
}

impl<'a> Answer<'a> {
    fn new(unit: &'a UnitSettings, given: &'a [HandReading], ground: Ground) -> anyhow::Result<Self> {
        let mut assumed = Vec::new();
        let mut condition = condition(given);
        let salinity = condition.feed_salinity_g_kg.unwrap_or_else(|| salinity(unit, &mut assumed));
        condition.feed_salinity_g_kg = Some(salinity);
        if condition.product_pressure_bar.is_none() {
            assumed.push("product line open to the air".to_string());
        }
        let expected = expect(&ground.parts, &condition, &ground.calibration).map_err(|why| refusal(&why))?;
        Ok(Self { unit, given, assumed, salinity, expected, ground })
    }

    fn json(&self) -> Value {
        let mut all = serde_json::Map::new();
        all.insert("schema".to_string(), json!("barrico-expect"));
        all.insert("schema_version".to_string(), json!(crate::publish::json::SCHEMA_VERSION));
        all.insert("unit".to_string(), json!(self.unit.id));
        let mut given = serde_json::Map::new();
        for reading in self.given {
            given.insert(reading.quantity.json_key().to_string(), json!(figures::rounded(reading.value)));
        }
        all.insert("given".to_string(), Value::Object(given));
        all.insert("feed_salinity_g_kg".to_string(), json!(self.salinity.value));
        all.insert("expected_from".to_string(), json!(self.ground.word()));
        all.insert("ground".to_string(), json!(self.ground.says));
        all.insert("assumed".to_string(), json!(self.assumed));
        all.extend(figures::json(&self.expected));
        if let Some(Value::Object(uncertainty)) = all.get_mut("uncertainty") {
            uncertainty.insert("feed_salinity_g_kg".to_string(), json!(self.salinity.deviation));
        }
        all.insert("cautions".to_string(), json!(CAUTIONS));
        Value::Object(all)
    }

    fn text(&self, units: Units) -> String {
        let mut text = format!("What the unit `{}` should make\n\n", self.unit.name);
        let given: Vec<String> = self
            .given
            .iter()
            .map(|reading| format!("{} {}", reading.quantity.label(), reading.typed))
            .collect();
        text.push_str(&paragraph("Given:    ", &given.join("; ")));
        if !self.assumed.is_empty() {
            text.push_str(&paragraph("Assumed:  ", &self.assumed.join("; ")));
        }
        text.push_str(&paragraph("Ground:   ", &self.ground.says));
        text.push_str("\nBehind ± stands half of the interval that holds it in 95 of 100 cases.\n\n");
        text.push_str(&figures::text(&self.expected, units));
        // The ground says the first of these already.
        let more = self.expected.notes.iter().filter(|note| **note != Note::SpecificationOnly);
        let notes: Vec<String> = more.map(|note| note.text()).collect();
        if !notes.is_empty() {
            text.push_str("\nNotes\n");
            text.push_str(&list(&notes.iter().map(String::as_str).collect::<Vec<_>>()));
        }
        text.push_str("\nCaution\n");
        text.push_str(&list(&CAUTIONS));
        text
    }
}

const CAUTIONS: [&str; 2] = [
    "This is computed, not measured, and no working instruction: pressure and flow are set by the unit's manual and within the limits of \
     its parts.",
    "Salinity says nothing about microbes, fuel, solvents or boron.",
];

/// Salinity when none is given: the usual one of the settings, else that of the open sea.
fn salinity(unit: &UnitSettings, assumed: &mut Vec<String>) -> Estimate {
    let (salinity, words) = usual_salinity(unit);
    let value = format::with_half(salinity.value, salinity.deviation);
    assumed.push(format!("feed salinity {value} g/kg, {words}"));
    salinity
}

/// Why nothing is computed, with the option that would help.
fn refusal(why: &NotComputable) -> anyhow::Error {
    let remedy = match why {
        NotComputable::TemperatureUnknown => format!("; add `--{} '20 C'`", flag(Quantity::FeedTemperature)),
        NotComputable::PressureUnknown | NotComputable::ValveSettingUnknown => {
            format!("; add `--{} '55 bar'`", flag(Quantity::FeedPressure))
        }
        _ => String::new(),
    };
    anyhow::anyhow!("{why}{remedy}")
}

#[cfg(test)]
#[path = "tests/expect.rs"]
mod tests;
