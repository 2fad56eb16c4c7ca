//! The CAN interface against a real Linux kernel: virtual interfaces, and a serial adapter that the test plays itself.
//!
//! Needs root and a kernel with CAN. `tests/stages/can.sh` runs it inside User-Mode Linux with `REQUIRE_CAN=1`; without that variable and without the
//! interface `vcan0` each test says that it is skipped. Each test makes an interface of its own, so they do not disturb one another. What the kernel is
//! expected to do is what Linux 6.1 was seen to do; no time here is tighter than a second, since the guest's clock may stumble on a busy machine.
#![expect(clippy::unwrap_used, reason = "a test whose own set-up fails has failed")]

use barrico::engine::{BusCounts, Input, SourceState};
use barrico::service::clock::Clock;
use barrico::service::mailbox::mailbox;
use barrico::sources::can_bus::{Brought, CanBus, Wire};
use barrico_n2k::{CanId, Frame, split};
use socketcan::{CanSocket, Socket};
use std::io::{BufRead, BufReader, Read, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, Sender, TryRecvError, channel};
use std::thread::JoinHandle;
use std::time::Duration;

/// Longest wait for something that should take half a second.
const PATIENCE: Duration = Duration::from_secs(20);
const ADDRESS: u8 = 42;

/// Is there a kernel to test against?
fn kernel() -> bool {
    let there = std::path::Path::new("/sys/class/net/vcan0").exists();
    assert!(there || std::env::var_os("REQUIRE_CAN").is_none(), "REQUIRE_CAN is set, but there is no vcan0");
    if !there {
        eprintln!("skipped: no vcan0 here");
    }
    there
}

fn ip(arguments: &str) {
    let output = Command::new("ip").args(arguments.split(' ')).output().unwrap();
    assert!(output.status.success(), "ip {arguments}: {}", String::from_utf8_lossy(&output.stderr));
}

fn make(name: &str) {
    ip(&format!("link add {name} type vcan"));
    ip(&format!("link set {name} up"));
}

/// What reached the engine. The bus is turned on a thread, as the engine's does it.
struct Engine {
    comes: Receiver<Heard>,
    said: Sender<Said>,
    thread: JoinHandle<()>,
    clock: Clock,
    frames: Vec<Frame>,
    states: Vec<SourceState>,
    counts: BusCounts,
}

enum Heard {
    Frame(Frame),
    News(Input),
}

enum Said {
    Frame(Frame),
    /// The thread is busy with something else until the other end is gone.
    Stall(Receiver<()>),
}

fn turn(mut bus: CanBus, clock: Clock, said: &Receiver<Said>, heard: &Sender<Heard>) {
    let (_mailbox, letters) = mailbox().unwrap();
    let (mut brought, mut readable) = (Brought::default(), false);
    loop {
        bus.turn(clock.now(), readable, &mut brought);
        // Nobody listens when a test is over.
        brought.frames.drain(..).for_each(|frame| drop(heard.send(Heard::Frame(frame))));
        brought.news.drain(..).for_each(|news| drop(heard.send(Heard::News(news))));
        loop {
            match said.try_recv() {
                Ok(Said::Frame(frame)) => bus.push(clock.now(), frame),
                Ok(Said::Stall(until)) => drop(until.recv()),
                Err(TryRecvError::Empty) => break,
                Err(TryRecvError::Disconnected) => return bus.finish(clock),
            }
        }
        bus.speak(clock.now());
        let wait = bus.next_deadline().0.saturating_sub(clock.now().0).min(2);
        readable = letters.wait(bus.waits_for(), Duration::from_millis(wait));
    }
}

impl Engine {
    fn start(name: &str, listen_only: bool) -> Self {
        let clock = Clock::start();
        let bus = CanBus::new(Wire::Interface(name.to_owned()), listen_only);
        let ((said, to_say), (hear, comes)) = (channel(), channel());
        let thread = std::thread::spawn(move || turn(bus, clock, &to_say, &hear));
        let (frames, states, counts) = (vec![], vec![], BusCounts::default());
        Self { comes, said, thread, clock, frames, states, counts }
    }

