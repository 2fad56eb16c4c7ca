//! The command `export`.

use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {}

/// Runs it.
pub fn main(_settings: &std::path::Path, _arguments: &Arguments) -> anyhow::Result<ExitCode> {
    anyhow::bail!("not there yet")
}
