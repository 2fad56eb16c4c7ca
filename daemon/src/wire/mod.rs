//! The JSON forms of records and commands.
//!
//! What goes to disk, over the control socket or ashore is a promise to strangers, so its types are its own: nothing in the model or the
//! engine derives a serialisation. `From<&Domain>` writes and cannot fail; `TryFrom` reads and says what is wrong. What is written
//! and read again is the same to the last bit.
//!
//! | rule | how |
//! | --- | --- |
//! | keys carry their unit | `duration_s`, `feed_pressure_bar_gauge`; the list of quantities is the model's |
//! | uncertainty | one standard deviation, in sibling objects with the same keys |
//! | unknown numbers | `null`, never zero; a number that is not finite is unknown |
//! | 64-bit random numbers | 16 hexadecimal digits as text, since many readers keep 53 bits only |
//! | dates | milliseconds since 1970 UTC beside RFC 3339 text; the milliseconds lead |
//! | words | lower case with `_`; finding names as people type them |
//! | newer records | keys may be added; a key that changes its meaning raises the version of its kind of record ([`RecordBody::VERSION`]), and older programs refuse it |

mod alert;
mod baseline;
mod command;
mod element;
mod error;
mod history;
mod keyed;
mod log_entry;
mod node;
mod number;
mod payload;
mod reading;
mod reply;
mod run;
mod stamp;
mod text;

pub use alert::AlertJson;
pub use baseline::BaselineJson;
pub use command::CommandJson;
pub use element::{ElementAgeJson, ElementMoveJson, ElementPlaceJson, SpellJson};
pub use error::WireError;
pub use history::UnitHistoryJson;
pub use log_entry::{LogBodyJson, LogEntryJson};
pub use node::NodeJson;
pub use payload::{PartsJson, Payload, RecordBody, read_body};
pub use reading::{MeanJson, OriginJson, ReadingJson, SenderJson};
pub use reply::ReplyJson;
pub use run::RunJson;
pub use stamp::{StampJson, rfc3339, wall_from_rfc3339};

/// Highest version of the shape of any record that this program knows.
pub const SCHEMA_VERSION: u32 = 2;

#[cfg(test)]
mod tests;
