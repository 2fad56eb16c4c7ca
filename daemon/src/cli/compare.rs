//! The command `compare`: parts lists side by side, over several waters, for a crew's need, on given supplies, at given prices.
//!
//! Reads a comparison file of its own kind; the settings of the boat are not needed. Writes tables to the terminal, JSON, or one page of HTML
//! that can be sent to a client. Mistakes in the file are reported all at once, with exit code 78.

#[path = "compare/json.rs"]
mod json;
#[path = "compare/text.rs"]
mod text;

use super::print::{print, print_json};
use crate::compare::{Compared, EXAMPLE, EXAMPLE_NAME};
use crate::publish::comparison;
use crate::settings::comparison::{parse, read_file};
use anyhow::Context;
use std::path::PathBuf;
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// The comparison file
    #[arg(value_name = "FILE", required_unless_present_any = ["example", "print_example"])]
    file: Option<PathBuf>,
    /// Compare the invented example that comes with the program
    #[arg(long, conflicts_with = "file")]
    example: bool,
    /// Print that example's file, to begin one's own with
    #[arg(long, conflicts_with_all = ["file", "example", "json", "html"])]
    print_example: bool,
    /// Print JSON
    #[arg(long)]
    json: bool,
    /// Write one page of HTML to this file, to print or to send
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Add a second page to it: every candidate in every water
    #[arg(long, requires = "html")]
    annex: bool,
}

/// Runs it.
pub fn main(arguments: &Arguments) -> anyhow::Result<ExitCode> {
    if arguments.print_example {
        print(EXAMPLE)?;
        return Ok(ExitCode::SUCCESS);
    }
    let comparison = match &arguments.file {
        Some(file) => read_file(file)?,
        None => parse(EXAMPLE, EXAMPLE_NAME)?,
    };
    let compared = Compared::new(comparison);
    if let Some(page) = &arguments.html {
        let html = comparison::page(&compared, arguments.annex, Some(crate::service::clock::system_date()))?;
        std::fs::write(page, html).with_context(|| format!("cannot write {}", page.display()))?;
    }
    match (arguments.json, &arguments.html) {
        (true, _) => print_json(&json::of(&compared))?,
        (false, Some(page)) => print(&format!("Written: {}\n", page.display()))?,
        (false, None) => print(&text::of(&compared))?,
    }
    Ok(ExitCode::SUCCESS)
}

#[cfg(test)]
#[path = "tests/compare.rs"]
mod tests;