    /// Takes what comes until `done`, or fails.
    fn until(&mut self, what: &str, mut done: impl FnMut(&Self) -> bool) {
        let start = self.clock.now();
        while !done(self) {
            let waited = Duration::from_millis(self.clock.now().0 - start.0);
            assert!(waited < PATIENCE, "{what} did not come; states {:?}, {:?}", self.states, self.counts);
            match self.comes.recv_timeout(Duration::from_millis(100)) {
                Ok(Heard::Frame(frame)) => self.frames.push(frame),
                Ok(Heard::News(Input::Source(state))) => self.states.push(state),
                Ok(Heard::News(Input::BusCounts(counts))) => self.counts = counts,
                _ => {}
            }
        }
    }

    /// The program ends: what waits is written.
    fn finish(self) {
        drop(self.said);
        self.thread.join().unwrap();
    }

    /// Waits for a state whose words contain `part`, after those seen before.
    fn state(&mut self, part: &str) {
        self.states.clear();
        self.until(part, |this| this.states.iter().any(|state| words(state).contains(part)));
    }

    fn heard(&mut self, frame: &Frame) {
        self.until("a frame", |this| this.frames.iter().any(|heard| same(heard, frame)));
    }

    fn send(&self, frames: impl IntoIterator<Item = Frame>) {
        for frame in frames {
            self.said.send(Said::Frame(frame)).unwrap();
        }
    }

    /// Lets time pass and takes what comes.
    fn rest(&mut self, ms: u64) {
        let end = self.clock.now().plus_ms(ms);
        let clock = self.clock;
        self.until("the end of a rest", |_| end <= clock.now());
    }
}

fn words(state: &SourceState) -> &str {
    match state {
        SourceState::Open(text) | SourceState::Impaired(text) | SourceState::Failed(text) => text,
        SourceState::Ended => "",
    }
}

fn same(a: &Frame, b: &Frame) -> bool {
    a.id == b.id && a.payload() == b.payload()
}

fn single(pgn: u32, source: u8, bytes: &[u8]) -> Frame {
    Frame::new(CanId { priority: 6, pgn, source, destination: 255 }, bytes)
}

fn claim() -> Frame {
    single(60_928, ADDRESS, &[1, 2, 3, 4, 5, 6, 7, 0xC0])
}

fn data(number: u32) -> Frame {
    single(127_505, ADDRESS, &number.to_le_bytes())
}

/// `struct can_frame` of linux/can.h, written out here a second time.
fn raw(id: u32, bytes: &[u8]) -> [u8; 16] {
    let mut raw = [0; 16];
    raw[..4].copy_from_slice(&id.to_ne_bytes());
    raw[4] = bytes.len() as u8;
    raw[8..8 + bytes.len()].copy_from_slice(bytes);
    raw
}

/// Another program on the same interface.
struct Other(CanSocket);

impl Other {
    fn open(name: &str) -> Self {
        let socket = CanSocket::open(name).unwrap();
        socket.set_read_timeout(Duration::from_secs(1)).unwrap();
        Self(socket)
    }

    fn write(&mut self, frame: &Frame) {
        self.0.write_all(&raw(frame.id | 0x8000_0000, frame.payload())).unwrap();
    }

    /// An error frame, as any program may write one to a virtual interface.
    fn error(&mut self, classes: u32, data: [u8; 8]) {
        self.0.write_all(&raw(classes | 0x2000_0000, &data)).unwrap();
    }

    /// Frames that come until a second of silence.
    fn read(&mut self) -> Vec<Frame> {
        let mut frames = vec![];
        let mut bytes = [0; 16];
        while self.0.read_exact(&mut bytes).is_ok() {
            let id = u32::from_ne_bytes([bytes[0], bytes[1], bytes[2], bytes[3]]) & 0x1FFF_FFFF;
            frames.push(Frame::new(CanId::from_u32(id), &bytes[8..8 + usize::from(bytes[4])]));
        }
        frames
    }
}

