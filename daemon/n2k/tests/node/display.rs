//! What a display does: asks for product information, lists and configuration, tries to start the unit, acknowledges an alert.
//!
//! Bytes beside "golden" come from `tests/captures/golden.json` (vectors that two independent decoders read alike) or from the
//! recordings named there.

use crate::world::{World, decode, frames, request, settings};
use barrico_n2k::field::write_lau;
use barrico_n2k::node::{
    AlertAnswer, Event, NETWORK_GROUPS_SENT, NETWORK_GROUPS_USED, NodeSettings, Urgency, alert_answer,
};
use barrico_n2k::pgn::{
    Acknowledgement, Alert, AlertHead, AlertResponse, AlertType, Content, GroupAcknowledge, GroupCommand,
    GroupFunction, GroupReadWrite, GroupRequest, OperatingState, PgnList, PgnListKind, WatermakerStatus,
};
use barrico_n2k::{CanId, Frame, Name};

/// Address of the display.
const DISPLAY: u8 = 43;

fn hex(text: &str) -> Vec<u8> {
    (0..text.len()).step_by(2).map(|at| u8::from_str_radix(&text[at..at + 2], 16).unwrap()).collect()
}

fn group(world: &mut World, destination: u8, function: GroupFunction) {
    for frame in frames(DISPLAY, destination, &Content::GroupFunction(function)) {
        world.inject(frame);
    }
}

fn command(world: &mut World, pgn: u32, priority: u8, pair_count: u8, pairs: &[u8]) {
    let command = GroupCommand { pgn, priority, pair_count, pairs: pairs.to_vec() };
    group(world, 40, GroupFunction::Command(command));
}

fn ask(world: &mut World, destination: u8, pgn: u32, interval_ms: u32, pair_count: u8, pairs: &[u8]) {
    let request =
        GroupRequest { pgn, interval_ms, offset_10_ms: u16::MAX, pair_count, pairs: pairs.to_vec() };
    group(world, destination, GroupFunction::Request(request));
}

/// Errors of the acknowledge that came last: of the group, of interval or priority, of the pairs.
fn last_acknowledge(world: &World) -> (u32, u8, u8, Vec<u8>) {
    let (_, id, payload) = world.sent_of(126_208).pop().expect("an acknowledge");
    assert_eq!((id.source, id.destination, id.priority), (40, DISPLAY, 3));
    match decode(126_208, &payload) {
        Content::GroupFunction(GroupFunction::Acknowledge(GroupAcknowledge {
            pgn,
            pgn_error,
            interval_error,
            mut parameter_errors,
        })) => {
            // An odd number is filled up by half a byte.
            parameter_errors.truncate(usize::from(payload[5]));
            (pgn, pgn_error, interval_error, parameter_errors)
        }
        other => panic!("{other:?}"),
    }
}

fn running() -> Content {
    Content::WatermakerStatus(WatermakerStatus {
        operating_state: Some(OperatingState::Running),
        salinity_ppm: Some(320.0),
        ..WatermakerStatus::default()
    })
}

#[test]
fn product_information_has_the_golden_bytes() {
    let mut world = World::one(NodeSettings {
        product_code: 12_345,
        model_version: "1".to_owned(),
        load_equivalency: 1,
        ..settings(1)
    });
    world.inject(request(DISPLAY, 40, 126_996));
    world.run_for(1_000);
    let (_, id, payload) = world.sent_of(126_996).remove(0);
    assert_eq!(id, CanId { priority: 6, pgn: 126_996, source: 40, destination: 255 });
    // Golden vector product_info; the serial there has a digit less, the last two bytes are certification and load.
    let golden = hex(concat!(
        "340839306261727269636fffffffffffffffffffffffffffffffffffffffffffffffffff302e312e30ffffffffffffffffffffffff",
        "ffffffffffffffffffffffffffffff31ffffffffffffffffffffffffffffffffffffffffffffffffffffffffffffff"
    ));
    assert_eq!(payload[..golden.len()], golden);
    assert_eq!(&payload[golden.len()..golden.len() + 8], b"0000001\xFF");
    assert_eq!(payload[132..], [1, 1]);
}

#[test]
fn repeated_requests_for_product_information_are_merged_to_one_a_second() {
    let mut world = World::one(settings(7));
    for _ in 0..100 {
        world.inject(request(DISPLAY, 255, 126_996));
        world.inject(request(DISPLAY, 40, 126_996));
        world.run_for(25);
    }
    world.run_for(2_000);
    assert_eq!(world.sent_of(126_996).len(), 4, "at 0, 1, 2 s and once more for the last ones");
}

