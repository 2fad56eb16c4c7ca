//! The command `baseline`: the record of the sound unit.

use super::print::paragraph;
use super::send::{person, send, unit};
use crate::engine::{Command, Reply, RunSelection, UnitHistory};
use crate::publish::page::parts_lines;
use crate::publish::{format, json};
use crate::settings;
use barrico_model::records::{Baseline, BaselineKind};
use std::io::Write;
use std::path::Path;
use std::process::ExitCode;
use std::sync::Arc;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Short name of the unit in the settings; not needed with one unit
    #[arg(long, global = true)]
    unit: Option<String>,
    /// One JSON object per line
    #[arg(long, global = true)]
    json: bool,
    #[command(subcommand)]
    action: Action,
}

#[derive(Debug, clap::Subcommand)]
enum Action {
    /// Take one from sound runs: by itself from the latest run
    Take {
        /// From the latest so many runs
        #[arg(long, value_name = "COUNT", conflicts_with = "runs")]
        last: Option<usize>,
        /// From these runs, first and last number, such as 12-58
        #[arg(long, value_name = "FIRST-LAST", value_parser = range)]
        runs: Option<(u64, u64)>,
        /// Who takes it
        #[arg(long)]
        by: Option<String>,
    },
    /// Show the present one, with the elements and the valve
    Show,
    /// List all, also the ended ones
    List,
    /// End the present one. Cleaning, preserving or flushing is no reason; a replaced part is
    Retire {
        /// Why
        #[arg(long)]
        reason: String,
        /// Who
        #[arg(long)]
        by: Option<String>,
    },
}

fn range(text: &str) -> Result<(u64, u64), String> {
    let number =
        |text: &str| text.trim().parse::<u64>().map_err(|_| format!("`{text}` is no number of a run"));
    match text.split_once('-') {
        Some((first, last)) => Ok((number(first)?, number(last)?)),
        None => number(text).map(|only| (only, only)),
    }
}

/// Runs it.
pub fn main(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let settings = Arc::new(settings::load(settings_file)?);
    let unit = unit(&settings, arguments.unit.as_deref())?;
    let command = match &arguments.action {
        Action::Take { last, runs, by } => {
            let runs = match (last, runs) {
                (Some(count), _) => RunSelection::LatestCount(*count),
                (_, Some((first, last))) => RunSelection::Range(*first, *last),
                _ => RunSelection::Latest,
            };
            Command::TakeBaseline { unit, runs, by: person(by.as_deref()) }
        }
        Action::Retire { reason, by } => {
            Command::RetireBaseline { unit, by: person(by.as_deref()), reason: reason.clone() }
        }
        Action::Show => Command::history(&unit),
        Action::List => Command::ListBaselines { unit },
    };
    let mut history = None;
    let baselines = match send(&settings, &command)? {
        Reply::Baseline(baseline) => vec![*baseline],
        Reply::History(found) => {
            let present = found.baselines.iter().rev().find(|baseline| baseline.retired.is_none());
            let present = present.cloned();
            history = Some(*found);
            present.into_iter().collect()
        }
        Reply::Baselines(all) => all,
        _ => vec![],
    };
    // Gathered first: a reader that closes the pipe early is no error.
    let mut out: Vec<u8> = Vec::new();
    if baselines.is_empty() && !arguments.json {
        writeln!(
            out,
            "no baseline yet: take one when the unit is known to be sound, with `barrico baseline take`"
        )?;
    }
    if let (Some(history), true) = (&history, arguments.json) {
        let mut all = json::history(history);
        all["baseline"] = baselines.first().map_or(serde_json::Value::Null, json::baseline);
        super::print::print(&format!("{all}\n"))?;
        return Ok(ExitCode::SUCCESS);
    }
    for baseline in &baselines {
        if arguments.json {
            writeln!(out, "{}", json::baseline(baseline))?;
        } else {
            print(&mut out, baseline)?;
        }
    }
    if let Some(history) = &history {
        let provisional = baselines.first().is_some_and(|baseline| baseline.kind < BaselineKind::Confirmed);
        if provisional {
            out.write_all(paragraph("", &how_to_confirm(history)).as_bytes())?;
        }
        for line in parts_lines(history) {
            out.write_all(paragraph("", &line).as_bytes())?;
        }
    }
    super::print::print(&String::from_utf8_lossy(&out))?;
    Ok(ExitCode::SUCCESS)
}

/// What makes a provisional baseline a confirmed one.
fn how_to_confirm(history: &UnitHistory) -> String {
    if 0.0 < history.settles_in_h {
        return format!(
            "A confirmed baseline needs two runs that agree, both after the youngest element has settled: {:.0} running hours from now.",
            history.settles_in_h
        );
    }
    "Two runs that agree make a confirmed baseline: `barrico baseline take --last 2`.".to_owned()
}

fn print(out: &mut impl Write, baseline: &Baseline) -> std::io::Result<()> {
    let taken =
        baseline.taken.wall_ms.map_or("at an unknown date".to_owned(), |ms| format::date_time(ms, None));
    writeln!(
        out,
        "baseline {} ({}), taken {taken} by {} from {} {}",
        baseline.id,
        baseline.kind.name(),
        baseline.by,
        baseline.runs.len(),
        if baseline.runs.len() == 1 { "run" } else { "runs" }
    )?;
    if !baseline.elements.is_empty() {
        writeln!(out, "  {:32} {}", "elements", baseline.elements.join(", "))?;
    }
    if let Some((stamp, reason)) = &baseline.retired {
        let ended = stamp.wall_ms.map_or("at an unknown date".to_owned(), |ms| format::date_time(ms, None));
        writeln!(out, "  ended {ended}: {reason}")?;
    }
    for mean in &baseline.means {
        let value = format::with_half(mean.value, mean.random);
        writeln!(out, "  {:32} {value} {}", mean.quantity.label(), mean.quantity.unit())?;
    }
    // SI to the units of the trade: 1 L/(m2 h bar) = 2.7778e-12 m/(s Pa), 1 L/(m2 h) = 2.7778e-7 m/s.
    let a25 = baseline.a25 * 3.6e11;
    let b25 = baseline.b25 * 3.6e6;
    let b = format::with_half(b25, b25 * baseline.ln_b25_random);
    writeln!(out, "  {:32} {b} L/(m2 h)", "salt permeability at 25 °C")?;
    if baseline.flow_measured {
        let a = format::with_half(a25, a25 * baseline.ln_a25_random);
        writeln!(out, "  {:32} {a} L/(m2 h bar)", "water permeability at 25 °C")?;
    } else {
        writeln!(
            out,
            "  the feed flow was not measured, so no water permeability is given: time a jug at the concentrate hose and enter it"
        )?;
    }
    if let Some(share) = baseline.delivery {
        writeln!(out, "  {:32} {:.0} % of the nameplate", "pump delivery", 100.0 * share)?;
    }
    Ok(())
}
