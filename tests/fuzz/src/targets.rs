//! One function per fuzz target. Each takes any bytes and panics if something is wrong.

use barrico_n2k::candump::{Kind, parse_line, write_line};
use barrico_n2k::node::{Link, NodeOutput, NodeSettings, Nodes, Output, Urgency};
use barrico_n2k::pgn::{self, AlertText, Content};
use barrico_n2k::{Assembler, CanId, Frame, fast_packet::MAX_PAYLOAD};

/// Bytes of a frame in the input of `fast_packet` and `node`: what to do, waiting time, identifier, length, data.
const RECORD: usize = 15;

/// Most frames a node may send in a second, alerts left out, twice for a link that goes and comes: claims 10 and 10, others 10 and 100,
/// and the question who is there.
const FRAMES_A_SECOND: usize = 131;

/// Identifiers: taken apart and put together again.
pub fn identifier(data: &[u8]) {
    let Some(bytes) = data.first_chunk() else { return };
    let raw = u32::from_le_bytes(*bytes) & Frame::MAX_ID;
    let id = CanId::from_u32(raw);
    assert_eq!(id.to_u32(), raw);
    assert!(id.priority < 8 && id.pgn < 1 << 18);
    assert!(id.is_addressed() || id.destination == 255);
}

fn records(data: &[u8]) -> impl Iterator<Item = (u8, u64, Frame)> {
    data.chunks_exact(RECORD).map(|record| {
        let id = u32::from_le_bytes([record[2], record[3], record[4], record[5]]) & Frame::MAX_ID;
        let mut frame = Frame { id, data: [0; 8], len: record[6].min(8) };
        frame.data.copy_from_slice(&record[7..]);
        (record[0], u64::from(record[1]), frame)
    })
}

/// Fast packets: frames in any order; what comes out is no longer than what went in.
pub fn fast_packet(data: &[u8]) {
    let mut assembler = Assembler::new();
    let (mut now_ms, mut bytes_in, mut bytes_out) = (0, 0, 0);
    for (_, wait_ms, frame) in records(data) {
        now_ms += wait_ms;
        bytes_in += 8;
        if let Some(message) = assembler.push(now_ms, frame.can_id(), frame.payload()) {
            assert!(message.payload.len() <= MAX_PAYLOAD);
            assert_eq!((message.source, message.pgn), (frame.can_id().source, frame.can_id().pgn));
            bytes_out += message.payload.len();
        }
    }
    assert!(bytes_out <= bytes_in, "{bytes_out} bytes out of {bytes_in}");
    let counters = assembler.counters();
    assert!(counters.messages <= counters.frames);
}

/// Every group: decode, encode, decode. The first two bytes choose the group, the rest is the payload.
pub fn groups(data: &[u8]) {
    let Some((choice, payload)) = data.split_first_chunk() else { return };
    let choice = usize::from(u16::from_le_bytes(*choice));
    let known: Vec<u32> = pgn::KNOWN_GROUPS.iter().cloned().flatten().collect();
    let pgn = known[choice % known.len()];
    let payload = &payload[..payload.len().min(MAX_PAYLOAD)];
    let Some(first) = pgn::decode(pgn, payload) else { return };
    assert_eq!(first.pgn(), pgn);
    let encode = |content: &Content| {
        let mut bytes = Vec::new();
        content.encode(&mut bytes);
        bytes
    };
    let bytes = encode(&first);
    assert!(bytes.len() <= MAX_PAYLOAD, "{} bytes", bytes.len());
    let second = pgn::decode(pgn, &bytes).expect("what was encoded can be decoded");
    // Positions of 129029 have more digits than the numbers that hold them.
    if pgn != 129_029 {
        // A code without value may be written as another one (8000 as "out of range", that as "not available"); the content stays.
        assert_eq!(pgn::decode(pgn, &encode(&second)), Some(second));
    }
}