#[test]
fn configuration_has_the_golden_bytes() {
    let mut world = World::one(NodeSettings {
        installation_descriptions: ["Sea water line".to_owned(), String::new()],
        manufacturer_information: "barrico".to_owned(),
        ..settings(7)
    });
    world.inject(request(DISPLAY, 255, 126_998));
    world.run_for(1_000);
    // Golden vector config_info.
    let golden = hex("1001536561207761746572206c696e65020109016261727269636f");
    assert_eq!(world.sent_of(126_998)[0].2, golden);
    // Three empty texts: recorded on boat A from sender 43.
    let mut world = World::one(settings(7));
    world.inject(request(DISPLAY, 255, 126_998));
    world.run_for(1_000);
    assert_eq!(world.sent_of(126_998)[0].2, hex("020102010201"));
}

#[test]
fn lists_go_to_who_asked_and_say_what_is_sent_and_used() {
    let mut world = World::one(settings(7));
    world.inject(request(DISPLAY, 40, 126_464));
    world.run_for(1_000);
    let lists = world.sent_of(126_464);
    assert!(lists.iter().all(|(_, id, _)| id.destination == DISPLAY));
    let kinds = [PgnListKind::Transmit, PgnListKind::Receive];
    let networks = [&NETWORK_GROUPS_SENT[..], &NETWORK_GROUPS_USED[..]];
    let owners = [&[130_567, 126_983, 126_985][..], &[126_984, 130_312][..]];
    assert_eq!(lists.len(), 2);
    for (index, (_, _, payload)) in lists.iter().enumerate() {
        let Content::PgnList(PgnList { kind, pgns }) = decode(126_464, payload) else { panic!() };
        assert_eq!((kind, pgns), (kinds[index], [networks[index], owners[index]].concat()));
    }
    // As the golden vector pgn_list_tx begins: kind, then three bytes a group.
    assert_eq!(lists[0].2[..7], [0x00, 0x00, 0xE8, 0x00, 0x00, 0xEA, 0x00]);
}

// Recorded on boat A (line 36229 on): 0x01FE14 and 0x01FE13 asked from an address, answered 01FFFFFFFF14FE01 to who asked.
#[test]
fn unknown_groups_are_refused_with_the_recorded_bytes_and_only_when_addressed() {
    let mut world = World::one(settings(7));
    world.inject(request(DISPLAY, 40, 0x1_FE14));
    world.inject(request(DISPLAY, 255, 0x1_FE14));
    let refusals = world.sent_of(59_392);
    assert_eq!(refusals.len(), 1);
    assert_eq!(refusals[0].1, CanId { priority: 6, pgn: 59_392, source: 40, destination: DISPLAY });
    assert_eq!(refusals[0].2, hex("01FFFFFFFF14FE01"));
    world.inject(request(DISPLAY, 40, 126_993));
    assert_eq!(world.sent_of(59_392)[1].2, hex("01FFFFFFFF11F001"), "the heartbeat may not be requested");
}

#[test]
fn a_refusal_is_never_refused_and_acknowledges_are_told() {
    let mut world = World::one(settings(7));
    let id = CanId { priority: 6, pgn: 59_392, source: DISPLAY, destination: 40 };
    for control in [1, 0, 191] {
        let payload = [control, 0xFF, 0xFF, 0xFF, 0xFF, 0x07, 0xFE, 0x01];
        world.inject(Frame::new(id, &payload));
    }
    assert_eq!(world.sent().len(), 0);
    let told = |control| Event::AcknowledgeReceived { control, pgn: 130_567, by: DISPLAY };
    let events: Vec<_> = world.events.iter().map(|(_, _, event)| *event).collect();
    assert_eq!(
        events,
        [told(Acknowledgement::Negative), told(Acknowledgement::Positive)],
        "191 is undefined"
    );
}

#[test]
fn the_owner_is_asked_for_its_messages() {
    let mut world = World::one(settings(7));
    world.inject(request(DISPLAY, 40, 130_567));
    let question = world.asked.remove(0);
    assert_eq!((question.pgn, question.by, question.addressed), (130_567, DISPLAY, true));
    world.act(0, |nodes, now_ms, out| nodes.answer(now_ms, 0, &question, &[(6, running())], out));
    assert_eq!(world.sent_of(130_567).len(), 1);
    // 126983 only while an alert exists.
    world.inject(request(DISPLAY, 40, 126_983));
    let question = world.asked.remove(0);
    world.act(0, |nodes, now_ms, out| nodes.answer(now_ms, 0, &question, &[], out));
    assert_eq!(world.sent_of(59_392)[0].2, hex("01FFFFFFFF07F001"));
}

