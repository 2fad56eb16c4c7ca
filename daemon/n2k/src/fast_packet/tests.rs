use super::*;
use crate::frame::Frame;
use proptest::prelude::*;

const WATERMAKER: u32 = 130_567;

fn id(pgn: u32, source: u8) -> CanId {
    CanId { priority: 6, pgn, source, destination: 255 }
}

fn frames(pgn: u32, source: u8, payload: &[u8], sequence: u8) -> Vec<Frame> {
    split(id(pgn, source), payload, sequence).unwrap().collect()
}

fn push(assembler: &mut Assembler, now_ms: u64, frame: &Frame) -> Option<Vec<u8>> {
    assembler.push(now_ms, frame.can_id(), frame.payload()).map(|message| message.payload.to_vec())
}

fn payload(length: usize, seed: u8) -> Vec<u8> {
    (0..length).map(|index| (index as u8).wrapping_mul(31) ^ seed).collect()
}

// Frames of a real message (gonmea, test of its text format parser).
#[test]
fn frames_of_a_known_message() {
    let expected = [
        [0x00, 0x18, 0x46, 0x03, 0xDC, 0xCF, 0x06, 0x00],
        [0x01, 0x42, 0x76, 0x1E, 0x00, 0x1E, 0x00, 0x00],
        [0x02, 0x00, 0x03, 0x00, 0x00, 0x00, 0x00, 0x00],
        [0x03, 0x50, 0x6E, 0x23, 0x00, 0xFF, 0xFF, 0xFF],
    ];
    let joined: Vec<u8> =
        [&expected[0][2..], &expected[1][1..], &expected[2][1..], &expected[3][1..5]].concat();
    assert_eq!(joined.len(), 24);
    let frames = frames(WATERMAKER, 200, &joined, 0);
    assert!(frames.iter().map(|frame| frame.data).eq(expected));
    assert!(frames.iter().all(|frame| frame.id == 0x19FE_07C8));
}

#[test]
fn every_length_up_to_the_limit() {
    let mut assembler = Assembler::new();
    for length in 0..=MAX_PAYLOAD {
        let sent = payload(length, length as u8);
        let frames = frames(WATERMAKER, 1, &sent, length as u8);
        let (last, before) = frames.split_last().unwrap();
        for frame in before {
            assert_eq!(push(&mut assembler, 0, frame), None);
        }
        assert_eq!(push(&mut assembler, 0, last), Some(sent), "{length} bytes");
    }
    assert!(split(id(WATERMAKER, 1), &payload(MAX_PAYLOAD + 1, 0), 0).is_err());
    assert_eq!(assembler.push(0, id(WATERMAKER, 1), &[0, 224, 1, 2, 3, 4, 5, 6]), None);
    assert_eq!(assembler.counters().too_long, 1);
}

#[test]
fn lost_middle_frame_drops_the_message_and_the_next_one_is_whole() {
    let mut assembler = Assembler::new();
    let lossy = frames(WATERMAKER, 1, &payload(24, 1), 3);
    for frame in [0, 1, 3].map(|number| &lossy[number]) {
        assert_eq!(push(&mut assembler, 0, frame), None);
    }
    let sent = payload(24, 2);
    let mut got = Vec::new();
    for frame in frames(WATERMAKER, 1, &sent, 3) {
        got.extend(push(&mut assembler, 100, &frame));
    }
    assert_eq!(got, [sent]);
    assert_eq!(assembler.counters().restarted, 1);
}

// canboat/canboat#738: a first frame must not complete against continuations of an older message.
#[test]
fn later_first_frame_is_not_glued_onto_held_continuations() {
    let mut assembler = Assembler::new();
    for frame in &frames(WATERMAKER, 1, &payload(24, 1), 2)[1..] {
        assert_eq!(push(&mut assembler, 0, frame), None);
    }
    let sent = payload(24, 2);
    let late = frames(WATERMAKER, 1, &sent, 2);
    assert_eq!(push(&mut assembler, EARLY_HOLD_MS + 1, &late[0]), None);
    let got: Vec<_> = late[1..].iter().filter_map(|frame| push(&mut assembler, 30, frame)).collect();
    assert_eq!(got, [sent]);
}

#[test]
fn continuations_may_come_first_within_the_hold_time() {
    let mut assembler = Assembler::new();
    let sent = payload(24, 1);
    let frames = frames(WATERMAKER, 1, &sent, 2);
    for number in [3, 1, 2] {
        assert_eq!(push(&mut assembler, 0, &frames[number]), None);
    }
    assert_eq!(push(&mut assembler, EARLY_HOLD_MS, &frames[0]), Some(sent));
}

