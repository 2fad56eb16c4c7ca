//! Strangers that send anything: no panic, bounded memory, the rate limits hold, alerts still go out at once.

use crate::world::{World, claim, settings};
use barrico_n2k::node::{Output, Urgency};
use barrico_n2k::pgn::{Alert, AlertHead, Content};
use barrico_n2k::{CanId, Frame, Name};

/// Linear congruential generator with Knuth's constants (MMIX); enough to make noise.
struct Noise(u64);

impl Noise {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        self.0 >> 24
    }

    /// A frame that a node has to do with, from anybody, often to us or from our own address.
    fn frame(&mut self, name: Name, address: u8) -> Frame {
        const GROUPS: [u32; 8] = [59_392, 59_904, 60_928, 60_160, 60_416, 126_208, 65_240, 126_464];
        const ASKED: [u32; 8] = [60_928, 126_996, 126_998, 126_464, 126_993, 130_567, 126_983, 127_500];
        let pgn = GROUPS[self.next() as usize % GROUPS.len()];
        let destination = [address, address, 255, self.next() as u8][self.next() as usize % 4];
        let source = [self.next() as u8, 9, 10, address][self.next() as usize % 4];
        let mut data = self.next().wrapping_mul(0x9E37_79B9_7F4A_7C15).to_le_bytes();
        match (pgn, self.next() % 4) {
            (59_904, 0..=2) => data[..3].copy_from_slice(&ASKED[self.next() as usize % 8].to_le_bytes()[..3]),
            (60_928, 0) => data = name.to_bytes(),
            (60_928, 1) => data = Name(name.0 - 1 - self.next() % 5).to_bytes(),
            (60_928, 2) => data = Name(name.0 + 1 + self.next() % 5).to_bytes(),
            // A whole message in one frame: request or command.
            (126_208, 0..=2) => {
                let asked = ASKED[self.next() as usize % 8].to_le_bytes();
                data = [data[0] & 0xE0, 6, data[2] & 1, asked[0], asked[1], asked[2], 0xFF, data[7]];
            }
            (60_416, 0..=2) => data = [16, 9 + data[1] % 8, 0, 2, 0xFF, 0xD8, 0xFE, 0],
            _ => {}
        }
        let id = CanId { priority: 6, pgn, source, destination };
        Frame { id: id.to_u32(), data, len: (self.next() % 12).min(8) as u8 }
    }
}

fn alert(number: u16) -> Content {
    let head = AlertHead { alert_id: Some(number), ..AlertHead::default() };
    Content::Alert(Alert { head, ..Alert::default() })
}

// Claims 10 + 10 a second, everything else 10 + 100 a second.
const MOST_IN_A_SECOND: usize = 10 + 10 + 10 + 100 + 2;

#[test]
fn the_rate_limit_holds_under_a_hundred_thousand_frames() {
    for (seed, frames_a_ms) in [(1, 2), (2, 1), (3, 50)] {
        let mut world = World::one(settings(7));
        let mut noise = Noise(seed);
        let name = world.name(0);
        for step in 0..100_000_u64 {
            let address = world.address(0).unwrap_or(41);
            world.inject(noise.frame(name, address));
            let questions = std::mem::take(&mut world.asked);
            for question in questions {
                world.act(0, |nodes, now_ms, out| nodes.answer(now_ms, 0, &question, &[], out));
            }
            if step % frames_a_ms == 0 {
                world.run_for(1);
            }
        }
        assert!(world.busiest_second() <= MOST_IN_A_SECOND, "{} with seed {seed}", world.busiest_second());
        let seconds = world.now_ms as usize / 1000 - 4;
        let ours = world.log.iter().filter(|(_, ours, _)| *ours).count();
        assert!(ours <= 40 + 110 * seconds, "{ours} frames in {seconds} s");
        assert!(ours > 20, "it does answer: {ours}");
        assert!(world.events.len() < 40 + 15 * seconds, "{} events in {seconds} s", world.events.len());
        assert!(world.stored.len() <= 3 + seconds / 10, "{} writes in {seconds} s", world.stored.len());
    }
}

// The worst second that requests alone can cause, without any loss of the address.
#[test]
fn a_flood_of_requests_does_not_hold_up_an_alert() {
    let mut world = World::one(settings(7));
    for step in 0..20_000_u64 {
        for pgn in [126_996, 126_998, 126_464, 60_928, 127_500] {
            world.inject(crate::world::request((step % 200) as u8, 40, pgn));
        }
        if step % 100 == 50 {
            let before = world.log.len();
            world.act(0, |nodes, now_ms, out| {
                nodes.send(now_ms, 0, Urgency::Alert, 2, &alert(step as u16), out).unwrap();
            });
            let sent = &world.log[before..];
            assert_eq!(sent.len(), 5, "all frames of the alert at once at {} ms", world.now_ms);
        }
        world.run_for(1);
    }
    let alerts = world.sent_of(126_983).len();
    assert_eq!(alerts, 200);
    assert!(world.busiest_second() <= MOST_IN_A_SECOND + 5 * 11, "{}", world.busiest_second());
    let counters = world.parties[0].get(0).unwrap().counters();
    assert!(counters.unanswered > 1_000, "{counters:?}");
    assert_eq!(world.address(0), Some(40));
}

#[test]
fn alerts_have_a_limit_of_their_own() {
    let mut world = World::one(settings(7));
    for number in 0..10_000 {
        world.act(0, |nodes, now_ms, out| {
            let _ = nodes.send(now_ms, 0, Urgency::Alert, 2, &alert(number), out);
        });
        world.run_for(1);
    }
    assert!(world.busiest_second() <= 40 + 250 + 1, "{}", world.busiest_second());
    assert!(world.parties[0].get(0).unwrap().counters().dropped > 1_000);
}

#[test]
fn claims_of_every_kind_with_any_length_do_no_harm() {
    let mut world = World::one(settings(7));
    for address in 0..=255 {
        for len in 0..=8 {
            let frame = Frame { len, ..claim(Name(u64::from(address)), address) };
            world.inject(frame);
        }
    }
    world.run_for(1_000);
    assert!(world.busiest_second() <= 30);
}

/// Whatever comes, in listen-only mode no frame goes out.
#[test]
fn listen_only_means_that_nothing_is_ever_sent() {
    use barrico_n2k::node::{Link, Mode, NodeSettings, Nodes, Refused};
    let mut nodes = Nodes::new();
    nodes.add(NodeSettings { mode: Mode::ListenOnly, ..settings(7) }, None, 1);
    let name = nodes.get(0).unwrap().name();
    let mut out = Vec::new();
    nodes.start(0, &mut out);
    let mut noise = Noise(5);
    for step in 0..100_000 {
        nodes.handle_frame(step, &noise.frame(name, 40), &mut out);
        nodes.handle_timeout(step, &mut out);
        if step % 1000 == 0 {
            nodes.set_link(step, Link::Lost, &mut out);
            nodes.set_link(step, Link::Back, &mut out);
            let sent = nodes.send(step, 0, Urgency::Alert, 2, &alert(1), &mut out);
            assert_eq!(sent, Err(Refused::ListenOnly));
        }
        assert!(!out.iter().any(|output| matches!(output.output, Output::Transmit(_))), "{out:?}");
        out.clear();
    }
    assert!(nodes.get(0).unwrap().senders().iter().count() > 10, "but it listens");
}