// Golden vectors gf_command_start (field 2, production, to 1) and gf_ack_denied.
#[test]
fn a_command_to_start_the_unit_is_refused() {
    let mut world = World::one(settings(7));
    let payload = hex("0107fe01f8010201");
    let id = CanId { priority: 3, pgn: 126_208, source: DISPLAY, destination: 40 };
    for frame in barrico_n2k::split(id, &payload, 5).unwrap() {
        world.inject(frame);
    }
    assert_eq!(world.sent_of(126_208)[0].2, hex("0207fe010301f4"));
    let refused = Event::CommandRefused { pgn: 130_567, by: DISPLAY, name: None };
    assert_eq!(world.events, [(5_000, 0, refused)]);
    // Several at once: production, rinse, both pumps, emergency stop.
    command(&mut world, 130_567, 8, 5, &[2, 1, 3, 1, 4, 1, 5, 1, 6, 1]);
    assert_eq!(last_acknowledge(&world), (130_567, 3, 0, vec![4; 5]));
    // To everybody: no answer.
    let all = GroupCommand { pgn: 130_567, priority: 8, pair_count: 1, pairs: vec![2, 1] };
    group(&mut world, 255, GroupFunction::Command(all));
    assert_eq!(world.sent_of(126_208).len(), 2);
    assert_eq!(world.stored.len(), 1, "nothing but the identity at the start");
}

#[test]
fn other_commands() {
    let mut world = World::one(settings(7));
    command(&mut world, 127_502, 8, 2, &[1, 0, 2, 1]);
    assert_eq!(last_acknowledge(&world), (127_502, 1, 0, vec![0, 0]), "not ours");
    world.run_for(2_000);
    command(&mut world, 130_567, 3, 0, &[]);
    assert_eq!(last_acknowledge(&world), (130_567, 3, 1, vec![]), "the priority stays");
    command(&mut world, 126_993, 8, 1, &[1, 0, 1]);
    assert_eq!(last_acknowledge(&world), (126_993, 3, 0, vec![4]), "the heartbeat cannot be commanded");
}

#[test]
fn descriptions_are_stored_and_acknowledged() {
    let mut world = World::one(settings(7));
    world.run_to(20_000);
    let mut pairs = vec![2];
    write_lau(&mut pairs, 69, Some("Under the saloon berth"));
    command(&mut world, 126_998, 8, 1, &pairs);
    assert_eq!(last_acknowledge(&world), (126_998, 0, 0, vec![0]));
    let stored = &world.stored.last().unwrap().2;
    assert_eq!(stored.installation_descriptions[1].as_deref(), Some("Under the saloon berth"));
    world.inject(request(DISPLAY, 255, 126_998));
    world.run_for(500);
    let Content::ConfigurationInformation(now) = decode(126_998, &world.sent_of(126_998)[0].2) else {
        panic!()
    };
    assert_eq!(now.installation_description_2.as_deref(), Some("Under the saloon berth"));

    let mut text = |field: u8, text: &str| {
        let mut pairs = vec![field];
        write_lau(&mut pairs, 200, Some(text));
        world.run_for(1_000);
        command(&mut world, 126_998, 8, 1, &pairs);
        last_acknowledge(&world).3
    };
    assert_eq!(text(1, &"x".repeat(69)), [0], "the longest");
    assert_eq!(text(1, &"x".repeat(70)), [3], "out of range");
    assert_eq!(text(3, "mine"), [4], "the maker's text is not theirs to change");
}

#[test]
fn instances_are_stored_acknowledged_and_claimed() {
    let mut world = World::one(settings(7));
    world.run_to(20_000);
    let before = world.name(0);
    command(&mut world, 60_928, 8, 3, &[3, 5, 4, 2, 8, 3]);
    let sent: Vec<u32> = world.sent().iter().map(|(_, id, _)| id.pgn).collect();
    assert_eq!(sent, [126_208, 60_928], "acknowledged, then claimed");
    assert_eq!(last_acknowledge(&world), (60_928, 0, 0, vec![0, 0, 0]));
    let name = world.name(0);
    assert_eq!((name.device_instance(), name.system_instance()), (2 << 3 | 5, 3));
    assert_eq!(name.unique_number(), before.unique_number());
    assert_eq!(world.sent_of(60_928)[0].2, name.to_bytes());
    let stored = &world.stored.last().unwrap().2;
    assert_eq!((stored.device_instance, stored.system_instance), (Some(21), Some(3)));
    assert_eq!(world.address(0), None, "another NAME must wait again");
    world.run_for(250);
    assert_eq!(world.address(0), Some(40));
    command(&mut world, 60_928, 8, 3, &[3, 8, 5, 1, 8, 16]);
    assert_eq!(last_acknowledge(&world), (60_928, 0, 0, vec![3, 4, 3]));
    assert_eq!(world.name(0), name);
}

