//! Which NAME has which address, learnt from address claims only.
//!
//! The NAME is the identity of a device, its address is not: it changes after a power cycle or a contention. When two
//! nodes claim one address the lower NAME keeps it; the other one moves on. A claim with the higher NAME therefore takes
//! over only when the owner has not repeated its claim within 250 ms (ISO 11783-5).
//!
//! Not here: claiming an address for ourselves (`node/claim.rs`).

use crate::can_id::{CanId, NULL_ADDRESS};
use crate::name::Name;
use crate::pgn::AddressClaim;

/// Time an owner has to defend its address (ISO 11783-5, clause 4.5.2).
pub const CLAIM_WAIT_MS: u64 = 250;

/// Addresses that a node can have: 0 to 253.
const ADDRESSES: usize = 254;

/// What changed by a claim or by time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Change {
    /// A NAME has an address now.
    Claimed {
        /// The NAME.
        name: Name,
        /// Its address.
        address: u8,
        /// Its address before, if it moved.
        moved_from: Option<u8>,
    },
    /// A NAME has lost its address to another one, or cannot claim any.
    Lost {
        /// The NAME.
        name: Name,
        /// The address it had.
        address: u8,
    },
}

#[derive(Clone, Copy, Debug, Default)]
struct Entry {
    holder: Option<Name>,
    challenger: Option<(Name, u64)>,
}

/// Who is where.
#[derive(Clone, Debug)]
pub struct Senders {
    entries: Vec<Entry>,
    /// Number of challengers; nearly always 0.
    challengers: usize,
}

impl Default for Senders {
    fn default() -> Self {
        Self::new()
    }
}

impl Senders {
    /// Nobody is known.
    #[must_use]
    pub fn new() -> Self {
        Self { entries: vec![Entry::default(); ADDRESSES], challengers: 0 }
    }

    /// NAME at an address.
    #[must_use]
    pub fn name_at(&self, address: u8) -> Option<Name> {
        self.entries.get(usize::from(address))?.holder
    }

    /// Address of a NAME.
    #[must_use]
    pub fn address_of(&self, name: Name) -> Option<u8> {
        self.entries.iter().position(|entry| entry.holder == Some(name)).map(|address| address as u8)
    }

    /// All that are known, by address.
    pub fn iter(&self) -> impl Iterator<Item = (u8, Name)> {
        (0u8..).zip(&self.entries).filter_map(|(address, entry)| Some((address, entry.holder?)))
    }

    /// Takes a message; only claims (60928) with all eight bytes do anything. Changes are appended to `out`.
    pub fn handle(&mut self, now_ms: u64, id: CanId, payload: &[u8], out: &mut Vec<Change>) {
        if self.challengers > 0 {
            self.handle_timeout(now_ms, out);
        }
        if id.pgn != AddressClaim::PGN {
            return;
        }
        let Some(bytes) = payload.first_chunk() else { return };
        let name = Name::from_bytes(*bytes);
        if id.source == NULL_ADDRESS {
            self.leave(name, out);
            return;
        }
        let Some(entry) = self.entries.get_mut(usize::from(id.source)) else { return };
        match entry.holder {
            Some(holder) if holder == name => self.set_challenger(id.source, None),
            Some(holder) if holder < name => self.set_challenger(id.source, Some((name, now_ms))),
            _ => self.settle(name, id.source, out),
        }
    }

    /// Time of the next [`Senders::handle_timeout`].
    #[must_use]
    pub fn next_deadline(&self) -> Option<u64> {
        if self.challengers == 0 {
            return None;
        }
        self.entries.iter().filter_map(|entry| entry.challenger).map(|(_, since)| since + CLAIM_WAIT_MS).min()
    }

    /// Gives undefended addresses to those who claimed them.
    pub fn handle_timeout(&mut self, now_ms: u64, out: &mut Vec<Change>) {
        for address in 0..ADDRESSES as u8 {
            if let Some((name, since_ms)) = self.entries[usize::from(address)].challenger
                && now_ms.saturating_sub(since_ms) >= CLAIM_WAIT_MS
            {
                self.settle(name, address, out);
            }
        }
    }

    fn set_challenger(&mut self, address: u8, challenger: Option<(Name, u64)>) {
        let entry = &mut self.entries[usize::from(address)];
        self.challengers -= usize::from(entry.challenger.is_some());
        self.challengers += usize::from(challenger.is_some());
        entry.challenger = challenger;
    }

    fn settle(&mut self, name: Name, address: u8, out: &mut Vec<Change>) {
        self.set_challenger(address, None);
        let moved_from = self.address_of(name);
        if let Some(old) = moved_from {
            self.entries[usize::from(old)].holder = None;
        }
        let before = self.entries[usize::from(address)].holder.replace(name);
        out.extend(before.map(|name| Change::Lost { name, address }));
        out.push(Change::Claimed { name, address, moved_from });
    }

    fn leave(&mut self, name: Name, out: &mut Vec<Change>) {
        for address in 0..ADDRESSES as u8 {
            let entry = &mut self.entries[usize::from(address)];
            if entry.holder == Some(name) {
                entry.holder = None;
                out.push(Change::Lost { name, address });
            }
            if entry.challenger.is_some_and(|(challenger, _)| challenger == name) {
                self.set_challenger(address, None);
            }
        }
    }
}

#[cfg(test)]
mod tests;
