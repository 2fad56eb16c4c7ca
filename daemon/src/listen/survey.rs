//! What was heard: devices and their values.

use crate::intake::from_n2k;
use crate::intake::stream::Field;
use barrico_model::Monotonic;
use barrico_n2k::field::Code;
use barrico_n2k::pgn::{self, Content, Phase, ProductInformation};
use barrico_n2k::{Assembler, Frame, Name, Senders};
use std::collections::BTreeMap;

/// Values kept apart at most; a bus has some hundreds. What comes after is counted.
pub const OFFERS_MAX: usize = 4_096;

/// What a value is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum What {
    /// One that readings can come from.
    Usable(Field),
    /// Latitude, degrees, north positive.
    Latitude,
    /// Longitude, degrees, east positive.
    Longitude,
    /// Size of a tank, L.
    TankCapacity,
}

/// One value of one message of one device.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct OfferKey {
    /// Address of the device.
    pub address: u8,
    /// Parameter group.
    pub pgn: u32,
    /// Instance in the message, 255 if it has none.
    pub instance: u8,
    /// Source, type or line in the message, 255 if it has none.
    pub kind: u8,
    /// What it is.
    pub what: What,
}

/// What was heard of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Offer {
    /// Values.
    pub count: u64,
    /// Time of the first.
    pub first: Monotonic,
    /// Time of the latest.
    pub last: Monotonic,
    /// The latest.
    pub value: f64,
    /// Lowest.
    pub low: f64,
    /// Highest.
    pub high: f64,
}

impl Offer {
    /// Mean time from value to value, s; `None` for a single value.
    pub fn interval_s(&self) -> Option<f64> {
        let gaps = self.count.checked_sub(1).filter(|gaps| 0 < *gaps)?;
        Some(self.last.seconds_since(self.first) / gaps as f64)
    }

    /// Was it the same to the bit, often enough to be told?
    pub fn never_moved(&self) -> bool {
        const OFTEN: u64 = 20;
        OFTEN <= self.count && self.low == self.high
    }
}

/// A device by its address.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Device {
    /// NAME, if it claimed its address while we listened.
    pub name: Option<Name>,
    /// What it says of itself, if somebody asked it while we listened.
    pub product: Option<ProductInformation>,
    /// Messages.
    pub messages: u64,
}

/// Everything heard.
#[derive(Debug, Default)]
pub struct Survey {
    assembler: Assembler,
    senders: Senders,
    /// By address.
    pub devices: BTreeMap<u8, Device>,
    /// In order.
    pub offers: BTreeMap<OfferKey, Offer>,
    /// Frames.
    pub frames: u64,
    /// Values that found no room.
    pub overflow: u64,
    /// Time of the latest frame.
    pub end: Monotonic,
}

impl Survey {
    /// Takes a frame.
    pub fn take(&mut self, now: Monotonic, frame: &Frame) {
        self.frames += 1;
        self.end = self.end.max(now);
        let id = frame.can_id();
        let Some(message) = self.assembler.push(now.0, id, frame.payload()) else { return };
        let address = message.source;
        let device = self.devices.entry(address).or_default();
        device.messages += 1;
        let mut changes = Vec::new();
        self.senders.handle(now.0, id, message.payload, &mut changes);
        let Some(content) = pgn::decode(message.pgn, message.payload) else { return };
        if let Content::AddressClaim(claim) = &content {
            device.name = claim.name.or(device.name);
        }
        if let Content::ProductInformation(product) = &content {
            device.product = Some(product.clone());
        }
        let mut found = Vec::new();
        values(&content, &mut |instance, kind, what, value| found.push((instance, kind, what, value)));
        let group = message.pgn;
        for (instance, kind, what, value) in found {
            self.offer(now, OfferKey { address, pgn: group, instance, kind, what }, value);
        }
    }

    fn offer(&mut self, now: Monotonic, key: OfferKey, value: f64) {
        if let Some(offer) = self.offers.get_mut(&key) {
            offer.count += 1;
            offer.last = now;
            offer.value = value;
            offer.low = offer.low.min(value);
            offer.high = offer.high.max(value);
        } else if self.offers.len() < OFFERS_MAX {
            self.offers
                .insert(key, Offer { count: 1, first: now, last: now, value, low: value, high: value });
        } else {
            self.overflow += 1;
        }
    }

    /// Offers of one device, in order.
    pub fn of(&self, address: u8) -> impl Iterator<Item = (&OfferKey, &Offer)> {
        self.offers.iter().filter(move |(key, _)| key.address == address)
    }
}

fn phase_number(phase: Option<Phase>) -> u8 {
    phase.map_or(from_n2k::NONE, |phase| phase as u8)
}

fn values(content: &Content, give: &mut impl FnMut(u8, u8, What, f64)) {
    from_n2k::values(content, &mut |value| {
        give(value.instance, value.kind, What::Usable(value.field), value.value);
    });
    match content {
        Content::PositionRapid(position) => {
            if let (Some(latitude), Some(longitude)) = (position.latitude_deg, position.longitude_deg) {
                give(from_n2k::NONE, from_n2k::NONE, What::Latitude, latitude);
                give(from_n2k::NONE, from_n2k::NONE, What::Longitude, longitude);
            }
        }
        // Shore and generator in whole volts and amperes: to be seen, too coarse for a reading of a unit.
        Content::AcBasicQuantities(_, phase, of) => {
            let mut put = |field, value: Option<f64>| {
                value
                    .into_iter()
                    .for_each(|value| give(from_n2k::NONE, phase_number(*phase), What::Usable(field), value));
            };
            put(Field::Voltage, of.voltage_line_neutral_v.or(of.voltage_line_line_v));
            put(Field::Current, of.current_a);
            put(Field::Frequency, of.frequency_hz);
        }
        Content::AcPower(_, phase, of) => {
            if let Some(power) = of.real_power_w {
                give(from_n2k::NONE, phase_number(*phase), What::Usable(Field::Power), power);
            }
        }
        Content::FluidLevel(tank) => {
            if let Some(litres) = tank.capacity_l.filter(|litres| 0.0 < *litres) {
                let kind = tank.fluid_type.map_or(from_n2k::NONE, |fluid| fluid.to_raw());
                give(tank.instance.unwrap_or(from_n2k::NONE), kind, What::TankCapacity, litres);
            }
        }
        _ => {}
    }
}