#[test]
fn requests_with_pairs() {
    let mut world = World::one(settings(7));
    // Manufacturer code 2046 fits, 2045 does not; field 77 does not exist and hides what follows.
    ask(&mut world, 40, 60_928, u32::MAX, 1, &[2, 0xFE, 0x07]);
    assert_eq!(world.sent_of(60_928).len(), 1);
    ask(&mut world, 40, 60_928, u32::MAX, 1, &[2, 0xFD, 0x07]);
    assert_eq!(last_acknowledge(&world), (60_928, 0, 0, vec![3]));
    ask(&mut world, 40, 60_928, u32::MAX, 3, &[2, 0xFE, 0x07, 77, 1, 2]);
    assert_eq!(last_acknowledge(&world), (60_928, 0, 0, vec![0, 1, 2]));
    ask(&mut world, 40, 126_996, 5_000, 0, &[]);
    assert_eq!(last_acknowledge(&world), (126_996, 0, 1, vec![]), "no interval for product information");
    ask(&mut world, 40, 126_464, u32::MAX, 1, &[1, 1]);
    world.run_for(500);
    assert_eq!(world.sent_of(126_464).len(), 1, "one list");
    ask(&mut world, 40, 126_720, u32::MAX, 2, &[1, 2]);
    assert_eq!(last_acknowledge(&world), (126_720, 1, 0, vec![0, 0]));
    let acknowledges = world.sent_of(126_208).len();
    ask(&mut world, 255, 60_928, u32::MAX, 1, &[2, 0xFD, 0x07]);
    ask(&mut world, 255, 126_720, u32::MAX, 0, &[]);
    assert_eq!(world.sent_of(126_208).len(), acknowledges, "nothing to everybody is acknowledged");
}

#[test]
fn requests_with_pairs_for_messages_of_the_owner() {
    let mut world = World::one(settings(7));
    let answer = |world: &mut World, contents: &[(u8, Content)]| {
        let question = world.asked.remove(0);
        world.act(0, |nodes, now_ms, out| nodes.answer(now_ms, 0, &question, contents, out));
    };
    // Field 1, operating state: 2 is running.
    ask(&mut world, 40, 130_567, u32::MAX, 1, &[1, 2]);
    answer(&mut world, &[(6, running())]);
    assert_eq!(world.sent_of(130_567).len(), 1);
    ask(&mut world, 40, 130_567, u32::MAX, 1, &[1, 0]);
    answer(&mut world, &[(6, running())]);
    assert_eq!(last_acknowledge(&world), (130_567, 0, 0, vec![3]));
    ask(&mut world, 40, 130_567, 5_000, 0, &[]);
    assert_eq!(last_acknowledge(&world), (130_567, 0, 1, vec![]), "the interval stays");
    world.run_for(1_000);
    // Field 5 of an alert is its number.
    let alert = |id| {
        let head = AlertHead { alert_id: Some(id), ..AlertHead::default() };
        (2, Content::Alert(Alert { head, ..Alert::default() }))
    };
    ask(&mut world, 255, 126_983, u32::MAX, 1, &[5, 0xA1, 0x00]);
    answer(&mut world, &[alert(0xA0), alert(0xA1)]);
    let sent = world.sent_of(126_983);
    assert_eq!((sent.len(), &sent[0].2[3..5]), (1, &[0xA1, 0x00][..]));
    ask(&mut world, 40, 126_983, u32::MAX, 1, &[5, 0xA1, 0x00]);
    answer(&mut world, &[]);
    assert_eq!(last_acknowledge(&world), (126_983, 2, 0, vec![0]));
}

