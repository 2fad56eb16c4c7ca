//! barrico's own devices on the bus: one node per unit of the settings, with a NAME and an address of its own.
//!
//! The nodes claim, answer and obey the rules of the bus by themselves (`barrico_n2k::node`); here they are made from the settings and what the store
//! remembers, woken in time, and told what to send. Without a link nothing is sent; without an address neither.

use super::{Engine, Event, Output, Record};
use crate::settings::Settings;
use barrico_model::Monotonic;
use barrico_n2k::Name;
use barrico_n2k::node::{self, Link, NodeOutput, NodeSettings, NodeState, Nodes, Urgency};
use barrico_n2k::pgn::{ActualPressure, Alert, AlertText, Content, TemperatureExtended, WatermakerStatus};

/// Groups that a node sends on behalf of its unit.
const SENDS: [u32; 5] =
    [Alert::PGN, AlertText::PGN, ActualPressure::PGN, TemperatureExtended::PGN, WatermakerStatus::PGN];
/// Address that the first unit's node tries first, when it has had none; further units count up (our choice, amid those that are seldom taken).
const FIRST_ADDRESS: u8 = 100;
/// Answers to our alerts.
const ALERT_RESPONSE: u32 = 126_984;

/// The nodes and whom they speak for.
#[derive(Debug, Default)]
pub struct Network {
    nodes: Nodes,
    /// Unit of each node.
    units: Vec<usize>,
    /// What is wrong with each node, in words; `None`: nothing.
    troubles: Vec<Option<String>>,
    out: Vec<NodeOutput>,
    started: bool,
}

impl Network {
    /// Number of the node that speaks for a unit.
    fn node(&self, unit: usize) -> Option<usize> {
        self.units.iter().position(|known| *known == unit)
    }

    /// NAME under which a unit's alerts go out.
    pub fn name(&self, unit: usize) -> Option<Name> {
        Some(self.nodes.get(self.node(unit)?)?.name())
    }

    /// Address of a unit's node while it may send.
    pub fn address(&self, unit: usize) -> Option<u8> {
        self.nodes.get(self.node(unit)?)?.address()
    }

    /// Until when nothing needs to be done.
    pub fn next_deadline(&self) -> Option<Monotonic> {
        self.nodes.next_deadline().map(Monotonic)
    }

    fn add(&mut self, unit: usize, settings: NodeSettings, stored: Option<NodeState>, seed: u64) {
        self.nodes.add(settings, stored, seed);
        self.units.push(unit);
        self.troubles.push(None);
    }

    /// What is wrong with a unit's node, in words.
    pub fn trouble(&self, unit: usize) -> Option<&str> {
        self.troubles.get(self.node(unit)?)?.as_deref()
    }
}

impl Engine {
    /// Makes the nodes. They go onto the bus when there is one.
    pub(super) fn make_nodes(&mut self, mut stored: Vec<Option<NodeState>>, seed: u64) {
        if !self.options.transmit {
            return;
        }
        stored.resize(self.units.len(), None);
        for (unit, state) in stored.into_iter().enumerate() {
            if self.units[unit].is_boat {
                continue;
            }
            let settings = node_settings(&self.settings, &self.units[unit].settings.name, unit);
            // A different start for each node, or two of one boat would draw the same unique number.
            self.network.add(unit, settings, state, seed.wrapping_add(unit as u64));
        }
    }

    /// The bus can be used: for the first time, or again.
    pub(super) fn bus_there(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        let network = &mut self.network;
        if std::mem::replace(&mut network.started, true) {
            // Told again means that it was gone for a moment: every address must be claimed anew.
            network.nodes.set_link(now.0, Link::Lost, &mut network.out);
            network.nodes.set_link(now.0, Link::Back, &mut network.out);
        } else {
            network.nodes.start(now.0, &mut network.out);
        }
        self.carry_out_nodes(now, out);
    }

    /// The bus is gone.
    pub(super) fn bus_gone(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        if self.network.started {
            self.network.nodes.set_link(now.0, Link::Lost, &mut self.network.out);
            self.carry_out_nodes(now, out);
        }
    }

    pub(super) fn show_to_nodes(
        &mut self,
        now: Monotonic,
        frame: &barrico_n2k::Frame,
        out: &mut Vec<Output>,
    ) {
        self.network.nodes.handle_frame(now.0, frame, &mut self.network.out);
        if !self.network.out.is_empty() {
            self.carry_out_nodes(now, out);
        }
    }

    pub(super) fn nodes_timeout(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        if self.network.next_deadline().is_some_and(|at| at <= now) {
            self.network.nodes.handle_timeout(now.0, &mut self.network.out);
            self.carry_out_nodes(now, out);
        }
    }

    /// Sends a message of a unit. False: there is no address, or too much waits.
    pub(super) fn send(
        &mut self,
        now: Monotonic,
        unit: usize,
        urgency: Urgency,
        priority: u8,
        content: &Content,
        out: &mut Vec<Output>,
    ) -> bool {
        let Some(node) = self.network.node(unit) else { return false };
        let network = &mut self.network;
        let sent = network.nodes.send(now.0, node, urgency, priority, content, &mut network.out).is_ok();
        self.carry_out_nodes(now, out);
        sent
    }

