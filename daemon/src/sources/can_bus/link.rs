//! The link to the bus: what the calls on the socket returned, and what follows from it. Pure: no socket, no clock.
//!
//! | what is seen | what follows |
//! | --- | --- |
//! | no interface of that name; none with CAN | absent; tried again every [`RETRY_MS`] |
//! | kernel without CAN; not permitted; another error | told, tried again |
//! | ENETDOWN from read or write | a look at the interface decides: down, or up again already. Claims are void |
//! | down | the socket is kept: it goes on when the interface is up again |
//! | ENODEV, ENXIO, another index under the name, the name gone | the socket is dead; a new one is opened |
//! | carrier lost while up, or a bus-off error frame | bus-off; over when the driver says so, the carrier is back, or after down and up |
//! | error frame: passive | passive; over when the driver says active, or after [`PASSIVE_MS`] without another error while frames come |
//! | frames lost by the kernel or the adapter, messages given up | told as trouble until [`TROUBLE_MS`] without another |
//!
//! ENOBUFS and EAGAIN say nothing about the link; [`super::outgoing`] deals with them.

use super::bus_error::{BusError, Standing};
use super::words;
use crate::engine::SourceState;
use barrico_model::Monotonic;

/// From one attempt to open to the next, ms.
pub const RETRY_MS: u64 = 500;
/// From one look at the interface to the next, ms: whatever the socket does not tell is noticed within that time.
pub const LOOK_MS: u64 = 500;
/// Some drivers never tell that a controller is active again (common practice, no source).
pub const PASSIVE_MS: u64 = 60_000;
/// A loss is told for so long, ms, so that a person can see it.
pub const TROUBLE_MS: u64 = 60_000;

/// Errors of Linux that mean something here (asm-generic/errno.h).
pub mod errno {
    /// No such device or address.
    pub const ENXIO: i32 = 6;
    /// No such device.
    pub const ENODEV: i32 = 19;
    /// Not permitted.
    pub const EPERM: i32 = 1;
    /// Access denied.
    pub const EACCES: i32 = 13;
    /// Try again.
    pub const EAGAIN: i32 = 11;
    /// Address family not supported.
    pub const EAFNOSUPPORT: i32 = 97;
    /// Network is down.
    pub const ENETDOWN: i32 = 100;
    /// No room in the transmit queue.
    pub const ENOBUFS: i32 = 105;
}

/// What the interface of that name looks like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Look {
    /// Its index; `None`: there is no such interface.
    pub index: Option<u32>,
    /// It is up.
    pub up: bool,
    /// It has a carrier; `None`: not known.
    pub carrier: Option<bool>,
}

/// One thing that was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Seen {
    /// The socket is open, bound to the interface with this index.
    Opened(u32),
    /// It cannot be opened: the error.
    OpenFailed(i32),
    /// Reading or writing failed.
    Failed(i32),
    /// The interface was looked at.
    Looked(Look),
    /// A data frame, or several.
    Frames,
    /// An error frame.
    Error(BusError),
    /// Frames lost by the kernel on this socket so far.
    Lost(u64),
    /// Messages given up so far.
    GivenUp(u64),
}

/// What is to be done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// Open a socket, and say [`Seen::Opened`] or [`Seen::OpenFailed`].
    Open,
    /// Close it.
    Close,
    /// Look at the interface, and say [`Seen::Looked`] and [`Seen::Lost`].
    Look,
}

/// How the link stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    /// Nothing was tried yet.
    Starting,
    /// There is no such CAN interface.
    Absent,
    /// The kernel has no CAN.
    NoCan,
    /// Sockets for CAN are forbidden to this program.
    NotAllowed,
    /// Another error.
    CannotOpen(i32),
    /// The interface is down.
    Down,
    /// Up, part of the bus.
    Active,
    /// Up, error-passive.
    Passive,
    /// Up, but off the bus.
    BusOff,
}

