//! The engine's own thread: it reads and writes the bus, takes letters, lets time pass, carries outputs out, and shows the view. It never waits for disk or network.
//!
//! The bus has no thread of its own: on a full one that would mean waking two threads for every few frames, which costs more than all that is done with them.

use super::clock::{self, Clock};
use super::frame_log::FrameLog;
use super::log;
use super::mailbox::{AllGone, Letter, Letters};
use crate::engine::view::View;
use crate::engine::{Engine, Input, Output, Record, Reply, Ticket};
use crate::sources::can_bus::{Brought, CanBus};
use barrico_model::Monotonic;
use barrico_n2k::Frame;
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;
use tokio::sync::watch;

/// The view is shown at most so often, ms: pages send once a second. The answer to a command does not wait for it. With sixteen units it costs 5 ms,
/// for which alerts wait.
const VIEW_MS: u64 = 1_000;
/// The system's date is looked at so often, ms.
const DATE_MS: u64 = 10_000;
/// Letters taken between two looks at the bus.
const LETTERS_PER_TURN: usize = 64;
/// Longest sleep: a thread that wakes once a second costs nothing.
const SLEEP: Duration = Duration::from_millis(1_000);

/// What the engine's thread works with.
pub struct EngineThread<K: FnMut(Vec<(Ticket, Record)>) -> Option<Input>> {
    /// The engine, restored.
    pub engine: Engine,
    /// Monotonic time.
    pub clock: Clock,
    /// Letters.
    pub letters: Letters,
    /// Keeps the records that one input brought, all or none; may answer at once.
    pub keep: K,
    /// Shows the view.
    pub view: watch::Sender<Arc<View>>,
    /// Frames that are put out, if a file was named.
    pub frames: Option<FrameLog>,
    /// The bus, if there is one.
    pub bus: Option<CanBus>,
    /// Take the system's date as right even if nothing says that it was set.
    pub trust_system_date: bool,
}

struct State {
    out: Vec<Output>,
    answers: BTreeMap<u64, Box<dyn FnOnce(Reply) + Send>>,
    next_request: u64,
    shown: Monotonic,
    dated: Option<Monotonic>,
    changed: bool,
}

/// How the loop goes on.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Turn {
    /// Nothing is left to take.
    On,
    /// More letters wait.
    More,
    /// The end.
    Over,
}

impl<K: FnMut(Vec<(Ticket, Record)>) -> Option<Input>> EngineThread<K> {
    /// Works until [`Input::Stop`] or until nobody can send any more. `out` is what the engine said when it was restored.
    pub fn run(mut self, out: Vec<Output>) {
        let mut state = State {
            out,
            answers: BTreeMap::new(),
            next_request: 0,
            shown: Monotonic(0),
            dated: None,
            changed: true,
        };
        let mut brought = Brought::default();
        let mut readable = false;
        loop {
            self.let_time_pass(self.clock.now(), &mut state);
            self.turn_bus(readable, &mut brought, &mut state);
            let turn = self.take_letters(&mut state);
            if turn == Turn::Over {
                break;
            }
            let now = self.clock.now();
            if let Some(bus) = &mut self.bus {
                bus.speak(now);
            }
            let deadlines = [self.engine.next_deadline(), self.bus.as_ref().map(CanBus::next_deadline)];
            let longest = match (turn, deadlines.into_iter().flatten().min()) {
                (Turn::More, _) => Duration::ZERO,
                (_, Some(until)) => Duration::from_millis(until.0.saturating_sub(now.0)).min(SLEEP),
                (_, None) => SLEEP,
            };
            readable = self.letters.wait(self.bus.as_ref().and_then(CanBus::waits_for), longest);
        }
        let now = self.clock.now();
        self.engine.handle(now, Input::Stop, &mut state.out);
        self.carry_out(now, &mut state);
        if let Some(bus) = self.bus.take() {
            bus.finish(self.clock);
        }
    }

