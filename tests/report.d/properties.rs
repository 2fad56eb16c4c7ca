//! Prints the worst relative error of each seawater property against its published check values, and how many were compared.
//!
//! The values and their sources are in `barrico_model::seawater::check_values`. The exit status is 1 when one of them lies outside
//! its tolerance; which one, with its source, goes to standard error.

#![expect(clippy::print_stdout, reason = "printing is what a report does")]

use barrico_model::seawater::check_values;
use std::process::ExitCode;

fn main() -> ExitCode {
    for worst in check_values::worst_by_property() {
        println!("{}_values = {} values", worst.property, worst.count);
        println!("{}_worst_error = {:.2e} relative", worst.property, worst.worst.relative_error().abs());
        eprintln!("{}: worst at {} ({})", worst.property, worst.worst.label, worst.worst.source);
    }
    let outside: Vec<_> = check_values::all().into_iter().filter(|value| !value.holds()).collect();
    for value in &outside {
        eprintln!(
            "{}, {}: {} computed, {} in {}",
            value.property, value.label, value.ours, value.expected, value.source
        );
    }
    ExitCode::from(u8::from(!outside.is_empty()))
}
