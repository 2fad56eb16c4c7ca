//! The 29-bit CAN identifier: priority, parameter group number, destination, source.
//!
//! Source of the layout: SAE J1939-21 / ISO 11783-3 as described in the canboat documentation. Bits 28-26 priority,
//! 25 extended data page, 24 data page, 23-16 PDU format, 15-8 destination (PDU format below 240) or low byte of the
//! group number, 7-0 source.

/// Destination that means "everybody".
pub const GLOBAL: u8 = 255;
/// Source address of a node that has no address.
pub const NULL_ADDRESS: u8 = 254;

/// First PDU format whose messages are always global (SAE J1939-21: PDU2).
const FIRST_PDU2_FORMAT: u32 = 240;

/// A CAN identifier taken apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct CanId {
    /// Priority, 0 highest [0-7].
    pub priority: u8,
    /// Parameter group number, 18 bits. The extended data page bit is kept, so that such a frame is never taken for an
    /// NMEA 2000 one.
    pub pgn: u32,
    /// Address of the sender.
    pub source: u8,
    /// Address of the receiver; [`GLOBAL`] for groups that have none.
    pub destination: u8,
}

impl CanId {
    /// Takes a 29-bit identifier apart; higher bits are ignored.
    #[inline]
    #[must_use]
    pub const fn from_u32(id: u32) -> Self {
        let format = (id >> 16) & 0xFF;
        let group = (id >> 8) & 0x3_FFFF;
        let priority = ((id >> 26) & 7) as u8;
        let source = id as u8;
        if format < FIRST_PDU2_FORMAT {
            Self { priority, pgn: group & 0x3_FF00, source, destination: (id >> 8) as u8 }
        } else {
            Self { priority, pgn: group, source, destination: GLOBAL }
        }
    }

    /// Puts the identifier together. The destination is not sent for global groups; bits that do not fit are cut off.
    #[inline]
    #[must_use]
    pub const fn to_u32(self) -> u32 {
        let group = self.pgn & 0x3_FFFF;
        let head = ((self.priority as u32 & 7) << 26) | self.source as u32;
        if (group >> 8) & 0xFF < FIRST_PDU2_FORMAT {
            head | ((group & 0x3_FF00) << 8) | ((self.destination as u32) << 8)
        } else {
            head | (group << 8)
        }
    }

    /// Whether messages of this group carry a destination.
    #[inline]
    #[must_use]
    pub const fn is_addressed(self) -> bool {
        (self.pgn >> 8) & 0xFF < FIRST_PDU2_FORMAT
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // Identifiers seen on the wire in canboat's samples (address claim, request) and computed by hand from J1939-21.
    #[test]
    fn known_identifiers() {
        let cases = [
            (0x18EE_FF23, CanId { priority: 6, pgn: 60928, source: 0x23, destination: 255 }),
            (0x18EA_FFFE, CanId { priority: 6, pgn: 59904, source: 0xFE, destination: 255 }),
            (0x19FE_0723, CanId { priority: 6, pgn: 130567, source: 0x23, destination: 255 }),
            (0x09F0_0723, CanId { priority: 2, pgn: 126983, source: 0x23, destination: 255 }),
            (0x0DFF_081A, CanId { priority: 3, pgn: 130824, source: 0x1A, destination: 255 }),
            (0x1DEF_0102, CanId { priority: 7, pgn: 126720, source: 2, destination: 1 }),
        ];
        for (id, parts) in cases {
            assert_eq!(CanId::from_u32(id), parts);
            assert_eq!(parts.to_u32(), id);
        }
    }

    proptest! {
        #[test]
        fn every_identifier_survives_a_round_trip(id in 0u32..=0x1FFF_FFFF) {
            prop_assert_eq!(CanId::from_u32(id).to_u32(), id);
        }
    }
}
