//! What was heard on the bus: devices, streams, damage.
//!
//! A stream belongs to the NAME of its sender, not to its address: an address may pass to another device, and then
//! the old stream goes quiet and a new one begins.

use super::{Event, SenderReport};
use crate::intake::from_n2k;
use crate::intake::stream::{Field, Stream, StreamKey};
use barrico_model::records::SenderId;
use barrico_model::{Monotonic, Quantity, WallMs};
use barrico_n2k::pgn::{self, AddressClaim, AlertResponse, Content};
use barrico_n2k::senders::Change;
use barrico_n2k::{Assembler, Frame, Senders};
use std::collections::HashMap;
use std::hash::{BuildHasherDefault, Hasher};

/// Streams kept at most; a bus of 250 devices with ten fields each stays below. What comes later is counted and not followed.
pub const STREAMS_MAX: usize = 4096;

/// A value that a stream took.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taken {
    /// Index of the stream.
    pub stream: usize,
    /// It is the first value of this stream, the first that may be believed, or the first after a silence: what counts must be chosen anew.
    pub new: bool,
}

/// The bus as heard.
pub struct Bus {
    assembler: Assembler,
    senders: Senders,
    changes: Vec<Change>,
    /// All streams, in the order of their first value.
    pub streams: Vec<Stream>,
    /// Only looked up by key; never walked, so its order shows nowhere.
    index: HashMap<u64, usize, BuildHasherDefault<KeyHasher>>,
    devices: Vec<Device>,
    /// Frames so far.
    pub frames: u64,
    /// Values so far.
    pub values: u64,
    /// Streams for which another one had to make way, or that found no room.
    pub overflow: u64,
}

#[derive(Clone, Debug, Default)]
struct Device {
    name: Option<u64>,
    product: Option<String>,
    heard: bool,
}

impl Default for Bus {
    fn default() -> Self {
        Self {
            assembler: Assembler::default(),
            senders: Senders::default(),
            changes: Vec::new(),
            streams: Vec::new(),
            index: HashMap::default(),
            devices: vec![Device::default(); 256],
            frames: 0,
            values: 0,
            overflow: 0,
        }
    }
}

/// What a frame brought.
#[derive(Debug, Default)]
pub struct Brought {
    /// Values taken.
    pub taken: Vec<Taken>,
    /// A date from GNSS.
    pub date: Option<WallMs>,
    /// Answers of displays to alerts, with the address that they came from.
    pub responses: Vec<(u8, AlertResponse)>,
    /// Something to tell about a sender.
    pub events: Vec<Event>,
}

impl Brought {
    /// Empties it for the next frame and keeps the memory.
    pub fn clear(&mut self) {
        self.taken.clear();
        self.events.clear();
        self.responses.clear();
        self.date = None;
    }
}

impl Bus {
    /// Takes a frame; what it brought is added to `brought`.
    pub fn take(&mut self, now: Monotonic, frame: &Frame, brought: &mut Brought) {
        self.frames += 1;
        let id = frame.can_id();
        let Some(message) = self.assembler.push(now.0, id, frame.payload()) else { return };
        if message.pgn == AddressClaim::PGN {
            self.senders.handle(now.0, id, message.payload, &mut self.changes);
        }
        let Some(content) = pgn::decode(message.pgn, message.payload) else { return };
        let (address, pgn) = (message.source, message.pgn);
        let device = &mut self.devices[usize::from(address)];
        if !device.heard {
            device.heard = true;
            brought.events.push(self.report(address, None));
        }
        self.follow_claims(brought);
        if let Content::ProductInformation(product) = &content {
            self.product(address, product.model_id.as_deref(), brought);
        }
        if let Content::AlertResponse(response) = &content {
            brought.responses.push((address, response.clone()));
        }
        brought.date = from_n2k::date(&content);
        let mut values = [None; 64];
        let mut count = 0;
        from_n2k::values(&content, &mut |value| {
            if let Some(slot) = values.get_mut(count) {
                *slot = Some(value);
                count += 1;
            }
        });
        for value in values[..count].iter().flatten() {
            self.value(now, address, pgn, *value, brought);
        }
    }

    /// Addresses that changed hands, now or because nobody defended them in time.
    pub fn handle_timeout(&mut self, now: Monotonic, brought: &mut Brought) {
        self.senders.handle_timeout(now.0, &mut self.changes);
        self.follow_claims(brought);
    }

    fn follow_claims(&mut self, brought: &mut Brought) {
        for change in std::mem::take(&mut self.changes) {
            self.moved(change, brought);
        }
    }

    fn value(
        &mut self,
        now: Monotonic,
        address: u8,
        pgn: u32,
        value: from_n2k::BusValue,
        brought: &mut Brought,
    ) {
        self.values += 1;
        let packed = pack(address, pgn, &value);
        if let Some(&stream) = self.index.get(&packed) {
            let new = self.streams[stream].take(now, value.value);
            brought.taken.push(Taken { stream, new });
            return;
        }
        let key = StreamKey {
            sender: self.sender(address),
            pgn,
            instance: value.instance,
            kind: value.kind,
            field: value.field,
        };
        let known = self.streams.iter().position(|stream| stream.key == key);
        let stream = known.unwrap_or(self.streams.len());
        if stream == self.streams.len() {
            if STREAMS_MAX <= stream {
                self.overflow += 1;
                let Some(stream) = self.give_up_one() else { return };
                self.streams[stream] = Stream::new(key, now, value.value).at_address(address);
                self.index.insert(packed, stream);
                brought.taken.push(Taken { stream, new: true });
                return;
            }
            self.streams.push(Stream::new(key, now, value.value).at_address(address));
        } else {
            self.streams[stream].address = address;
            self.streams[stream].take(now, value.value);
        }
        self.index.insert(packed, stream);
        brought.taken.push(Taken { stream, new: true });
    }

