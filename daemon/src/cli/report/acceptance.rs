//! The acceptance record from the log or from a case file: as text, JSON and a document to print.

use super::Arguments;
use crate::case::{Event, Set};
use crate::cli::diagnose::read_case;
use crate::cli::figures::{left_table, rounded};
use crate::cli::given::unit_of;
use crate::cli::print::{list, paragraph, print, print_json, table, write_document};
use crate::intake::usual_errors;
use crate::publish::sheet::acceptance::{self as sheet, Record, Taken};
use crate::publish::{format, json};
use crate::settings::{InstrumentKind, Settings, UnitSettings};
use crate::store::ReadOnly;
use anyhow::Context as _;
use barrico_model::judgement::acceptance::{
    Acceptance, Circumstances, Criterion, Decides, Outcome, ReadingSet, SETS, Unjudged, Verdict, assess,
};
use barrico_model::records::{EventKind, HandReading, LogBody, LogEntry, Mean, Origin, RunRecord};
use barrico_model::{Quantity, WallMs, math};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Options of this kind of report.
#[derive(Debug, clap::Args)]
pub(super) struct Options {
    /// Case file with parts and readings of its own; settings and log are not used then
    #[arg(long, value_name = "FILE.json")]
    case: Option<PathBuf>,
    /// The unit was rinsed before the readings, if no event `flushed` in the log says so
    #[arg(long)]
    rinsed: bool,
    /// Readings of the log up to this time: '2026-03-03 14:05' in UTC, or with its offset; by itself the latest
    #[arg(long, value_name = "TIME", conflicts_with = "case")]
    until: Option<String>,
    /// Running hours of the youngest element, if the history does not know them
    #[arg(long, value_name = "HOURS")]
    element_hours: Option<f64>,
    /// How long the unit had been running at the last set, in minutes
    #[arg(long, value_name = "MINUTES")]
    minutes_since_start: Option<f64>,
}

/// A rinse counts for a day: after that, water has stood in the unit again. Our choice.
const RINSE_MS: i64 = 24 * 3_600_000;

/// Entries within this time of the first are one walk round the unit. Shorter than the least time between two sets. Our choice.
const WALK_MS: i64 = 6 * 60_000;

/// Latest entries of the log that are looked at.
const ENTRIES_MAX: usize = 500;

/// Everything the record is made from.
struct Source {
    settings: Settings,
    unit: usize,
    sets: Vec<Set>,
    rinse: String,
    circumstances: Circumstances,
}

/// Runs it.
pub(super) fn main(settings: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let options = &arguments.with;
    let source = match &options.case {
        Some(_) if arguments.unit.is_some() => {
            anyhow::bail!("a case file has one unit only: leave `--unit` out")
        }
        Some(file) => from_case(file, options)?,
        None => from_log(crate::settings::load(settings)?, arguments)?,
    };
    let (acceptance, record) = source.judged(Some(crate::service::clock::system_date()));
    if let Some(file) = &arguments.html {
        write_document(file, &record)?;
    }
    if arguments.json {
        print_json(&source.json(&acceptance, &record))?;
    } else {
        print(&text(&record))?;
    }
    Ok(ExitCode::from(exit_code(acceptance.verdict)))
}

/// What a script learns.
const fn exit_code(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Meets => 0,
        Verdict::DoesNotMeet => 3,
        Verdict::CannotTell => 4,
        Verdict::NotValid | Verdict::NotSteady => 5,
    }
}

fn from_case(file: &Path, options: &Options) -> anyhow::Result<Source> {
    let question = read_case(file)?.question;
    let (mut settings, sets) = (question.settings, latest(question.readings));
    // A case knows a unit and no boat; its placeholder is nobody's name.
    settings.boat.name.clear();
    let unit = question.unit;
    let (rinsed, rinse) = rinse(options.rinsed, &question.events, sets.first().and_then(|set| set.at));
    let hours = options.element_hours.or(settings.units[unit].second_hand.element_hours);
    let circumstances = Circumstances {
        rinsed,
        element_hours: hours,
        minutes_since_start: options.minutes_since_start.or(question.context.minutes_since_start),
        product_elsewhere: product_elsewhere(&settings, &sets),
    };
    Ok(Source { settings, unit, sets, rinse, circumstances })
}