#[test]
fn an_interface_that_comes_later_is_taken() {
    if !kernel() {
        return;
    }
    let mut engine = Engine::start("vlater", false);
    engine.state("there is no CAN interface vlater");
    ip("link add vlater type vcan");
    engine.state("ip link set vlater up");
    ip("link set vlater up");
    engine.state("vlater is up");
    Other::open("vlater").write(&data(1));
    engine.heard(&data(1));
}

#[test]
fn an_interface_that_is_no_can_is_absent() {
    if !kernel() {
        return;
    }
    Engine::start("lo", false).state("there is no CAN interface lo");
}

#[test]
fn down_and_up_while_running_is_told_and_frames_go_on() {
    if !kernel() {
        return;
    }
    make("vdown");
    let mut engine = Engine::start("vdown", false);
    engine.state("vdown is up");
    let mut other = Other::open("vdown");
    other.write(&data(1));
    engine.heard(&data(1));
    for round in 2..5 {
        let before = engine.clock.now();
        ip("link set vdown down");
        engine.state("vdown is down");
        let noticed = engine.clock.now().0 - before.0;
        assert!(noticed < 5_000, "noticed after {noticed} ms");
        ip("link set vdown up");
        engine.state("vdown is up");
        let mut other = Other::open("vdown");
        other.write(&data(round));
        engine.heard(&data(round));
    }
    assert_eq!(engine.states.len(), 1, "each state is told once: {:?}", engine.states);
}

#[test]
fn opened_while_down_reads_and_writes_once_it_is_up() {
    if !kernel() {
        return;
    }
    ip("link add vsleep type vcan");
    let mut engine = Engine::start("vsleep", false);
    engine.state("vsleep is down");
    // What the engine says now is too old when the interface is up.
    engine.send([claim(), data(1)]);
    engine.rest(1_000);
    ip("link set vsleep up");
    engine.state("vsleep is up");
    let mut other = Other::open("vsleep");
    engine.send([claim(), data(2)]);
    let frames = other.read();
    assert!(frames.len() == 2 && same(&frames[0], &claim()) && same(&frames[1], &data(2)), "{frames:?}");
    other.write(&data(3));
    engine.heard(&data(3));
}

/// The kernel keeps the error of a link that was down for a moment; the first read or write gets it though the link is up again.
#[test]
fn a_moment_of_down_means_claiming_again() {
    if !kernel() {
        return;
    }
    make("vblink");
    let mut engine = Engine::start("vblink", false);
    engine.state("vblink is up");
    let mut other = Other::open("vblink");
    engine.send([claim(), data(1)]);
    assert_eq!(other.read().len(), 2);
    engine.states.clear();
    ip("link set vblink down");
    ip("link set vblink up");
    engine.state("vblink is up");
    let mut other = Other::open("vblink");
    engine.send([data(2)]);
    assert_eq!(other.read(), [], "nothing goes out from an address that was not claimed again");
    engine.send([claim(), data(3)]);
    let frames = other.read();
    assert!(same(frames.last().unwrap(), &data(3)), "{frames:?}");
    engine.until("the count", |this| this.counts.refused == 1);
}

#[test]
fn removed_and_made_again_is_a_new_socket() {
    if !kernel() {
        return;
    }
    make("vgone");
    let mut engine = Engine::start("vgone", false);
    engine.state("vgone is up");
    for round in 0..3 {
        ip("link del vgone");
        engine.state("there is no CAN interface vgone");
        make("vgone");
        engine.state("vgone is up");
        Other::open("vgone").write(&data(round));
        engine.heard(&data(round));
    }
    // So fast that no look falls in between: only the index differs.
    engine.states.clear();
    ip("link del vgone");
    make("vgone");
    engine.state("vgone is up");
    let mut other = Other::open("vgone");
    engine.send([claim(), data(9)]);
    assert_eq!(other.read().len(), 2);
}

