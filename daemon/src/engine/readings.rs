//! What a unit knows now: for each quantity the source that counts.
//!
//! Sources are streams of the bus and readings by hand, ranked by the settings. A value that is too old is unknown; it is kept
//! aside as "last known", never shown as present.

use crate::intake::arbitration::{self, Choice};
use crate::intake::stream::{Field, Stream};
use crate::intake::{from_n2k, usual_errors};
use crate::settings::{BusSource, Instrument, SenderRule, Source, UnitSettings};
use barrico_model::records::{Origin, Reading, SenderId};
use barrico_model::{Dimension, Monotonic, Quantity};

/// Age at which a hand reading counts no more for the present moment, s, unless the settings say otherwise: half a day (our choice).
pub const HAND_STALE_S: f64 = 12.0 * 3600.0;

/// The same for a state that was written down, s: a unit runs for an hour or two and then stops (our choice).
pub const HAND_STATE_STALE_S: f64 = 1_800.0;

/// Candidates for one quantity.
#[derive(Clone, Debug)]
pub struct Arbiter {
    /// Quantity.
    pub quantity: Quantity,
    candidates: Vec<Candidate>,
    /// What counts now.
    pub choice: Choice,
    /// When somebody was last told of the value.
    pub told: Option<Monotonic>,
}

#[derive(Clone, Copy, Debug)]
struct Candidate {
    stream: usize,
    rank: u8,
    instrument: u16,
}

/// All quantities of one unit.
#[derive(Clone, Debug)]
pub struct Readings {
    arbiters: Vec<Arbiter>,
    /// Fresh readings, in the order of [`Quantity::ALL`].
    pub current: Vec<Option<Reading>>,
    /// Newest reading ever, fresh or not.
    pub last: Vec<Option<Reading>>,
    hand: Vec<Option<Reading>>,
}

impl Default for Readings {
    fn default() -> Self {
        let none = vec![None; Quantity::ALL.len()];
        Self { arbiters: Vec::new(), current: none.clone(), last: none.clone(), hand: none }
    }
}

impl Readings {
    /// A stream has appeared: which quantities of this unit does it serve?
    pub fn offer(&mut self, index: usize, stream: &Stream, settings: &UnitSettings) {
        for (rank, rule) in settings.sources.iter().enumerate() {
            let Source::Bus(source) = &rule.source else { continue };
            if serves(rule.quantity, source, stream) {
                self.subscribe(rule.quantity, index, rank.min(255) as u8, rule.instrument);
            }
        }
        if let Field::Status(quantity) = stream.key.field
            && settings.status_from.is_some_and(|rule| is_sender(rule, stream))
        {
            // The unit's own message serves every quantity that no rule names.
            self.subscribe(quantity, index, 254, 0);
        }
    }

    /// Lets a stream serve a quantity.
    pub fn subscribe(&mut self, quantity: Quantity, stream: usize, rank: u8, instrument: u16) {
        let arbiter = match self.arbiters.iter().position(|arbiter| arbiter.quantity == quantity) {
            Some(found) => &mut self.arbiters[found],
            None => {
                self.arbiters.push(Arbiter {
                    quantity,
                    candidates: vec![],
                    choice: Choice::default(),
                    told: None,
                });
                self.arbiters.sort_by_key(|arbiter| arbiter.quantity);
                let found = self.arbiters.iter().position(|arbiter| arbiter.quantity == quantity);
                // Just pushed, so it is there.
                &mut self.arbiters[found.unwrap_or(0)]
            }
        };
        if !arbiter.candidates.iter().any(|known| known.stream == stream) {
            arbiter.candidates.push(Candidate { stream, rank, instrument });
            arbiter.candidates.sort_by_key(|candidate| (candidate.rank, candidate.stream));
        }
    }

    /// A stream took a value. Returns the reading if it is the one that counts.
    pub fn take(
        &mut self,
        index: usize,
        streams: &[Stream],
        instruments: &[Instrument],
    ) -> Option<(Reading, &mut Option<Monotonic>)> {
        let arbiter = self.arbiters.iter_mut().find(|arbiter| arbiter.choice.stream == Some(index))?;
        let candidate = arbiter.candidates.iter().find(|candidate| candidate.stream == index)?;
        let reading = reading_of(arbiter.quantity, &streams[index], candidate.instrument, instruments)?;
        self.current[arbiter.quantity as usize] = Some(reading);
        self.last[arbiter.quantity as usize] = Some(reading);
        Some((reading, &mut arbiter.told))
    }

    /// Readings by hand.
    pub fn take_by_hand(&mut self, reading: Reading) {
        self.hand[reading.quantity as usize] = Some(reading);
        self.last[reading.quantity as usize] = Some(reading);
    }

