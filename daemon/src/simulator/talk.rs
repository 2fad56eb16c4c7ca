//! The devices on the simulated bus: NAMEs, addresses, and messages put into frames with the codec that reads them.

use barrico_model::Monotonic;
use barrico_n2k::framing::{Framing, framing};
use barrico_n2k::pgn::{AddressClaim, Content, ProductInformation};
use barrico_n2k::{CanId, Frame, Name, NameParts, split};
use std::collections::BTreeMap;

/// A device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Device {
    pub address: u8,
    pub name: Name,
    pub model: &'static str,
}

/// Numbers of makers are given out by the standard's owner; the highest is no maker's.
const NO_MAKER: u16 = 2046;
/// Marine.
const MARINE: u8 = 4;

const fn device(address: u8, class: u8, function: u8, model: &'static str) -> Device {
    let name = Name::from_parts(NameParts {
        unique_number: 7000 + address as u32,
        manufacturer_code: NO_MAKER,
        device_instance_lower: 0,
        device_instance_upper: 0,
        device_function: function,
        device_class: class,
        system_instance: 0,
        industry_group: MARINE,
        arbitrary_address_capable: true,
    });
    Device { address, name, model }
}

// Classes and functions from memory: 25/130 gateway, 35/141 generator, 60/145 receiver, 60/130 depth sounder, 75/190 display side,
// 80/150 tanks. Nothing here looks at them.
pub(super) const CONTROLLER: Device = device(20, 25, 150, "Unit controller");
pub(super) const SMALL_CONTROLLER: Device = device(21, 25, 150, "Small unit controller");
pub(super) const RECEIVER: Device = device(30, 60, 145, "Satellite receiver");
pub(super) const SOUNDER: Device = device(35, 60, 130, "Depth sounder");
pub(super) const LOG_SENSOR: Device = device(36, 60, 155, "Paddle wheel log");
pub(super) const TANKS: Device = device(40, 80, 150, "Tank senders");
pub(super) const GENERATOR: Device = device(50, 35, 141, "Generator panel");
pub(super) const BATTERY: Device = device(55, 35, 170, "Battery monitor");

/// All of them.
pub(super) const DEVICES: [Device; 8] =
    [CONTROLLER, SMALL_CONTROLLER, RECEIVER, SOUNDER, LOG_SENSOR, TANKS, GENERATOR, BATTERY];

/// Puts messages into frames.
#[derive(Clone, Debug, Default)]
pub(super) struct Talk {
    sequences: BTreeMap<(u8, u32), u8>,
    payload: Vec<u8>,
}

impl Talk {
    /// Sends a message at a time.
    pub fn send(
        &mut self,
        at: Monotonic,
        from: Device,
        priority: u8,
        content: &Content,
        out: &mut Vec<(Monotonic, Frame)>,
    ) {
        self.payload.clear();
        content.encode(&mut self.payload);
        let id = CanId { priority, pgn: content.pgn(), source: from.address, destination: 255 };
        if framing(id.pgn) == Framing::Single {
            out.push((at, Frame::new(id, &self.payload)));
            return;
        }
        let sequence = self.sequences.entry((from.address, id.pgn)).or_insert(0);
        // Every message of the simulation is shorter than the longest fast packet: the longest has 134 bytes.
        if let Ok(frames) = split(id, &self.payload, *sequence) {
            out.extend(frames.map(|frame| (at, frame)));
        }
        *sequence = (*sequence + 1) & 7;
    }

    /// What every device says when the bus is switched on.
    pub fn introduce(&mut self, at: Monotonic, out: &mut Vec<(Monotonic, Frame)>) {
        for (index, device) in DEVICES.into_iter().enumerate() {
            let at = at.plus_ms(10 * index as u64);
            self.send(at, device, 6, &Content::AddressClaim(AddressClaim { name: Some(device.name) }), out);
        }
        for (index, device) in DEVICES.into_iter().enumerate() {
            let product = ProductInformation {
                database_version: Some(2.1),
                product_code: Some(1000 + u16::from(device.address)),
                model_id: Some(device.model.to_owned()),
                software_version: Some("1.0".to_owned()),
                model_version: Some("simulated".to_owned()),
                serial_code: Some(format!("SIM-{:04}", device.address)),
                certification_level: Some(0),
                load_equivalency: Some(1),
            };
            let at = at.plus_ms(300 + 10 * index as u64);
            self.send(at, device, 6, &Content::ProductInformation(product), out);
        }
    }
}
