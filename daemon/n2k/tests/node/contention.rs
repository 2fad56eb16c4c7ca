//! Contention: lower and higher NAME, floods, no address left. Rules: ISO 11783-5 as cited in the Linux kernel's J1939 sources.

use crate::world::{World, claim, request, settings};
use barrico_n2k::node::{Event, Link, NodeSettings, NodeState};
use barrico_n2k::{Frame, Name};

const LOW: Name = Name(1);
const HIGH: Name = Name(u64::MAX - 1);

fn claims(world: &World) -> Vec<(u64, u8)> {
    world.sent_of(60_928).iter().map(|(at_ms, id, _)| (*at_ms, id.source)).collect()
}

#[test]
fn a_lonely_node_asks_claims_waits_and_speaks() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.start();
    world.run_to(3_000);
    let sent: Vec<(u64, u32, u8)> =
        world.sent().iter().map(|(at_ms, id, _)| (*at_ms, id.pgn, id.source)).collect();
    assert!(sent[0].0 < 50 && (sent[0].1, sent[0].2) == (59_904, 254), "asks who is there: {sent:?}");
    assert_eq!(sent[1], (1_000, 60_928, 40));
    assert!(sent[2..].iter().all(|(at_ms, _, source)| *at_ms >= 1_250 && *source == 40), "{sent:?}");
    let pgns: Vec<u32> = sent[2..].iter().map(|(_, pgn, _)| *pgn).collect();
    assert_eq!(pgns, [126_993, 126_996, 126_998], "introduces itself once");
    assert_eq!(world.events, [(1_250, 0, Event::Claimed { address: 40 })]);
    assert_eq!(world.stored.last().unwrap().2.address, None, "one write in ten seconds");
    world.run_to(10_000);
    assert_eq!(world.stored.last().unwrap().2.address, Some(40));
}

#[test]
fn two_nodes_that_start_at_once_share_out_the_addresses() {
    let mut world = World::new(vec![(settings(9), None), (settings(5), None)]);
    world.start();
    world.run_to(5_000);
    assert_eq!((world.address(0), world.address(1)), (Some(40), Some(41)), "the first claim is respected");
    assert_eq!(world.sent_of(59_904).len(), 1, "the second one hears the request of the first");
}

#[test]
fn of_two_nodes_that_claim_one_address_the_lower_name_wins() {
    for (first, second, addresses) in [(5, 9, (40, 41)), (9, 5, (41, 40))] {
        let mut world = World::new(vec![(settings(first), None), (settings(second), None)]);
        // As after a common break of the link: both claim at once, without asking before.
        world.link(0, Link::Back);
        world.link(1, Link::Back);
        world.run_to(1_000);
        assert_eq!((world.address(0), world.address(1)), (Some(addresses.0), Some(addresses.1)));
        assert!(world.sent_of(60_928).len() <= 4, "{:?}", claims(&world));
    }
}

#[test]
fn a_higher_name_is_answered_at_once_and_the_address_is_kept() {
    let mut world = World::one(settings(7));
    world.inject(claim(HIGH, 40));
    assert_eq!(claims(&world), [(5_000, 40)]);
    world.run_for(1_000);
    assert_eq!((world.address(0), claims(&world).len()), (Some(40), 1));
}

#[test]
fn a_lower_name_takes_the_address_and_nothing_is_sent_for_250_ms() {
    let mut world = World::one(settings(7));
    world.inject(claim(LOW, 40));
    assert_eq!(world.address(0), None);
    assert_eq!(claims(&world), [(5_000, 41)]);
    for pgn in [126_996, 126_998, 126_464, 130_567] {
        world.inject(request(3, 41, pgn));
    }
    world.run_to(5_249);
    assert_eq!(world.sent().len(), 1, "no answers while claiming");
    world.inject(request(3, 255, 60_928));
    assert_eq!(world.sent().len(), 2, "but the claim");
    world.run_to(5_250);
    assert_eq!(world.address(0), Some(41));
    let lost = Event::LostAddress { address: 40, to: LOW };
    assert_eq!(world.events, [(5_000, 0, lost), (5_250, 0, Event::Claimed { address: 41 })]);
}

// The 250 ms count from the first claim for an address, also when it had to be repeated.
#[test]
fn a_repeated_claim_does_not_prolong_the_wait() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.start();
    world.run_to(1_200);
    world.inject(claim(HIGH, 40));
    world.run_to(1_250);
    assert_eq!(world.address(0), Some(40));
}

#[test]
fn the_next_address_skips_those_in_use_and_wraps_to_zero() {
    let mut world = World::new(vec![(NodeSettings { preferred_address: 250, ..settings(7) }, None)]);
    world.start();
    for address in [250, 251, 0, 1] {
        world.inject(claim(Name(100 + u64::from(address)), address));
    }
    world.run_to(3_000);
    assert_eq!(world.address(0), Some(2));
}

