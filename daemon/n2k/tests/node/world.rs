//! The simulated bus. A frame that one party sends is seen by all others at once and in order; time jumps from deadline to deadline.

use barrico_n2k::node::{Event, Link, NodeOutput, NodeSettings, NodeState, Nodes, Output, Question};
use barrico_n2k::pgn::{self, AddressClaim, Content};
use barrico_n2k::{Assembler, CanId, Frame, Name};
use std::collections::VecDeque;

/// What a stranger does when it sees a frame: frames of its own.
pub type Stranger = Box<dyn FnMut(u64, &Frame) -> Vec<Frame>>;

/// Frames that one moment may bring before it counts as a storm.
const STORM: usize = 5_000;

pub struct World {
    pub now_ms: u64,
    pub parties: Vec<Nodes>,
    pub stranger: Option<Stranger>,
    /// Everything seen on the bus, with its time and whether one of ours sent it.
    pub log: Vec<(u64, bool, Frame)>,
    pub events: Vec<(u64, usize, Event)>,
    pub stored: Vec<(u64, usize, NodeState)>,
    pub asked: Vec<Question>,
    pub left: Vec<u8>,
}

impl World {
    /// Each settings is a node in a program of its own.
    pub fn new(settings: Vec<(NodeSettings, Option<NodeState>)>) -> Self {
        let party = |(index, (settings, stored))| {
            let mut nodes = Nodes::new();
            nodes.add(settings, stored, 1000 + index as u64);
            nodes
        };
        Self {
            now_ms: 0,
            parties: settings.into_iter().enumerate().map(party).collect(),
            stranger: None,
            log: Vec::new(),
            events: Vec::new(),
            stored: Vec::new(),
            asked: Vec::new(),
            left: Vec::new(),
        }
    }

    /// One node, started and with an address.
    pub fn one(settings: NodeSettings) -> Self {
        let mut world = Self::new(vec![(settings, None)]);
        world.start();
        world.run_to(5_000);
        world.log.clear();
        world.events.clear();
        world
    }

    pub fn start(&mut self) {
        for index in 0..self.parties.len() {
            self.act(index, |nodes, now_ms, out| nodes.start(now_ms, out));
        }
    }

    pub fn link(&mut self, index: usize, link: Link) {
        self.act(index, |nodes, now_ms, out| nodes.set_link(now_ms, link, out));
    }

    pub fn act(&mut self, index: usize, act: impl FnOnce(&mut Nodes, u64, &mut Vec<NodeOutput>)) {
        let mut out = Vec::new();
        act(&mut self.parties[index], self.now_ms, &mut out);
        self.spread(index, out);
    }

    fn spread(&mut self, index: usize, out: Vec<NodeOutput>) {
        let mut frames = VecDeque::new();
        self.note(index, out, &mut frames);
        self.deliver(frames);
    }

    fn note(&mut self, index: usize, out: Vec<NodeOutput>, frames: &mut VecDeque<(Option<usize>, Frame)>) {
        for NodeOutput { output, .. } in out {
            match output {
                Output::Transmit(frame) => frames.push_back((Some(index), frame)),
                Output::Store(state) => self.stored.push((self.now_ms, index, state)),
                Output::Asked(question) => self.asked.push(question),
                Output::AddressLeft(address) => self.left.push(address),
                Output::Event(event) => self.events.push((self.now_ms, index, event)),
            }
        }
    }

    fn deliver(&mut self, mut frames: VecDeque<(Option<usize>, Frame)>) {
        let mut count = 0;
        while let Some((from, frame)) = frames.pop_front() {
            count += 1;
            assert!(count < STORM, "a storm at {} ms", self.now_ms);
            self.log.push((self.now_ms, from.is_some(), frame));
            for index in (0..self.parties.len()).filter(|index| Some(*index) != from) {
                let mut out = Vec::new();
                self.parties[index].handle_frame(self.now_ms, &frame, &mut out);
                self.note(index, out, &mut frames);
            }
            if from.is_some()
                && let Some(stranger) = &mut self.stranger
            {
                frames.extend(stranger(self.now_ms, &frame).into_iter().map(|frame| (None, frame)));
            }
        }
    }