    fn turn_bus(&mut self, readable: bool, brought: &mut Brought, state: &mut State) {
        let Some(bus) = &mut self.bus else { return };
        let now = self.clock.now();
        bus.turn(now, readable, brought);
        self.take_frames(now, brought.frames.drain(..), state);
        for input in brought.news.drain(..) {
            self.engine.handle(now, input, &mut state.out);
            self.carry_out(now, state);
        }
    }

    fn take_letters(&mut self, state: &mut State) -> Turn {
        for _ in 0..LETTERS_PER_TURN {
            match self.letters.take() {
                Ok(None) => return Turn::On,
                Ok(Some(Letter::Input(Input::Stop))) | Err(AllGone) => return Turn::Over,
                Ok(Some(letter)) => self.letter(letter, state),
            }
        }
        Turn::More
    }

    fn take_frames(&mut self, now: Monotonic, frames: impl Iterator<Item = Frame>, state: &mut State) {
        for frame in frames {
            self.engine.handle(now, Input::Frame(frame), &mut state.out);
            if !state.out.is_empty() {
                self.carry_out(now, state);
            }
        }
    }

    fn let_time_pass(&mut self, now: Monotonic, state: &mut State) {
        if state.dated.is_none_or(|at| at.plus_ms(DATE_MS) <= now) {
            state.dated = Some(now);
            if self.trust_system_date || clock::is_synchronised() {
                self.engine.handle(now, Input::WallClock(clock::system_date()), &mut state.out);
            }
        }
        if self.engine.next_deadline().is_none_or(|deadline| deadline <= now) {
            self.engine.handle_timeout(now, &mut state.out);
            state.changed = true;
        }
        self.carry_out(now, state);
        if state.changed && state.shown.plus_ms(VIEW_MS) <= now {
            state.shown = now;
            state.changed = false;
            self.view.send_replace(Arc::new(self.engine.view(now)));
        }
    }

    fn letter(&mut self, letter: Letter, state: &mut State) {
        let now = self.clock.now();
        match letter {
            Letter::Frames(frames) => self.take_frames(now, frames.into_iter(), state),
            Letter::Input(input) => self.engine.handle(now, input, &mut state.out),
            Letter::Command(command, answer) => {
                state.next_request += 1;
                state.answers.insert(state.next_request, answer);
                let input = Input::Command { request: state.next_request, command };
                self.engine.handle(now, input, &mut state.out);
                state.changed = true;
            }
        }
        self.carry_out(now, state);
    }

    fn carry_out(&mut self, now: Monotonic, state: &mut State) {
        // Keeping records may answer at once (a queue that is full), which may bring outputs of its own.
        while !state.out.is_empty() {
            let mut records = Vec::new();
            for output in std::mem::take(&mut state.out) {
                match output {
                    Output::Persist(ticket, record) => records.push((ticket, *record)),
                    other => self.carry_out_one(now, other, state),
                }
            }
            if !records.is_empty()
                && let Some(input) = (self.keep)(records)
            {
                self.engine.handle(now, input, &mut state.out);
            }
        }
    }

    fn carry_out_one(&mut self, now: Monotonic, output: Output, state: &mut State) {
        match output {
            Output::Reply { request, reply } => {
                // The view goes first: who is answered finds the page up to date.
                self.view.send_replace(Arc::new(self.engine.view(now)));
                if let Some(answer) = state.answers.remove(&request) {
                    answer(*reply);
                }
            }
            Output::Transmit(frame) => {
                if let Some(log) = &mut self.frames {
                    log.frame(self.engine.wall(now).unwrap_or(now.0 as i64), &frame);
                }
                // The only place where frames of the engine leave for a bus. What is not from a claimed address is refused there.
                if let Some(bus) = &mut self.bus {
                    bus.push(now, frame);
                }
            }
            Output::Event(event) => {
                state.changed = true;
                log::event(&self.engine, &event);
            }
            Output::Persist(..) => {}
        }
    }
}
