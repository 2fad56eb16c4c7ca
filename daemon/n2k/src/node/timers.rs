//! Everything a node waits for, in one list.

/// What is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Timer {
    /// Ask everybody for their claims.
    AskClaims,
    /// Say our claim: it had to wait for the rate limit or for chance.
    Claim,
    /// The phase of claiming ends.
    Phase,
    /// A challenger of somebody's address was not answered.
    Senders,
    /// A message received in packets is late.
    Transport,
    /// A repeated answer may go out.
    Answers,
    /// The next requester gets the lists of groups.
    Lists,
    /// Heartbeat.
    Heartbeat,
    /// What has changed may be stored.
    Store,
    /// The next frame may go out.
    Outbox,
}

impl Timer {
    /// All, in the order in which they run when several are due.
    pub(super) const ALL: [Self; 10] = [
        Self::AskClaims,
        Self::Claim,
        Self::Phase,
        Self::Senders,
        Self::Transport,
        Self::Answers,
        Self::Lists,
        Self::Heartbeat,
        Self::Store,
        Self::Outbox,
    ];
}

/// When each is due.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Timers([Option<u64>; Timer::ALL.len()]);

impl Timers {
    pub(super) fn set(&mut self, timer: Timer, at_ms: impl Into<Option<u64>>) {
        self.0[timer as usize] = at_ms.into();
    }

    pub(super) fn clear(&mut self, timer: Timer) {
        self.set(timer, None);
    }

    pub(super) fn at(&self, timer: Timer) -> Option<u64> {
        self.0[timer as usize]
    }

    pub(super) fn next(&self) -> Option<u64> {
        self.0.iter().flatten().min().copied()
    }

    /// Whether it is due; if so it is switched off.
    pub(super) fn take_due(&mut self, timer: Timer, now_ms: u64) -> bool {
        let due = self.at(timer).is_some_and(|at_ms| at_ms <= now_ms);
        if due {
            self.clear(timer);
        }
        due
    }
}