    /// All room is taken: the stream that no unit uses and that was silent for longest makes way, so that strangers cannot keep a sensor out.
    fn give_up_one(&mut self) -> Option<usize> {
        let unused = self.streams.iter().enumerate().filter(|(_, stream)| !stream.used);
        let (oldest, _) = unused.min_by_key(|(_, stream)| stream.at)?;
        self.index.retain(|_, stream| *stream != oldest);
        Some(oldest)
    }

    /// Who has this address now.
    pub fn sender(&self, address: u8) -> SenderId {
        match self.devices[usize::from(address)].name {
            Some(name) => SenderId::Name(name),
            None => SenderId::Address(address),
        }
    }

    /// Model of the device at an address, as it told.
    pub fn model(&self, address: u8) -> Option<&str> {
        self.devices[usize::from(address)].product.as_deref()
    }

    /// Address at which a sender was heard last.
    pub fn address(&self, sender: SenderId) -> Option<u8> {
        match sender {
            SenderId::Address(address) => Some(address),
            SenderId::Name(name) => {
                self.devices.iter().position(|device| device.name == Some(name)).map(|address| address as u8)
            }
        }
    }

    fn moved(&mut self, change: Change, brought: &mut Brought) {
        let (address, name) = match change {
            Change::Claimed { name, address, moved_from } => {
                if let Some(old) = moved_from {
                    self.forget(old);
                }
                (address, Some(name.0))
            }
            Change::Lost { address, .. } => (address, None),
        };
        let device = &mut self.devices[usize::from(address)];
        let before = device.name;
        if before == name {
            return;
        }
        self.forget(address);
        if let (None, Some(name)) = (before, name) {
            // The same device, only now known by its NAME: its streams keep their history.
            for stream in self.streams.iter_mut().filter(|s| s.key.sender == SenderId::Address(address)) {
                stream.key.sender = SenderId::Name(name);
            }
        }
        self.devices[usize::from(address)].name = name;
        if name.is_some() {
            brought.events.push(self.report(address, None));
        }
    }

    /// The device at this address is not known any more; its streams stay, but nobody feeds them from here.
    fn forget(&mut self, address: u8) {
        self.assembler.forget_source(address);
        self.devices[usize::from(address)] = Device { heard: true, ..Device::default() };
        self.index.retain(|packed, _| (packed >> 40) as u8 != address);
    }

    fn product(&mut self, address: u8, model: Option<&str>, brought: &mut Brought) {
        let device = &mut self.devices[usize::from(address)];
        let model = model.map(str::trim).filter(|model| !model.is_empty());
        if device.product.as_deref() != model && model.is_some() {
            device.product = model.map(str::to_owned);
            brought.events.push(self.report(address, None));
        }
    }

    /// Fields of a sender's status message that were never anything but zero, told once.
    pub fn new_zero_fields(&mut self, sender: SenderId) -> Vec<Quantity> {
        let streams = self.streams.iter_mut().filter(|stream| stream.key.sender == sender);
        let mut zero = Vec::new();
        for stream in streams {
            if let Field::Status(quantity) = stream.key.field
                && quantity != Quantity::OperatingState
                && !stream.ever_nonzero
                && !std::mem::replace(&mut stream.zero_told, true)
            {
                zero.push(quantity);
            }
        }
        zero
    }

    /// What is known of the device at an address, with a remark.
    pub fn report(&self, address: u8, remark: Option<String>) -> Event {
        let product = self.devices[usize::from(address)].product.clone();
        Event::Sender(SenderReport { sender: self.sender(address), address, product, remark })
    }

    /// Fast packets that were damaged or out of time.
    pub fn damaged(&self) -> u64 {
        let c = self.assembler.counters();
        c.timed_out + c.restarted + c.evicted + c.conflicting + c.too_long + c.beyond_length + c.too_short
    }
}

/// Address, group, instance, kind and field in one number; the address is on top so that all of one device can be dropped.
fn pack(address: u8, pgn: u32, value: &from_n2k::BusValue) -> u64 {
    let field = match value.field {
        Field::Temperature => 1,
        Field::Pressure => 2,
        Field::Level => 3,
        Field::Voltage => 4,
        Field::Current => 5,
        Field::Power => 6,
        Field::Frequency => 7,
        Field::Speed => 8,
        Field::Status(quantity) => 16 + quantity as u64,
    };
    // 18 bits of the group number fit beside 8 + 8 + 6 others below the address.
    u64::from(address) << 40
        | u64::from(pgn & 0x3FFFF) << 22
        | u64::from(value.instance) << 14
        | u64::from(value.kind) << 6
        | field
}

/// A multiplicative hash for numbers that are already well spread. The map is only looked up, never walked in an order that shows.
#[derive(Clone, Copy, Debug, Default)]
struct KeyHasher(u64);

impl Hasher for KeyHasher {
    fn finish(&self) -> u64 {
        self.0
    }

    fn write(&mut self, bytes: &[u8]) {
        for byte in bytes {
            self.write_u64(u64::from(*byte));
        }
    }

    fn write_u64(&mut self, number: u64) {
        // 2^64 over the golden ratio (Knuth, The Art of Computer Programming 3, 6.4).
        self.0 = (self.0 ^ number).wrapping_mul(0x9E37_79B9_7F4A_7C15).rotate_left(26);
    }
}
