use super::*;

fn claim(senders: &mut Senders, now_ms: u64, address: u8, name: u64) -> Vec<Change> {
    let mut out = Vec::new();
    let id = CanId { priority: 6, pgn: 60928, source: address, destination: 255 };
    senders.handle(now_ms, id, &name.to_le_bytes(), &mut out);
    out
}

#[test]
fn first_claim_then_repetition_then_move() {
    let mut senders = Senders::new();
    let name = Name(7);
    assert_eq!(claim(&mut senders, 0, 10, 7), [Change::Claimed { name, address: 10, moved_from: None }]);
    assert_eq!(claim(&mut senders, 9, 10, 7), []);
    assert_eq!(claim(&mut senders, 20, 11, 7), [Change::Claimed { name, address: 11, moved_from: Some(10) }]);
    assert_eq!((senders.name_at(10), senders.name_at(11)), (None, Some(name)));
    assert_eq!(senders.address_of(name), Some(11));
    assert_eq!(senders.iter().collect::<Vec<_>>(), [(11, name)]);
}

#[test]
fn lower_name_takes_an_address_at_once() {
    let mut senders = Senders::new();
    claim(&mut senders, 0, 10, 7);
    let changes = [
        Change::Lost { name: Name(7), address: 10 },
        Change::Claimed { name: Name(5), address: 10, moved_from: None },
    ];
    assert_eq!(claim(&mut senders, 1, 10, 5), changes);
}

#[test]
fn higher_name_takes_an_address_only_if_the_owner_is_silent() {
    let mut senders = Senders::new();
    claim(&mut senders, 0, 10, 5);
    assert_eq!(claim(&mut senders, 1000, 10, 7), []);
    assert_eq!(senders.next_deadline(), Some(1000 + CLAIM_WAIT_MS));
    assert_eq!(claim(&mut senders, 1005, 10, 5), [], "defended");
    assert_eq!(senders.next_deadline(), None);
    claim(&mut senders, 2000, 10, 7);
    let mut out = Vec::new();
    senders.handle_timeout(2000 + CLAIM_WAIT_MS - 1, &mut out);
    assert_eq!(out, []);
    senders.handle_timeout(2000 + CLAIM_WAIT_MS, &mut out);
    assert_eq!(out.last(), Some(&Change::Claimed { name: Name(7), address: 10, moved_from: None }));
    assert_eq!(senders.name_at(10), Some(Name(7)));
}

#[test]
fn cannot_claim_and_nonsense() {
    let mut senders = Senders::new();
    claim(&mut senders, 0, 10, 7);
    assert_eq!(claim(&mut senders, 1, NULL_ADDRESS, 7), [Change::Lost { name: Name(7), address: 10 }]);
    assert_eq!(claim(&mut senders, 2, 255, 7), []);
    let mut out = Vec::new();
    let id = CanId { priority: 6, pgn: 60928, source: 3, destination: 255 };
    senders.handle(3, id, &[1, 2, 3], &mut out);
    assert_eq!(out, []);
    assert_eq!(senders.iter().count(), 0);
}
