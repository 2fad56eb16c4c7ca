//! One stream: the values of one field of one message of one sender.
//!
//! A stream learns its own interval, since senders keep very different ones, and gathers evidence on whether the field is fed by a
//! sensor at all: many senders fill a field with zero for lack of one, and some repeat a default for ever.

use barrico_model::records::SenderId;
use barrico_model::{Monotonic, Quantity};

/// Bounds of the learnt interval; three of them without a value make a stream stale. Below half a second a late
/// frame would count as a loss, above ten seconds a dead sensor would look alive for half a minute.
const INTERVAL_MS: (f64, f64) = (500.0, 10_000.0);

/// A value that has not moved by one bit for so long and so often is called unchanging (our choice).
const UNCHANGING_MS: u64 = 300_000;
const UNCHANGING_COUNT: u64 = 100;

/// Which field of a message.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// A temperature; the kind of the message says of what.
    Temperature,
    /// A pressure.
    Pressure,
    /// A tank level.
    Level,
    /// A voltage.
    Voltage,
    /// A current.
    Current,
    /// A power.
    Power,
    /// A frequency.
    Frequency,
    /// A turning speed.
    Speed,
    /// A field of the unit's own status message, PGN 130567.
    Status(Quantity),
}

/// What tells streams apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct StreamKey {
    /// Who sends.
    pub sender: SenderId,
    /// Parameter group.
    pub pgn: u32,
    /// Instance in the message, 255 if it has none.
    pub instance: u8,
    /// Source, type or line in the message, 255 if it has none.
    pub kind: u8,
    /// Field.
    pub field: Field,
}

/// What is known of a stream.
#[derive(Clone, Debug, PartialEq)]
pub struct Stream {
    /// What it is.
    pub key: StreamKey,
    /// Address it was heard from last; 255 if that is not known.
    pub address: u8,
    /// Newest value, in the unit of the quantity's JSON key.
    pub value: f64,
    /// When that came.
    pub at: Monotonic,
    /// Values so far.
    pub count: u64,
    /// Last time the value differed from the one before.
    pub changed_at: Monotonic,
    /// Values since then.
    pub count_since_change: u64,
    /// It has ever been anything but zero.
    pub ever_nonzero: bool,
    /// Told to the owner already that its zeros do not count.
    pub zero_told: bool,
    /// A unit takes a quantity from it.
    pub used: bool,
    interval_ms: f64,
}

impl Stream {
    /// A stream at its first value.
    pub fn new(key: StreamKey, now: Monotonic, value: f64) -> Self {
        Self {
            key,
            address: 255,
            value,
            at: now,
            count: 1,
            changed_at: now,
            count_since_change: 1,
            ever_nonzero: value != 0.0,
            zero_told: false,
            used: false,
            interval_ms: 2_500.0,
        }
    }

    /// The same, heard from this address.
    #[must_use]
    pub fn at_address(self, address: u8) -> Self {
        Self { address, ..self }
    }

    /// The next value. True if the stream counts from now on and did not before: it may be believed now, or it was silent for too long.
    pub fn take(&mut self, now: Monotonic, value: f64) -> bool {
        let counted = self.is_believed() && self.is_fresh(now);
        let gap_ms = (now.0.saturating_sub(self.at.0)) as f64;
        // A long gap is a loss, not an interval: only plausible gaps teach.
        if 0.0 < gap_ms && gap_ms <= 2.0 * INTERVAL_MS.1 {
            self.interval_ms += 0.1 * (gap_ms - self.interval_ms);
        }
        if value == self.value {
            self.count_since_change += 1;
        } else {
            self.changed_at = now;
            self.count_since_change = 1;
        }
        self.ever_nonzero |= value != 0.0;
        self.value = value;
        self.at = now;
        self.count += 1;
        !counted && self.is_believed()
    }

    /// Age at which it is stale, ms.
    pub fn stale_after_ms(&self) -> u64 {
        (3.0 * self.interval_ms.clamp(INTERVAL_MS.0, INTERVAL_MS.1)) as u64
    }

    /// Is the newest value still fresh?
    pub fn is_fresh(&self, now: Monotonic) -> bool {
        now.0 <= self.at.0 + self.stale_after_ms()
    }

    /// May the value be believed? A zero counts only after the field has been seen to be anything else.
    pub fn is_believed(&self) -> bool {
        self.ever_nonzero || !matches!(self.key.field, Field::Status(_))
    }

    /// Has it repeated the same number to the last bit for long?
    pub fn is_unchanging(&self) -> bool {
        UNCHANGING_COUNT <= self.count_since_change && self.changed_at.0 + UNCHANGING_MS <= self.at.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn key(field: Field) -> StreamKey {
        StreamKey { sender: SenderId::Address(7), pgn: 130_567, instance: 255, kind: 255, field }
    }

    #[test]
    fn a_zero_counts_only_after_something_else_was_seen() {
        let mut stream = Stream::new(key(Field::Status(Quantity::FeedPressure)), Monotonic(0), 0.0);
        assert!(!stream.is_believed());
        stream.take(Monotonic(2_500), 52.0);
        stream.take(Monotonic(5_000), 0.0);
        assert!(stream.is_believed());
        assert!(Stream::new(key(Field::Temperature), Monotonic(0), 0.0).is_believed());
    }

    #[test]
    fn staleness_follows_the_learnt_interval_within_bounds() {
        let mut stream = Stream::new(key(Field::Temperature), Monotonic(0), 20.0);
        for step in 1..200 {
            stream.take(Monotonic(step * 100), 20.0 + step as f64);
        }
        assert_eq!(stream.stale_after_ms(), 1_500);
        assert!(stream.is_fresh(Monotonic(19_900 + 1_500)) && !stream.is_fresh(Monotonic(19_900 + 1_501)));
    }

    #[test]
    fn a_default_that_never_moves_is_noticed_after_five_minutes() {
        let mut stream = Stream::new(key(Field::Temperature), Monotonic(0), 40.0);
        for step in 1..=150 {
            stream.take(Monotonic(step * 2_000), 40.0);
            assert_eq!(stream.is_unchanging(), step == 150, "step {step}");
        }
        stream.take(Monotonic(302_000), 40.01);
        assert!(!stream.is_unchanging());
    }
}
