//! The command `demo`.

use std::process::ExitCode;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {}

/// Runs it.
pub fn main(_arguments: &Arguments) -> anyhow::Result<ExitCode> {
    anyhow::bail!("not there yet")
}
