//! States of the unit and of its product line.

/// Operating state, by the words and numbers of NMEA 2000 PGN 130567 field 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum OperatingState {
    /// Not running.
    Stopped,
    /// From standstill to working pressure.
    Starting,
    /// Making product.
    Running,
    /// From working pressure to standstill.
    Stopping,
    /// Being flushed with product water.
    Flushing,
    /// Rinsing the product line or preservative out.
    Rinsing,
    /// Getting ready.
    Initiating,
    /// Worked by hand.
    Manual,
}

impl OperatingState {
    /// All states with their number on the bus.
    pub const ALL: [(u8, OperatingState); 8] = [
        (0, OperatingState::Stopped),
        (1, OperatingState::Starting),
        (2, OperatingState::Running),
        (3, OperatingState::Stopping),
        (4, OperatingState::Flushing),
        (5, OperatingState::Rinsing),
        (6, OperatingState::Initiating),
        (7, OperatingState::Manual),
    ];

    /// The state with this number on the bus; undefined numbers are no state.
    pub fn from_code(code: u8) -> Option<Self> {
        Self::ALL.iter().find(|(number, _)| *number == code).map(|(_, state)| *state)
    }

    /// The number on the bus.
    pub fn code(self) -> u8 {
        self as u8
    }

    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Stopped => "stopped",
            Self::Starting => "starting",
            Self::Running => "running",
            Self::Stopping => "stopping",
            Self::Flushing => "flushing",
            Self::Rinsing => "rinsing",
            Self::Initiating => "initiating",
            Self::Manual => "manual",
        }
    }

    /// The state with this name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, state)| state.name() == name).map(|(_, state)| *state)
    }
}

/// Where the product goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ProductRoute {
    /// Into the tank.
    Tank,
    /// Overboard or to the test outlet.
    Discard,
}

impl ProductRoute {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tank => "tank",
            Self::Discard => "discard",
        }
    }
}
