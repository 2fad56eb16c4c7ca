//! The nodes of one program on one socket.
//!
//! A socket does not see its own frames, so the nodes would not see each other: the hub hands every frame that one node sends to all
//! others, in the order in which they are sent. It also holds the reassembly for callers that have only frames.

use super::{
    ControllerState, EquipmentStatus, Link, Node, NodeSettings, NodeState, Output, Question, Refused,
    Urgency, is_for_nodes,
};
use crate::fast_packet::{Assembler, Message};
use crate::frame::Frame;
use crate::pgn::Content;

/// An output and the number of the node it comes from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NodeOutput {
    /// Number as given by [`Nodes::add`].
    pub node: usize,
    /// The output.
    pub output: Output,
}

/// All nodes. See the module.
#[derive(Debug, Default)]
pub struct Nodes {
    nodes: Vec<Node>,
    assembler: Assembler,
    scratch: Vec<Output>,
}

impl Nodes {
    /// No node yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a node and gives its number; numbers count from 0. See [`Node::new`].
    pub fn add(&mut self, settings: NodeSettings, stored: Option<NodeState>, seed: u64) -> usize {
        self.nodes.push(Node::new(settings, stored, seed));
        self.nodes.len() - 1
    }

    /// A node by its number.
    #[must_use]
    pub fn get(&self, node: usize) -> Option<&Node> {
        self.nodes.get(node)
    }

    /// All, by number.
    pub fn iter(&self) -> impl Iterator<Item = &Node> {
        self.nodes.iter()
    }

    /// Whether a frame with this source address comes from one of ours: for telling own frames that come back through a gateway.
    #[must_use]
    pub fn is_own_address(&self, address: u8) -> bool {
        self.nodes.iter().any(|node| node.address() == Some(address))
    }

    /// [`Node::start`] for all.
    pub fn start(&mut self, now_ms: u64, out: &mut Vec<NodeOutput>) {
        self.each(now_ms, out, |node, out| node.start(now_ms, out));
    }

    /// [`Node::set_link`] for all.
    pub fn set_link(&mut self, now_ms: u64, link: Link, out: &mut Vec<NodeOutput>) {
        self.each(now_ms, out, |node, out| node.set_link(now_ms, link, out));
    }

    /// [`Node::set_health`] for all.
    pub fn set_health(&mut self, controller: ControllerState, equipment: EquipmentStatus) {
        for node in &mut self.nodes {
            node.set_health(controller, equipment);
        }
    }

    /// Takes a frame of the bus. For callers that do not put fast packets together themselves.
    pub fn handle_frame(&mut self, now_ms: u64, frame: &Frame, out: &mut Vec<NodeOutput>) {
        let id = frame.can_id();
        if !is_for_nodes(id.pgn) {
            return;
        }
        let Some(message) = self.assembler.push(now_ms, id, frame.payload()) else { return };
        let payload = message.payload.to_vec();
        let message = Message { payload: &payload, ..head(&message) };
        self.handle(now_ms, &message, out);
    }

    /// Takes an assembled message of the bus. See [`Node::handle`].
    pub fn handle(&mut self, now_ms: u64, message: &Message<'_>, out: &mut Vec<NodeOutput>) {
        if is_for_nodes(message.pgn) {
            self.each(now_ms, out, |node, out| node.handle(now_ms, message, out));
        }
    }

    /// Lets time pass for all.
    pub fn handle_timeout(&mut self, now_ms: u64, out: &mut Vec<NodeOutput>) {
        self.each(now_ms, out, |node, out| {
            if node.next_deadline().is_some_and(|at_ms| at_ms <= now_ms) {
                node.handle_timeout(now_ms, out);
            }
        });
    }

    /// Time of the next [`Nodes::handle_timeout`].
    #[must_use]
    pub fn next_deadline(&self) -> Option<u64> {
        self.nodes.iter().filter_map(Node::next_deadline).min()
    }

    /// [`Node::send`] of one node.
    ///
    /// # Errors
    /// As there; [`Refused::NoAddress`] also for a number that no node has.
    pub fn send(
        &mut self,
        now_ms: u64,
        node: usize,
        urgency: Urgency,
        priority: u8,
        content: &Content,
        out: &mut Vec<NodeOutput>,
    ) -> Result<(), Refused> {
        let mut result = Err(Refused::NoAddress);
        self.one(now_ms, node, out, |node, out| result = node.send(now_ms, urgency, priority, content, out));
        result
    }

    /// [`Node::answer`] of one node.
    pub fn answer(
        &mut self,
        now_ms: u64,
        node: usize,
        question: &Question,
        current: &[(u8, Content)],
        out: &mut Vec<NodeOutput>,
    ) {
        self.one(now_ms, node, out, |node, out| node.answer(now_ms, question, current, out));
    }

    fn each(
        &mut self,
        now_ms: u64,
        out: &mut Vec<NodeOutput>,
        mut act: impl FnMut(&mut Node, &mut Vec<Output>),
    ) {
        // One after the other: a later node already knows what an earlier one has just claimed.
        for index in 0..self.nodes.len() {
            let from = out.len();
            act(&mut self.nodes[index], &mut self.scratch);
            collect(index, &mut self.scratch, out);
            self.show_to_siblings(now_ms, from, out);
        }
    }

    fn one(
        &mut self,
        now_ms: u64,
        index: usize,
        out: &mut Vec<NodeOutput>,
        act: impl FnOnce(&mut Node, &mut Vec<Output>),
    ) {
        let from = out.len();
        if let Some(node) = self.nodes.get_mut(index) {
            act(node, &mut self.scratch);
            collect(index, &mut self.scratch, out);
        }
        self.show_to_siblings(now_ms, from, out);
    }

    /// Hands what was sent to the other nodes, and what they answer again. It ends: every answer is paid for from a limit.
    fn show_to_siblings(&mut self, now_ms: u64, from: usize, out: &mut Vec<NodeOutput>) {
        let mut next = from;
        while let Some(NodeOutput { node: sender, output }) = out.get(next) {
            let (sender, output) = (*sender, output.clone());
            next += 1;
            match output {
                Output::AddressLeft(address) => self.assembler.forget_source(address),
                Output::Transmit(frame) if self.nodes.len() > 1 => self.show(now_ms, sender, &frame, out),
                _ => {}
            }
        }
    }

    fn show(&mut self, now_ms: u64, sender: usize, frame: &Frame, out: &mut Vec<NodeOutput>) {
        let id = frame.can_id();
        if !is_for_nodes(id.pgn) {
            return;
        }
        let Some(message) = self.assembler.push(now_ms, id, frame.payload()) else { return };
        for (index, node) in self.nodes.iter_mut().enumerate().filter(|(index, _)| *index != sender) {
            node.handle(now_ms, &message, &mut self.scratch);
            collect(index, &mut self.scratch, out);
        }
    }
}

/// All but the payload.
fn head(message: &Message<'_>) -> Message<'static> {
    Message {
        pgn: message.pgn,
        priority: message.priority,
        source: message.source,
        destination: message.destination,
        payload: &[],
    }
}

fn collect(node: usize, from: &mut Vec<Output>, out: &mut Vec<NodeOutput>) {
    out.extend(from.drain(..).map(|output| NodeOutput { node, output }));
}