#[test]
fn the_address_used_last_comes_first() {
    let stored = NodeState {
        unique_number: 77,
        address: Some(90),
        device_instance: Some(9),
        system_instance: None,
        installation_descriptions: [None, None],
    };
    let mut world = World::new(vec![(NodeSettings { unique_number: None, ..settings(0) }, Some(stored))]);
    world.start();
    world.run_to(3_000);
    assert_eq!(world.address(0), Some(90));
    assert_eq!((world.name(0).unique_number(), world.name(0).device_instance()), (77, 9));
}

#[test]
fn unique_numbers_that_must_not_be_used_are_not() {
    for bad in [0, 0x1F_FFFF, 0xFFFF_FFFF] {
        let world = World::new(vec![(settings(bad), None)]);
        let number = world.name(0).unique_number();
        assert!((1..=0x1F_FFFE).contains(&number), "{number}");
    }
}

// Somebody takes every address that we take, at once, with a lower NAME.
#[test]
fn a_thief_gets_each_address_once_and_a_limited_number_of_claims_a_second() {
    let mut world = World::one(settings(7));
    world.stranger = Some(Box::new(|_, frame: &Frame| {
        let id = frame.can_id();
        if id.pgn == 60_928 && id.source < 254 { vec![claim(LOW, id.source)] } else { vec![] }
    }));
    world.inject(claim(LOW, 40));
    world.run_for(120_000);
    let claimed: Vec<u8> =
        claims(&world).iter().map(|(_, address)| *address).filter(|address| *address < 254).collect();
    let mut once = claimed.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(claimed.len(), once.len(), "no address twice");
    assert_eq!(claimed.len(), 251, "all but the first");
    assert!(world.busiest_second() <= 20, "{}", world.busiest_second());
    assert!(world.events.iter().any(|(_, _, event)| *event == Event::CannotClaim));
    assert_eq!(world.address(0), None);
}

#[test]
fn a_flood_of_claims_with_a_higher_name_is_answered_at_a_limited_rate_and_lost_to_nobody() {
    let mut world = World::one(settings(7));
    for step in 0..20_000 {
        world.inject(claim(Name(HIGH.0 - step % 7), 40));
        world.run_for(1);
    }
    assert_eq!(world.address(0), Some(40));
    assert!(world.busiest_second() <= 22, "{}", world.busiest_second());
    assert!(claims(&world).len() <= 10 + 200 + 1);
}

#[test]
fn with_252_addresses_taken_it_says_so_once_keeps_silent_and_tries_again_after_minutes() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.start();
    for address in 0..=251 {
        world.inject(claim(Name(100 + u64::from(address)), address));
    }
    world.run_to(2_000);
    let claims_now = claims(&world);
    assert!(matches!(claims_now[..], [(1_000..=1_153, 254)]), "{claims_now:?}");
    assert_eq!(world.events.last().unwrap().2, Event::CannotClaim);
    world.inject(request(3, 255, 126_996));
    world.inject(request(3, 255, 60_928));
    world.inject(request(3, 255, 60_928));
    world.run_to(3_000);
    let claims_now = claims(&world);
    assert!(matches!(claims_now[..], [_, (2_000..=2_153, 254)]), "answered late and once: {claims_now:?}");
    world.run_to(200_000);
    assert_eq!(world.sent().len(), 3, "the request at the start and two claims");
    // The others have gone: nobody answers the new request.
    world.run_to(310_000);
    assert_eq!(world.address(0), Some(40));
}

#[test]
fn a_claim_from_the_null_address_is_no_conflict() {
    let mut world = World::one(settings(7));
    world.inject(claim(LOW, 254));
    world.run_for(1_000);
    assert_eq!((world.address(0), claims(&world).len()), (Some(40), 0));
}

#[test]
fn after_the_link_was_lost_the_address_is_claimed_before_anything_else() {
    let mut world = World::one(settings(7));
    world.link(0, Link::Lost);
    world.inject(request(3, 255, 60_928));
    world.inject(request(3, 255, 126_996));
    world.run_for(200_000);
    assert_eq!(world.log.iter().filter(|(_, ours, _)| *ours).count(), 0, "nothing while it is lost");
    let back_ms = world.now_ms;
    world.link(0, Link::Back);
    world.link(0, Link::Back);
    world.run_for(2_000);
    let sent = world.sent();
    assert_eq!((sent[0].0, sent[0].1.pgn), (back_ms, 60_928));
    assert!(sent[1..].iter().all(|(at_ms, _, _)| *at_ms >= back_ms + 250));
    assert_eq!(world.address(0), Some(40));
}

#[test]
fn a_name_that_moves_takes_its_open_messages_along() {
    let mut world = World::one(settings(7));
    world.inject(claim(LOW, 60));
    world.inject(claim(LOW, 61));
    assert_eq!(world.left, [60]);
    assert_eq!(world.parties[0].get(0).unwrap().senders().name_at(61), Some(LOW));
}
