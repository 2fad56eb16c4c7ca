//! PGN 126998, configuration information: fast packet, three texts, on request.

use super::macros::next_text;
use crate::field::{Reader, write_lau};

/// Bytes of each text when sent: three fit a fast packet, and one public report says that a reader failed from 90 on.
const MAX_TEXT_BYTES: usize = 70;

/// Texts of the installer and the maker.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ConfigurationInformation {
    /// First description by the installer.
    pub installation_description_1: Option<String>,
    /// Second description by the installer.
    pub installation_description_2: Option<String>,
    /// Text of the maker.
    pub manufacturer_information: Option<String>,
}

impl ConfigurationInformation {
    /// Number of this parameter group.
    pub const PGN: u32 = 126998;

    /// Reads a payload of any length.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let from = Reader::new(payload);
        let mut at = Some(0);
        Self {
            installation_description_1: next_text(&from, &mut at),
            installation_description_2: next_text(&from, &mut at),
            manufacturer_information: next_text(&from, &mut at),
        }
    }

    /// Appends the payload; each text is cut at 70 bytes.
    pub fn encode(&self, out: &mut Vec<u8>) {
        let texts = [
            &self.installation_description_1,
            &self.installation_description_2,
            &self.manufacturer_information,
        ];
        for text in texts {
            write_lau(out, MAX_TEXT_BYTES, text.as_deref());
        }
    }
}
