use super::*;

fn id(pgn: u32) -> CanId {
    CanId { priority: 6, pgn, source: 0, destination: 255 }
}

struct Bench {
    outbox: Outbox,
    counters: NodeCounters,
}

impl Bench {
    fn new() -> Self {
        Self { outbox: Outbox::new(), counters: NodeCounters::default() }
    }

    fn push(&mut self, urgency: Urgency, pgn: u32, payload: &[u8]) -> bool {
        self.outbox.push(urgency, id(pgn), payload.to_vec(), &mut self.counters)
    }

    fn pump(&mut self, now_ms: u64) -> Vec<Frame> {
        let mut out = Vec::new();
        self.outbox.pump(now_ms, 7, Gate::new(Mode::Full), &mut self.counters, &mut out);
        let frame = |output| match output {
            Output::Transmit(frame) => frame,
            other => panic!("{other:?}"),
        };
        out.into_iter().map(frame).collect()
    }

    /// Everything, with time.
    fn drain(&mut self) -> Vec<Frame> {
        (0..10_000).flat_map(|now_ms| self.pump(now_ms)).collect()
    }
}

fn groups(frames: &[Frame]) -> Vec<u32> {
    let mut groups: Vec<u32> = frames.iter().map(|frame| frame.can_id().pgn).collect();
    groups.dedup();
    groups
}

#[test]
fn alerts_first_then_network_then_values_then_information() {
    let mut bench = Bench::new();
    bench.push(Urgency::Information, 126_996, &[0; 134]);
    bench.push(Urgency::Status, 130_567, &[0; 24]);
    bench.push(Urgency::Network, 59_392, &[0; 8]);
    bench.push(Urgency::Alert, 126_983, &[0; 28]);
    assert_eq!(groups(&bench.drain()), [126_983, 59_392, 130_567, 126_996]);
}

#[test]
fn an_alert_overtakes_a_long_message_under_way() {
    let mut bench = Bench::new();
    bench.push(Urgency::Information, 126_996, &[0; 134]);
    assert_eq!(bench.pump(0).len(), 10, "the budget at once");
    bench.push(Urgency::Alert, 126_983, &[0; 28]);
    assert_eq!(groups(&bench.pump(0)), [126_983], "although the other budget is empty");
    let rest = bench.drain();
    assert_eq!(rest.len(), 10);
    assert!(rest.iter().all(|frame| frame.can_id().source == 7));
}

// A receiver keys by source, group and sequence: two messages of a group may not mix, and the sequence counts per group.
#[test]
fn messages_of_one_group_do_not_interleave() {
    let mut bench = Bench::new();
    bench.push(Urgency::Status, 126_983, &[1; 100]);
    bench.pump(0);
    bench.push(Urgency::Alert, 126_983, &[2; 28]);
    bench.push(Urgency::Status, 130_567, &[3; 24]);
    let frames = bench.drain();
    let alert: Vec<_> = frames.iter().filter(|frame| frame.can_id().pgn == 126_983).collect();
    let sequences: Vec<_> = alert.iter().map(|frame| frame.data[0] >> 5).collect();
    assert!(sequences.is_sorted(), "{sequences:?}");
    assert_eq!(alert.last().map(|frame| frame.data[0]), Some(1 << 5 | 4));
    assert!(frames.iter().filter(|frame| frame.can_id().pgn == 130_567).all(|frame| frame.data[0] >> 5 == 0));
}

#[test]
fn newer_values_replace_older_ones_that_wait() {
    let mut bench = Bench::new();
    bench.push(Urgency::Information, 126_996, &[0; 134]);
    bench.pump(0);
    bench.push(Urgency::Status, 130_567, &[1; 24]);
    bench.push(Urgency::Status, 130_567, &[2; 24]);
    let (mut alert, mut other) = ([5; 28], [5; 28]);
    (alert[20], other[3]) = (1, 1);
    for payload in [&[5; 28], &alert, &other] {
        bench.push(Urgency::Alert, 126_983, payload);
    }
    assert_eq!(bench.counters.replaced, 2, "one value, one alert; the other alert is another one");
    let frames = bench.drain();
    assert!(frames.iter().any(|frame| frame.can_id().pgn == 130_567 && frame.data[2] == 2));
    assert!(!frames.iter().any(|frame| frame.can_id().pgn == 130_567 && frame.data[2] == 1));
}

#[test]
fn when_full_the_least_urgent_waiting_message_goes() {
    let mut bench = Bench::new();
    for number in 0..QUEUED_MESSAGES as u8 {
        assert!(bench.push(Urgency::Network, 59_392, &[number; 8]));
    }
    assert!(!bench.push(Urgency::Status, 130_567, &[0; 24]), "least urgent itself");
    assert!(!bench.push(Urgency::Network, 59_392, &[0xEE; 8]), "as urgent as the rest");
    assert!(bench.push(Urgency::Alert, 126_983, &[0; 28]));
    assert_eq!(bench.counters.dropped, 3);
    let frames = bench.drain();
    assert_eq!(frames.len(), QUEUED_MESSAGES - 1 + 5);
    assert!(
        !frames.iter().any(|frame| frame.data == [QUEUED_MESSAGES as u8 - 1; 8]),
        "the newest was dropped"
    );
}

#[test]
fn a_message_under_way_is_cut_off_and_the_waiting_ones_stay() {
    let mut bench = Bench::new();
    bench.push(Urgency::Information, 126_996, &[0; 134]);
    bench.pump(0);
    bench.push(Urgency::Status, 130_567, &[1; 24]);
    bench.outbox.cut_off(&mut bench.counters);
    assert_eq!(bench.counters.cut_off, 1);
    assert_eq!(groups(&bench.drain()), [130_567]);
}

#[test]
fn too_long_is_refused() {
    let mut bench = Bench::new();
    assert!(!bench.push(Urgency::Network, 59_392, &[0; 9]));
    assert!(!bench.push(Urgency::Status, 130_567, &[0; 224]));
    assert!(bench.push(Urgency::Status, 130_567, &[0; 223]));
}

#[test]
fn a_shut_gate_lets_nothing_out() {
    let mut counters = NodeCounters::default();
    let mut out = Vec::new();
    Gate::new(Mode::ListenOnly).pass(Frame::default(), &mut counters, &mut out);
    assert_eq!((out, counters.frames_sent), (vec![], 0));
}
