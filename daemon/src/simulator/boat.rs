//! Simulator and engine together: frames and log entries go in, what the engine wants done comes out.
//!
//! Nothing is kept on disk: what the engine wants kept is confirmed at once. Pure: whoever drives it has the clock.

use super::Simulator;
use crate::engine::wall_clock::ClockMode;
use crate::engine::{Command, Engine, Input, Options, Output, Restored, SourceState, Ticket};
use crate::settings::Settings;
use barrico_model::Monotonic;
use barrico_n2k::Frame;
use std::sync::Arc;

/// The simulation is asked for so much at a time, ms.
const CHUNK_MS: u64 = 60_000;

/// One thing that happened aboard.
#[derive(Clone, Debug, PartialEq)]
pub enum Happening<'a> {
    /// A device on the bus sent a frame.
    Heard(&'a Frame),
    /// The engine wants something done.
    Wanted(&'a Output),
}

/// The simulated boat with the program aboard.
pub struct Boat {
    simulator: Simulator,
    engine: Engine,
    now: Monotonic,
    frames: Vec<(Monotonic, Frame)>,
    outputs: Vec<Output>,
    request: u64,
}

impl Boat {
    /// Puts the program aboard.
    pub fn new(simulator: Simulator, settings: Arc<Settings>) -> Self {
        let options = Options { clock: ClockMode::Live, find_units: false, transmit: true };
        let mut boat = Self {
            simulator,
            engine: Engine::new(settings, options),
            now: Monotonic(0),
            frames: Vec::new(),
            outputs: Vec::new(),
            request: 0,
        };
        let restored = Input::Restored(Box::new(Restored { boot: 1, ..Restored::default() }));
        boat.give(Monotonic(0), restored, &mut |_, _, _| {});
        let bus = Input::Source(SourceState::Open("a simulated bus".to_owned()));
        boat.give(Monotonic(0), bus, &mut |_, _, _| {});
        boat
    }

    /// The engine.
    pub fn engine(&self) -> &Engine {
        &self.engine
    }

    /// The simulation.
    pub fn simulator(&mut self) -> &mut Simulator {
        &mut self.simulator
    }

    /// Simulated time.
    pub fn now(&self) -> Monotonic {
        self.now
    }

    /// Lets time pass to this moment; tells what happened, in order.
    pub fn advance(&mut self, to: Monotonic, tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>)) {
        let mut reached = self.now;
        while reached < to {
            // While the bus sleeps there is nothing to ask for, and nothing to be judged from second to second.
            let next = self.simulator.next_at().plus_ms(1000);
            reached = to.min(reached.plus_ms(CHUNK_MS).max(next));
            let mut frames = std::mem::take(&mut self.frames);
            self.simulator.advance(reached, &mut frames);
            let log = self.simulator.take_log();
            let mut log = log.into_iter().peekable();
            for (at, frame) in frames.drain(..) {
                while let Some((written, command)) = log.next_if(|(written, _)| *written <= at) {
                    self.enter(written, command, tell);
                }
                self.wait(at, tell);
                tell(at, &self.engine, Happening::Heard(&frame));
                self.give(at, Input::Frame(frame), tell);
            }
            for (written, command) in log {
                self.enter(written, command, tell);
            }
            self.frames = frames;
        }
        self.wait(to, tell);
    }

    /// Somebody asks the engine for something now.
    pub fn ask(
        &mut self,
        request: u64,
        command: Command,
        tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>),
    ) {
        self.give(self.now, Input::Command { request, command: Box::new(command) }, tell);
    }

    /// The end: an open run is closed.
    pub fn stop(&mut self, tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>)) {
        self.give(self.now, Input::Stop, tell);
    }

    fn enter(
        &mut self,
        at: Monotonic,
        command: Command,
        tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>),
    ) {
        self.request += 1;
        let command = Input::Command { request: Self::CREW | self.request, command: Box::new(command) };
        let at = at.max(self.now);
        self.wait(at, tell);
        self.give(at, command, tell);
    }

    /// Requests with this bit are the simulated crew's own; nobody waits for the answer.
    pub const CREW: u64 = 1 << 63;

    fn wait(&mut self, until: Monotonic, tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>)) {
        self.now = self.now.max(until);
        if self.engine.next_deadline().is_some_and(|deadline| deadline <= until) {
            let mut outputs = std::mem::take(&mut self.outputs);
            self.engine.handle_timeout(until, &mut outputs);
            self.carry_out(until, outputs, tell);
        }
    }

    fn give(
        &mut self,
        at: Monotonic,
        input: Input,
        tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>),
    ) {
        let mut outputs = std::mem::take(&mut self.outputs);
        self.now = self.now.max(at);
        self.engine.handle(self.now, input, &mut outputs);
        self.carry_out(self.now, outputs, tell);
    }

    /// Tells everything and confirms what was to be kept.
    fn carry_out(
        &mut self,
        at: Monotonic,
        mut outputs: Vec<Output>,
        tell: &mut impl FnMut(Monotonic, &Engine, Happening<'_>),
    ) {
        while !outputs.is_empty() {
            let mut kept: Option<Ticket> = None;
            for output in outputs.drain(..) {
                if let Output::Persist(ticket, _) = &output {
                    kept = Some(*ticket);
                }
                tell(at, &self.engine, Happening::Wanted(&output));
            }
            if let Some(ticket) = kept {
                self.engine.handle(at, Input::Persisted(ticket), &mut outputs);
            }
        }
        self.outputs = outputs;
    }
}
