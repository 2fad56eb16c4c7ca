//! Order, deadlines and refusals on virtual time. Fast packets are split by the `n2k` crate, which has its own golden vectors.

use super::*;
use barrico_n2k::split;

const ADDRESS: u8 = 42;
const NAME: [u8; 8] = [1, 2, 3, 4, 5, 6, 7, 0xC0];

fn single(pgn: u32, source: u8, bytes: &[u8]) -> Frame {
    Frame::new(CanId { priority: 6, pgn, source, destination: 255 }, bytes)
}

fn fast(pgn: u32, length: usize, sequence: u8) -> Vec<Frame> {
    let id = CanId { priority: 6, pgn, source: ADDRESS, destination: 255 };
    split(id, &vec![7; length], sequence).unwrap().collect()
}

fn claim(source: u8) -> Frame {
    single(ADDRESS_CLAIM, source, &NAME)
}

fn push_all(queue: &mut Outgoing, now: Monotonic, frames: &[Frame]) {
    frames.iter().for_each(|frame| queue.push(now, *frame));
}

/// Everything that may go now.
fn drain(queue: &mut Outgoing, now: Monotonic) -> Vec<Frame> {
    let mut gone = Vec::new();
    while let Some(frame) = queue.next(now) {
        queue.wrote();
        gone.push(frame);
    }
    gone
}

fn claimed() -> Outgoing {
    let mut queue = Outgoing::default();
    queue.push(Monotonic(0), claim(ADDRESS));
    assert_eq!(drain(&mut queue, Monotonic(0)).len(), 1);
    queue
}

#[test]
fn nothing_but_claiming_leaves_before_a_claim() {
    let mut queue = Outgoing::default();
    let now = Monotonic(0);
    queue.push(now, single(127_505, ADDRESS, &[0; 8]));
    push_all(&mut queue, now, &fast(126_983, 28, 0));
    queue.push(now, single(REQUEST, ADDRESS, &[0, 0xEE, 0]));
    assert_eq!(drain(&mut queue, now), []);
    assert_eq!(queue.counts.refused, 3);
    queue.push(now, single(REQUEST, NULL_ADDRESS, &[0, 0xEE, 0]));
    queue.push(now, claim(NULL_ADDRESS));
    assert_eq!(
        drain(&mut queue, now).len(),
        2,
        "asking who is there, and saying that no address is left, need none"
    );
    queue.push(now, single(127_505, NULL_ADDRESS, &[0; 8]));
    assert_eq!(drain(&mut queue, now), []);
}

#[test]
fn a_claim_opens_the_way_for_its_own_address_and_a_reset_closes_it() {
    let mut queue = claimed();
    let now = Monotonic(5);
    let data = |source| single(127_505, source, &[0; 8]);
    push_all(&mut queue, now, &[data(ADDRESS), data(ADDRESS + 1)]);
    assert_eq!(drain(&mut queue, now), [data(ADDRESS)]);
    // The same NAME moves on: its old address is no longer its own.
    push_all(&mut queue, now, &[claim(ADDRESS + 1), data(ADDRESS), data(ADDRESS + 1)]);
    assert_eq!(drain(&mut queue, now), [claim(ADDRESS + 1), data(ADDRESS + 1)]);
    push_all(&mut queue, now, &[claim(NULL_ADDRESS), data(ADDRESS + 1)]);
    assert_eq!(drain(&mut queue, now).len(), 1, "cannot claim: silent");
    let mut queue = claimed();
    queue.push(now, data(ADDRESS));
    queue.reset();
    queue.push(now, data(ADDRESS));
    assert_eq!(drain(&mut queue, now), []);
    assert_eq!((queue.counts.void, queue.counts.refused), (1, 1));
}

#[test]
fn claims_then_alerts_then_the_rest_each_in_order() {
    let mut queue = claimed();
    let now = Monotonic(5);
    let status = fast(130_567, 24, 0);
    let (text, alert) = (fast(126_985, 60, 1), fast(126_983, 28, 1));
    push_all(&mut queue, now, &status);
    push_all(&mut queue, now, &text);
    push_all(&mut queue, now, &alert);
    queue.push(now, claim(ADDRESS));
    let mut expected = vec![claim(ADDRESS)];
    expected.extend(text.iter().chain(&alert).chain(&status));
    assert_eq!(drain(&mut queue, now), expected);
}

