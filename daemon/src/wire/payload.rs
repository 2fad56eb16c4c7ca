//! A record with the head that says what it is: the form in the store and ashore.
//!
//! ```json
//! {"schema":"barrico-run","schema_version":1,"unit":"main","id":12,"revision":1, ...}
//! ```

use super::number::hex;
use super::{AlertJson, BaselineJson, LogEntryJson, NodeJson, RunJson, WireError};
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};

/// What can stand in a payload.
pub trait RecordBody: Serialize + DeserializeOwned {
    /// Name of its schema.
    const SCHEMA: &'static str;
    /// Version of its shape.
    const VERSION: u32 = 1;
}

impl RecordBody for RunJson {
    const SCHEMA: &'static str = "barrico-run";
    // 2: spells of the valve, elements and their shares. Version 1 lacks them and is read.
    const VERSION: u32 = 2;
}

impl RecordBody for LogEntryJson {
    const SCHEMA: &'static str = "barrico-log";
}

impl RecordBody for BaselineJson {
    const SCHEMA: &'static str = "barrico-baseline";
    // 2: the permeabilities at 25 °C go with the temperature parameters that stand beside them.
    const VERSION: u32 = 2;
}

impl RecordBody for AlertJson {
    const SCHEMA: &'static str = "barrico-alert";
}

impl RecordBody for NodeJson {
    const SCHEMA: &'static str = "barrico-node";
}

impl RecordBody for PartsJson {
    const SCHEMA: &'static str = "barrico-parts";
}

/// The parts list changed or was seen for the first time.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PartsJson {
    /// Fingerprint of the parts list.
    #[serde(with = "hex")]
    pub fingerprint: u64,
}

/// Head and body.
#[derive(Debug, Serialize)]
pub struct Payload<'a, T: RecordBody> {
    schema: &'static str,
    schema_version: u32,
    unit: &'a str,
    #[serde(flatten)]
    body: &'a T,
}

impl<'a, T: RecordBody> Payload<'a, T> {
    /// A body of one unit.
    pub fn new(unit: &'a str, body: &'a T) -> Self {
        Self { schema: T::SCHEMA, schema_version: T::VERSION, unit, body }
    }

    /// As one line of JSON.
    pub fn to_line(&self) -> String {
        // Strings as keys and numbers that are finite or null: nothing that JSON cannot hold.
        serde_json::to_string(self).expect("records are JSON by construction")
    }
}

#[derive(Deserialize)]
struct Head {
    schema: String,
    schema_version: u32,
}

/// The body of a payload, after a look at its head.
pub fn read_body<T: RecordBody>(line: &str) -> Result<T, WireError> {
    let head: Head = serde_json::from_str(line)?;
    if head.schema != T::SCHEMA {
        return Err(WireError::Kind { wanted: T::SCHEMA, found: head.schema });
    }
    if T::VERSION < head.schema_version {
        return Err(WireError::Newer { found: head.schema_version });
    }
    Ok(serde_json::from_str(line)?)
}