/// What can be wrong for a while with a link that is part of the bus.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Trouble {
    /// This computer did not take frames in time.
    Lost,
    /// The adapter did not.
    Overflow,
    /// Messages of ours were given up.
    GivenUp,
    /// Nobody acknowledges.
    Unheard,
}

/// The machine.
#[derive(Clone, Debug)]
pub struct Link {
    interface: String,
    listen_only: bool,
    state: State,
    index: Option<u32>,
    close_due: bool,
    act_at: Monotonic,
    carrier_was_lost: bool,
    passive_until: Monotonic,
    lost: u64,
    given_up: u64,
    overflow_until: Option<Monotonic>,
    lost_until: Option<Monotonic>,
    given_up_until: Option<Monotonic>,
    unheard_until: Option<Monotonic>,
    /// Rises whenever what was said on the bus before counts no more.
    epoch: u64,
    told: Option<(State, Option<Trouble>)>,
    told_epoch: u64,
}

impl Link {
    /// A link that wants to be opened.
    pub fn new(interface: &str, listen_only: bool) -> Self {
        Self {
            interface: interface.to_owned(),
            listen_only,
            state: State::Starting,
            index: None,
            close_due: false,
            act_at: Monotonic(0),
            carrier_was_lost: false,
            passive_until: Monotonic(0),
            lost: 0,
            given_up: 0,
            overflow_until: None,
            lost_until: None,
            given_up_until: None,
            unheard_until: None,
            epoch: 0,
            told: None,
            told_epoch: 0,
        }
    }

    /// How it stands.
    pub fn state(&self) -> State {
        self.state
    }

    /// May frames be written now?
    pub fn may_write(&self) -> bool {
        matches!(self.state, State::Active | State::Passive)
    }

    /// Rises whenever claims and waiting messages are void.
    pub fn epoch(&self) -> u64 {
        self.epoch
    }

    /// What is to be done now, one thing at a time.
    pub fn due(&mut self, now: Monotonic) -> Option<Action> {
        if std::mem::take(&mut self.close_due) {
            return Some(Action::Close);
        }
        if now < self.act_at {
            return None;
        }
        if self.index.is_some() {
            self.act_at = now.plus_ms(LOOK_MS);
            Some(Action::Look)
        } else {
            self.act_at = now.plus_ms(RETRY_MS);
            Some(Action::Open)
        }
    }

    /// Until when nothing is to be done by itself.
    pub fn next_deadline(&self) -> Monotonic {
        if self.close_due { Monotonic(0) } else { self.act_at }
    }

    /// Takes what was seen.
    pub fn handle(&mut self, now: Monotonic, seen: Seen) {
        match seen {
            Seen::Opened(index) => {
                self.index = Some(index);
                self.epoch += 1;
                self.lost = 0;
                self.carrier_was_lost = false;
                // The look that follows at once says whether it is up.
                self.act_at = now;
            }
            Seen::OpenFailed(error) => {
                self.state = match error {
                    errno::ENODEV | errno::ENXIO => State::Absent,
                    errno::EAFNOSUPPORT => State::NoCan,
                    errno::EPERM | errno::EACCES => State::NotAllowed,
                    other => State::CannotOpen(other),
                };
            }
            Seen::Failed(error) => self.failed(now, error),
            Seen::Looked(look) => self.looked(now, look),
            Seen::Frames => {
                if self.state == State::Passive && self.passive_until <= now {
                    self.state = State::Active;
                }
            }
            Seen::Error(error) => self.error(now, error),
            Seen::Lost(lost) => {
                if self.lost < lost {
                    self.lost_until = Some(now.plus_ms(TROUBLE_MS));
                }
                self.lost = lost;
            }
            Seen::GivenUp(count) => {
                // What was given up because the link is down is no trouble of its own.
                if self.given_up < count && self.may_write() {
                    self.given_up_until = Some(now.plus_ms(TROUBLE_MS));
                }
                self.given_up = count;
            }
        }
    }

    fn failed(&mut self, now: Monotonic, error: i32) {
        match error {
            errno::ENETDOWN => {
                self.epoch += 1;
                self.act_at = now;
            }
            errno::ENODEV | errno::ENXIO => self.dead(now, State::Absent),
            other => self.dead(now.plus_ms(RETRY_MS), State::CannotOpen(other)),
        }
    }