    /// A stranger sends a frame now.
    pub fn inject(&mut self, frame: Frame) {
        self.deliver(VecDeque::from([(None, frame)]));
    }

    pub fn run_to(&mut self, end_ms: u64) {
        let mut steps = 0;
        while let Some(next_ms) = self.parties.iter().filter_map(Nodes::next_deadline).min()
            && next_ms <= end_ms
        {
            steps += 1;
            assert!(steps < 1_000_000, "time stands at {} ms", self.now_ms);
            self.now_ms = self.now_ms.max(next_ms);
            for index in 0..self.parties.len() {
                self.act(index, |nodes, now_ms, out| nodes.handle_timeout(now_ms, out));
            }
        }
        self.now_ms = self.now_ms.max(end_ms);
    }

    pub fn run_for(&mut self, ms: u64) {
        self.run_to(self.now_ms + ms);
    }

    pub fn address(&self, index: usize) -> Option<u8> {
        self.parties[index].get(0).unwrap().address()
    }

    pub fn name(&self, index: usize) -> Name {
        self.parties[index].get(0).unwrap().name()
    }

    /// What ours have sent, put together.
    pub fn sent(&self) -> Vec<(u64, CanId, Vec<u8>)> {
        let mut assembler = Assembler::new();
        let mut list = Vec::new();
        for (at_ms, _, frame) in self.log.iter().filter(|(_, ours, _)| *ours) {
            let id = frame.can_id();
            if let Some(message) = assembler.push(*at_ms, id, frame.payload()) {
                list.push((*at_ms, id, message.payload.to_vec()));
            }
        }
        list
    }

    pub fn sent_of(&self, pgn: u32) -> Vec<(u64, CanId, Vec<u8>)> {
        self.sent().into_iter().filter(|(_, id, _)| id.pgn == pgn).collect()
    }

    /// Most frames that ours have sent in any one second.
    pub fn busiest_second(&self) -> usize {
        let times: Vec<u64> =
            self.log.iter().filter(|(_, ours, _)| *ours).map(|(at_ms, _, _)| *at_ms).collect();
        let within = |(index, start): (usize, &u64)| {
            times[index..].iter().take_while(|at| **at < start + 1000).count()
        };
        times.iter().enumerate().map(within).max().unwrap_or(0)
    }
}

pub fn settings(unique_number: u32) -> NodeSettings {
    NodeSettings {
        unique_number: Some(unique_number),
        preferred_address: 40,
        model_id: "barrico".to_owned(),
        software_version: "0.1.0".to_owned(),
        sends: vec![130_567, 126_983, 126_985],
        uses: vec![126_984, 130_312],
        ..NodeSettings::default()
    }
}

/// A claim of a stranger.
pub fn claim(name: Name, address: u8) -> Frame {
    Frame::new(
        CanId { priority: 6, pgn: AddressClaim::PGN, source: address, destination: 255 },
        &name.to_bytes(),
    )
}

/// An ISO request of a stranger.
pub fn request(source: u8, destination: u8, pgn: u32) -> Frame {
    Frame::new(CanId { priority: 6, pgn: 59_904, source, destination }, &pgn.to_le_bytes()[..3])
}

/// A message of a stranger in frames.
pub fn frames(source: u8, destination: u8, content: &Content) -> Vec<Frame> {
    let mut payload = Vec::new();
    content.encode(&mut payload);
    let id = CanId { priority: 3, pgn: content.pgn(), source, destination };
    barrico_n2k::split(id, &payload, 0).unwrap().collect()
}

pub fn decode(pgn: u32, payload: &[u8]) -> Content {
    pgn::decode(pgn, payload).unwrap()
}
