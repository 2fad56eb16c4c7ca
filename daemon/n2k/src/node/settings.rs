//! What the owner gives a node, and what must survive a restart.

use crate::name::{Name, NameParts};

/// Whether anything may be sent at all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Mode {
    /// A full node.
    Full,
    /// Nothing is ever sent: no claim, no answer, no data.
    ListenOnly,
}

/// Manufacturer code of home-made devices (default of the open library ttlappalainen/NMEA2000; a code of one's own needs a
/// membership).
pub const MANUFACTURER_CODE: u16 = 2046;
/// Device class "inter/intranetwork device" (canboat database).
pub const DEVICE_CLASS: u8 = 25;
/// Device function "PC gateway" of that class (canboat database). There is no pair for watermakers.
pub const DEVICE_FUNCTION: u8 = 130;
/// Industry group "marine" (ISO 11783-5).
pub const INDUSTRY_GROUP: u8 = 4;
/// Largest unique number that may be used: all ones reads as "not available".
pub const UNIQUE_NUMBER_MAX: u32 = 0x1F_FFFE;
/// Largest address that is used (ttlappalainen/NMEA2000).
pub const ADDRESS_MAX: u8 = 251;
/// Longest description that is taken from the bus or sent, bytes (a public report: one reader failed from 90 on).
pub const DESCRIPTION_MAX_BYTES: usize = 69;

/// How a node is to be.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NodeSettings {
    /// Whether anything may be sent.
    pub mode: Mode,
    /// Unique number if the user has chosen one [1-2097150]; otherwise it is drawn once and stored.
    pub unique_number: Option<u32>,
    /// Manufacturer code [0-2047].
    pub manufacturer_code: u16,
    /// Device instance until it is changed from the bus [0-252].
    pub device_instance: u8,
    /// System instance until it is changed from the bus [0-14].
    pub system_instance: u8,
    /// Address to try first when none is stored [0-251].
    pub preferred_address: u8,
    /// Product code.
    pub product_code: u16,
    /// Model, at most 32 bytes.
    pub model_id: String,
    /// Software version, at most 32 bytes.
    pub software_version: String,
    /// Model version, at most 32 bytes.
    pub model_version: String,
    /// Load on the bus supply, in units of 50 mA: 0 when the computer does not feed from the bus.
    pub load_equivalency: u8,
    /// First two texts of 126998, until they are changed from the bus.
    pub installation_descriptions: [String; 2],
    /// Third text of 126998.
    pub manufacturer_information: String,
    /// Groups of the owner that this node really sends: they go into the transmit list and may be asked for.
    pub sends: Vec<u32>,
    /// Groups that are really used.
    pub uses: Vec<u32>,
}

impl Default for NodeSettings {
    fn default() -> Self {
        Self {
            mode: Mode::Full,
            unique_number: None,
            manufacturer_code: MANUFACTURER_CODE,
            device_instance: 0,
            system_instance: 0,
            preferred_address: 100,
            product_code: 0,
            model_id: String::new(),
            software_version: String::new(),
            model_version: String::new(),
            load_equivalency: 0,
            installation_descriptions: [String::new(), String::new()],
            manufacturer_information: String::new(),
            sends: Vec::new(),
            uses: Vec::new(),
        }
    }
}

/// What a node keeps over a restart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NodeState {
    /// Unique number of the NAME.
    pub unique_number: u32,
    /// Address used last.
    pub address: Option<u8>,
    /// Device instance, as set from the bus.
    pub device_instance: Option<u8>,
    /// System instance, as set from the bus.
    pub system_instance: Option<u8>,
    /// Installation descriptions, as set from the bus.
    pub installation_descriptions: [Option<String>; 2],
}

impl NodeState {
    pub(super) const fn new(unique_number: u32) -> Self {
        Self {
            unique_number,
            address: None,
            device_instance: None,
            system_instance: None,
            installation_descriptions: [None, None],
        }
    }

    pub(super) fn name(&self, settings: &NodeSettings) -> Name {
        let device_instance = self.device_instance.unwrap_or(settings.device_instance);
        Name::from_parts(NameParts {
            unique_number: self.unique_number,
            manufacturer_code: settings.manufacturer_code,
            device_instance_lower: device_instance & 7,
            device_instance_upper: device_instance >> 3,
            device_function: DEVICE_FUNCTION,
            device_class: DEVICE_CLASS,
            system_instance: self.system_instance.unwrap_or(settings.system_instance),
            industry_group: INDUSTRY_GROUP,
            arbitrary_address_capable: true,
        })
    }

    pub(super) fn description<'a>(&'a self, settings: &'a NodeSettings, index: usize) -> &'a str {
        self.installation_descriptions[index].as_deref().unwrap_or(&settings.installation_descriptions[index])
    }
}