    /// The socket is of no use any more.
    fn dead(&mut self, again: Monotonic, state: State) {
        if self.index.take().is_some() {
            self.close_due = true;
            self.epoch += 1;
        }
        self.state = state;
        self.act_at = again;
    }

    fn looked(&mut self, now: Monotonic, look: Look) {
        let Some(index) = self.index else { return };
        if look.index != Some(index) {
            self.dead(now, State::Absent);
            return;
        }
        let lost_carrier = look.up && look.carrier == Some(false);
        let was_lost = std::mem::replace(&mut self.carrier_was_lost, lost_carrier);
        let is_back = was_lost && look.carrier == Some(true);
        let before = self.state;
        self.state = match before {
            _ if !look.up => State::Down,
            // Once is no proof: some drivers raise the carrier a moment after they are up.
            _ if lost_carrier && was_lost => State::BusOff,
            _ if lost_carrier => before,
            State::BusOff if is_back => State::Active,
            State::BusOff | State::Passive => before,
            _ => State::Active,
        };
        let off = |state| matches!(state, State::BusOff | State::Down);
        if off(before) != off(self.state) {
            self.epoch += 1;
        }
    }

    fn error(&mut self, now: Monotonic, error: BusError) {
        let trouble = Some(now.plus_ms(TROUBLE_MS));
        if error.is_overflow() {
            self.overflow_until = trouble;
        }
        if error.is_unheard() {
            self.unheard_until = trouble;
        }
        if self.state == State::Passive {
            self.passive_until = now.plus_ms(PASSIVE_MS);
        }
        let up = matches!(self.state, State::Active | State::Passive | State::BusOff);
        let Some(standing) = error.standing().filter(|_| up) else { return };
        let before = self.state;
        self.state = match standing {
            Standing::Active => State::Active,
            Standing::Passive => State::Passive,
            Standing::Off => State::BusOff,
        };
        self.passive_until = now.plus_ms(PASSIVE_MS);
        if (before == State::BusOff) != (self.state == State::BusOff) {
            self.epoch += 1;
            self.act_at = self.act_at.min(now);
        }
    }

    /// What a person should know, when it changed. A link that was down for a moment between two looks is told again: every address must be claimed anew.
    pub fn tell(&mut self, now: Monotonic) -> Option<SourceState> {
        if self.state == State::Starting || self.close_due {
            return None;
        }
        let fact = (self.state, self.trouble(now));
        let bounced = self.told_epoch != self.epoch && matches!(self.state, State::Active | State::Passive);
        if self.told == Some(fact) && !bounced {
            return None;
        }
        self.told_epoch = self.epoch;
        self.told = Some(fact);
        Some(self.in_words(fact.1))
    }

    /// What is wrong with a link that is part of the bus.
    fn trouble(&self, now: Monotonic) -> Option<Trouble> {
        let lasts = |until: Option<Monotonic>| until.is_some_and(|until| now < until);
        let troubles = [
            (self.lost_until, Trouble::Lost),
            (self.overflow_until, Trouble::Overflow),
            (self.given_up_until, Trouble::GivenUp),
            (self.unheard_until, Trouble::Unheard),
        ];
        let standing = || troubles.into_iter().find(|(until, _)| lasts(*until));
        if self.state == State::Active { standing().map(|(_, trouble)| trouble) } else { None }
    }

    fn in_words(&self, trouble: Option<Trouble>) -> SourceState {
        let name = &self.interface;
        match (self.state, trouble) {
            (State::Active, None) => SourceState::Open(words::active(name, self.listen_only)),
            (State::Active, Some(trouble)) => SourceState::Impaired(words::trouble(name, trouble)),
            (State::Passive, _) => SourceState::Impaired(words::passive(name)),
            _ => SourceState::Failed(words::broken(name, self.state)),
        }
    }
}

#[cfg(test)]
mod tests;
