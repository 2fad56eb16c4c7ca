//! The command `demo`: the whole program on a simulated boat.
//!
//! One thread has the boat and the engine; this one has the page. Nothing is kept on disk unless frames are asked for.

mod course;
mod report;

use crate::simulator::{self, Boat, FAULTS, Fault, FaultOrder, Scenario, Simulator};
use crate::web::{App, Commands, Secrets, check_page, serve};
use anyhow::Context;
use barrico_model::Monotonic;
use course::{Course, Voyage};
use std::fmt::Write as _;
use std::io::Write as _;
use std::net::{SocketAddr, TcpListener};
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::{Arc, mpsc};
use tokio::sync::{oneshot, watch};

/// Days that lie behind the boat when the page opens: enough for a baseline and a chart.
const HISTORY_DAYS: u64 = 6;
/// Milliseconds of a day and of an hour.
const DAY_MS: u64 = 86_400_000;
const HOUR_MS: f64 = 3.6e6;
/// Slowest and fastest: real time, and a day in a second.
const SPEED: (f64, f64) = (1.0, 86_400.0);
/// Longest simulation: a year.
const HOURS_MAX: f64 = 8766.0;
/// Commands that wait for the engine; more than the page's connections.
const COMMANDS_MAX: usize = 64;

/// Options of the command.
#[derive(Debug, clap::Args)]
pub struct Arguments {
    /// Address of the page; port 0 takes any free one
    #[arg(long, value_name = "ADDRESS:PORT", default_value = "127.0.0.1:8417")]
    bind: SocketAddr,
    /// How many times faster than real time; 3600 is an hour in a second. Hours without a run pass 20 times faster still
    #[arg(long, value_name = "TIMES", default_value_t = 300.0, value_parser = speed)]
    speed: f64,
    /// Let something go wrong, so many simulated hours after the days of history (without hours: at once); may be given several times.
    /// A name that does not exist lists all
    #[arg(long, value_name = "NAME[@HOURS]")]
    fault: Vec<String>,
    /// Another number makes another sea, other parts and other chance
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// Stop after so many simulated hours
    #[arg(long, value_name = "HOURS", value_parser = hours)]
    hours: Option<f64>,
    /// Write every frame to this file as a candump log: the boat's on can0, barrico's own on barrico0
    #[arg(long, value_name = "FILE")]
    frames: Option<PathBuf>,
    /// Without a page and without waiting; needs --hours
    #[arg(long, requires = "hours")]
    headless: bool,
    /// No log lines
    #[arg(long)]
    quiet: bool,
}

fn bounded(text: &str, (low, high): (f64, f64)) -> Result<f64, String> {
    let value: f64 = text.parse().map_err(|_| format!("`{text}` is not a number"))?;
    if low <= value && value <= high { Ok(value) } else { Err(format!("from {low} to {high}")) }
}

fn speed(text: &str) -> Result<f64, String> {
    bounded(text, SPEED)
}

fn hours(text: &str) -> Result<f64, String> {
    bounded(text, (0.0, HOURS_MAX))
}

/// Runs it.
pub fn main(arguments: &Arguments) -> anyhow::Result<ExitCode> {
    let mut settings = simulator::settings()?;
    settings.page.bind = arguments.bind;
    let settings = Arc::new(settings);
    let voyage = Voyage {
        history: Monotonic(HISTORY_DAYS * DAY_MS),
        faults: arguments.fault.iter().map(|text| fault_order(text)).collect::<anyhow::Result<_>>()?,
        speed: arguments.speed,
        hours: arguments.hours,
    };
    let simulator = Simulator::new(arguments.seed, Scenario::default(), &settings)?;
    let boat = Boat::new(simulator, Arc::clone(&settings));
    let mut course = Course::new(boat, arguments.quiet, arguments.frames.as_deref())?;
    if arguments.headless {
        let summary = course.rush(&voyage)?;
        write!(std::io::stdout(), "{summary}")?;
    } else {
        with_page(listen(&arguments.bind, &settings)?, course, settings, voyage)?;
    }
    Ok(ExitCode::SUCCESS)
}

fn listen(bind: &SocketAddr, settings: &crate::settings::Settings) -> anyhow::Result<TcpListener> {
    check_page(&settings.page)?;
    TcpListener::bind(bind).with_context(|| {
        format!("the page cannot have {bind}; another one: `--bind 127.0.0.1:0` takes any free port")
    })
}

fn with_page(
    listener: TcpListener,
    course: Course,
    settings: Arc<crate::settings::Settings>,
    voyage: Voyage,
) -> anyhow::Result<()> {
    let address = listener.local_addr()?;
    let (view, watched) = watch::channel(course.view());
    let (asked, questions) = mpsc::sync_channel(COMMANDS_MAX);
    let commands = Commands::new(move |command, reply| asked.try_send((command, reply)).is_ok());
    let app = App { view: watched, commands, settings, secrets: Secrets::random()? };
    let (done, over) = oneshot::channel();
    let sailing = std::thread::Builder::new().name("boat".to_owned()).spawn(move || {
        let result = course.sail(&voyage, &questions, &view);
        // The page may be gone already.
        let _ = done.send(());
        result
    })?;
    writeln!(std::io::stdout(), "http://{address}/")?;
    std::io::stdout().flush()?;
    let runtime = tokio::runtime::Builder::new_current_thread().enable_io().enable_time().build()?;
    runtime.block_on(serve(listener, app, async {
        // An end of the thread is an end, however it came.
        let _ = over.await;
    }))?;
    match sailing.join() {
        Ok(result) => result,
        Err(_) => anyhow::bail!("the simulated boat has stopped"),
    }
}

/// A fault, in hours after the beginning.
fn fault_order(text: &str) -> anyhow::Result<FaultOrder> {
    let (name, hours) = match text.split_once('@') {
        Some((name, hours)) => {
            let within = bounded(hours, (0.0, HOURS_MAX));
            (name, within.map_err(|why| anyhow::anyhow!("--fault {text}: hours: {why}"))?)
        }
        None => (text, 0.0),
    };
    let Some(fault) = Fault::from_name(name) else {
        anyhow::bail!("there is no fault `{name}`; there are:\n{}", fault_list());
    };
    Ok(FaultOrder { fault, from_h: hours })
}

fn fault_list() -> String {
    let mut list = String::new();
    for entry in &FAULTS {
        // Writing to a String cannot fail.
        let _ = writeln!(list, "  {:<27} {}", entry.name, entry.line);
    }
    list.trim_end().to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_has_a_name_and_perhaps_an_hour() {
        let order = fault_order("pump-wear@12.5").unwrap();
        assert_eq!((order.fault, order.from_h), (Fault::PumpWear, 12.5));
        assert_eq!(fault_order("fouling").unwrap().from_h, 0.0);
        assert!(fault_order("fouling@soon").unwrap_err().to_string().contains("`soon` is not a number"));
        let unknown = fault_order("rust").unwrap_err().to_string();
        for entry in &FAULTS {
            assert!(unknown.contains(entry.name) && unknown.contains(entry.line));
        }
    }

    #[test]
    fn speed_is_bounded() {
        assert!(speed("1").is_ok() && speed("86400").is_ok());
        assert!(
            speed("0.9").is_err() && speed("86401").is_err() && speed("nan").is_err() && speed("x").is_err()
        );
    }
}
