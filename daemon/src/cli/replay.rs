//! The command `replay`: a recorded log through the same engine that watches the live bus, as fast as possible.

use crate::engine::wall_clock::ClockMode;
use crate::engine::{Engine, Event, Input, Options, Output};
use crate::publish::replay_json::ReplayJson;
use crate::publish::text;
use crate::settings::Settings;
use crate::sources::candump_log::{self, Counts, Item};
use barrico_model::Monotonic;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Log as `candump -L` writes it, plain or gzip
    #[arg(value_name = "LOG")]
    log: PathBuf,
    /// One JSON object per line: senders, readings, states, runs, findings, and a summary at the end
    #[arg(long)]
    json: bool,
    /// Judge with the settings file; without this every sender of PGN 130567 is shown as a unit of its own, without a parts list
    #[arg(long)]
    with_settings: bool,
}

/// Runs it.
pub fn main(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let (settings, find_units) = if arguments.with_settings {
        (crate::settings::load(settings_file)?, false)
    } else {
        (Settings::unknown(), true)
    };
    let options = Options { clock: ClockMode::Recorded, find_units, transmit: false };
    let printer = Printer {
        out: std::io::BufWriter::with_capacity(1 << 16, std::io::stdout().lock()),
        json: arguments.json.then_some(ReplayJson),
        broken: None,
    };
    let mut replay = Replay {
        engine: Engine::new(Arc::new(settings), options),
        outputs: Vec::new(),
        printer,
        now: Monotonic(0),
    };
    replay.engine.handle(Monotonic(0), Input::Restored(Box::default()), &mut replay.outputs);
    let counts = candump_log::read(&arguments.log, &mut |now, item| replay.item(now, item))?;
    replay.finish(&counts)?;
    Ok(ExitCode::SUCCESS)
}

struct Replay<W: Write> {
    engine: Engine,
    outputs: Vec<Output>,
    printer: Printer<W>,
    now: Monotonic,
}

impl<W: Write> Replay<W> {
    fn item(&mut self, now: Monotonic, item: Item) {
        self.now = now;
        while let Some(deadline) = self.engine.next_deadline().filter(|deadline| *deadline <= now) {
            self.engine.handle_timeout(deadline, &mut self.outputs);
            self.print();
        }
        let input = match item {
            Item::Frame(frame) => Input::Frame(frame),
            Item::Date(wall_ms) => Input::WallClock(wall_ms),
            Item::Damaged { line, why } => Input::DamagedLine { line, why: why.to_string() },
            Item::Other => return,
        };
        self.engine.handle(now, input, &mut self.outputs);
        if !self.outputs.is_empty() {
            self.print();
        }
    }

    fn print(&mut self) {
        let wall = self.engine.wall(self.now);
        for output in std::mem::take(&mut self.outputs) {
            match output {
                Output::Event(event) => self.printer.event(&self.engine, wall, &event),
                // What a store would keep is confirmed at once: a replay keeps nothing.
                Output::Persist(ticket, _) => {
                    self.engine.handle(self.now, Input::Persisted(ticket), &mut self.outputs);
                }
                Output::Transmit(_) | Output::Reply { .. } => {}
            }
        }
    }

    fn finish(mut self, counts: &Counts) -> anyhow::Result<()> {
        self.engine.handle(self.now, Input::Stop, &mut self.outputs);
        self.print();
        let view = self.engine.view(self.now);
        self.printer.summary(counts, self.now, &view)
    }
}

struct Printer<W: Write> {
    out: W,
    json: Option<ReplayJson>,
    broken: Option<std::io::Error>,
}

impl<W: Write> Printer<W> {
    fn event(&mut self, engine: &Engine, wall: Option<i64>, event: &Event) {
        let result = match &self.json {
            Some(json) => json.event(&mut self.out, engine, wall, event),
            None => writeln!(self.out, "{}  {}", text::stamp(wall), text::event(engine, event)),
        };
        if let Err(error) = result {
            self.broken.get_or_insert(error);
        }
    }

    fn summary(
        mut self,
        counts: &Counts,
        now: Monotonic,
        view: &crate::engine::view::View,
    ) -> anyhow::Result<()> {
        if let Some(error) = self.broken.take() {
            return Err(error.into());
        }
        match &self.json {
            Some(json) => json.summary(&mut self.out, counts, now, view)?,
            None => {
                writeln!(
                    self.out,
                    "{} frames in {:.0} s, {} readings; {} damaged lines{}, {} steps of the clock, {} units",
                    counts.frames,
                    now.0 as f64 / 1000.0,
                    view.readings,
                    counts.damaged,
                    if counts.damaged == 0 {
                        String::new()
                    } else {
                        format!(" (the first is line {})", counts.first_damaged)
                    },
                    counts.clock_steps,
                    view.units.len(),
                )?;
            }
        }
        self.out.flush()?;
        Ok(())
    }
}