/// Lines of candump logs: a data frame read is one that can be written and read again.
pub fn candump_line(data: &[u8]) {
    let Ok(line) = parse_line(data) else { return };
    let Kind::Data(frame) = line.kind else { return };
    let mut text = Vec::new();
    write_line(&mut text, line.time_us, "can0", &frame);
    let again = parse_line(&text).expect("our own line");
    let Kind::Data(again) = again.kind else { panic!("{text:?}") };
    assert_eq!((again.id, again.payload()), (frame.id, frame.payload()));
}

/// Two nodes of one program: frames, time, breaks of the link, messages and answers of the owner. Time never stands, and neither sends
/// more than it may.
pub fn node(data: &[u8]) {
    let settings = |number, unique_number| NodeSettings {
        unique_number,
        preferred_address: number,
        sends: vec![130_567, 126_983, 126_985],
        ..NodeSettings::default()
    };
    let mut nodes = Nodes::new();
    nodes.add(settings(1, Some(7)), None, 1);
    nodes.add(settings(1, None), None, 2);
    let mut out = Vec::new();
    let mut sent: [Vec<u64>; 2] = Default::default();
    let mut now_ms = 0;
    nodes.start(now_ms, &mut out);
    for (action, wait, frame) in records(data) {
        // A byte of waiting reaches over the timers: 0 to 255 ms, or 4 times as many seconds.
        let until_ms = now_ms + if action & 0x80 == 0 { wait } else { wait * 4_000 };
        let_time_pass(&mut nodes, &mut now_ms, until_ms, &mut out, &mut sent);
        match action & 7 {
            0 => nodes.set_link(now_ms, if action & 8 == 0 { Link::Lost } else { Link::Back }, &mut out),
            1 => {
                let text = Content::AlertText(AlertText::decode(&frame.data));
                // Refused while there is no address.
                let _ = nodes.send(now_ms, usize::from(action >> 3 & 1), Urgency::Status, 2, &text, &mut out);
            }
            _ => nodes.handle_frame(now_ms, &frame, &mut out),
        }
        take(&mut nodes, now_ms, &mut out, &mut sent);
    }
    let_time_pass(&mut nodes, &mut now_ms.clone(), now_ms + 400_000, &mut out, &mut sent);
    for times in &sent {
        for (index, start) in times.iter().enumerate() {
            let end = index + FRAMES_A_SECOND;
            assert!(times.get(end).is_none_or(|at_ms| start + 1000 <= *at_ms), "too many from {start} ms on");
        }
    }
}

fn let_time_pass(
    nodes: &mut Nodes,
    now_ms: &mut u64,
    until_ms: u64,
    out: &mut Vec<NodeOutput>,
    sent: &mut [Vec<u64>; 2],
) {
    let mut standing = 0;
    while let Some(next_ms) = nodes.next_deadline().filter(|next_ms| *next_ms <= until_ms) {
        standing = if next_ms <= *now_ms { standing + 1 } else { 0 };
        assert!(standing < 50, "time stands at {now_ms} ms");
        *now_ms = next_ms.max(*now_ms);
        nodes.handle_timeout(*now_ms, out);
        take(nodes, *now_ms, out, sent);
    }
    *now_ms = until_ms;
}

/// Notes what was sent and answers what was asked.
fn take(nodes: &mut Nodes, now_ms: u64, out: &mut Vec<NodeOutput>, sent: &mut [Vec<u64>; 2]) {
    let mut next = 0;
    while let Some(NodeOutput { node, output }) = out.get(next).cloned() {
        next += 1;
        match output {
            Output::Transmit(frame) => {
                assert!(frame.can_id().source <= 251 || frame.can_id().source == 254);
                sent[node].push(now_ms);
            }
            Output::Asked(question) => {
                let content = pgn::decode(question.pgn, &[0; 24]).map(|content| (6, content));
                let current: Vec<_> = content.into_iter().filter(|_| question.by & 1 == 0).collect();
                nodes.answer(now_ms, node, &question, &current, out);
            }
            _ => {}
        }
        assert!(next < 10_000, "outputs without end");
    }
    out.clear();
}
