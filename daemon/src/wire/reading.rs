//! Readings, means and where they come from.

use super::keyed::quantity_of_key;
use super::number::{self, hex};
use super::{WireError, text};
use barrico_model::Monotonic;
use barrico_model::records::{Mean, Origin, Reading, SenderId};
use serde::{Deserialize, Serialize};

/// Who sent a value on the bus.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SenderJson {
    /// NAME of the device, 16 hexadecimal digits.
    Name(#[serde(with = "hex")] u64),
    /// Address on the bus.
    Address(u8),
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OriginJson {
    /// A message on the NMEA 2000 bus.
    #[serde(rename = "nmea2000")]
    Nmea2000 {
        /// The device.
        sender: SenderJson,
        /// Parameter group.
        pgn: u32,
        /// Instance, 255 if the message has none.
        instance: u8,
    },
    /// Entered by hand.
    Hand {
        /// Number of the log entry.
        entry: u64,
    },
    /// Worked out from other readings.
    Computed(String),
    /// Assumed.
    Assumed(String),
}

impl From<Origin> for OriginJson {
    fn from(origin: Origin) -> Self {
        match origin {
            Origin::Nmea2000 { sender, pgn, instance } => {
                let sender = match sender {
                    SenderId::Name(name) => SenderJson::Name(name),
                    SenderId::Address(address) => SenderJson::Address(address),
                };
                Self::Nmea2000 { sender, pgn, instance }
            }
            Origin::Hand { entry } => Self::Hand { entry },
            Origin::Computed(from) => Self::Computed(from.to_owned()),
            Origin::Assumed(why) => Self::Assumed(why.to_owned()),
        }
    }
}

impl From<OriginJson> for Origin {
    fn from(json: OriginJson) -> Self {
        match json {
            OriginJson::Nmea2000 { sender, pgn, instance } => {
                let sender = match sender {
                    SenderJson::Name(name) => SenderId::Name(name),
                    SenderJson::Address(address) => SenderId::Address(address),
                };
                Self::Nmea2000 { sender, pgn, instance }
            }
            OriginJson::Hand { entry } => Self::Hand { entry },
            OriginJson::Computed(from) => Self::Computed(text::constant(&from)),
            OriginJson::Assumed(why) => Self::Assumed(text::constant(&why)),
        }
    }
}

/// One value of one quantity.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ReadingJson {
    /// Quantity with its unit, such as `feed_pressure_bar_gauge`.
    pub key: String,
    /// The value in that unit.
    #[serde(with = "number")]
    pub value: f64,
    /// Standard deviation from reading to reading.
    #[serde(with = "number")]
    pub random: f64,
    /// Standard deviation that all readings of the instrument share.
    #[serde(with = "number")]
    pub systematic: f64,
    /// Number of the instrument in the settings.
    pub instrument: u16,
    /// Where it comes from.
    pub origin: OriginJson,
    /// When it was taken, ms since the start of the program.
    pub monotonic_ms: u64,
}

impl From<&Reading> for ReadingJson {
    fn from(reading: &Reading) -> Self {
        Self {
            key: reading.quantity.json_key().to_owned(),
            value: reading.value,
            random: reading.random,
            systematic: reading.systematic,
            instrument: reading.instrument,
            origin: reading.origin.into(),
            monotonic_ms: reading.at.0,
        }
    }
}

impl TryFrom<ReadingJson> for Reading {
    type Error = WireError;

    fn try_from(json: ReadingJson) -> Result<Self, WireError> {
        Ok(Self {
            quantity: quantity_of_key(&json.key)?,
            value: json.value,
            random: json.random,
            systematic: json.systematic,
            instrument: json.instrument,
            origin: json.origin.into(),
            at: Monotonic(json.monotonic_ms),
        })
    }
}

/// What stands beside a mean: how it was measured. The numbers stand in the objects `means`, `random` and `systematic`.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct MeanJson {
    /// Number of the instrument in the settings.
    pub instrument: u16,
    /// Where it comes from.
    pub origin: OriginJson,
    /// How many readings it was made of.
    pub count: u32,
}

impl From<&Mean> for MeanJson {
    fn from(mean: &Mean) -> Self {
        Self { instrument: mean.instrument, origin: mean.origin.into(), count: mean.count }
    }
}
