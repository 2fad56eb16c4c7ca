use super::*;

const COMMANDED_ADDRESS: u32 = 65_240;

fn message(pgn: u32, source: u8, destination: u8, payload: &[u8]) -> Message<'_> {
    Message { pgn, priority: 7, source, destination, payload }
}

fn announce(length: u16, packets: u8, kind: u8) -> [u8; 8] {
    let [low, high] = length.to_le_bytes();
    [kind, low, high, packets, 0xFF, 0xD8, 0xFE, 0x00]
}

// Layout of BAM and data packets as in the J1939 documentation of the Linux kernel; 65240 is FED8.
#[test]
fn commanded_address_to_everybody_and_to_one_node() {
    for (kind, destination) in [(BROADCAST_ANNOUNCE, GLOBAL), (REQUEST_TO_SEND, 9)] {
        let mut transport = Transport::new();
        let head = announce(9, 2, kind);
        assert_eq!(transport.handle(0, &message(CONNECTION_PGN, 5, destination, &head)), None);
        let first = [1, 1, 2, 3, 4, 5, 6, 7];
        assert_eq!(transport.handle(50, &message(DATA_PGN, 5, destination, &first)), None);
        assert_eq!(transport.handle(60, &message(DATA_PGN, 5, destination, &first)), None, "sent again");
        let last = [2, 8, 9, 0xFF, 0xFF, 0xFF, 0xFF, 0xFF];
        let got = transport.handle(100, &message(DATA_PGN, 5, destination, &last)).unwrap();
        assert_eq!(got, message(COMMANDED_ADDRESS, 5, destination, &[1, 2, 3, 4, 5, 6, 7, 8, 9]));
        assert_eq!(transport.damaged(), 0);
    }
}

#[test]
fn what_ends_a_session() {
    let packet = |number| [number, 1, 2, 3, 4, 5, 6, 7];
    // (first packet, ms of the first, second packet, ms of the second, complete)
    let cases = [
        (1, 0, 2, PACKET_TIMEOUT_MS, true),
        (1, 0, 2, PACKET_TIMEOUT_MS + 1, false),
        (2, 0, 1, 1, false),
        (1, 0, 3, 1, false),
    ];
    for (first, first_ms, second, second_ms, complete) in cases {
        let mut transport = Transport::new();
        let head = announce(14, 2, BROADCAST_ANNOUNCE);
        transport.handle(0, &message(CONNECTION_PGN, 5, GLOBAL, &head));
        transport.handle(first_ms, &message(DATA_PGN, 5, GLOBAL, &packet(first)));
        let got = transport.handle(second_ms, &message(DATA_PGN, 5, GLOBAL, &packet(second))).is_some();
        assert_eq!(got, complete);
        assert_eq!(transport.damaged(), u64::from(!complete));
    }
}

#[test]
fn abort_and_nonsense() {
    let mut transport = Transport::new();
    let abort = [ABORT, 3, 0xFF, 0xFF, 0xFF, 0xD8, 0xFE, 0];
    transport.handle(0, &message(CONNECTION_PGN, 5, 9, &announce(9, 2, REQUEST_TO_SEND)));
    transport.handle(1, &message(CONNECTION_PGN, 9, 5, &abort));
    assert_eq!(transport.damaged(), 1);
    for (length, packets) in [(8, 2), (1786, 255), (9, 3), (0, 0)] {
        transport
            .handle(2, &message(CONNECTION_PGN, 5, GLOBAL, &announce(length, packets, BROADCAST_ANNOUNCE)));
    }
    assert_eq!(transport.damaged(), 5);
    for payload in [&[][..], &[1], &[0; 8]] {
        assert_eq!(transport.handle(3, &message(DATA_PGN, 5, GLOBAL, payload)), None);
        assert_eq!(transport.handle(3, &message(CONNECTION_PGN, 5, GLOBAL, payload)), None);
    }
}

#[test]
fn longest_message_and_the_limit_of_sessions() {
    let mut transport = Transport::new();
    for source in 0..=SESSIONS as u8 {
        let head = announce(1785, 255, BROADCAST_ANNOUNCE);
        transport.handle(u64::from(source), &message(CONNECTION_PGN, source, GLOBAL, &head));
    }
    assert_eq!(transport.damaged(), 1, "the first was given up");
    for source in [0, 1] {
        let mut length = None;
        for number in 1..=255 {
            let packet = [number; 8];
            length = transport
                .handle(20, &message(DATA_PGN, source, GLOBAL, &packet))
                .map(|got| got.payload.len());
        }
        assert_eq!(length, (source == 1).then_some(MAX_BYTES));
    }
}
