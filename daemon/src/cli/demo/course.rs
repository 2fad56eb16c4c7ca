//! The simulated boat under way: days of history at once, then at the speed that was asked for.

use super::report::Tally;
use crate::engine::view::View;
use crate::engine::{Command, Engine, Event, Output};
use crate::publish::text;
use crate::simulator::{BEGIN_WALL_MS, Boat, FaultOrder, Happening};
use crate::web::ReplyTo;
use anyhow::Context;
use barrico_model::Monotonic;
use barrico_n2k::candump;
use std::collections::BTreeMap;
use std::fs::File;
use std::io::{BufWriter, Write};
use std::path::Path;
use std::sync::{Arc, mpsc};
use std::time::{Duration, Instant};
use tokio::sync::watch;

/// The boat moves on so often, in real time.
const STEP: Duration = Duration::from_millis(50);
/// The page gets a new view so often; it shows one a second.
const SHOW: Duration = Duration::from_millis(250);
/// Hours in which no unit runs pass so many times faster.
const REST_FASTER: f64 = 20.0;
/// History moves on by so much simulated time between two looks.
const HISTORY_STEP_MS: u64 = 300_000;
/// The main unit has run for so long when the demonstration begins, s: its product has settled.
const SHOWN_AFTER_S: u64 = 1_800;
/// A machine that cannot keep up does not run behind by more than this, in real time.
const BEHIND: Duration = Duration::from_millis(500);

/// What was asked for.
pub(super) struct Voyage {
    /// Simulated time that lies behind the boat at least.
    pub history: Monotonic,
    /// Faults, in hours after that.
    pub faults: Vec<FaultOrder>,
    /// Times faster than real time.
    pub speed: f64,
    /// Simulated hours after the history; `None`: for ever.
    pub hours: Option<f64>,
}

/// Boat, log lines and frame log.
pub(super) struct Course {
    boat: Boat,
    out: Outlet,
}

/// Where everything that happens goes.
struct Outlet {
    quiet: bool,
    /// During the days of history only findings are told.
    history: bool,
    frames: Option<BufWriter<File>>,
    line: Vec<u8>,
    failed: Option<std::io::Error>,
    replies: BTreeMap<u64, ReplyTo>,
    tally: Tally,
}

impl Course {
    /// Ready at the beginning of the passage.
    pub fn new(boat: Boat, quiet: bool, frames: Option<&Path>) -> anyhow::Result<Self> {
        let frames = frames
            .map(|path| File::create(path).with_context(|| format!("cannot write {}", path.display())))
            .transpose()?
            .map(BufWriter::new);
        let out = Outlet {
            quiet,
            history: false,
            frames,
            line: Vec::new(),
            failed: None,
            replies: BTreeMap::new(),
            tally: Tally::default(),
        };
        Ok(Self { boat, out })
    }

    /// Days that lie behind the boat, without waiting, until the main unit has run for a while; `show` is called after every hour or run.
    pub fn history(&mut self, days: Monotonic, show: &mut impl FnMut(&Self)) -> anyhow::Result<()> {
        self.boat.simulator().set_bus_sleeps(true);
        self.out.history = true;
        let runs =
            |course: &mut Self| course.boat.simulator().main_runs_s().is_some_and(|s| SHOWN_AFTER_S <= s);
        while self.boat.now() < days || !runs(self) {
            let next = self.boat.simulator().next_at();
            self.run_to(self.boat.now().plus_ms(HISTORY_STEP_MS).max(next))?;
            show(self);
        }
        self.out.history = false;
        self.boat.simulator().set_bus_sleeps(false);
        self.out.tally.begin();
        Ok(())
    }

    /// Faults, in hours from now.
    pub fn faults(&mut self, orders: &[FaultOrder]) {
        let now_h = self.boat.now().0 as f64 / super::HOUR_MS;
        for order in orders {
            self.boat.simulator().add_fault(FaultOrder { from_h: now_h + order.from_h, ..*order });
        }
    }

    /// The whole voyage without waiting and without a page.
    pub fn rush(&mut self, voyage: &Voyage) -> anyhow::Result<String> {
        self.history(voyage.history, &mut |_| {})?;
        self.faults(&voyage.faults);
        let hours = voyage.hours.unwrap_or(0.0);
        self.run_to(self.boat.now().plus_ms((hours * super::HOUR_MS) as u64))?;
        self.finish()?;
        Ok(self.out.tally.text(&self.view(), self.boat.engine(), &voyage.faults))
    }

