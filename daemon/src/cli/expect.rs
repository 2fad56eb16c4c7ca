//! The command `expect`: what this unit should make in given water.
//!
//! From the unit's own baseline if the history has one, else from the parts list alone. What is given counts as exact; what is not given is taken from the settings, and said. The temperature has no
//! stand-in: without it nothing is computed.

use super::figures;
use super::given::{Given, Takes, flag, unit_of};
use super::history::{Known, baseline_words};
use super::print::{list, paragraph, print, print_json};
use super::{expect_table, handover};
use crate::publish::format;
use crate::settings::UnitSettings;
use barrico_model::Quantity;
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::performance::NotComputable;
use barrico_model::plant::{Calibration, Condition, Estimate, Expected, expect};
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
    /// Ignore the unit's own baseline: from the sheets of the parts list alone, as for a unit that was never measured
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
    if arguments.from_parts_list && (arguments.card.wanted() || arguments.handover) {
        anyhow::bail!(
            "--from-parts-list goes with neither --table nor --handover: both say what they rest on"
        );
    }
    if arguments.card.wanted() {
        for quantity in [Quantity::FeedTemperature, Quantity::FeedSalinity] {
            if given.iter().any(|reading| reading.quantity == quantity) {
                anyhow::bail!(
                    "--{} and --table: the card has its own, see --temperatures and --salinities",
                    flag(quantity)
                );
            }
        }
        expect_table::main(&settings, unit, &condition(&given), &arguments.card, arguments.json)?;
        return Ok(ExitCode::SUCCESS);
    }
    if arguments.handover {
        handover::main(&settings, unit, &condition(&given), &arguments.card, arguments.json)?;
        return Ok(ExitCode::SUCCESS);
    }
    if arguments.card.html().is_some() {
        anyhow::bail!("--html goes with --table or --handover");
    }
    let known = if arguments.from_parts_list { Known::default() } else { Known::of(&settings, unit) };
    let answer = Answer::new(unit, &given, &known)?;
    if arguments.json {
        print_json(&answer.json())?
    } else {
        print(&answer.text())?
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
    /// What it was computed from: word for JSON, sentence for people.
    ground: (&'static str, String),
}

impl<'a> Answer<'a> {
    fn new(unit: &'a UnitSettings, given: &'a [HandReading], known: &Known) -> anyhow::Result<Self> {
        let mut assumed = Vec::new();
        let mut condition = condition(given);
        let salinity = condition.feed_salinity_g_kg.unwrap_or_else(|| salinity(unit, &mut assumed));
        condition.feed_salinity_g_kg = Some(salinity);
        if condition.product_pressure_bar.is_none() {
            assumed.push("product line open to the air".to_string());
        }
        assumed.extend(known.remark.clone());
        let parts = known.unit.as_ref().map_or(&unit.parts, |known| &known.parts);
        let ground = match known.baseline() {
            Some(baseline) => ("baseline", format!("computed from {}", baseline_words(baseline))),
            None => ("specification", "computed from the parts list alone".to_string()),
        };
        let calibration = match &known.unit {
            Some(known) => known.calibration.clone(),
            None => Calibration::from_nominal_sheets(parts).map_err(|why| refusal(&why))?,
        };
        let expected = expect(parts, &condition, &calibration).map_err(|why| refusal(&why))?;
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
        all.insert("expected_from".to_string(), json!(self.ground.0));
        all.insert("ground".to_string(), json!(self.ground.1));
        all.insert("assumed".to_string(), json!(self.assumed));
        all.extend(figures::json(&self.expected));
        if let Some(Value::Object(uncertainty)) = all.get_mut("uncertainty") {
            uncertainty.insert("feed_salinity_g_kg".to_string(), json!(self.salinity.deviation));
        }
        all.insert("cautions".to_string(), json!(CAUTIONS));
        Value::Object(all)
    }

    fn text(&self) -> String {
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
        text.push_str(&paragraph("Ground:   ", &self.ground.1));
        text.push_str("\nBehind ± stands half of the interval that holds it in 95 of 100 cases.\n\n");
        text.push_str(&figures::text(&self.expected));
        let notes: Vec<String> = self.expected.notes.iter().map(|note| note.text()).collect();
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
    let (value, sd) = unit.usual_feed_salinity.unwrap_or(OPEN_SEA_G_KG);
    let ground = match unit.usual_feed_salinity {
        Some(_) => "as usual for this boat by the settings",
        None => "as in the open sea; harbours, rivers and closed seas differ",
    };
    assumed.push(format!("feed salinity {} g/kg, {ground}", format::with_half(value, sd)));
    Estimate::new(value, sd)
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
