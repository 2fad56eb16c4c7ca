//! Several nodes of one program, heartbeat, what survives a restart.

use crate::world::{World, request, settings};
use barrico_n2k::node::{NodeSettings, NodeState, Nodes, Output, Refused, Urgency};
use barrico_n2k::pgn::{Content, ControllerState, EquipmentStatus, WatermakerStatus};

/// Runs nodes of one program to a time; gives what they send.
fn run(nodes: &mut Nodes, end_ms: u64) -> Vec<(u64, usize, u32, u8)> {
    let mut sent = Vec::new();
    let mut out = Vec::new();
    nodes.start(0, &mut out);
    let mut now_ms = 0;
    loop {
        for output in out.drain(..) {
            if let Output::Transmit(frame) = output.output {
                sent.push((now_ms, output.node, frame.can_id().pgn, frame.can_id().source));
            }
        }
        match nodes.next_deadline() {
            Some(next_ms) if next_ms <= end_ms => {
                now_ms = now_ms.max(next_ms);
                nodes.handle_timeout(now_ms, &mut out);
            }
            _ => return sent,
        }
    }
}

#[test]
fn nodes_of_one_program_see_each_other() {
    let mut nodes = Nodes::new();
    for number in [9, 5, 7] {
        nodes.add(settings(number), None, u64::from(number));
    }
    let sent = run(&mut nodes, 10_000);
    let addresses: Vec<_> = nodes.iter().map(|node| node.address().unwrap()).collect();
    assert_eq!(addresses, [40, 41, 42], "each respects what the one before has claimed");
    assert_eq!(sent.iter().filter(|(_, _, pgn, _)| *pgn == 59_904).count(), 1, "one asks for all");
    assert!(nodes.is_own_address(40) && !nodes.is_own_address(43));
}

#[test]
fn nodes_of_one_program_with_one_name_say_so() {
    let mut nodes = Nodes::new();
    for seed in [1, 2] {
        nodes.add(settings(7), None, seed);
    }
    run(&mut nodes, 20_000);
    let addresses: Vec<_> = nodes.iter().map(|node| node.address()).collect();
    assert_ne!(addresses[0], addresses[1]);
}

// Golden vector heartbeat: 60EA, counter, CC: first controller works, there is no second one, the device works.
#[test]
fn heartbeat_has_the_golden_bytes_and_counts_to_252() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.start();
    world.run_to(60_000 * 260);
    let beats = world.sent_of(126_993);
    assert_eq!(beats[7].2, [0x60, 0xEA, 0x07, 0xCC, 0xFF, 0xFF, 0xFF, 0xFF]);
    let steps: Vec<u64> = beats.windows(2).map(|pair| pair[1].0 - pair[0].0).collect();
    assert!(steps.iter().all(|step| *step == 60_000), "{steps:?}");
    assert_eq!((beats[252].2[2], beats[253].2[2]), (252, 0));
    assert!(beats.iter().all(|(_, id, _)| id.priority == 7));
    world.parties[0].set_health(ControllerState::ErrorPassive, EquipmentStatus::Fault);
    world.run_for(60_000);
    assert_eq!(world.sent_of(126_993).last().unwrap().2[3], 0b1101_1101);
}

#[test]
fn what_was_stored_comes_back() {
    let mut world = World::one(NodeSettings { unique_number: None, ..settings(0) });
    world.run_to(20_000);
    let state: NodeState = world.stored.last().unwrap().2.clone();
    let name = world.name(0);
    let mut again =
        World::new(vec![(NodeSettings { unique_number: None, ..settings(0) }, Some(state.clone()))]);
    assert_eq!(again.name(0), name);
    again.start();
    again.run_to(20_000);
    assert_eq!(again.address(0), state.address);
}

#[test]
fn without_an_address_nothing_of_the_owner_is_sent() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.start();
    let status = Content::WatermakerStatus(WatermakerStatus::default());
    world.run_to(1_100);
    world.act(0, |nodes, now_ms, out| {
        assert_eq!(nodes.send(now_ms, 0, Urgency::Status, 6, &status, out), Err(Refused::NoAddress));
        assert_eq!(nodes.send(now_ms, 5, Urgency::Status, 6, &status, out), Err(Refused::NoAddress));
    });
    assert_eq!(world.sent_of(130_567).len(), 0);
    world.run_to(2_000);
    world.act(0, |nodes, now_ms, out| {
        assert_eq!(nodes.send(now_ms, 0, Urgency::Status, 6, &status, out), Ok(()));
    });
    assert_eq!(world.sent_of(130_567).len(), 1);
}

#[test]
fn requests_of_any_length_from_three_bytes_on_are_taken() {
    let mut world = World::one(settings(7));
    for len in 0..=8 {
        world.inject(barrico_n2k::Frame { len, ..request(3, 40, 127_500) });
    }
    assert_eq!(world.sent_of(59_392).len(), 6);
}
