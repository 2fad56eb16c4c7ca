//! Prints how far the model agrees with what it is checked against, one `name = value unit` a line, and tries its relations at random.
//!
//! `--share tenth` tries a tenth of the random cases, `--seed N` others. The comparisons are few and all done every time; no seed chooses among them. The exit
//! status is 1 when something lies outside what is allowed; what, goes to standard error.

#![expect(clippy::print_stdout, reason = "printing is what a report does")]

#[path = "../../model/tests/validation/mod.rs"]
mod validation;

use std::process::ExitCode;
use validation::check::Group;
use validation::truths::{self, Simulator};
use validation::{figures, libraries, open_data, practice, search, vectors};

/// Random cases of each property, and a fifth of that for the inversion.
const CASES: usize = 100_000;

fn line(name: &str, value: impl std::fmt::Display, unit: &str) {
    println!("{name} = {value} {unit}");
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().collect();
    let after = |name: &str| {
        arguments.iter().position(|argument| argument == name).and_then(|at| arguments.get(at + 1))
    };
    let cases = if after("--share").is_some_and(|share| share == "tenth") { CASES / 10 } else { CASES };
    let seed = after("--seed").and_then(|seed| seed.parse().ok()).unwrap_or(1);
    let mut wrong = agreement();
    practice_lines(&mut wrong);
    data_lines();
    fault_lines();
    wrong.extend(random_cases(cases, seed));
    for failure in &wrong {
        eprintln!("{failure}");
    }
    ExitCode::from(u8::from(!wrong.is_empty()))
}

/// Worst deviations from libraries, vectors and worked figures.
fn agreement() -> Vec<String> {
    let groups: Vec<Group> = [libraries::all(), vectors::all(), figures::all()].concat();
    let mut values = 0;
    for group in &groups {
        line(
            &format!("{}_worst_error", group.name),
            format!("{:.1e}", group.worst().deviation().abs()),
            "relative",
        );
        values += group.checks.len();
    }
    line("values_compared", values, "values");
    groups.iter().flat_map(Group::failures).collect()
}

/// Common practice, no source.
fn practice_lines(wrong: &mut Vec<String>) {
    let defaults = practice::with_defaults(None);
    let predicted = practice::predicted(None);
    let currents = practice::currents();
    line("practice_default_worst_percent", format!("{:.2}", defaults.worst_percent.abs()), "%");
    line("practice_predicted_gain_gal_h", format!("{:.2}", predicted.gain_gal_h), "gal/h");
    line("practice_predicted_larger_pump_gal_h", format!("{:.2}", predicted.larger_pump_gal_h), "gal/h");
    line("practice_current_spread_percent", format!("{:.2}", currents.spread_percent), "%");
    for (name, delivery) in [("085", 0.85), ("095", 0.95)] {
        let worst = practice::with_defaults(Some(delivery)).worst_percent.abs();
        let gain = practice::predicted(Some(delivery)).gain_gal_h;
        line(&format!("practice_worst_percent_delivery_{name}"), format!("{worst:.2}"), "%");
        line(&format!("practice_gain_gal_h_delivery_{name}"), format!("{gain:.2}"), "gal/h");
    }
    if 12.0 < defaults.worst_percent.abs() {
        wrong.push(format!("practice, nothing fitted: {defaults:?}"));
    }
}

/// Where the open data are at hand.
fn data_lines() {
    let Some(found) = open_data::summary() else { return };
    line("open_data_flow_rms_percent", format!("{:.2}", 100.0 * found.flow_rms), "%");
    line("open_data_salt_rms_percent", format!("{:.2}", 100.0 * found.salt_rms), "%");
    let [new, first, second] = &found.series;
    line("open_data_a_after_first_campaign_percent", format!("{:.2}", 100.0 * (first.a_ratio - 1.0)), "%");
    line("open_data_a_after_second_campaign_percent", format!("{:.2}", 100.0 * (second.a_ratio - 1.0)), "%");
    line("open_data_leak_ratio", format!("{:.1}", second.leak.leak / new.leak.leak), "times");
}

/// Largest bias of the standardised flow and of the inverted permeability over the simulated faults, with the flow measured and the water known.
fn fault_lines() {
    for (name, simulator) in [("same_form", Simulator::Same), ("other_form", Simulator::Other)] {
        let (mut log_mean, mut inverted): (f64, f64) = (0.0, 0.0);
        for truth in truths::all() {
            if truth.believed_salinity_g_kg != truth.salinity_g_kg || truth.leak != 0.0 {
                continue;
            }
            for count in [1, 2] {
                let found = truths::outcome(simulator, &truth, count, true);
                log_mean = log_mean.max((found.log_mean.ln.exp() - truth.a).abs());
                if let Ok([a, _]) = found.inverted {
                    inverted = inverted.max((a.ln.exp() - truth.a).abs());
                }
            }
        }
        line(&format!("faults_{name}_log_mean_worst_bias_percent"), format!("{:.1}", 100.0 * log_mean), "%");
        line(&format!("faults_{name}_inversion_worst_bias_percent"), format!("{:.1}", 100.0 * inverted), "%");
    }
}

fn random_cases(cases: usize, seed: u64) -> Vec<String> {
    let mut wrong = Vec::new();
    let mut all = 0;
    for tried in search::run(cases, seed) {
        line(&format!("relation_{}_cases", tried.name), tried.cases, "cases");
        line(&format!("relation_{}_broken", tried.name), tried.broken, "cases");
        all += tried.cases;
        if 0 < tried.broken || tried.cases == 0 {
            wrong.push(format!(
                "{}: {} of {} broken, worst {:.3} at {}",
                tried.name, tried.broken, tried.cases, tried.worst, tried.at
            ));
        }
    }
    line("relations_cases", all, "cases");
    wrong
}