    fn carry_out_nodes(&mut self, now: Monotonic, out: &mut Vec<Output>) {
        // An answer to a question may bring outputs of its own.
        while !self.network.out.is_empty() {
            for NodeOutput { node, output } in std::mem::take(&mut self.network.out) {
                let Some(&unit) = self.network.units.get(node) else { continue };
                match output {
                    node::Output::Transmit(frame) => out.push(Output::Transmit(frame)),
                    node::Output::Store(state) => {
                        self.persist(Record::Node { unit, state }, out);
                    }
                    node::Output::Asked(question) => {
                        let current = self.present_messages(now, unit, question.pgn);
                        let network = &mut self.network;
                        network.nodes.answer(now.0, node, &question, &current, &mut network.out);
                    }
                    // The engine follows claims by itself, for all senders.
                    node::Output::AddressLeft(_) => {}
                    node::Output::Event(event) => {
                        self.note_trouble(node, event);
                        if let Some(text) = self.in_words(event) {
                            out.push(Output::Event(Box::new(Event::Remark { unit: Some(unit), text })));
                        }
                    }
                }
            }
        }
    }

    /// Remembers what is wrong until the node has an address again.
    fn note_trouble(&mut self, node: usize, event: node::Event) {
        let trouble = match event {
            node::Event::Claimed { .. } => None,
            node::Event::LostAddress { .. }
            | node::Event::CannotClaim
            | node::Event::TwinName { new_unique_number: None, .. } => self.in_words(event),
            _ => return,
        };
        self.network.troubles[node] = trouble;
    }

    /// What happened on the bus, for the owner. `None`: nothing that a person needs.
    fn in_words(&self, event: node::Event) -> Option<String> {
        let who = |address: u8| self.device(address);
        Some(match event {
            node::Event::Claimed { address } => format!("on the bus at address {address}"),
            node::Event::LostAddress { address, to } => {
                format!("address {address} on the bus went to a device with a lower NAME ({:016x}); taking another", to.0)
            }
            node::Event::CannotClaim => {
                "no address is free on the bus: displays hear nothing of this unit. Trying again in some minutes".to_owned()
            }
            node::Event::TwinName { name, address, new_unique_number: Some(number) } => format!(
                "another device at address {address} has the same NAME ({:016x}): was the memory card copied? This one is now number {number}",
                name.0
            ),
            node::Event::TwinName { name, address, new_unique_number: None } => format!(
                "another device at address {address} has the same NAME ({:016x}): set another `unique_number` under `[bus]` on one of the two",
                name.0
            ),
            node::Event::AddressCommanded { address, by } => {
                format!("{} told this unit's node to use address {address}", who(by))
            }
            node::Event::CommandRefused { pgn, by, .. } => {
                format!("{} tried to set something of group {pgn} and was refused: barrico reads and reports only", who(by))
            }
            node::Event::InstanceChanged { device_instance, system_instance, by } => format!(
                "{} set the device instance to {device_instance} and the system instance to {system_instance}",
                who(by)
            ),
            node::Event::DescriptionChanged { number, by } => {
                format!("{} changed installation description {number}", who(by))
            }
            node::Event::AcknowledgeReceived { .. } => return None,
        })
    }

    /// A device on the bus, in words.
    pub(super) fn device(&self, address: u8) -> String {
        match self.bus.model(address) {
            Some(model) => format!("{model} (address {address})"),
            None => format!("the device at address {address}"),
        }
    }
}

fn node_settings(settings: &Settings, unit_name: &str, unit: usize) -> NodeSettings {
    let bus = settings.bus.as_ref();
    let mut uses: Vec<u32> = crate::settings::bus_groups().collect();
    uses.push(ALERT_RESPONSE);
    uses.sort_unstable();
    NodeSettings {
        // Each begins somewhere else, or they would first sort out among themselves who gets which.
        preferred_address: FIRST_ADDRESS + unit as u8,
        unique_number: bus.and_then(|bus| bus.unique_number).map(|number| number + unit as u32),
        device_instance: bus.and_then(|bus| bus.device_instance).unwrap_or(0).saturating_add(unit as u8),
        system_instance: bus.and_then(|bus| bus.system_instance).unwrap_or(0),
        model_id: "barrico".to_owned(),
        software_version: env!("CARGO_PKG_VERSION").to_owned(),
        model_version: "monitor, reads only".to_owned(),
        installation_descriptions: [plain(unit_name), plain(&settings.boat.name)],
        manufacturer_information: "free software, not certified".to_owned(),
        sends: SENDS.to_vec(),
        uses,
        ..NodeSettings::default()
    }
}

/// ASCII, and short enough for every reader.
fn plain(text: &str) -> String {
    text.chars()
        .map(|c| if c.is_ascii_graphic() || c == ' ' { c } else { '?' })
        .take(node::DESCRIPTION_MAX_BYTES)
        .collect()
}