fn from_log(settings: Settings, arguments: &Arguments) -> anyhow::Result<Source> {
    let options = &arguments.with;
    let unit = unit_of(&settings, arguments.unit.as_deref())?;
    let history = ReadOnly::open(&settings.state_folder)
        .context("the readings of an acceptance are in the log: write them down with `barrico log add`, or give `--case FILE.json`")?;
    let log = history.log(&unit.id, ENTRIES_MAX)?;
    let until = match &options.until {
        None => None,
        Some(text) => {
            Some(crate::table::read_time(text, None).map_err(|fault| anyhow::anyhow!("--until: {fault}"))?)
        }
    };
    let (sets, events) = of_log(&log, until);
    let hours = options
        .element_hours
        .or_else(|| history.runs(&unit.id, ENTRIES_MAX).ok()?.iter().rev().find_map(youngest))
        .or(unit.second_hand.element_hours);
    let (rinsed, rinse) = rinse(options.rinsed, &events, sets.first().and_then(|set| set.at));
    let circumstances = Circumstances {
        rinsed,
        element_hours: hours,
        minutes_since_start: options.minutes_since_start,
        product_elsewhere: product_elsewhere(&settings, &sets),
    };
    let index = settings.units.iter().position(|known| known.id == unit.id).unwrap_or(0);
    Ok(Source { unit: index, sets, rinse, circumstances, settings })
}

/// Running hours of the youngest element that is fitted, after this run. `None`: the record does not know.
fn youngest(run: &RunRecord) -> Option<f64> {
    let fitted =
        run.elements.iter().filter(|element| element.position.is_some()).map(|element| element.hours);
    Some(fitted.reduce(f64::min).or(run.element_hours)? + run.duration_s / 3600.0)
}

fn latest(mut sets: Vec<Set>) -> Vec<Set> {
    sets.split_off(sets.len().saturating_sub(SETS))
}

/// What a set must have some of, to be one: a note of the filter alone is none.
const TELLING: [Quantity; 4] = [
    Quantity::ProductFlow,
    Quantity::FeedPressure,
    Quantity::ConcentratePressure,
    Quantity::ProductConductivity,
];

/// The latest sets of the log and its events, oldest first.
fn of_log(log: &[LogEntry], until: Option<WallMs>) -> (Vec<Set>, Vec<Event>) {
    let counts = |entry: &&LogEntry| {
        !entry.voided && until.is_none_or(|until| entry.at.wall_ms.is_some_and(|at| at <= until))
    };
    let mut entries: Vec<&LogEntry> = log.iter().filter(counts).collect();
    entries.sort_by_key(|entry| (entry.at.wall_ms, entry.id));
    let (mut sets, mut events) = (Vec::<Set>::new(), Vec::new());
    for entry in entries {
        match &entry.body {
            LogBody::Event(kind) => events.push(Event {
                at: entry.at.wall_ms,
                kind: *kind,
                by: entry.by.clone(),
                note: entry.note.clone(),
            }),
            LogBody::Readings(readings) => add(&mut sets, entry, readings),
        }
    }
    sets.retain(|set| set.readings.iter().any(|reading| TELLING.contains(&reading.quantity)));
    (latest(sets), events)
}

fn add(sets: &mut Vec<Set>, entry: &LogEntry, readings: &[HandReading]) {
    let belongs = |set: &&mut Set| {
        let near = set.at.zip(entry.at.wall_ms).is_some_and(|(first, at)| at - first <= WALK_MS);
        near && !readings.iter().any(|new| set.readings.iter().any(|known| known.quantity == new.quantity))
    };
    match sets.last_mut().filter(belongs) {
        Some(set) => set.readings.extend(readings.iter().cloned()),
        None => sets.push(Set { at: entry.at.wall_ms, by: entry.by.clone(), readings: readings.to_vec() }),
    }
}

/// Was the unit rinsed before the first set, and how is that known?
fn rinse(said: bool, events: &[Event], first: Option<WallMs>) -> (bool, String) {
    if said {
        return (true, "said to have been done when this record was made".to_owned());
    }
    let before = |event: &&Event| match (event.at, first) {
        (Some(at), Some(first)) => at <= first && first - at <= RINSE_MS,
        // A case may give events without a date: they lie before the readings.
        _ => event.at.is_none(),
    };
    let last = events
        .iter()
        .filter(before)
        .rfind(|event| matches!(event.kind, EventKind::Flushed | EventKind::Preserved));
    match last {
        Some(event) if event.kind == EventKind::Flushed => {
            let at = event.at.map_or_else(String::new, |at| format!(", {}", format::date_time(at, None)));
            (true, format!("written down by {}{at}", event.by))
        }
        Some(_) => (false, "not written down since the unit was filled with preservative".to_owned()),
        None => (false, "not written down".to_owned()),
    }
}

/// Led elsewhere, while the flow was not read with a jug at the open end.
fn product_elsewhere(settings: &Settings, sets: &[Set]) -> bool {
    let is_jug = |id: &Option<String>| {
        settings
            .instruments
            .iter()
            .any(|known| Some(&known.id) == id.as_ref() && known.kind == InstrumentKind::Jug)
    };
    sets.iter().any(|set| {
        let find = |quantity| set.readings.iter().find(|reading| reading.quantity == quantity);
        find(Quantity::ProductRoute).is_some_and(|route| route.value != 0.0)
            && find(Quantity::ProductFlow).is_some_and(|flow| !is_jug(&flow.instrument))
    })
}

