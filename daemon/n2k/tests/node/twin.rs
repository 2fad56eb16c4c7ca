//! Another device with our NAME. Cases: canboat/canboatjs#453 (two with a copied configuration), #467 (own claim comes back).

use crate::world::{World, claim, settings};
use barrico_n2k::Frame;
use barrico_n2k::node::{Event, NodeSettings, NodeState};

#[test]
fn a_chosen_number_is_reported_and_kept_and_the_address_is_left() {
    let mut world = World::one(settings(7));
    let name = world.name(0);
    world.inject(claim(name, 40));
    assert_eq!(world.address(0), None, "silent at once");
    assert_eq!(world.events, [(5_000, 0, Event::TwinName { name, address: 40, new_unique_number: None })]);
    world.run_for(3_000);
    assert_eq!((world.address(0), world.name(0)), (Some(41), name));
    let claims: Vec<_> = world.sent_of(60_928);
    assert!((5_100..=7_100).contains(&claims[0].0), "after a random delay: {claims:?}");
}

#[test]
fn a_drawn_number_is_drawn_again_and_stored() {
    let mut world = World::one(NodeSettings { unique_number: None, ..settings(0) });
    let name = world.name(0);
    world.run_to(20_000);
    world.inject(claim(name, 40));
    world.run_for(3_000);
    assert_ne!(world.name(0), name);
    assert_eq!(world.stored.last().unwrap().2.unique_number, world.name(0).unique_number());
    assert!(world.address(0).is_some());
}

#[test]
fn it_is_reported_once_a_minute_and_never_fought() {
    let mut world = World::one(settings(7));
    let name = world.name(0);
    // The twin claims whatever we claim.
    world.stranger = Some(Box::new(move |_, frame: &Frame| {
        let id = frame.can_id();
        if id.pgn == 60_928 { vec![claim(name, id.source), claim(name, id.source)] } else { vec![] }
    }));
    for _ in 0..600 {
        world.inject(claim(name, world.address(0).unwrap_or(40)));
        world.run_for(1_000);
    }
    let twins = world.events.iter().filter(|(_, _, event)| matches!(event, Event::TwinName { .. })).count();
    assert!((9..=11).contains(&twins), "{twins} in ten minutes");
    assert!(world.sent_of(60_928).len() <= 2 * twins, "{} claims", world.sent_of(60_928).len());
}

#[test]
fn our_own_claim_that_comes_back_is_no_twin() {
    let mut world = World::new(vec![(settings(7), None)]);
    world.stranger =
        Some(Box::new(|_, frame: &Frame| if frame.can_id().pgn == 60_928 { vec![*frame] } else { vec![] }));
    world.start();
    world.run_to(200_000);
    assert_eq!(world.address(0), Some(40));
    assert_eq!(world.sent_of(60_928).len(), 1);
}

#[test]
fn two_copies_of_one_configuration_part() {
    let stored = |number| NodeState {
        unique_number: number,
        address: Some(40),
        device_instance: None,
        system_instance: None,
        installation_descriptions: [None, None],
    };
    let drawn = NodeSettings { unique_number: None, ..settings(0) };
    let mut world = World::new(vec![(drawn.clone(), Some(stored(1234))), (drawn, Some(stored(1234)))]);
    world.start();
    world.run_to(300_000);
    assert_ne!(world.name(0), world.name(1));
    assert!(world.address(0).is_some() && world.address(1).is_some());
    assert_ne!(world.address(0), world.address(1));
    assert!(world.sent_of(60_928).len() < 20);
}
