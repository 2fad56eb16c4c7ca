//! The NAME of a device (PGN 60928): 64 bits that identify it whatever its address.
//!
//! Layout per ISO 11783-5 as given in the canboat database: unique number 21 bits, manufacturer code 11, device
//! instance 3 + 5, device function 8, spare 1, device class 7, system instance 4, industry group 3, arbitrary address
//! capable 1. The numerically lower NAME wins a contention for an address.

use std::fmt;

/// A NAME. Ordered as the contention rule needs it: lower wins.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Name(pub u64);

/// The parts of a NAME, to build one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct NameParts {
    /// Number given by the maker [0-2097151].
    pub unique_number: u32,
    /// Code of the maker [0-2047].
    pub manufacturer_code: u16,
    /// Device instance, lower part [0-7].
    pub device_instance_lower: u8,
    /// Device instance, upper part [0-31].
    pub device_instance_upper: u8,
    /// Function within the class [0-255].
    pub device_function: u8,
    /// Class of device [0-127].
    pub device_class: u8,
    /// System instance [0-15].
    pub system_instance: u8,
    /// Industry, 4 is marine [0-7].
    pub industry_group: u8,
    /// Whether the device may take another address by itself.
    pub arbitrary_address_capable: bool,
}

impl Name {
    /// A NAME from the eight bytes of an address claim.
    #[must_use]
    pub const fn from_bytes(bytes: [u8; 8]) -> Self {
        Self(u64::from_le_bytes(bytes))
    }

    /// The eight bytes of an address claim.
    #[must_use]
    pub const fn to_bytes(self) -> [u8; 8] {
        self.0.to_le_bytes()
    }

    /// A NAME from its parts; each is cut to its width, the spare bit is 0.
    #[must_use]
    pub const fn from_parts(parts: NameParts) -> Self {
        Self(
            (parts.unique_number as u64 & 0x1F_FFFF)
                | ((parts.manufacturer_code as u64 & 0x7FF) << 21)
                | ((parts.device_instance_lower as u64 & 7) << 32)
                | ((parts.device_instance_upper as u64 & 0x1F) << 35)
                | ((parts.device_function as u64) << 40)
                | ((parts.device_class as u64 & 0x7F) << 49)
                | ((parts.system_instance as u64 & 0xF) << 56)
                | ((parts.industry_group as u64 & 7) << 60)
                | ((parts.arbitrary_address_capable as u64) << 63),
        )
    }

    /// The parts of this NAME.
    #[must_use]
    pub const fn parts(self) -> NameParts {
        NameParts {
            unique_number: self.bits(0, 0x1F_FFFF) as u32,
            manufacturer_code: self.bits(21, 0x7FF) as u16,
            device_instance_lower: self.bits(32, 7) as u8,
            device_instance_upper: self.bits(35, 0x1F) as u8,
            device_function: self.bits(40, 0xFF) as u8,
            device_class: self.bits(49, 0x7F) as u8,
            system_instance: self.bits(56, 0xF) as u8,
            industry_group: self.bits(60, 7) as u8,
            arbitrary_address_capable: self.bits(63, 1) == 1,
        }
    }

    /// Number given by the maker, 21 bits.
    #[must_use]
    pub const fn unique_number(self) -> u32 {
        self.bits(0, 0x1F_FFFF) as u32
    }

    /// Code of the maker, 11 bits.
    #[must_use]
    pub const fn manufacturer_code(self) -> u16 {
        self.bits(21, 0x7FF) as u16
    }

    /// Device instance: upper 5 bits and lower 3 bits as one number.
    #[must_use]
    pub const fn device_instance(self) -> u8 {
        self.bits(32, 0xFF) as u8
    }

    /// Function within the class.
    #[must_use]
    pub const fn device_function(self) -> u8 {
        self.bits(40, 0xFF) as u8
    }

    /// Class of device.
    #[must_use]
    pub const fn device_class(self) -> u8 {
        self.bits(49, 0x7F) as u8
    }

    /// System instance.
    #[must_use]
    pub const fn system_instance(self) -> u8 {
        self.bits(56, 0xF) as u8
    }

    /// Industry group; 4 is marine.
    #[must_use]
    pub const fn industry_group(self) -> u8 {
        self.bits(60, 7) as u8
    }

    /// Whether the device may take another address by itself.
    #[must_use]
    pub const fn is_arbitrary_address_capable(self) -> bool {
        self.bits(63, 1) == 1
    }

    const fn bits(self, offset: u32, mask: u64) -> u64 {
        (self.0 >> offset) & mask
    }
}

/// Sixteen hexadecimal digits, as people compare them.
impl fmt::Display for Name {
    fn fmt(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(formatter, "{:016X}", self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Bit 48, which is spare: sent as 0.
    const SPARE: u64 = 1 << 48;

    proptest! {
        #[test]
        fn parts_and_number_agree(raw: u64) {
            let name = Name(raw);
            prop_assert_eq!(Name::from_parts(name.parts()).0, raw & !SPARE);
            prop_assert_eq!(Name::from_bytes(name.to_bytes()), name);
            let parts = name.parts();
            prop_assert_eq!(name.device_instance(), parts.device_instance_upper << 3 | parts.device_instance_lower);
        }
    }

    // Bytes and parts as canboat's analyzer 8.0.0-beta3 gives them (golden vector "address_claim").
    #[test]
    fn parts_of_a_known_name() {
        let name = Name::from_bytes([0x39, 0x30, 0xC0, 0xFF, 0x00, 0x82, 0x32, 0xC0]);
        assert_eq!(name.unique_number(), 12345);
        assert_eq!(name.manufacturer_code(), 2046);
        assert_eq!((name.device_function(), name.device_class()), (130, 25));
        assert_eq!((name.system_instance(), name.industry_group()), (0, 4));
        assert!(name.is_arbitrary_address_capable());
        assert_eq!(name.to_string(), "C0328200FFC03039");
    }
}
