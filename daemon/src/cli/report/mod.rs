//! The command `report`: documents about a unit that leave the boat.
//!
//! So far one kind, chosen by its own option: `--acceptance`. It reads and writes no record; `--html` writes the file that is named and no other.

mod acceptance;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
#[command(group = clap::ArgGroup::new("kind").required(true).args(["acceptance"]))]
pub struct Arguments {
    /// Acceptance record: three sets of readings, ten minutes apart, after a rinse, against the minimum of the elements' sheets.
    /// Exit status: 0 meets the minimum, 3 below it, 4 cannot tell, 5 not valid or not steady
    #[arg(long)]
    acceptance: bool,
    #[command(flatten)]
    with: acceptance::Options,
    /// Short name of the unit in the settings; not needed if there is only one
    #[arg(long, value_name = "ID")]
    unit: Option<String>,
    /// Write a document to print, one self-contained HTML file
    #[arg(long, value_name = "FILE")]
    html: Option<PathBuf>,
    /// Print JSON
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn main(settings: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    acceptance::main(settings, arguments)
}
