//! The last runs: as a chart, and the same as a table.

use crate::engine::view::{RunRow, UnitView, View};
use crate::publish::{chart, format};
use barrico_model::Quantity;
use barrico_model::records::{Mean, RunEnd};

/// The last runs.
#[derive(Clone, Debug)]
pub struct Runs {
    /// Product flow of each run with what it should have been; `None` without a single flow.
    pub chart: Option<String>,
    /// What the chart says, in one sentence.
    pub summary: String,
    /// The same as a table, latest first.
    pub lines: Vec<RunLine>,
}

/// One run.
#[derive(Clone, Debug, PartialEq)]
pub struct RunLine {
    /// Start.
    pub start: String,
    /// Length, or what kind of record it is.
    pub length: String,
    /// Product flow, L/h.
    pub flow: String,
    /// What it should have been, L/h.
    pub expected: String,
    /// Product conductivity, µS/cm.
    pub conductivity: String,
    /// Litres made.
    pub litres: String,
    /// Standardised product flow, L/h.
    pub standardised: String,
}

impl Runs {
    /// So many runs stand in chart and table: more than a month of daily runs does not fit a phone's width.
    pub const SHOWN_MAX: usize = 30;

    pub(super) fn new(unit: &UnitView, view: &View) -> Self {
        let shown = &unit.runs[unit.runs.len().saturating_sub(Self::SHOWN_MAX)..];
        Self {
            chart: chart::runs(shown),
            summary: summary(shown, unit.runs.len()),
            lines: shown.iter().rev().map(|row| line(row, unit, view)).collect(),
        }
    }
}

fn summary(shown: &[RunRow], all: usize) -> String {
    let with_flow = shown.iter().filter(|row| row.run.mean(Quantity::ProductFlow).is_some()).count();
    let below = shown.iter().filter(|row| is_below(row)).count();
    let judged = shown.iter().filter(|row| has_both(row)).count();
    match (shown.len(), with_flow, judged) {
        (0, ..) => "No run has been recorded yet.".to_string(),
        (n, 0, _) => format!("None of the last {n} runs has a product flow."),
        (n, _, 0) => format!("The last {n} of {all} runs; what they should have made is not known."),
        (n, ..) => format!(
            "The last {n} of {all} runs; {below} of the {judged} that can be judged lie below the range."
        ),
    }
}

fn has_both(row: &RunRow) -> bool {
    row.run.mean(Quantity::ProductFlow).is_some() && row.expected_product_flow_l_h.is_some()
}

fn is_below(row: &RunRow) -> bool {
    match (row.run.mean(Quantity::ProductFlow), row.expected_product_flow_l_h) {
        (Some(flow), Some((value, sd))) => flow.value < format::interval(value, sd).0,
        _ => false,
    }
}

fn line(row: &RunRow, unit: &UnitView, view: &View) -> RunLine {
    let run = &row.run;
    let unknown = || "unknown".to_string();
    let start = match run.start.wall_ms {
        Some(wall) if run.time_invented => format!("{} (invented)", format::date_time(wall, view.wall_ms)),
        Some(wall) => format::date_time(wall, view.wall_ms),
        None => format!("run {}, date unknown", run.id),
    };
    let length = match run.end {
        RunEnd::ReadingSet => "hand readings".to_string(),
        RunEnd::Open => format!("{}, still running", format::span(run.duration_s)),
        RunEnd::Stopped => format::span(run.duration_s),
        RunEnd::PowerLost => format!("at least {}, cut by power loss", format::span(run.duration_s)),
    };
    let mean = |quantity| run.mean(quantity).map(|mean| format::with_half(mean.value, sd(mean)));
    RunLine {
        start,
        length,
        flow: mean(Quantity::ProductFlow).unwrap_or_else(unknown),
        expected: row.expected_product_flow_l_h.map_or_else(unknown, |(value, sd)| format::range(value, sd)),
        conductivity: mean(Quantity::ProductConductivity).unwrap_or_else(unknown),
        litres: run.product_l.map_or_else(unknown, |litres| format!("{litres:.0}")),
        standardised: unit
            .standardised(run)
            .map_or_else(|_| "–".to_string(), |values| format!("{:.0}", values.product_flow_l_h)),
    }
}

/// Chance and instrument together.
pub(in crate::publish) fn sd(mean: &Mean) -> f64 {
    (mean.random * mean.random + mean.systematic * mean.systematic).sqrt()
}
