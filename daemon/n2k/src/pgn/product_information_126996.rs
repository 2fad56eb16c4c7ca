//! PGN 126996, product information: fast packet, 134 bytes (some devices 132), on request.

use crate::field::{Codec, Reader, Writer, count, read_fixed, unsigned, write_fixed};

/// Bytes of each text.
const TEXT_BYTES: usize = 32;
/// First byte of the first text.
const FIRST_TEXT: usize = 4;
/// First byte after the texts.
const AFTER_TEXTS: usize = FIRST_TEXT + 4 * TEXT_BYTES;

/// What a device says about itself.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ProductInformation {
    /// Version of the database, 2.1 for instance.
    pub database_version: Option<f64>,
    /// Product code.
    pub product_code: Option<u16>,
    /// Model, at most 32 bytes.
    pub model_id: Option<String>,
    /// Software version, at most 32 bytes.
    pub software_version: Option<String>,
    /// Model version, at most 32 bytes.
    pub model_version: Option<String>,
    /// Serial number, at most 32 bytes.
    pub serial_code: Option<String>,
    /// Certification level, 0 is level A.
    pub certification_level: Option<u8>,
    /// Load on the bus supply, 50 mA each.
    pub load_equivalency: Option<u8>,
}

impl ProductInformation {
    /// Number of this parameter group.
    pub const PGN: u32 = 126996;
    /// Bytes as sent.
    pub const LENGTH: usize = AFTER_TEXTS + 2;

    /// Reads a payload of any length; a text that is cut short is missing.
    #[must_use]
    pub fn decode(payload: &[u8]) -> Self {
        let from = Reader::new(payload);
        let text = |index: usize| {
            let start = FIRST_TEXT + index * TEXT_BYTES;
            payload.get(start..start + TEXT_BYTES).and_then(read_fixed)
        };
        let [certification_level, load_equivalency] = Self::LAST_BYTES.map(|codec| codec.read(&from).ok());
        Self {
            database_version: Self::VERSION.read(&from).ok(),
            product_code: Self::CODE.read(&from).ok(),
            model_id: text(0),
            software_version: text(1),
            model_version: text(2),
            serial_code: text(3),
            certification_level,
            load_equivalency,
        }
    }

    /// Appends the payload; texts longer than 32 bytes are cut.
    pub fn encode(&self, out: &mut Vec<u8>) {
        let mut to = Writer::append(out, FIRST_TEXT);
        Self::VERSION.write(&mut to, self.database_version);
        Self::CODE.write(&mut to, self.product_code);
        for text in [&self.model_id, &self.software_version, &self.model_version, &self.serial_code] {
            write_fixed(out, TEXT_BYTES, text.as_deref());
        }
        let mut to = Writer::append(out, 2);
        count(0, 8).write(&mut to, self.certification_level);
        count(8, 8).write(&mut to, self.load_equivalency);
    }

    const VERSION: crate::field::Scaled = unsigned(0, 16, 1.0, 1000.0);
    const CODE: crate::field::Count = count(16, 16);
    const LAST_BYTES: [crate::field::Count; 2] =
        [count(AFTER_TEXTS as u32 * 8, 8), count(AFTER_TEXTS as u32 * 8 + 8, 8)];
}