/// Class bits and details as the kernel's drivers send them (linux/can/error.h).
#[test]
fn error_frames_change_the_state() {
    if !kernel() {
        return;
    }
    make("verror");
    let mut engine = Engine::start("verror", false);
    engine.state("verror is up");
    let mut other = Other::open("verror");
    other.error(0x204, [0, 0x10, 0, 0, 0, 0, 128, 130]);
    engine.state("error-passive");
    other.error(0x204, [0, 0x40, 0, 0, 0, 0, 0, 0]);
    engine.state("verror is up");
    other.error(0x40, [0; 8]);
    engine.state("bus-off");
    engine.send([claim()]);
    assert_eq!(other.read(), [], "nothing is written while off the bus");
    other.error(0x100, [0; 8]);
    engine.state("verror is up");
    other.error(0x20, [0; 8]);
    engine.state("nobody on verror");
    engine.until("the count", |this| this.counts.errors == 5);
    assert!(engine.frames.is_empty(), "an error frame is no frame");
}

#[test]
fn own_frames_are_not_read_and_those_of_another_program_are() {
    if !kernel() {
        return;
    }
    make("vown");
    let mut engine = Engine::start("vown", false);
    engine.state("vown is up");
    let mut second = Engine::start("vown", false);
    second.state("vown is up");
    let mut other = Other::open("vown");
    engine.send([claim(), data(1)]);
    second.heard(&data(1));
    other.write(&data(2));
    second.heard(&data(2));
    engine.heard(&data(2));
    assert_eq!(engine.frames.len(), 1, "{:?}", engine.frames);
    assert_eq!(second.frames.len(), 3, "{:?}", second.frames);
    // 11-bit identifiers and remote frames are no frames of NMEA 2000.
    other.0.write_all(&raw(0x123, &[1])).unwrap();
    other.0.write_all(&raw(0xC000_0005, &[])).unwrap();
    engine.until("the count", |this| this.counts.others == 2);
}

#[test]
fn listening_only_writes_nothing() {
    if !kernel() {
        return;
    }
    make("vquiet");
    let mut other = Other::open("vquiet");
    let mut engine = Engine::start("vquiet", true);
    engine.state("listening only");
    engine.send([claim(), data(7)]);
    other.write(&data(1));
    engine.heard(&data(1));
    assert_eq!(other.read(), []);
}

/// The engine stalls until the kernel must drop frames. The counter must account for every one of them.
#[test]
fn frames_that_the_kernel_drops_are_counted_and_told() {
    if !kernel() {
        return;
    }
    const SENT: u32 = 16_000;
    make("vflood");
    let mut engine = Engine::start("vflood", false);
    engine.state("vflood is up");
    let (stalled, until) = channel();
    engine.said.send(Said::Stall(until)).unwrap();
    engine.rest(100);
    let mut other = Other::open("vflood");
    (0..SENT).for_each(|number| other.write(&data(number)));
    drop(stalled);
    engine.state("too busy");
    let all = |this: &Engine| this.frames.len() as u64 + this.counts.lost == u64::from(SENT);
    engine.until("the last frame or its loss", all);
    assert!(0 < engine.counts.lost);
}

#[test]
fn what_waits_at_the_end_is_written() {
    if !kernel() {
        return;
    }
    make("vend");
    let mut engine = Engine::start("vend", false);
    engine.state("vend is up");
    let mut other = Other::open("vend");
    let id = CanId { priority: 2, pgn: 126_983, source: ADDRESS, destination: 255 };
    engine.send([claim()]);
    engine.send(split(id, &[0; 28], 0).unwrap());
    engine.finish();
    assert_eq!(other.read().len(), 6);
}

/// A serial CAN adapter that the test plays: the kernel's driver on one end of a terminal, a script on the other.
struct Adapter {
    child: Child,
    orders: ChildStdin,
    answers: BufReader<std::process::ChildStdout>,
    name: String,
}

impl Adapter {
    fn plug_in() -> Self {
        let script = concat!(env!("CARGO_MANIFEST_DIR"), "/../tests/kernel/serial_adapter.py");
        let mut child =
            Command::new("python3").arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().unwrap();
        let (orders, answers) = (child.stdin.take().unwrap(), child.stdout.take().unwrap());
        let mut this = Self { child, orders, answers: BufReader::new(answers), name: String::new() };
        this.name = this.answer();
        ip(&format!("link set {} type can bitrate 250000", this.name));
        ip(&format!("link set {} up", this.name));
        this
    }

