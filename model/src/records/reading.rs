//! One measured value and where it came from.

use crate::{Monotonic, Quantity};

/// Who sent a value on the bus: a NAME if the sender claimed its address, else the bare address.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SenderId {
    /// The 64-bit NAME of the device. It keeps its meaning over restarts.
    Name(u64),
    /// The address on the bus, when no claim was seen yet.
    Address(u8),
}

/// Where a value comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Origin {
    /// A message on the NMEA 2000 bus.
    Nmea2000 {
        /// The device.
        sender: SenderId,
        /// Parameter group.
        pgn: u32,
        /// Instance field of the message, 255 if it has none.
        instance: u8,
    },
    /// Entered by hand; the log entry has the name of the person.
    Hand {
        /// Number of the log entry.
        entry: u64,
    },
    /// Worked out from other readings.
    Computed(&'static str),
    /// Assumed, for lack of better; the text says on what ground.
    Assumed(&'static str),
}

/// One value of one quantity.
///
/// `value`, `random` and `systematic` are in the unit of the quantity's JSON key. The two errors are standard deviations: `random`
/// changes from reading to reading, `systematic` is the same in all readings of one instrument and so cancels in
/// a ratio to a baseline taken with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Reading {
    /// What was read.
    pub quantity: Quantity,
    /// The value.
    pub value: f64,
    /// Standard deviation from reading to reading.
    pub random: f64,
    /// Standard deviation that all readings of the instrument share.
    pub systematic: f64,
    /// Number of the instrument in the settings.
    pub instrument: u16,
    /// Where it comes from.
    pub origin: Origin,
    /// When it was taken.
    pub at: Monotonic,
}

/// Mean of the readings of one quantity over the steady part of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// What was read.
    pub quantity: Quantity,
    /// The mean.
    pub value: f64,
    /// Standard deviation of the mean from chance.
    pub random: f64,
    /// Standard deviation that all readings of the instrument share.
    pub systematic: f64,
    /// Number of the instrument in the settings.
    pub instrument: u16,
    /// Where it comes from.
    pub origin: Origin,
    /// How many readings it was made of.
    pub count: u32,
}