#[test]
fn the_heartbeat_interval_is_set_by_a_request_without_pairs() {
    let mut world = World::one(settings(7));
    world.run_to(10_000);
    for (interval_ms, of_group, of_interval) in [(0, 0, 1), (999, 0, 1), (60_001, 0, 1), (u32::MAX, 2, 0)] {
        ask(&mut world, 40, 126_993, interval_ms, 0, &[]);
        assert_eq!(last_acknowledge(&world), (126_993, of_group, of_interval, vec![]), "{interval_ms}");
    }
    assert_eq!(world.sent_of(126_993).len(), 0);
    ask(&mut world, 40, 126_993, 1_000, 0, &[]);
    world.run_for(10_000);
    let beats = world.sent_of(126_993);
    assert_eq!(beats.len(), 11);
    assert_eq!(beats[0].2[..2], 1_000_u16.to_le_bytes());
    assert!(beats.windows(2).all(|pair| pair[1].0 - pair[0].0 == 1_000 && pair[1].2[2] == pair[0].2[2] + 1));
    world.run_for(1_000);
    ask(&mut world, 40, 126_993, u32::MAX - 1, 0, &[]);
    world.run_for(1_000);
    assert_eq!(world.sent_of(126_993).last().unwrap().2[..2], 60_000_u16.to_le_bytes(), "the default");
}

#[test]
fn read_and_write_of_fields_are_not_supported() {
    let mut world = World::one(settings(7));
    for (function, pgn, error) in [(3, 130_567, 6), (5, 126_998, 6), (3, 127_502, 1)] {
        let rest = vec![0, 0, 1, 2];
        group(&mut world, 40, GroupFunction::ReadWrite(GroupReadWrite { function, pgn, rest }));
        assert_eq!(last_acknowledge(&world), (pgn, error, 0, vec![]));
    }
    for function in [2, 4, 6, 77] {
        let rest = vec![0, 0, 0];
        group(&mut world, 40, GroupFunction::ReadWrite(GroupReadWrite { function, pgn: 130_567, rest }));
    }
    assert_eq!(world.sent_of(126_208).len(), 3, "answers and unknown functions are consumed");
}

// Recorded on boat A, lines 37795 to 37797: a request with three pairs of a proprietary group to everybody, and the same addressed.
#[test]
fn a_recorded_group_function_request() {
    let mut world = World::one(settings(7));
    for destination in ["FF", "28"] {
        for data in ["20130001FF01FFFF", "21FFFFFFFF030113", "22010304047A94FF"] {
            let line = format!("(1669809801.932346) can0 0DED{destination}1D#{data}");
            let parsed = barrico_n2k::candump::parse_line(line.as_bytes()).unwrap();
            let barrico_n2k::candump::Kind::Data(frame) = parsed.kind else { panic!() };
            world.inject(frame);
        }
    }
    let answers = world.sent_of(126_208);
    assert_eq!(answers.len(), 1);
    assert_eq!((answers[0].1.destination, &answers[0].2[..]), (29, &hex("0201FF01010300F0")[..]));
}

#[test]
fn a_session_with_an_alert() {
    let mut world = World::one(settings(7));
    for pgn in [60_928, 126_996, 126_464, 126_998] {
        world.inject(request(DISPLAY, 40, pgn));
        world.run_for(300);
    }
    let head = AlertHead {
        alert_type: Some(AlertType::Alarm),
        system: Some(5),
        sub_system: Some(0),
        alert_id: Some(161),
        data_source_name: Some(world.name(0)),
        data_source_instance: Some(0),
        data_source_index: Some(0),
        occurrence: Some(1),
        ..AlertHead::default()
    };
    let alert = Content::Alert(Alert { head: head.clone(), ..Alert::default() });
    let now_ms = world.now_ms;
    world.act(0, |nodes, now_ms, out| nodes.send(now_ms, 0, Urgency::Alert, 2, &alert, out).unwrap());
    let (at_ms, id, payload) = world.sent_of(126_983).remove(0);
    assert_eq!((at_ms, id.priority), (now_ms, 2), "at once, although information is under way");
    // The display sends the head back.
    let Content::Alert(seen) = decode(126_983, &payload) else { panic!() };
    let response = AlertResponse {
        head: seen.head,
        acknowledge_source_name: Some(Name(0xC078_8200_FF00_C078)),
        command: Some(barrico_n2k::pgn::ResponseCommand::Acknowledge),
    };
    let mut bytes = Vec::new();
    response.encode(&mut bytes);
    assert_eq!(alert_answer(&AlertResponse::decode(&bytes), &head), AlertAnswer::This);
    world.run_for(2_000);
    for pgn in [60_928, 126_996, 126_464, 126_998, 126_983] {
        assert!(!world.sent_of(pgn).is_empty(), "{pgn}");
    }
}
