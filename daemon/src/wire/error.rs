//! What can be wrong with JSON that came from elsewhere.

use super::SCHEMA_VERSION;

/// Why a text was not taken.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WireError {
    /// Not JSON, or not of this shape.
    #[error("not readable: {0}")]
    Shape(String),
    /// A word that is none of the known ones.
    #[error("`{found}` is no {what}")]
    Word {
        /// What was expected.
        what: &'static str,
        /// What was found.
        found: String,
    },
    /// Written by a newer program.
    #[error(
        "written in version {found} of the record format; this program knows versions up to {SCHEMA_VERSION}. Install the newer program"
    )]
    Newer {
        /// Its version.
        found: u32,
    },
    /// Another kind of record than asked for.
    #[error("this is a `{found}`, not a `{wanted}`")]
    Kind {
        /// Kind asked for.
        wanted: &'static str,
        /// Kind found.
        found: String,
    },
}

impl WireError {
    /// An unknown word.
    pub(super) fn word(what: &'static str, found: &str) -> Self {
        Self::Word { what, found: found.chars().take(80).collect() }
    }
}

impl From<serde_json::Error> for WireError {
    fn from(error: serde_json::Error) -> Self {
        Self::Shape(error.to_string())
    }
}