    /// Chooses anew what counts, and lets go of what is too old. Call it when a stream appears and once a second.
    pub fn arbitrate(
        &mut self,
        now: Monotonic,
        streams: &[Stream],
        instruments: &[Instrument],
        settings: &UnitSettings,
    ) {
        self.current.fill(None);
        for arbiter in &mut self.arbiters {
            let candidates: Vec<(usize, u8)> =
                arbiter.candidates.iter().map(|candidate| (candidate.stream, candidate.rank)).collect();
            let present = arbiter.choice.stream;
            arbiter.choice = arbitration::choose(arbiter.quantity, now, streams, &candidates, present);
            if arbiter.choice.stream != present {
                arbiter.told = None;
            }
            let Some(index) = arbiter.choice.stream else { continue };
            let instrument =
                arbiter.candidates.iter().find(|c| c.stream == index).map_or(0, |c| c.instrument);
            if let Some(reading) = reading_of(arbiter.quantity, &streams[index], instrument, instruments) {
                self.current[arbiter.quantity as usize] = Some(reading);
                self.last[arbiter.quantity as usize] = Some(reading);
            }
        }
        for &quantity in Quantity::ALL {
            let slot = &mut self.current[quantity as usize];
            let Some(hand) = self.hand[quantity as usize].filter(|_| slot.is_none()) else { continue };
            if hand.at.0 as f64 + 1000.0 * hand_stale_s(settings, quantity) >= now.0 as f64 {
                *slot = Some(hand);
            }
        }
    }

    /// The quantities that a sensor was promised for or has ever fed.
    pub fn arbiters(&self) -> &[Arbiter] {
        &self.arbiters
    }

    /// Readings by hand that are what is known of their quantity now.
    pub fn by_hand(&self) -> impl Iterator<Item = Reading> + '_ {
        self.current.iter().flatten().filter(|reading| matches!(reading.origin, Origin::Hand { .. })).copied()
    }

    /// Fresh value of a quantity, unless a person read it: that was true at one moment and tells nothing of the state now.
    pub fn live_value(&self, quantity: Quantity) -> Option<f64> {
        let reading = self.current[quantity as usize]?;
        (!matches!(reading.origin, Origin::Hand { .. })).then_some(reading.value)
    }

    /// Fresh value of a quantity.
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.current[quantity as usize].map(|reading| reading.value)
    }
}

impl Arbiter {
    /// Streams that could serve, best first.
    pub fn streams(&self) -> impl Iterator<Item = usize> + '_ {
        self.candidates.iter().map(|candidate| candidate.stream)
    }
}

fn hand_stale_s(settings: &UnitSettings, quantity: Quantity) -> f64 {
    let rule = settings.sources.iter().find(|rule| rule.quantity == quantity && rule.source == Source::Hand);
    let usual = if quantity == Quantity::OperatingState { HAND_STATE_STALE_S } else { HAND_STALE_S };
    rule.and_then(|rule| rule.stale_after_s).unwrap_or(usual)
}

fn reading_of(
    quantity: Quantity,
    stream: &Stream,
    instrument: u16,
    instruments: &[Instrument],
) -> Option<Reading> {
    let usable = stream.is_believed() && quantity.is_possible(stream.value);
    if !usable {
        return None;
    }
    let transmitter = instruments.get(usize::from(instrument));
    let (random, systematic) = transmitter.map_or((0.0, 0.0), |i| usual_errors(i, quantity, stream.value));
    let origin =
        Origin::Nmea2000 { sender: stream.key.sender, pgn: stream.key.pgn, instance: stream.key.instance };
    Some(Reading { quantity, value: stream.value, random, systematic, instrument, origin, at: stream.at })
}

/// Does a rule's sender mean this device?
fn is_sender(rule: SenderRule, stream: &Stream) -> bool {
    match (rule, stream.key.sender) {
        (SenderRule::Name(a), SenderId::Name(b)) => a == b,
        (SenderRule::Name(_), SenderId::Address(_)) => false,
        // Whoever has the address, whether its NAME is known or not.
        (SenderRule::Address(address), _) => stream.address == address,
    }
}

/// Does a stream serve a quantity by this rule?
fn serves(quantity: Quantity, source: &BusSource, stream: &Stream) -> bool {
    let key = &stream.key;
    let kind = source.kind.or(usual_kind(quantity));
    key.pgn == source.pgn
        && source.sender.is_none_or(|rule| is_sender(rule, stream))
        && source.instance.is_none_or(|instance| instance == key.instance)
        && kind.is_none_or(|kind| kind == key.kind || key.kind == from_n2k::NONE)
        && is_field(quantity, key.field)
}

/// The kind in the message that a quantity usually has: sea temperature, water tank.
fn usual_kind(quantity: Quantity) -> Option<u8> {
    match quantity {
        Quantity::FeedTemperature => Some(0),
        Quantity::TankLevel => Some(1),
        _ => None,
    }
}

fn is_field(quantity: Quantity, field: Field) -> bool {
    match field {
        Field::Status(own) => own == quantity,
        Field::Temperature => quantity.dimension() == Dimension::Temperature,
        Field::Pressure => {
            matches!(quantity.dimension(), Dimension::Pressure | Dimension::PressureDifference)
        }
        Field::Level => quantity.dimension() == Dimension::Level,
        Field::Voltage => quantity.dimension() == Dimension::Voltage,
        Field::Current => quantity.dimension() == Dimension::Current,
        Field::Power => quantity.dimension() == Dimension::Power,
        Field::Frequency => quantity.dimension() == Dimension::Frequency,
        Field::Speed => quantity.dimension() == Dimension::Speed,
    }
}
