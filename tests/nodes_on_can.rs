//! Two running daemons and a scripted third device on one real CAN interface: who gets which address, who gives way, and that nobody floods.
//!
//! Needs root and a kernel with CAN: `tests/stages/can.sh` runs it inside User-Mode Linux with `REQUIRE_CAN=1`; elsewhere each test says that it is skipped. No
//! time here is tight, since the guest's clock may stumble on a busy machine. Rules of the address claim: ISO 11783-5 as quoted in the Linux kernel's J1939
//! sources; the lower NAME wins.
#![expect(clippy::unwrap_used, reason = "a test whose own set-up fails has failed")]

use barrico_n2k::pgn::{self, Acknowledgement, Content};
use barrico_n2k::{Assembler, CanId, Frame, Name, split};
use socketcan::{CanFrame, CanSocket, EmbeddedFrame, ExtendedId, Socket};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// Longest wait for something that should take two seconds.
const PATIENCE: Duration = Duration::from_secs(30);
/// Where the third device sits.
const STRANGER: u8 = 7;
/// Claims of one node a second, and at once (limits of the node).
const CLAIMS_PER_S: usize = 10;

fn kernel() -> bool {
    let there = Path::new("/sys/class/net/vcan0").exists();
    assert!(there || std::env::var_os("REQUIRE_CAN").is_none(), "REQUIRE_CAN is set, but there is no vcan0");
    if !there {
        eprintln!("skipped: no vcan0 here");
    }
    there
}

/// A daemon of its own settings and history on an interface.
struct Daemon {
    child: Child,
    folder: PathBuf,
}

impl Daemon {
    fn start(interface: &str, name: &str, bus: &str) -> Self {
        let folder = std::env::temp_dir().join(format!("barrico-{interface}-{name}"));
        std::fs::create_dir_all(&folder).unwrap();
        let text = format!(
            "[boat]\nid = \"trial\"\n[page]\nbind = \"127.0.0.1:0\"\n[folders]\nstate = \"{0}/state\"\nruntime = \"{0}/run\"\n\
             [bus]\ninterface = \"{interface}\"\n{bus}\n\
             [units.{name}]\npressure_control = \"regulated\"\nset_pressure = \"55 bar\"\n\
             [units.{name}.pump]\nkind = \"plunger\"\nflow = \"6 L/min\"\nrated_pressure = \"60 bar\"\n\
             [units.{name}.drive]\nkind = \"hydraulic\"\n\
             [[units.{name}.elements]]\nsize = \"2540\"\narea = \"2.8 m2\"\nnominal_flow = \"2.6 m3/d\"\nnominal_rejection = \"99.4 %\"\n",
            folder.display()
        );
        std::fs::write(folder.join("barrico.toml"), text).unwrap();
        Self::again(&folder)
    }

    /// With what its folder holds.
    fn again(folder: &Path) -> Self {
        let child = Command::new(env!("CARGO_BIN_EXE_barrico"))
            .args(["run", "--settings"])
            .arg(folder.join("barrico.toml"))
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(std::fs::File::create(folder.join("log")).unwrap())
            .spawn()
            .unwrap();
        Self { child, folder: folder.to_owned() }
    }

    fn log(&self) -> String {
        std::fs::read_to_string(self.folder.join("log")).unwrap()
    }
}

impl Drop for Daemon {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// Another device on the bus.
struct Stranger {
    socket: CanSocket,
    assembler: Assembler,
    begun: Instant,
    /// Everything heard: from, to, what.
    heard: Vec<(u8, u8, Content)>,
    frames: usize,
}

impl Stranger {
    fn on(interface: &str) -> Self {
        let output = Command::new("ip").args(["link", "add", interface, "type", "vcan"]).output().unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        assert!(Command::new("ip").args(["link", "set", interface, "up"]).status().unwrap().success());
        let socket = CanSocket::open(interface).unwrap();
        socket.set_nonblocking(true).unwrap();
        Self { socket, assembler: Assembler::new(), begun: now(), heard: vec![], frames: 0 }
    }

    fn send(&self, frame: &Frame) {
        let id = ExtendedId::new(frame.id & 0x1FFF_FFFF).unwrap();
        self.socket.write_frame(&CanFrame::new(id, frame.payload()).unwrap()).unwrap();
    }

    fn claim(&self, name: Name, address: u8) {
        let id = CanId { priority: 6, pgn: 60_928, source: address, destination: 255 };
        self.send(&Frame::new(id, &name.0.to_le_bytes()));
    }