#[test]
fn a_begun_message_is_finished_before_a_more_urgent_one() {
    let mut queue = claimed();
    let now = Monotonic(5);
    let (status, alert) = (fast(130_567, 24, 0), fast(126_983, 28, 0));
    push_all(&mut queue, now, &status);
    assert_eq!(queue.next(now), Some(status[0]));
    queue.wrote();
    push_all(&mut queue, now, &alert);
    let expected: Vec<Frame> = status[1..].iter().chain(&alert).copied().collect();
    assert_eq!(drain(&mut queue, now), expected);
}

#[test]
fn a_full_kernel_gets_the_same_frame_again_until_the_deadline() {
    let mut queue = claimed();
    let start = Monotonic(10);
    let (long, next) = (fast(130_567, 223, 0), fast(130_567, 24, 1));
    assert_eq!(long.len(), 32);
    push_all(&mut queue, start, &long);
    let mut now = start;
    for frame in &long[..12] {
        assert_eq!(queue.next(now), Some(*frame));
        queue.wrote();
    }
    let mut tries = 0;
    while now < start.plus_ms(MESSAGE_MS) {
        assert_eq!(queue.next(now), Some(long[12]));
        queue.full(now);
        assert_eq!(queue.next(now), None, "not at once again");
        assert_eq!(queue.next_attempt(), Some(now.plus_ms(RETRY_MS)));
        now = now.plus_ms(RETRY_MS);
        tries += 1;
    }
    assert_eq!(tries, MESSAGE_MS / RETRY_MS);
    push_all(&mut queue, now, &next);
    assert_eq!(drain(&mut queue, now), next, "the rest of the message is given up");
    assert_eq!(queue.counts.given_up, 1);
    assert_eq!(queue.next_attempt(), None);
}

#[test]
fn room_in_time_loses_nothing() {
    let mut queue = claimed();
    let long = fast(130_567, 223, 0);
    push_all(&mut queue, Monotonic(0), &long);
    let mut gone = Vec::new();
    for ms in 0..MESSAGE_MS {
        // One frame in 20 ms finds room: an adapter that is slow, not stuck.
        while let Some(frame) = queue.next(Monotonic(ms)) {
            if ms % 20 == 0 && gone.len() as u64 <= ms / 20 {
                queue.wrote();
                gone.push(frame);
            } else {
                queue.full(Monotonic(ms));
            }
        }
    }
    assert_eq!((gone, queue.counts.given_up), (long, 0));
}

#[test]
fn a_full_queue_drops_the_oldest_of_its_class() {
    let mut queue = claimed();
    let now = Monotonic(5);
    let data = |n: u8| single(127_505, ADDRESS, &[n, 0, 0, 0, 0, 0, 0, 0]);
    for n in 0..MESSAGES_MAX as u8 {
        queue.push(now, data(n));
    }
    push_all(&mut queue, now, &fast(126_983, 28, 0));
    assert_eq!(queue.counts.given_up, 0, "at the limit, and another class has its own room");
    queue.push(now, data(200));
    assert_eq!(queue.counts.given_up, 1);
    let gone = drain(&mut queue, now);
    assert!(!gone.contains(&data(0)) && gone.contains(&data(1)) && gone.contains(&data(200)));
}

#[test]
fn half_a_message_is_never_begun() {
    let mut queue = claimed();
    let now = Monotonic(5);
    let status = fast(130_567, 24, 0);
    push_all(&mut queue, now, &status[1..]);
    push_all(&mut queue, now, &status[..2]);
    assert_eq!(drain(&mut queue, now), []);
    push_all(&mut queue, now, &fast(130_567, 24, 1));
    assert_eq!(drain(&mut queue, now), fast(130_567, 24, 1));
    assert_eq!(queue.counts.given_up, status.len() as u64 - 1 + 1);
}