/// The readings with the errors of their instruments.
fn with_errors(settings: &Settings, set: &Set) -> ReadingSet {
    let mean = |reading: &HandReading| {
        let index =
            settings.instruments.iter().position(|known| Some(&known.id) == reading.instrument.as_ref());
        let index = index.unwrap_or(0);
        let (random, systematic) = settings
            .instruments
            .get(index)
            .map_or((0.0, 0.0), |instrument| usual_errors(instrument, reading.quantity, reading.value));
        Mean {
            quantity: reading.quantity,
            value: reading.value,
            random,
            systematic,
            instrument: index as u16,
            origin: Origin::Hand { entry: 0 },
            count: 1,
        }
    };
    ReadingSet { at: set.at, means: set.readings.iter().map(mean).collect() }
}

impl Source {
    fn unit(&self) -> &UnitSettings {
        &self.settings.units[self.unit]
    }

    fn judged(&self, made: Option<WallMs>) -> (Acceptance, Record) {
        let sets: Vec<ReadingSet> = self.sets.iter().map(|set| with_errors(&self.settings, set)).collect();
        let acceptance = assess(&self.unit().parts, &sets, &self.circumstances);
        let record = Record::new(&Taken {
            settings: &self.settings,
            unit: self.unit(),
            sets: &self.sets,
            rinse: &self.rinse,
            circumstances: &self.circumstances,
            acceptance: &acceptance,
            made,
        });
        (acceptance, record)
    }

    fn json(&self, acceptance: &Acceptance, record: &Record) -> Value {
        let sets = self.sets.iter().map(|set| {
            let readings = set.readings.iter().map(|reading| {
                json!({
                    "quantity": reading.quantity.name(), "key": reading.quantity.json_key(),
                    "value": rounded(reading.value), "typed": reading.typed, "instrument": reading.instrument,
                })
            });
            json!({ "time": set.at.and_then(format::rfc3339), "by": set.by, "readings": readings.collect::<Vec<_>>() })
        });
        let used = sheet::used(&self.settings, &self.sets).into_iter().map(|instrument| {
            json!({
                "id": instrument.id, "kind": sheet::kind(instrument.kind),
                "checked": instrument.checked_ms.and_then(format::rfc3339),
            })
        });
        json!({
            "schema": "barrico-acceptance",
            "schema_version": json::SCHEMA_VERSION,
            "boat": self.settings.boat.name,
            "unit": self.unit().id,
            "verdict": verdict(acceptance.verdict),
            "obstacles": acceptance.obstacles.iter().map(|o| json!({
                "code": o.code(), "text": o.text(), "unsteady": o.is_unsteadiness(),
            })).collect::<Vec<_>>(),
            "remarks": record.remarks,
            "decides": acceptance.decides.map(decides),
            "rinsed": self.circumstances.rinsed,
            "rinse": self.rinse,
            "element_hours": self.circumstances.element_hours,
            "sets": sets.collect::<Vec<_>>(),
            "product_flow": criterion(acceptance.verdict, &acceptance.flow, "l_h"),
            "product_salinity": criterion(acceptance.verdict, &acceptance.salt, "mg_l"),
            "standardised": standardised(acceptance),
            "instruments": used.collect::<Vec<_>>(),
            "parts": record.parts.iter().map(|(label, text)| json!({ "part": label, "text": text })).collect::<Vec<_>>(),
            "procedure": sheet::method(),
            "cautions": sheet::CAUTIONS,
        })
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::NotValid => "not-valid",
        Verdict::NotSteady => "not-steady",
        Verdict::Meets => "meets-minimum",
        Verdict::DoesNotMeet => "below-minimum",
        Verdict::CannotTell => "cannot-tell",
    }
}

fn decides(decides: Decides) -> Value {
    match decides {
        Decides::Missing(quantity) => json!({ "measure": quantity.name() }),
        Decides::Better(quantity, share) => {
            json!({ "measure_better": quantity.name(), "share_of_variance": rounded(share) })
        }
        Decides::NoReading(share) => json!({ "no_reading": true, "model_share_of_variance": rounded(share) }),
        Decides::Sheet => json!({ "enter": "minimum_flow and minimum_rejection" }),
    }
}

