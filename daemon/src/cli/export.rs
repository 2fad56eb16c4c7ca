//! The command `export`: records out of the history, for spreadsheets and for other programs.
//!
//! Reads beside a running daemon; it changes nothing. CSV has one row per record and one column per quantity, unit in the heading, a dot as decimal point; what is unknown is
//! empty. JSON lines carry everything, also errors and origins.

use super::send::unit;
use crate::engine::SampleRow;
use crate::publish::format;
use crate::settings;
use crate::store::{Kind, ReadOnly};
use barrico_model::records::{LogBody, LogEntry, Mean, RunEnd, RunRecord};
use barrico_model::{Quantity, WallMs};
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// What to write out
    #[arg(value_enum, default_value = "runs")]
    what: What,
    /// Short name of the unit in the settings; not needed with one unit
    #[arg(long)]
    unit: Option<String>,
    /// JSON lines instead of CSV
    #[arg(long)]
    json: bool,
    /// Only the latest so many records
    #[arg(long, value_name = "COUNT", default_value_t = 500)]
    last: usize,
    /// Samples from this date on, RFC 3339, such as 2026-05-01T00:00:00Z
    #[arg(long, value_name = "DATE", value_parser = date)]
    from: Option<WallMs>,
    /// Samples up to this date
    #[arg(long, value_name = "DATE", value_parser = date)]
    to: Option<WallMs>,
}

#[derive(Clone, Copy, Debug, clap::ValueEnum)]
enum What {
    /// One record per run: means, errors, litres
    Runs,
    /// Readings by hand and events
    Log,
    /// What was recorded every few seconds while the unit ran
    Samples,
    /// Baselines, as JSON lines only
    Baselines,
    /// Findings: raised, acknowledged, cleared, as JSON lines only
    Findings,
}

fn date(text: &str) -> Result<WallMs, String> {
    crate::wire::wall_from_rfc3339(text)
        .ok_or_else(|| format!("`{text}` is no date; write it like 2026-05-01T00:00:00Z"))
}

/// Runs it.
pub fn main(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let settings = settings::load(settings_file)?;
    let unit = unit(&settings, arguments.unit.as_deref())?;
    let history = ReadOnly::open(&settings.state_folder)?;
    let out = std::io::BufWriter::new(std::io::stdout().lock());
    match arguments.what {
        What::Samples => samples(out, &history, &unit, arguments)?,
        What::Runs if !arguments.json => runs(out, &history.runs(&unit, arguments.last)?)?,
        What::Log if !arguments.json => log(out, &history.log(&unit, arguments.last)?)?,
        What::Runs => lines(out, &history.lines(&unit, Kind::Run)?, arguments.last)?,
        What::Log => lines(out, &history.lines(&unit, Kind::Log)?, arguments.last)?,
        What::Baselines => lines(out, &history.lines(&unit, Kind::Baseline)?, arguments.last)?,
        What::Findings => lines(out, &history.lines(&unit, Kind::Alert)?, arguments.last)?,
    }
    Ok(ExitCode::SUCCESS)
}

fn lines(mut out: impl Write, lines: &[String], last: usize) -> anyhow::Result<()> {
    for line in &lines[lines.len().saturating_sub(last)..] {
        writeln!(out, "{line}")?;
    }
    out.flush()?;
    Ok(())
}

fn number(value: Option<f64>) -> String {
    value.map_or(String::new(), |value| value.to_string())
}

fn when(wall_ms: Option<WallMs>) -> String {
    wall_ms.and_then(format::rfc3339).unwrap_or_default()
}

fn runs(out: impl Write, runs: &[RunRecord]) -> anyhow::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    let mut heading: Vec<String> =
        ["run", "revision", "start", "time_invented", "end", "duration_s", "steady_s", "product_l"]
            .map(str::to_owned)
            .to_vec();
    for quantity in Quantity::ALL {
        heading.push(quantity.json_key().to_owned());
        heading.push(format!("{}_uncertainty", quantity.json_key()));
    }
    table.write_record(&heading)?;
    for run in runs {
        let end = match run.end {
            RunEnd::Open => "open",
            RunEnd::Stopped => "stopped",
            RunEnd::PowerLost => "power lost",
            RunEnd::ReadingSet => "reading set",
        };
        let mut row = vec![
            run.id.to_string(),
            run.revision.to_string(),
            when(run.start.wall_ms),
            run.time_invented.to_string(),
            end.to_owned(),
            run.duration_s.to_string(),
            run.steady_s.to_string(),
            number(run.product_l),
        ];
        for &quantity in Quantity::ALL {
            let mean = run.mean(quantity);
            let sd = |mean: &Mean| (mean.random * mean.random + mean.systematic * mean.systematic).sqrt();
            row.push(number(mean.map(|mean| mean.value)));
            row.push(number(mean.map(sd)));
        }
        table.write_record(&row)?;
    }
    table.flush()?;
    Ok(())
}

fn log(out: impl Write, entries: &[LogEntry]) -> anyhow::Result<()> {
    let mut table = csv::Writer::from_writer(out);
    table.write_record([
        "entry", "revision", "time", "by", "event", "quantity", "typed", "value", "unit", "note", "voided",
    ])?;
    for entry in entries {
        let head =
            [entry.id.to_string(), entry.revision.to_string(), when(entry.at.wall_ms), entry.by.clone()];
        let tail = [entry.note.clone(), entry.voided.to_string()];
        let mut row = |middle: [String; 5]| table.write_record(head.iter().chain(&middle).chain(&tail));
        match &entry.body {
            LogBody::Event(kind) => {
                row([kind.name().to_owned(), String::new(), String::new(), String::new(), String::new()])?
            }
            LogBody::Readings(set) => {
                for hand in set {
                    row([
                        String::new(),
                        hand.quantity.name().to_owned(),
                        hand.typed.clone(),
                        hand.value.to_string(),
                        hand.quantity.unit().to_owned(),
                    ])?;
                }
            }
        }
    }
    table.flush()?;
    Ok(())
}

fn samples(mut out: impl Write, history: &ReadOnly, unit: &str, arguments: &Arguments) -> anyhow::Result<()> {
    let mut write = sample_writer(arguments.json);
    if !arguments.json {
        let names: Vec<&str> = Quantity::ALL.iter().map(|quantity| quantity.json_key()).collect();
        writeln!(out, "time,state,run,{}", names.join(","))?;
    }
    let mut failed = None;
    history.samples(unit, arguments.from, arguments.to, |row| {
        if failed.is_none()
            && let Err(error) = writeln!(out, "{}", write(&row))
        {
            failed = Some(error);
        }
    })?;
    out.flush()?;
    failed.map_or(Ok(()), |error| Err(error.into()))
}

/// A row as one line. None of its texts can hold a comma or a quote.
fn sample_writer(json: bool) -> impl FnMut(&SampleRow) -> String {
    move |row| {
        let state = row.state.map_or("", |state| state.name());
        if json {
            let mut object = serde_json::Map::new();
            object.insert("time".into(), when(row.at.wall_ms).into());
            object.insert("state".into(), state.into());
            object.insert("run".into(), row.run.into());
            let known = Quantity::ALL.iter().filter_map(|&quantity| Some((quantity, row.value(quantity)?)));
            object.extend(known.map(|(quantity, value)| (quantity.json_key().to_owned(), value.into())));
            serde_json::Value::Object(object).to_string()
        } else {
            let values: Vec<String> =
                Quantity::ALL.iter().map(|&quantity| number(row.value(quantity))).collect();
            format!("{},{state},{},{}", when(row.at.wall_ms), row.run, values.join(","))
        }
    }
}
