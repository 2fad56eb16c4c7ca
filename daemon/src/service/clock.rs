//! The only place that reads a clock.

use barrico_model::{Monotonic, WallMs};
use std::time::{Instant, SystemTime, UNIX_EPOCH};

/// There since the system's clock was set from the network (systemd-timesyncd).
const SYNCHRONISED: &str = "/run/systemd/timesync/synchronized";

/// Monotonic time since it was made.
#[derive(Clone, Copy, Debug)]
pub struct Clock(Instant);

impl Clock {
    /// Starts at zero.
    #[expect(
        clippy::disallowed_methods,
        reason = "the shell reads the clock once, here, and hands it on as a number"
    )]
    pub fn start() -> Self {
        Self(Instant::now())
    }

    /// Time since the start.
    pub fn now(&self) -> Monotonic {
        Monotonic(self.0.elapsed().as_millis() as u64)
    }
}

/// What the system's clock says, trusted or not.
#[expect(clippy::disallowed_methods, reason = "the shell reads the clock here and hands it on as a number")]
pub fn system_date() -> WallMs {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |since| since.as_millis() as WallMs)
}

/// Was the system's clock set from the network since the computer started?
pub fn is_synchronised() -> bool {
    std::path::Path::new(SYNCHRONISED).exists()
}

/// A random number for this start of the program.
///
/// # Errors
/// The system's random source fails.
pub fn boot_number() -> Result<u64, getrandom::Error> {
    getrandom::u64()
}
