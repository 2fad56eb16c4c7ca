//! What a node says about itself: product information 126996, configuration information 126998, lists of groups 126464.

use super::Node;
use super::outbox::Urgency;
use super::output::Output;
use super::settings::DESCRIPTION_MAX_BYTES;
use crate::can_id::{CanId, GLOBAL};
use crate::field::Code;
use crate::pgn::{
    AddressClaim, ConfigurationInformation, GroupFunction, Heartbeat, IsoAcknowledgement, IsoRequest,
    PgnList, PgnListKind, ProductInformation,
};
use crate::transport::{CONNECTION_PGN, DATA_PGN};

/// Groups every node here sends.
pub const NETWORK_GROUPS_SENT: [u32; 9] = [
    IsoAcknowledgement::PGN,
    IsoRequest::PGN,
    CONNECTION_PGN,
    AddressClaim::PGN,
    GroupFunction::PGN,
    PgnList::PGN,
    Heartbeat::PGN,
    ProductInformation::PGN,
    ConfigurationInformation::PGN,
];
/// Groups every node here uses.
pub const NETWORK_GROUPS_USED: [u32; 7] = [
    IsoAcknowledgement::PGN,
    IsoRequest::PGN,
    DATA_PGN,
    CONNECTION_PGN,
    AddressClaim::PGN,
    super::COMMANDED_ADDRESS_PGN,
    GroupFunction::PGN,
];

/// Version of the database the groups are taken from, as product information tells it.
const DATABASE_VERSION: f64 = 2.1;
/// Certification level B; this program is not certified, and the group has no code for that.
const CERTIFICATION_LEVEL: u8 = 1;

impl Node {
    pub(super) fn product_information(&self) -> Vec<u8> {
        let some = |text: &String| Some(text.clone()).filter(|text| !text.is_empty());
        let information = ProductInformation {
            database_version: Some(DATABASE_VERSION),
            product_code: Some(self.settings.product_code),
            model_id: some(&self.settings.model_id),
            software_version: some(&self.settings.software_version),
            model_version: some(&self.settings.model_version),
            // Displays merge devices with the same serial number, so it follows the unique number.
            serial_code: Some(format!("{:07}", self.state.unique_number)),
            certification_level: Some(CERTIFICATION_LEVEL),
            load_equivalency: Some(self.settings.load_equivalency),
        };
        let mut payload = Vec::new();
        information.encode(&mut payload);
        payload
    }

    pub(super) fn configuration_information(&self) -> Vec<u8> {
        let cut = |text: &str| Some(text[..text.floor_char_boundary(DESCRIPTION_MAX_BYTES)].to_owned());
        let information = ConfigurationInformation {
            installation_description_1: cut(self.state.description(&self.settings, 0)),
            installation_description_2: cut(self.state.description(&self.settings, 1)),
            manufacturer_information: cut(&self.settings.manufacturer_information),
        };
        let mut payload = Vec::new();
        information.encode(&mut payload);
        payload
    }

    /// One of the lists: what the network needs and what the owner has told.
    pub(super) fn list(&self, kind: PgnListKind) -> Vec<u8> {
        let (network, owner): (&[u32], _) = match kind {
            PgnListKind::Transmit => (&NETWORK_GROUPS_SENT, &self.settings.sends),
            _ => (&NETWORK_GROUPS_USED, &self.settings.uses),
        };
        let mut pgns = network.to_vec();
        pgns.extend(owner.iter().filter(|pgn| !network.contains(pgn)));
        let mut payload = Vec::new();
        PgnList { kind, pgns }.encode(&mut payload);
        payload
    }

    pub(super) fn send_product_information(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.inform(ProductInformation::PGN, GLOBAL, self.product_information());
        self.pump(now_ms, out);
    }

    pub(super) fn send_configuration_information(&mut self, now_ms: u64, out: &mut Vec<Output>) {
        self.inform(ConfigurationInformation::PGN, GLOBAL, self.configuration_information());
        self.pump(now_ms, out);
    }

    pub(super) fn send_lists(&mut self, now_ms: u64, to: u8, kind: Option<u8>, out: &mut Vec<Output>) {
        for list in [PgnListKind::Transmit, PgnListKind::Receive] {
            if kind.is_none_or(|kind| kind == list.to_raw()) {
                self.inform(PgnList::PGN, to, self.list(list));
            }
        }
        self.pump(now_ms, out);
    }

    fn inform(&mut self, pgn: u32, destination: u8, payload: Vec<u8>) {
        let id = CanId { priority: 6, pgn, source: 0, destination };
        self.outbox.push(Urgency::Information, id, payload, &mut self.counters);
    }
}