// As recorded on boat A: one frame of 129029 comes again 28 ms after its message was complete.
#[test]
fn stray_repetition_is_ignored_and_costs_nothing() {
    let mut assembler = Assembler::new();
    let first = frames(129_029, 127, &payload(43, 1), 5);
    let got: Vec<_> = first.iter().filter_map(|frame| push(&mut assembler, 0, frame)).collect();
    assert_eq!(got.len(), 1);
    assert_eq!(push(&mut assembler, 28, &first[3]), None);
    assert_eq!(assembler.counters().stray, 1);
    let sent = payload(43, 2);
    let second = frames(129_029, 127, &sent, 5);
    let got: Vec<_> = second.iter().filter_map(|frame| push(&mut assembler, 1000, frame)).collect();
    assert_eq!(got, [sent]);
}

#[test]
fn timeout_at_the_limit() {
    for (gap_ms, complete) in [(FRAME_TIMEOUT_MS, true), (FRAME_TIMEOUT_MS + 1, false)] {
        let mut assembler = Assembler::new();
        let frames = frames(WATERMAKER, 1, &payload(10, 1), 0);
        assert_eq!(push(&mut assembler, 5, &frames[0]), None);
        assert_eq!(push(&mut assembler, 5 + gap_ms, &frames[1]).is_some(), complete);
        assert_eq!(assembler.counters().timed_out, u64::from(!complete));
    }
}

#[test]
fn short_frames_complete_only_with_enough_bytes() {
    let mut assembler = Assembler::new();
    let key = id(WATERMAKER, 1);
    assert_eq!(assembler.push(0, key, &[0x20, 8, 1, 2, 3, 4, 5, 6]), None);
    let message = assembler.push(0, key, &[0x21, 7, 8]).unwrap();
    assert_eq!(message.payload, [1, 2, 3, 4, 5, 6, 7, 8]);
    assert_eq!(assembler.push(0, key, &[0x40, 8, 1, 2, 3, 4, 5, 6]), None);
    assert_eq!(assembler.push(0, key, &[0x41, 7]), None);
    for bytes in [&[][..], &[0x41]] {
        assert_eq!(assembler.push(0, key, bytes), None);
    }
    assert_eq!(assembler.counters().too_short, 2);
}

#[test]
fn frame_number_beyond_the_length_is_refused() {
    let mut assembler = Assembler::new();
    let frames = frames(WATERMAKER, 1, &payload(10, 1), 0);
    assert_eq!(push(&mut assembler, 0, &frames[0]), None);
    assert_eq!(assembler.push(0, id(WATERMAKER, 1), &[2, 0, 0, 0, 0, 0, 0, 0]), None);
    assert_eq!(assembler.counters().beyond_length, 1);
    assert_eq!(push(&mut assembler, 0, &frames[1]), Some(payload(10, 1)));
}

#[test]
fn mixed_messages_are_dropped() {
    let mut assembler = Assembler::new();
    let (one, two) = (frames(WATERMAKER, 1, &payload(24, 1), 0), frames(WATERMAKER, 1, &payload(24, 2), 0));
    for frame in [&one[0], &one[1], &two[1], &two[2], &two[3]] {
        assert_eq!(push(&mut assembler, 0, frame), None);
    }
    assert_eq!(assembler.counters().conflicting, 1);
}

#[test]
fn the_message_longest_without_a_frame_is_given_up() {
    let mut assembler = Assembler::new();
    let sent = payload(24, 1);
    let open = |source| frames(WATERMAKER, source, &sent, 0);
    for source in 0..=SLOTS as u8 {
        push(&mut assembler, u64::from(source), &open(source)[0]);
    }
    assert_eq!(assembler.counters().evicted, 1);
    let mut finish =
        |source: u8| open(source)[1..].iter().filter_map(|frame| push(&mut assembler, 100, frame)).count();
    assert_eq!(finish(1), 1, "within the limit");
    assert_eq!(finish(0), 0, "the oldest is gone");
}

#[test]
fn a_sender_that_leaves_takes_its_open_messages_along() {
    let mut assembler = Assembler::new();
    let frames = [1, 2].map(|source| frames(WATERMAKER, source, &payload(10, source), 0));
    for frames in &frames {
        push(&mut assembler, 0, &frames[0]);
    }
    assembler.forget_source(1);
    assert_eq!(assembler.counters().forgotten, 1);
    assert_eq!(push(&mut assembler, 0, &frames[0][1]), None);
    assert!(push(&mut assembler, 0, &frames[1][1]).is_some());
    push(&mut assembler, 0, &super::split(id(WATERMAKER, 2), &payload(10, 9), 1).unwrap().next().unwrap());
    assembler.expire(FRAME_TIMEOUT_MS + 1);
    assert_eq!(assembler.counters().timed_out, 2, "the open one, and the continuation without a first frame");
}

/// One frame on its way: when it arrives, and what it is.
#[derive(Debug, Clone)]
struct Arrival {
    at_ms: u64,
    order: u32,
    frame: Frame,
}

