//! Time on the wire: boot, monotonic time within it, and the date if one was known.

use super::number::hex;
use barrico_model::{Monotonic, Stamp, WallMs};
use serde::{Deserialize, Serialize};

/// When something happened.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StampJson {
    /// Random number of that start of the program.
    #[serde(with = "hex")]
    pub boot: u64,
    /// Milliseconds since that start.
    pub monotonic_ms: u64,
    /// Milliseconds since 1970-01-01 UTC; `null` while no date was known.
    pub wall_ms: Option<WallMs>,
    /// The same as RFC 3339 text, for people. Not read back.
    #[serde(default)]
    pub time: Option<String>,
}

impl From<Stamp> for StampJson {
    fn from(stamp: Stamp) -> Self {
        Self {
            boot: stamp.boot,
            monotonic_ms: stamp.monotonic.0,
            wall_ms: stamp.wall_ms,
            time: stamp.wall_ms.and_then(rfc3339),
        }
    }
}

impl From<StampJson> for Stamp {
    fn from(json: StampJson) -> Self {
        Self { boot: json.boot, monotonic: Monotonic(json.monotonic_ms), wall_ms: json.wall_ms }
    }
}

/// RFC 3339 in UTC; `None` outside the years -9999 to 9999.
pub fn rfc3339(wall_ms: WallMs) -> Option<String> {
    jiff::Timestamp::from_millisecond(wall_ms).ok().map(|timestamp| timestamp.to_string())
}

/// Milliseconds since 1970 of an RFC 3339 text.
pub fn wall_from_rfc3339(text: &str) -> Option<WallMs> {
    text.parse::<jiff::Timestamp>().ok().map(|timestamp| timestamp.as_millisecond())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first example of RFC 3339, section 5.8.
    #[test]
    fn the_example_of_the_standard_is_read_and_written() {
        assert_eq!(wall_from_rfc3339("1985-04-12T23:20:50.52Z"), Some(482_196_050_520));
        assert_eq!(rfc3339(482_196_050_520).as_deref(), Some("1985-04-12T23:20:50.52Z"));
        assert_eq!(wall_from_rfc3339("1996-12-19T16:39:57-08:00"), wall_from_rfc3339("1996-12-20T00:39:57Z"));
        assert_eq!(rfc3339(i64::MAX), None);
    }
}
