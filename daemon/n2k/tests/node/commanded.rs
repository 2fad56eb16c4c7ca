//! The commanded address (65240) by broadcast and by request to send, and other messages in packets. Layout: ISO 11783-3 as in the
//! documentation of the Linux kernel's J1939 stack.

use crate::world::{World, settings};
use barrico_n2k::node::Event;
use barrico_n2k::{CanId, Frame, Name};

const TOOL: u8 = 9;

fn control(destination: u8, bytes: [u8; 5], pgn: u32) -> Frame {
    let [low, middle, high, _] = pgn.to_le_bytes();
    let id = CanId { priority: 7, pgn: 60_416, source: TOOL, destination };
    Frame::new(id, &[&bytes[..], &[low, middle, high]].concat())
}

fn packet(destination: u8, number: u8, bytes: &[u8]) -> Frame {
    let mut data = [0xFF; 8];
    data[0] = number;
    data[1..=bytes.len()].copy_from_slice(bytes);
    Frame::new(CanId { priority: 7, pgn: 60_160, source: TOOL, destination }, &data)
}

fn command(name: Name, address: u8) -> Vec<u8> {
    [&name.to_bytes()[..], &[address]].concat()
}

fn broadcast(world: &mut World, payload: &[u8]) {
    world.inject(control(255, [32, 9, 0, 2, 0xFF], 65_240));
    for (number, bytes) in (1..).zip(payload.chunks(7)) {
        world.run_for(50);
        world.inject(packet(255, number, bytes));
    }
}

#[test]
fn by_broadcast() {
    let mut world = World::one(settings(7));
    let name = world.name(0);
    broadcast(&mut world, &command(name, 66));
    let told = world.now_ms;
    world.run_for(10_000);
    assert_eq!(world.address(0), Some(66));
    assert_eq!(
        world.events,
        [
            (told, 0, Event::AddressCommanded { address: 66, by: TOOL }),
            (told + 250, 0, Event::Claimed { address: 66 })
        ]
    );
    assert_eq!(world.stored.last().unwrap().2.address, Some(66));
}

#[test]
fn for_another_name_or_an_address_that_cannot_be() {
    let mut world = World::one(settings(7));
    let name = world.name(0);
    broadcast(&mut world, &command(Name(name.0 + 1), 66));
    broadcast(&mut world, &command(name, 252));
    broadcast(&mut world, &command(name, 255));
    world.run_for(1_000);
    assert_eq!((world.address(0), world.events.len()), (Some(40), 0));
}

#[test]
fn by_request_to_send() {
    let mut world = World::one(settings(7));
    let payload = command(world.name(0), 66);
    world.inject(control(40, [16, 9, 0, 2, 0xFF], 65_240));
    let answers = |world: &World| -> Vec<Vec<u8>> {
        let all = world.sent_of(60_416);
        assert!(all.iter().all(|(_, id, _)| id.destination == TOOL && id.source == 40));
        all.into_iter().map(|(_, _, payload)| payload).collect()
    };
    assert_eq!(answers(&world), [[17, 2, 1, 0xFF, 0xFF, 0xD8, 0xFE, 0]]);
    world.inject(packet(40, 1, &payload[..7]));
    world.inject(packet(40, 2, &payload[7..]));
    assert_eq!(answers(&world)[1], [19, 9, 0, 2, 0xFF, 0xD8, 0xFE, 0]);
    world.run_for(1_000);
    assert_eq!(world.address(0), Some(66));
}

#[test]
fn a_lost_packet_is_asked_for_again_and_then_given_up() {
    let mut world = World::one(settings(7));
    world.inject(control(40, [16, 20, 0, 3, 2], 65_240));
    world.inject(packet(40, 1, &[1; 7]));
    world.inject(packet(40, 3, &[3; 6]));
    world.inject(packet(40, 3, &[3; 6]));
    world.inject(packet(40, 3, &[3; 6]));
    let first_bytes: Vec<_> =
        world.sent_of(60_416).iter().map(|(_, _, payload)| payload[..3].to_vec()).collect();
    assert_eq!(first_bytes, [[17, 2, 1], [17, 2, 2], [17, 2, 2], [255, 3, 0xFF]]);
}

#[test]
fn silence_is_given_up_after_1250_and_750_ms() {
    let mut world = World::one(settings(7));
    world.inject(control(40, [16, 9, 0, 2, 0xFF], 65_240));
    world.run_for(1_249);
    assert_eq!(world.sent_of(60_416).len(), 1);
    world.run_for(1);
    assert_eq!(world.sent_of(60_416)[1].2[..2], [255, 3]);
    world.inject(control(40, [16, 9, 0, 2, 0xFF], 65_240));
    world.inject(packet(40, 1, &[1; 7]));
    world.run_for(749);
    assert_eq!(world.sent_of(60_416).len(), 3);
    world.run_for(1);
    assert_eq!(world.sent_of(60_416)[3].2[..2], [255, 3]);
}

#[test]
fn what_is_not_taken_is_aborted() {
    let mut world = World::one(settings(7));
    world.inject(control(40, [16, 9, 0, 2, 0xFF], 129_029));
    world.inject(control(40, [16, 9, 0, 3, 0xFF], 65_240));
    world.inject(control(40, [16, 0xFF, 0xFF, 255, 0xFF], 65_240));
    assert!(world.sent_of(60_416).iter().all(|(_, _, payload)| payload[..2] == [255, 2]));
    assert_eq!(world.sent_of(60_416).len(), 3);
    // Four sessions may be open, one per sender.
    for source in 50..55 {
        let mut frame = control(40, [16, 9, 0, 2, 0xFF], 65_240);
        frame.id = frame.id & !0xFF | source;
        world.inject(frame);
    }
    assert_eq!(world.sent_of(60_416).last().unwrap().2[..2], [255, 1]);
}