#[derive(Debug, Clone)]
struct Sent {
    source: u8,
    pgn: u32,
    destination: u8,
    payload: Vec<u8>,
    /// Start after the message before of the same sender, ms.
    gap_ms: u64,
    /// Per frame: copies that arrive [0-2], delay in ms, order among frames of the same instant.
    fate: Vec<(u8, u64, u32)>,
}

fn sent(lossy: bool) -> impl Strategy<Value = Sent> {
    let pgn = prop_oneof![Just(130_567u32), Just(129_029), Just(126_208), Just(130_820)];
    // Copies: without loss exactly one or two; delays stay within the hold time, so that reordering is any order.
    let copies = if lossy {
        prop_oneof![1 => Just(0u8), 4 => Just(1), 1 => Just(2)].boxed()
    } else {
        (1u8..=2).boxed()
    };
    let fate = (copies, 0..=EARLY_HOLD_MS, any::<u32>());
    let payload = prop_oneof![
        12 => prop::collection::vec(any::<u8>(), 0..=60),
        1 => prop::collection::vec(any::<u8>(), 61..=MAX_PAYLOAD),
    ];
    (0u8..8, pgn, prop_oneof![Just(255u8), Just(3)], payload, 100u64..400).prop_flat_map(
        move |(source, pgn, destination, payload, gap_ms)| {
            let count = super::split::frame_count(payload.len());
            let destination = if pgn == 126_208 { destination } else { 255 };
            prop::collection::vec(fate.clone(), count).prop_map(move |fate| Sent {
                source,
                pgn,
                destination,
                payload: payload.clone(),
                gap_ms,
                fate,
            })
        },
    )
}

/// Schedules the messages: per (sender, group) the sequence counts up, so that it repeats after 8 * 100 ms at the
/// earliest, more than the frame timeout.
fn arrivals(messages: &[Sent]) -> Vec<Arrival> {
    let mut clock = [0u64; 8];
    let mut sequences = std::collections::BTreeMap::<(u8, u32), u8>::new();
    let mut list = Vec::new();
    for message in messages {
        let start = &mut clock[usize::from(message.source)];
        *start += message.gap_ms;
        let sequence = sequences.entry((message.source, message.pgn)).or_default();
        let id =
            CanId { priority: 6, pgn: message.pgn, source: message.source, destination: message.destination };
        for (frame, (copies, delay_ms, order)) in
            split(id, &message.payload, *sequence).unwrap().zip(&message.fate)
        {
            for copy in 0..u64::from(*copies) {
                let at_ms = *start + (delay_ms + copy * 7).min(EARLY_HOLD_MS);
                list.push(Arrival { at_ms, order: order.wrapping_mul(copy as u32 * 2 + 1), frame });
            }
        }
        *sequence = (*sequence + 1) & 7;
    }
    list.sort_by_key(|arrival| (arrival.at_ms, arrival.order));
    list
}

fn received(arrivals: &[Arrival]) -> Vec<(u8, u32, u8, Vec<u8>)> {
    let mut assembler = Assembler::new();
    let mut list = Vec::new();
    for arrival in arrivals {
        if let Some(message) = assembler.push(arrival.at_ms, arrival.frame.can_id(), arrival.frame.payload())
        {
            list.push((message.source, message.pgn, message.destination, message.payload.to_vec()));
        }
    }
    list
}

fn as_received(message: &Sent) -> (u8, u32, u8, Vec<u8>) {
    (message.source, message.pgn, message.destination, message.payload.clone())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(250))]

    #[test]
    fn loss_duplication_and_reordering_never_make_a_wrong_message(messages in prop::collection::vec(sent(true), 1..60)) {
        for got in received(&arrivals(&messages)) {
            prop_assert!(messages.iter().any(|message| as_received(message) == got), "never sent: {:?}", got);
        }
    }

    #[test]
    fn when_all_frames_come_in_time_every_message_comes_out(messages in prop::collection::vec(sent(false), 1..60)) {
        let got = received(&arrivals(&messages));
        for message in &messages {
            prop_assert!(got.contains(&as_received(message)), "lost: {:?}", message);
        }
        for got in got {
            prop_assert!(messages.iter().any(|message| as_received(message) == got), "never sent: {:?}", got);
        }
    }

    #[test]
    fn any_frames_at_all_do_no_harm(frames in prop::collection::vec((any::<u32>(), prop::collection::vec(any::<u8>(), 0..10), 0u64..100), 0..300)) {
        let mut assembler = Assembler::new();
        let mut now_ms = 0;
        for (id, data, wait_ms) in frames {
            now_ms += wait_ms;
            // Few groups and senders, so that slots are shared.
            let id = CanId { pgn: 130_560 + (id & 7), source: (id >> 8) as u8 & 3, ..CanId::from_u32(id) };
            assembler.push(now_ms, id, &data);
        }
    }
}