    /// Lets time pass without waiting.
    fn run_to(&mut self, to: Monotonic) -> anyhow::Result<()> {
        let Self { boat, out } = self;
        boat.advance(to, &mut |at, engine, happening| out.take(at, engine, &happening));
        out.check()
    }

    /// The view at this moment.
    pub fn view(&self) -> Arc<View> {
        Arc::new(self.boat.engine().view(self.boat.now()))
    }

    /// Days of history, then on at the speed that was asked for, until the end or for ever.
    #[expect(clippy::disallowed_methods, reason = "this loop is the clock of the demonstration")]
    pub fn sail(
        mut self,
        voyage: &Voyage,
        questions: &mpsc::Receiver<(Command, ReplyTo)>,
        view: &watch::Sender<Arc<View>>,
    ) -> anyhow::Result<()> {
        let mut shown = Instant::now();
        self.history(voyage.history, &mut |course| {
            let now = Instant::now();
            if SHOW <= now - shown {
                shown = now;
                view.send_replace(course.view());
            }
        })?;
        self.faults(&voyage.faults);
        let end = voyage.hours.map(|hours| self.boat.now().plus_ms((hours * super::HOUR_MS) as u64));
        let mut then = Instant::now();
        let mut request = 0;
        while end.is_none_or(|end| self.boat.now() < end) {
            view.send_replace(self.view());
            let shown = then;
            while Instant::now() - shown < SHOW {
                match questions.recv_timeout(STEP) {
                    Ok((command, reply)) => {
                        request += 1;
                        self.ask(request, command, reply)?;
                        view.send_replace(self.view());
                    }
                    Err(mpsc::RecvTimeoutError::Timeout) => {}
                    Err(mpsc::RecvTimeoutError::Disconnected) => return self.finish(),
                }
                let now = Instant::now();
                let passed = (now - then).min(BEHIND).as_secs_f64() * 1000.0;
                then = now;
                let faster = if self.boat.simulator().is_busy() { 1.0 } else { REST_FASTER };
                let to = self.boat.now().plus_ms((passed * voyage.speed * faster) as u64);
                self.run_to(end.map_or(to, |end| to.min(end)))?;
            }
        }
        self.finish()
    }

    fn ask(&mut self, request: u64, command: Command, reply: ReplyTo) -> anyhow::Result<()> {
        let Self { boat, out } = self;
        out.replies.insert(request, reply);
        boat.ask(request, command, &mut |at, engine, happening| out.take(at, engine, &happening));
        out.check()
    }

    /// Closes the open run and the frame log.
    pub fn finish(&mut self) -> anyhow::Result<()> {
        let Self { boat, out } = self;
        boat.stop(&mut |at, engine, happening| out.take(at, engine, &happening));
        if let Some(frames) = &mut out.frames {
            frames.flush().context("the frame log cannot be written")?;
        }
        out.check()
    }
}

impl Outlet {
    fn take(&mut self, at: Monotonic, engine: &Engine, happening: &Happening<'_>) {
        match happening {
            Happening::Heard(frame) => self.frame(at, "can0", frame),
            Happening::Wanted(Output::Transmit(frame)) => self.frame(at, "barrico0", frame),
            Happening::Wanted(Output::Event(event)) => self.event(at, engine, event),
            Happening::Wanted(Output::Reply { request, reply }) => {
                if let Some(asker) = self.replies.remove(request) {
                    // Whoever asked may have given up.
                    let _ = asker.send((**reply).clone());
                }
            }
            Happening::Wanted(Output::Persist(..)) => {}
        }
    }

    fn frame(&mut self, at: Monotonic, interface: &str, frame: &barrico_n2k::Frame) {
        let Some(file) = self.frames.as_mut().filter(|_| self.failed.is_none()) else { return };
        self.line.clear();
        candump::write_line(&mut self.line, (BEGIN_WALL_MS + at.0 as i64) * 1000, interface, frame);
        self.failed = file.write_all(&self.line).err();
    }

    fn event(&mut self, at: Monotonic, engine: &Engine, event: &Event) {
        self.tally.count(event);
        let told = match event {
            Event::Reading { .. } => false,
            Event::Finding { .. } => true,
            _ => !self.history,
        };
        if told && !self.quiet {
            let line = format!("{} {}", text::stamp(engine.wall(at)), text::event(engine, event));
            // Nothing can be done about a closed standard error.
            let _ = writeln!(std::io::stderr(), "{line}");
        }
    }

    fn check(&mut self) -> anyhow::Result<()> {
        match self.failed.take() {
            Some(why) => Err(why).context("the frame log cannot be written"),
            None => Ok(()),
        }
    }
}