    /// Takes what is there, or waits a little.
    fn listen(&mut self) {
        let mut nothing = true;
        while let Ok(frame) = self.socket.read_frame() {
            nothing = false;
            self.frames += 1;
            let socketcan::Id::Extended(id) = frame.id() else { continue };
            let id = CanId::from_u32(id.as_raw());
            let at_ms = self.begun.elapsed().as_millis() as u64;
            let Some(message) = self.assembler.push(at_ms, id, frame.data()) else { continue };
            if let Some(content) = pgn::decode(message.pgn, message.payload) {
                self.heard.push((message.source, message.destination, content));
            }
        }
        if nothing {
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    fn until<T>(&mut self, what: &str, mut look: impl FnMut(&[(u8, u8, Content)]) -> Option<T>) -> T {
        let begun = now();
        loop {
            if let Some(found) = look(&self.heard) {
                return found;
            }
            assert!(begun.elapsed() < PATIENCE, "{what} did not come; heard {:?}", self.heard);
            self.listen();
        }
    }

    /// Devices that sent data from a claimed address: address and NAME, in the order of their claims. Waits for so many.
    fn devices(&mut self, count: usize) -> Vec<(u8, Name)> {
        self.until("claims", |heard| {
            let mut latest: Vec<(u8, Name)> = Vec::new();
            for (source, _, content) in heard {
                if let Content::AddressClaim(claim) = content
                    && let Some(name) = claim.name
                    && *source < 252
                {
                    latest.retain(|(_, known)| *known != name);
                    latest.push((*source, name));
                }
            }
            // Product information is sent once the address is ours.
            let settled = latest.iter().filter(|(address, _)| {
                heard.iter().any(|(source, _, content)| {
                    source == address && matches!(content, Content::ProductInformation(_))
                })
            });
            (settled.count() == count).then_some(latest)
        })
    }

    fn claims(&self) -> usize {
        self.heard.iter().filter(|(_, _, content)| matches!(content, Content::AddressClaim(_))).count()
    }
}

#[expect(clippy::disallowed_methods, reason = "a test against real time")]
fn now() -> Instant {
    Instant::now()
}

#[test]
fn two_daemons_share_a_bus_and_give_way_to_a_lower_name_only() {
    if !kernel() {
        return;
    }
    let mut stranger = Stranger::on("vtwo");
    let _one = Daemon::start("vtwo", "one", "");
    let _two = Daemon::start("vtwo", "two", "");
    let mut devices = stranger.devices(2);
    devices.sort_by_key(|(_, name)| *name);
    let [(low_address, low), (high_address, high)] = devices[..] else { panic!("{devices:?}") };
    assert_ne!(low_address, high_address);
    // A stranger with a higher NAME takes the address: it is told at once that it is ours.
    stranger.heard.clear();
    stranger.claim(Name(u64::MAX - 1), low_address);
    stranger.until("the defence", |heard| {
        heard
            .iter()
            .any(|(source, _, content)| {
                *source == low_address
                    && matches!(content, Content::AddressClaim(claim) if claim.name == Some(low))
            })
            .then_some(())
    });
    // One with a lower NAME gets it, and the daemon moves.
    stranger.heard.clear();
    stranger.claim(Name(1), high_address);
    let moved = stranger.until("another address", |heard| {
        heard.iter().find_map(|(source, _, content)| match content {
            Content::AddressClaim(claim) if claim.name == Some(high) && *source != high_address => {
                Some(*source)
            }
            _ => None,
        })
    });
    assert!(moved != low_address && moved < 252, "{moved}");
}

#[test]
fn a_command_is_refused_and_nothing_moves_it() {
    if !kernel() {
        return;
    }
    let mut stranger = Stranger::on("vcommand");
    let daemon = Daemon::start("vcommand", "one", "");
    let (address, _) = stranger.devices(1)[0];
    stranger.claim(Name(0xC050_8C00_E7E0_0000), STRANGER);
    // "Start production": field 2 of 130567 by group function.
    let id = CanId { priority: 3, pgn: 126_208, source: STRANGER, destination: address };
    for frame in split(id, &[1, 0x07, 0xFE, 0x01, 0xF8, 1, 2, 1], 1).unwrap() {
        stranger.send(&frame);
    }
    stranger.until("the refusal", |heard| {
        heard
            .iter()
            .any(|(_, to, content)| {
                let mut payload = vec![];
                content.encode(&mut payload);
                *to == STRANGER
                    && content.pgn() == 126_208
                    && payload[..7] == [2, 0x07, 0xFE, 0x01, 0x03, 1, 0xF4]
            })
            .then_some(())
    });
    // What does not exist is answered with a refusal too, and the crew reads who tried.
    let ask = CanId { priority: 6, pgn: 59_904, source: STRANGER, destination: address };
    stranger.send(&Frame::new(ask, &[0x00, 0xEF, 0x01]));
    stranger.until("no", |heard| {
        heard.iter().any(|(_, to, content)| {
            *to == STRANGER && matches!(content, Content::IsoAcknowledgement(answer) if answer.control == Some(Acknowledgement::Negative))
        })
        .then_some(())
    });
    stranger.until("the word in the log", |_| daemon.log().contains("was refused").then_some(()));
}

#[test]
fn a_flood_of_claims_is_not_answered_by_a_flood() {
    if !kernel() {
        return;
    }
    let mut stranger = Stranger::on("vflood");
    let _one = Daemon::start("vflood", "one", "");
    let (mut address, name) = stranger.devices(1)[0];
    stranger.heard.clear();
    let begun = now();
    while begun.elapsed() < Duration::from_secs(4) {
        // A lower NAME, always where the daemon is.
        stranger.claim(Name(2), address);
        for _ in 0..5 {
            stranger.listen();
        }
        let latest = stranger.heard.iter().rev().find_map(|(source, _, content)| match content {
            Content::AddressClaim(claim) if claim.name == Some(name) && *source < 252 => Some(*source),
            _ => None,
        });
        address = latest.unwrap_or(address);
    }
    let most = CLAIMS_PER_S + CLAIMS_PER_S * (begun.elapsed().as_secs() as usize + 1);
    assert!(stranger.claims() <= most, "{} claims", stranger.claims());
    // When the stranger stops, the daemon finds its place and answers again.
    stranger.heard.clear();
    let ask = CanId { priority: 6, pgn: 59_904, source: STRANGER, destination: 255 };
    let mut asked = now() - Duration::from_secs(5);
    let frame = Frame::new(ask, &[0x14, 0xF0, 0x01]);
    let begun = now();
    while !stranger.heard.iter().any(|(_, _, content)| matches!(content, Content::ProductInformation(_))) {
        assert!(begun.elapsed() < PATIENCE, "no answer; heard {:?}", stranger.heard);
        if Duration::from_secs(5) <= asked.elapsed() {
            asked = now();
            stranger.send(&frame);
        }
        stranger.listen();
    }
}

#[test]
fn a_copied_memory_card_is_told_and_not_fought_over() {
    if !kernel() {
        return;
    }
    let mut stranger = Stranger::on("vtwin");
    let one = Daemon::start("vtwin", "one", "");
    stranger.devices(1);
    // The history is copied while it is at rest, as by somebody who clones the card.
    std::thread::sleep(Duration::from_secs(1));
    let copy = one.folder.with_file_name("barrico-vtwin-copy");
    assert!(Command::new("cp").arg("-a").arg(&one.folder).arg(&copy).status().unwrap().success());
    let text = std::fs::read_to_string(copy.join("barrico.toml")).unwrap();
    let folder = one.folder.to_str().unwrap().to_owned();
    std::fs::write(copy.join("barrico.toml"), text.replace(&folder, copy.to_str().unwrap())).unwrap();
    let other = Daemon::again(&copy);
    stranger.until("the word in a log", |_| {
        (one.log().contains("same NAME") || other.log().contains("same NAME")).then_some(())
    });
    let before = stranger.claims();
    std::thread::sleep(Duration::from_secs(5));
    stranger.listen();
    assert!(stranger.claims() - before < 3 * CLAIMS_PER_S, "no fight: {} claims", stranger.claims() - before);
}

#[test]
fn listening_only_says_nothing_at_all() {
    if !kernel() {
        return;
    }
    let mut stranger = Stranger::on("vsilent");
    let daemon = Daemon::start("vsilent", "one", "listen_only = true");
    stranger.until("its start", |_| daemon.log().contains("listening only").then_some(()));
    let ask = CanId { priority: 6, pgn: 59_904, source: STRANGER, destination: 255 };
    stranger.send(&Frame::new(ask, &[0x00, 0xEE, 0x00]));
    for _ in 0..200 {
        stranger.listen();
    }
    assert_eq!(stranger.frames, 0);
}
