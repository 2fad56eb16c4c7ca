//! The command `listen`: who is on the bus, what each offers, and which readings the settings could take. It never sends anything.

use crate::engine::{Input, SourceState};
use crate::listen::survey::Survey;
use crate::publish::listen as publish;
use crate::service::clock::Clock;
use crate::service::mailbox::{Letter, mailbox};
use crate::settings;
use crate::sources::can_bus::{Brought, CanBus, Wire};
use crate::sources::candump_log::{self, Item};
use crate::sources::candump_pipe::{self, Pipe};
use anyhow::Context;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// Progress is told so often, s.
const PROGRESS_S: u64 = 10;
/// Ctrl-C is noticed within, ms.
const LOOK_MS: u64 = 200;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// A recorded log as `candump -L` writes it, plain or gzip, instead of the live bus
    #[arg(value_name = "LOG")]
    log: Option<PathBuf>,
    /// CAN interface to listen on; without this the one of the settings
    #[arg(long, value_name = "NAME", conflicts_with = "log")]
    interface: Option<String>,
    /// Candump text from a pipe instead of a CAN interface; `-` is standard input
    #[arg(long, value_name = "PIPE", conflicts_with_all = ["log", "interface"])]
    candump: Option<PathBuf>,
    /// How long to listen to the live bus, s; Ctrl-C ends it early and prints what was heard
    #[arg(long, default_value_t = 60, value_parser = clap::value_parser!(u64).range(1..=86_400))]
    seconds: u64,
    /// Short name of the unit in the proposed settings
    #[arg(long, default_value = "main")]
    unit: String,
    /// As one JSON object
    #[arg(long)]
    json: bool,
}

/// Runs it.
pub fn main(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<ExitCode> {
    anyhow::ensure!(
        settings::is_id(&arguments.unit),
        "`{}` is no short name of a unit: begin with a small letter, go on with letters and digits",
        crate::listen::words::plain(&arguments.unit)
    );
    let mut survey = Survey::default();
    match &arguments.log {
        Some(log) => {
            let counts = candump_log::read(log, &mut |now, item| {
                if let Item::Frame(frame) = item {
                    survey.take(now, &frame);
                }
            })?;
            if 0 < counts.damaged {
                eprintln!(
                    "{} damaged lines were left out, the first is line {}",
                    counts.damaged, counts.first_damaged
                );
            }
        }
        None => live(settings_file, arguments, &mut survey)?,
    }
    let mut out = std::io::stdout().lock();
    if arguments.json {
        writeln!(out, "{}", publish::json(&survey, &arguments.unit))?;
    } else {
        write!(out, "{}", publish::text(&survey, &arguments.unit))?;
    }
    Ok(ExitCode::SUCCESS)
}

fn live(settings_file: &Path, arguments: &Arguments, survey: &mut Survey) -> anyhow::Result<()> {
    let clock = Clock::start();
    let (mailbox, letters) = mailbox()?;
    // Listening only: there is no way to write in it.
    let mut bus = match &arguments.candump {
        Some(pipe) => {
            let (pipe, mailbox) = (Pipe::new(pipe), mailbox.clone());
            std::thread::Builder::new()
                .name("candump".to_owned())
                .spawn(move || candump_pipe::read(&pipe, &mailbox))?;
            None
        }
        None => Some(CanBus::new(Wire::Interface(interface(settings_file, arguments)?), true)),
    };
    let interrupted = interrupt()?;
    let end = clock.now().plus_ms(arguments.seconds * 1000);
    let mut progress = Progress { next_s: PROGRESS_S, whole_s: arguments.seconds };
    let (mut brought, mut readable) = (Brought::default(), false);
    while clock.now() < end && !interrupted.load(Ordering::Relaxed) {
        let now = clock.now();
        if let Some(bus) = &mut bus {
            bus.turn(now, readable, &mut brought);
        }
        while let Ok(Some(letter)) = letters.take() {
            match letter {
                Letter::Frames(frames) => brought.frames.extend(frames),
                Letter::Input(input) => brought.news.push(input),
                Letter::Command(..) => {}
            }
        }
        brought.frames.drain(..).for_each(|frame| survey.take(now, &frame));
        for input in brought.news.drain(..) {
            match input {
                Input::Source(SourceState::Ended) => return Ok(()),
                Input::Source(
                    SourceState::Open(text) | SourceState::Impaired(text) | SourceState::Failed(text),
                ) => eprintln!("{text}"),
                _ => {}
            }
        }
        progress.tell(now.0 / 1000, survey);
        let until = bus.as_ref().map_or(now.plus_ms(LOOK_MS), CanBus::next_deadline);
        let longest = Duration::from_millis(until.0.saturating_sub(now.0).min(LOOK_MS));
        readable = letters.wait(bus.as_ref().and_then(CanBus::waits_for), longest);
    }
    Ok(())
}

struct Progress {
    next_s: u64,
    whole_s: u64,
}

impl Progress {
    fn tell(&mut self, passed_s: u64, survey: &Survey) {
        if self.next_s <= passed_s {
            self.next_s = passed_s + PROGRESS_S;
            let (devices, frames) = (survey.devices.len(), survey.frames);
            eprintln!("{passed_s} of {} s: {devices} devices, {frames} frames", self.whole_s);
        }
    }
}

fn interface(settings_file: &Path, arguments: &Arguments) -> anyhow::Result<String> {
    if let Some(name) = &arguments.interface {
        return Ok(name.clone());
    }
    let settings = settings::load(settings_file).context(
        "no CAN interface was named, and the settings cannot be read: `barrico listen --interface can0`",
    )?;
    let bus =
        settings.bus.context("the settings name no CAN interface: `barrico listen --interface can0`")?;
    Ok(bus.interface)
}

/// Becomes true at Ctrl-C.
fn interrupt() -> anyhow::Result<Arc<AtomicBool>> {
    let asked = Arc::new(AtomicBool::new(false));
    let theirs = asked.clone();
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    std::thread::Builder::new().name("interrupt".to_owned()).spawn(move || {
        let heard = runtime.block_on(tokio::signal::ctrl_c());
        theirs.store(heard.is_ok(), Ordering::Relaxed);
    })?;
    Ok(asked)
}
