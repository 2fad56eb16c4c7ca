//! The command line: one file per command. Errors here are `anyhow`; what people type is read by clap.

mod abilities;
mod baseline;
mod check;
mod compare;
mod demo;
mod diagnose;
mod expect;
mod expect_table;
mod explain;
mod export;
mod figures;
mod given;
mod ground;
mod handover;
mod history;
mod listen;
mod log;
mod log_round;
mod performance;
mod print;
mod replay;
mod report;
mod run;
mod send;

use clap::{Parser, Subcommand};
use std::path::PathBuf;
use std::process::ExitCode;

/// Watches the seawater reverse-osmosis unit of a boat: what it should make in this water, whether it does, and if not, which
/// part. It reads and reports; it never starts, stops or adjusts anything, and it is no protection: keep the unit's own cut-outs.
#[derive(Debug, Parser)]
#[command(name = "barrico", version, propagate_version = true, max_term_width = 100)]
struct Arguments {
    /// Settings file
    #[arg(long, global = true, value_name = "FILE", default_value = "/etc/barrico/barrico.toml")]
    settings: PathBuf,
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Show the whole program on a simulated boat; needs no hardware and no settings
    Demo(demo::Arguments),
    /// Watch the unit: the daemon
    Run(run::Arguments),
    /// Run a recorded candump log through the same engine, as fast as possible
    Replay(replay::Arguments),
    /// Listen to the boat network: who is there, what each offers, and a proposal for the settings; sends nothing
    Listen(listen::Arguments),
    /// Check the settings and tell what the fitted sensors allow to find
    Check(check::Arguments),
    /// Compute what this unit should make in given water
    Expect(expect::Arguments),
    /// Compare parts lists over several waters: output, power, hours, fuel, cost, and with a part failed
    Compare(compare::Arguments),
    /// Judge readings without a daemon: from options, or from a case file
    Diagnose(diagnose::Arguments),
    /// Write down readings and events, import tables, amend, strike out, list
    Log(log::Arguments),
    /// Take, show or end the record of the sound unit that later runs are compared with
    Baseline(baseline::Arguments),
    /// Explain a finding: what it means, why it is raised, what to do and what not
    Explain(explain::Arguments),
    /// Write a document about the unit: the acceptance record
    Report(report::Arguments),
    /// Write the records out as CSV or JSON lines
    Export(export::Arguments),
}

/// Runs the program with the arguments of the process.
pub fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let settings = arguments.settings.as_path();
    let result = match arguments.command {
        Command::Demo(arguments) => demo::main(&arguments),
        Command::Run(arguments) => run::main(settings, &arguments),
        Command::Replay(arguments) => replay::main(settings, &arguments),
        Command::Listen(arguments) => listen::main(settings, &arguments),
        Command::Check(arguments) => check::main(settings, &arguments),
        Command::Expect(arguments) => expect::main(settings, &arguments),
        Command::Compare(arguments) => compare::main(&arguments),
        Command::Diagnose(arguments) => diagnose::main(settings, &arguments),
        Command::Log(arguments) => log::main(settings, &arguments),
        Command::Baseline(arguments) => baseline::main(settings, &arguments),
        Command::Explain(arguments) => explain::main(&arguments),
        Command::Report(arguments) => report::main(settings, &arguments),
        Command::Export(arguments) => export::main(settings, &arguments),
    };
    result.unwrap_or_else(|error| report(&error))
}

/// Prints an error and gives its exit code: 78 for settings, 1 for the rest.
fn report(error: &anyhow::Error) -> ExitCode {
    use std::io::Write;
    if let Some(problems) = error.downcast_ref::<crate::settings::Problems>() {
        // Nothing can be done about a closed standard error.
        let _ = write!(std::io::stderr(), "{problems}");
        return ExitCode::from(crate::settings::Problems::EXIT_CODE);
    }
    let _ = writeln!(std::io::stderr(), "barrico: {error:#}");
    ExitCode::FAILURE
}