/// A figure with its unit in the keys.
fn criterion(verdict: Verdict, figure: &Result<Criterion, Unjudged>, unit: &str) -> Value {
    let figure = match figure {
        Err(why) => return json!({ "outcome": null, "reasons": { "outcome": why.to_string() } }),
        Ok(figure) => figure,
    };
    let (low, high) = figure.interval();
    let ratio = math::exp(figure.ln_ratio.value);
    let mut object = serde_json::Map::new();
    let mut put = |key: String, value: Value| object.insert(key, value);
    put(format!("read_{unit}"), json!(rounded(figure.seen.value)));
    put(format!("minimum_{unit}"), json!(rounded(figure.minimum)));
    put(format!("nominal_{unit}"), json!(rounded(figure.nominal)));
    put("ratio_to_minimum".to_owned(), json!(rounded(ratio)));
    put("ratio_low_95".to_owned(), json!(rounded(low)));
    put("ratio_high_95".to_owned(), json!(rounded(high)));
    let outcome = match (verdict, figure.outcome) {
        (Verdict::NotValid | Verdict::NotSteady, _) => "no-result",
        (_, Outcome::Meets) => "meets",
        (_, Outcome::DoesNotMeet) => "below",
        (_, Outcome::CannotTell) => "cannot-tell",
    };
    put("outcome".to_owned(), json!(outcome));
    let shares =
        figure.shares.iter().map(|(quantity, share)| (quantity.name().to_owned(), json!(rounded(*share))));
    put("share_of_variance".to_owned(), Value::Object(shares.collect()));
    let (mut deviations, ratio_sd) = (serde_json::Map::new(), ratio * figure.ln_ratio.sd);
    deviations.insert(format!("read_{unit}"), json!(rounded(figure.seen.sd)));
    deviations.insert("ratio_to_minimum".to_owned(), json!(rounded(ratio_sd)));
    object.insert("uncertainty".to_owned(), Value::Object(deviations));
    Value::Object(object)
}

fn standardised(acceptance: &Acceptance) -> Value {
    match &acceptance.standardised {
        Err(why) => json!({ "form": sheet::D4516, "product_flow_l_h": null, "salt_passage": null,
            "reasons": { "product_flow_l_h": why.to_string(), "salt_passage": why.to_string() } }),
        Ok(values) => json!({
            "form": sheet::D4516,
            "product_flow_l_h": rounded(values.product_flow_l_h),
            "product_flow_ratio": rounded(values.flow_ratio),
            "salt_passage": rounded(values.salt_passage),
            "salt_passage_ratio": rounded(values.salt_passage_ratio),
            "net_driving_pressure_bar": rounded(values.actual.net_driving_pressure_bar),
        }),
    }
}

/// The record on a terminal.
fn text(record: &Record) -> String {
    let mut text = format!("{}: {}\n\n{}\n", record.frame.title, record.frame.whose, record.said);
    text.push_str(&list(&record.why.iter().map(String::as_str).collect::<Vec<_>>()));
    text.push('\n');
    let pairs = |pairs: &[(String, String)]| -> String {
        pairs.iter().map(|(label, value)| paragraph(&format!("  {label}: "), value)).collect()
    };
    text.push_str(&pairs(&record.circumstances));
    text.push_str("\nAgainst the sheets' minimum in this water\n");
    for row in &record.results {
        text.push_str(&paragraph(
            &format!("  {}: ", row.what),
            &format!(
                "{}; the sheets' limit here: {}; nominal: {}; read over limit: {}",
                row.read, row.minimum, row.nominal, row.ratio
            ),
        ));
        text.push_str(&paragraph("    = ", &row.outcome));
    }
    text.push_str(&list(&record.remarks.iter().map(String::as_str).collect::<Vec<_>>()));
    text.push_str("\nRaw readings\n");
    let mut rows =
        vec![std::iter::once(String::new()).chain(record.heads.iter().cloned()).collect::<Vec<_>>()];
    rows.extend(
        record
            .readings
            .iter()
            .map(|(label, cells, _)| std::iter::once(label.clone()).chain(cells.iter().cloned()).collect()),
    );
    text.push_str(&table(&rows));
    text.push_str("\nInstruments\n");
    let instruments = record
        .instruments
        .iter()
        .map(|row| vec![row[0].clone(), format!("{}, last check {}", row[1], row[2])]);
    text.push_str(&left_table(&instruments.collect::<Vec<_>>()));
    text.push_str(&format!("\nStandardised: {}\n", sheet::D4516));
    text.push_str(&pairs(&record.standardised));
    text.push_str(&paragraph("  ", &record.standard));
    text.push_str("\nParts, as entered\n");
    text.push_str(&pairs(&record.parts));
    text.push_str("\nProcedure\n");
    text.push_str(&paragraph("  ", &sheet::method()));
    text.push_str("\nCaution\n");
    text.push_str(&list(&sheet::CAUTIONS));
    text
}

#[cfg(test)]
#[path = "../tests/acceptance.rs"]
mod tests;