    fn answer(&mut self) -> String {
        let mut line = String::new();
        self.answers.read_line(&mut line).unwrap();
        line.trim().to_owned()
    }

    fn order(&mut self, order: &str) -> String {
        writeln!(self.orders, "{order}").unwrap();
        self.answer()
    }

    fn frames(&mut self) -> u32 {
        self.order("count").parse().unwrap()
    }
}

impl Drop for Adapter {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn a_stuck_adapter_gives_up_whole_messages_and_recovers() {
    if !kernel() {
        return;
    }
    let mut adapter = Adapter::plug_in();
    let name = adapter.name.clone();
    let mut engine = Engine::start(&name, false);
    engine.state("is up");
    adapter.order("send T09F801428AABBCCDD00112233");
    engine.until("a frame of the adapter", |this| !this.frames.is_empty());
    engine.send([claim()]);
    engine.until("the claim", |this| this.counts.sent == 1);
    adapter.order("stall");
    // Two of the longest messages: more than the transmit queue (10) and the terminal take.
    let id = CanId { priority: 6, pgn: 130_567, source: ADDRESS, destination: 255 };
    for sequence in 0..6 {
        engine.send(split(id, &[7; 223], sequence).unwrap());
        engine.rest(300);
    }
    engine.until("words about it", |this| {
        this.states.iter().any(|state| words(state).contains("were given up"))
    });
    let given_up = engine.counts.given_up;
    adapter.order("go on");
    engine.rest(2_000);
    // Once the adapter reads again a whole message goes out, frame by frame as room comes.
    let before = (adapter.frames(), engine.counts.sent);
    engine.send(split(id, &[7; 223], 6).unwrap());
    engine.until("the whole message", |this| this.counts.sent == before.1 + 32);
    engine.rest(1_000);
    assert_eq!(adapter.frames(), before.0 + 32);
    assert!(0 < given_up && engine.counts.given_up <= 6, "{:?}", engine.counts);
}

/// The adapter reports its state as the serial protocol does: letter, receive counter, transmit counter.
#[test]
fn the_state_of_a_real_controller_is_followed() {
    if !kernel() {
        return;
    }
    let mut adapter = Adapter::plug_in();
    let name = adapter.name.clone();
    let mut engine = Engine::start(&name, false);
    engine.state("is up");
    adapter.order("send sw100096");
    adapter.order("send sp130128");
    engine.state("error-passive");
    adapter.order("send sa000000");
    engine.state("is up");
    engine.send([claim()]);
    engine.until("the claim", |this| this.counts.sent == 1);
    let before = adapter.frames();
    adapter.order("send sb256256");
    engine.state("bus-off");
    // The kernel would take frames now, and none would reach the bus.
    engine.send([claim(), data(1)]);
    engine.rest(1_000);
    assert_eq!((engine.counts.sent, adapter.frames()), (1, before));
    // What the words for the owner say: down and up.
    ip(&format!("link set {name} down"));
    engine.state("is down");
    ip(&format!("link set {name} up"));
    engine.state("is up");
    engine.send([claim(), data(2)]);
    engine.until("frames after recovery", |this| this.counts.sent == 3);
    // A program that starts while the controller is off sees it by the carrier alone.
    adapter.order("send sb256256");
    engine.state("bus-off");
    Engine::start(&name, true).state("bus-off");
}

#[test]
fn an_adapter_that_is_pulled_out_and_put_back_is_taken_again() {
    if !kernel() {
        return;
    }
    let adapter = Adapter::plug_in();
    let name = adapter.name.clone();
    let mut engine = Engine::start(&name, false);
    engine.state("is up");
    drop(adapter);
    engine.state("there is no CAN interface");
    let mut again = Adapter::plug_in();
    assert_eq!(again.name, name);
    engine.state("is up");
    engine.frames.clear();
    again.order("send T09F801428AABBCCDD00112233");
    engine.until("a frame of the adapter", |this| !this.frames.is_empty());
}
