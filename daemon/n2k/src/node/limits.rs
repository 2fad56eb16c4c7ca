//! How much a node sends at most, whatever others do to it.
//!
//! A bus of 250 kbit/s carries about 1,900 frames a second, and a steering pilot lives on it. Everything that a stranger can make
//! this node send is paid for from a [`Bucket`]; when it is empty the frame waits or is dropped, and is counted. The figures are
//! ours (no source); together they are per node: claims 10 frames at once and 10 a second, everything but alerts 10 at once and 100
//! a second, alerts 40 at once and 250 a second. So strangers can cause at most 110 frames a second, 6 % of the bus.

/// A number at once, and one more each so many milliseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rate {
    /// At once.
    pub burst: u32,
    /// Time until one more is allowed, ms.
    pub every_ms: u64,
}

/// Address claims. A walk over addresses takes one claim a step; the recorded loser of a contention took one in 50 ms.
pub const CLAIMS: Rate = Rate { burst: 10, every_ms: 100 };
/// Frames of everything but claims and alerts. Product information, the longest answer, then takes a tenth of a second, far below
/// the 750 ms that receivers wait; and a queue of ten frames in a driver does not overflow.
pub const FRAMES: Rate = Rate { burst: 10, every_ms: 10 };
/// Frames of alerts: text and alert of two findings (19 frames each) go out at once.
pub const ALERT_FRAMES: Rate = Rate { burst: 40, every_ms: 4 };
/// Answers that others ask for and that nobody else needs: refusals, acknowledges, transport control. The busiest recorded network
/// has about one refusal a second.
pub const REPLIES: Rate = Rate { burst: 10, every_ms: 100 };
/// Events told to the owner that a stranger can cause at will.
pub const EVENTS: Rate = Rate { burst: 10, every_ms: 1_000 };
/// Shortest time between two of the same long answer, ms: 126996 has 20 frames. Requests in between are answered together.
pub const SAME_ANSWER_MS: u64 = 1_000;
/// Shortest time between two requesters' lists of groups, ms.
pub const LISTS_MS: u64 = 500;
/// Requesters that may wait for the lists of groups; a boat has one or two displays that ask.
pub const LISTS_WAITING: usize = 8;
/// Shortest time between two outputs of what is to be stored, ms: each is a write to a memory card.
pub const STORE_MS: u64 = 10_000;
/// Messages that may wait to be sent.
pub const QUEUED_MESSAGES: usize = 32;

/// A token bucket on a millisecond clock. A clock that steps back counts as one that stands.
#[derive(Clone, Copy, Debug)]
pub struct Bucket {
    rate: Rate,
    tokens: u32,
    since_ms: u64,
}

impl Bucket {
    /// A full bucket.
    #[must_use]
    pub const fn new(rate: Rate) -> Self {
        Self { rate, tokens: rate.burst, since_ms: 0 }
    }

    fn refill(&mut self, now_ms: u64) {
        let more = now_ms.saturating_sub(self.since_ms) / self.rate.every_ms;
        if more >= u64::from(self.rate.burst - self.tokens) {
            self.tokens = self.rate.burst;
            self.since_ms = self.since_ms.max(now_ms);
        } else {
            self.tokens += more as u32;
            self.since_ms += more * self.rate.every_ms;
        }
    }

    /// Takes one if there is one.
    pub fn take(&mut self, now_ms: u64) -> bool {
        self.refill(now_ms);
        let there = self.tokens > 0;
        self.tokens -= u32::from(there);
        there
    }

    /// When there is one; `now_ms` if there is one already.
    #[must_use]
    pub fn next_at(&self, now_ms: u64) -> u64 {
        let mut copy = *self;
        copy.refill(now_ms);
        if copy.tokens > 0 { now_ms } else { copy.since_ms + self.rate.every_ms }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn burst_then_rate() {
        let mut bucket = Bucket::new(Rate { burst: 3, every_ms: 10 });
        let taken =
            |bucket: &mut Bucket, now_ms| std::iter::from_fn(|| bucket.take(now_ms).then_some(())).count();
        assert_eq!(taken(&mut bucket, 1000), 3);
        assert_eq!(bucket.next_at(1000), 1010);
        assert_eq!(taken(&mut bucket, 1009), 0);
        assert_eq!(taken(&mut bucket, 1010), 1);
        assert_eq!(taken(&mut bucket, 1035), 2, "the half token is kept");
        assert_eq!(taken(&mut bucket, 1040), 1);
        assert_eq!(taken(&mut bucket, 500), 0, "a step back gives nothing");
        assert_eq!(taken(&mut bucket, 9_000_000), 3, "no more than the burst");
    }
}
