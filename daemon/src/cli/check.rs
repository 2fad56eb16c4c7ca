//! The command `check`: does the settings file hold, and what do the fitted sensors and hand readings allow to find?
//!
//! Wrong settings end with exit code 78 and the report of all problems. A finding that is not possible is no fault.

use super::abilities::{Ability, Have, Suggestion, Verdict, abilities, have, suggestions};
use super::print::{paragraph, print, print_json};
use crate::publish::json::SCHEMA_VERSION;
use crate::publish::words::sentence;
use crate::settings::{Settings, UnitSettings};
use barrico_model::findings::{FindingCode, registry};
use serde_json::{Value, json};
use std::path::Path;
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn main(file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let settings = crate::settings::load(file)?;
    if arguments.json {
        print_json(&answer(file, &settings))?;
    } else {
        print(&text(file, &settings))?;
    }
    Ok(ExitCode::SUCCESS)
}

fn answer(file: &Path, settings: &Settings) -> Value {
    let names = |codes: &[FindingCode]| codes.iter().map(|code| registry::of(*code).name).collect::<Vec<_>>();
    let unit = |unit: &UnitSettings| {
        let have = have(unit);
        let findings: Vec<Value> = abilities(unit, &have)
            .iter()
            .map(|ability| {
                json!({
                    "code": registry::of(ability.code).name,
                    "title": registry::of(ability.code).title,
                    "verdict": ability.verdict.name(),
                    "needs_baseline": needs_baseline(ability.code),
                    "missing": ability.missing,
                    "better_with": ability.better,
                })
            })
            .collect();
        let suggestions: Vec<Value> = suggestions(unit, &have)
            .iter()
            .map(|suggestion| {
                json!({
                    "quantity": suggestion.quantity.name(),
                    "how": suggestion.how,
                    "enables": names(&suggestion.enables),
                    "improves": names(&suggestion.improves),
                })
            })
            .collect();
        let readings: Vec<Value> = have
            .iter()
            .map(|(quantity, sources)| json!({ "quantity": quantity.name(), "sources": sources }))
            .collect();
        json!({
            "id": unit.id,
            "name": unit.name,
            "status_message": unit.status_from.is_some(),
            "readings": readings,
            "findings": findings,
            "suggestions": suggestions,
        })
    };
    json!({
        "schema": "barrico-check",
        "schema_version": SCHEMA_VERSION,
        "settings": file.display().to_string(),
        "boat": settings.boat.name,
        "units": settings.units.iter().map(unit).collect::<Vec<_>>(),
    })
}

/// Judged against the unit's own past.
fn needs_baseline(code: FindingCode) -> bool {
    matches!(code, FindingCode::OutputLow | FindingCode::SaltPassageUp)
}

fn text(file: &Path, settings: &Settings) -> String {
    let count = settings.units.len();
    let noun = if count == 1 { "unit" } else { "units" };
    let mut text =
        format!("The settings hold: {} ({}, {count} {noun}).\n", file.display(), settings.boat.name);
    for unit in &settings.units {
        text.push_str(&unit_text(unit));
    }
    text
}

fn unit_text(unit: &UnitSettings) -> String {
    let have = have(unit);
    let mut text = format!("\n{} (`{}`)\n", sentence(&unit.name), unit.id);
    text.push_str(&readings_text(unit, &have));
    text.push_str("\n  What can be found\n");
    for ability in abilities(unit, &have) {
        text.push_str(&ability_text(&ability));
    }
    text.push_str(&suggestions_text(&suggestions(unit, &have)));
    text
}

fn readings_text(unit: &UnitSettings, have: &Have) -> String {
    let mut text = String::from("\n  Readings\n");
    for (quantity, sources) in have {
        text.push_str(&paragraph(&format!("    {:<28}", quantity.label()), &sources.join("; then ")));
    }
    if unit.status_from.is_some() {
        let about = "and whatever the unit's own status message (PGN 130567) brings; which of its fields are filled shows when it is heard";
        text.push_str(&paragraph("    ", about));
    }
    if have.is_empty() && unit.status_from.is_none() {
        text.push_str("    none are named; readings by hand can always be written down\n");
    }
    text
}

fn ability_text(ability: &Ability) -> String {
    let texts = registry::of(ability.code);
    let mark = match ability.verdict {
        Verdict::Possible => "yes",
        Verdict::Partly => "partly",
        Verdict::Impossible => "no",
    };
    let mut text = paragraph(&format!("    {mark:<8}"), &format!("{} ({})", texts.title, texts.name));
    let indent = " ".repeat(12);
    if !ability.missing.is_empty() {
        text.push_str(&paragraph(&format!("{indent}missing: "), &ability.missing.join("; ")));
    }
    if !ability.better.is_empty() && ability.verdict != Verdict::Impossible {
        text.push_str(&paragraph(&format!("{indent}says more with: "), &ability.better.join("; ")));
    }
    if needs_baseline(ability.code) && ability.verdict != Verdict::Impossible {
        let about = "needs a baseline, taken when the unit is known to be sound: `barrico baseline take`";
        text.push_str(&paragraph(&indent, about));
    }
    text
}

/// So many suggestions are shown; more would be a shopping list.
const SUGGESTIONS_SHOWN: usize = 3;

fn suggestions_text(suggestions: &[Suggestion]) -> String {
    if suggestions.is_empty() {
        return String::new();
    }
    let mut text = String::from("\n  What would add most\n");
    for suggestion in suggestions.iter().take(SUGGESTIONS_SHOWN) {
        let names = |codes: &[FindingCode]| {
            codes.iter().map(|code| registry::of(*code).name).collect::<Vec<_>>().join(", ")
        };
        let mut gains = Vec::new();
        if !suggestion.enables.is_empty() {
            gains.push(format!("makes possible: {}", names(&suggestion.enables)));
        }
        if !suggestion.improves.is_empty() {
            gains.push(format!("says more: {}", names(&suggestion.improves)));
        }
        let label = sentence(suggestion.quantity.label());
        text.push_str(&paragraph(
            "    - ",
            &format!("{label}, {}. {}.", suggestion.how, sentence(&gains.join("; "))),
        ));
    }
    text
}

#[cfg(test)]
#[path = "tests/check.rs"]
mod tests;
