use super::*;
use crate::can_id::CanId;
use proptest::prelude::*;

fn data(line: &[u8]) -> Frame {
    match parse_line(line).unwrap().kind {
        Kind::Data(frame) => frame,
        other => panic!("{other:?}"),
    }
}

// Forms of lines as can-utils' documentation of the log format gives them (candump -L, asc2log).
#[test]
fn forms_of_lines() {
    let line = parse_line(b"(1700000000.123456) can0 19FE0723#00184603DCCF0600\r\n").unwrap();
    assert_eq!(line.time_us, 1_700_000_000_123_456);
    assert_eq!((line.interface, line.direction), (&b"can0"[..], None));
    assert_eq!(
        line.kind,
        Kind::Data(Frame { id: 0x19FE_0723, data: [0, 0x18, 0x46, 3, 0xDC, 0xCF, 6, 0], len: 8 })
    );
    assert_eq!(data(b"(1.0) vcan0 18EAFFFE#00ee00").payload(), [0, 0xEE, 0]);
    assert_eq!(data(b"(1.0) vcan0 18EAFFFE#").payload(), [0u8; 0]);
    assert_eq!(data(b"(1.0) can0 18EAFFFE#0011223344556677_E").len, 8);
    let kinds: [(&[u8], Kind); 6] = [
        (b"(0.000001) can0 18EAFFFE#R", Kind::Remote),
        (b"(0.000001) can0 123#R8", Kind::Remote),
        (b"(0.000001) can0 123#112233", Kind::Standard),
        (b"(0.000001) can0 18EAFFFE##31122", Kind::FlexibleDataRate),
        (b"(0.000001) can0 20000080#0000000000000000", Kind::Error { class: 0x80 }),
        (b"(0.000001) can0 20000004#0010000000000000", Kind::Error { class: 4 }),
    ];
    for (line, kind) in kinds {
        let line = parse_line(line).unwrap();
        assert_eq!((line.time_us, line.kind), (1, kind));
    }
    for (end, direction) in
        [("", None), (" R", Some(Direction::Received)), (" T", Some(Direction::Transmitted))]
    {
        for middle in ["18EAFFFE#00EE00", "18EAFFFE#R", "123#00", "18EAFFFE##0"] {
            let line = format!("(1.5) can0 {middle}{end}");
            assert_eq!(parse_line(line.as_bytes()).unwrap().direction, direction, "{line}");
        }
    }
}

#[test]
fn fractions_of_other_lengths_are_scaled() {
    for (text, time_us) in [("7.5", 7_500_000), ("7.000001", 7_000_001), ("7.123456789", 7_123_456)] {
        assert_eq!(parse_line(format!("({text}) can0 123#").as_bytes()).unwrap().time_us, time_us);
    }
}

#[test]
fn errors_name_the_column() {
    use LineError::*;
    let cases: [(&[u8], LineError); 17] = [
        (b"", Empty),
        (b" \r\n", Empty),
        (b"1.5) can0 123#", Time { column: 1 }),
        (b"(x.5) can0 123#", Time { column: 2 }),
        (b"(15 can0 123#", Time { column: 4 }),
        (b"(1.) can0 123#", Time { column: 4 }),
        (b"(1.1234567890) can0 123#", Time { column: 4 }),
        (b"(1234567890123.1) can0 123#", Time { column: 15 }),
        (b"(1.5 can0 123#", Time { column: 5 }),
        (b"(1.5)", Time { column: 5 }),
        (b"(1.5) can0", Interface { column: 7 }),
        (b"(1.5) can0 12345#00", Identifier { column: 17 }),
        (b"(1.5) can0 18EAXFFE#00", Identifier { column: 16 }),
        (b"(1.5) can0 FFFFFFFF", Identifier { column: 20 }),
        (b"(1.5) can0 18EAFFFE#001", Data { column: 24 }),
        (b"(1.5) can0 18EAFFFE#00112233445566778", Data { column: 38 }),
        (b"(1.5) can0 18EAFFFE#001122334455667788", TooLong { column: 37 }),
    ];
    for (line, error) in cases {
        assert_eq!(parse_line(line), Err(error), "{}", String::from_utf8_lossy(line));
    }
    assert_eq!(parse_line(b"(1.5) can0 18EAFFFE#0g"), Err(Data { column: 22 }));
    assert_eq!(parse_line(b"(1.5) can0 40000000#00"), Err(Identifier { column: 12 }));
    assert_eq!(parse_line(b"(1.5) can0 18EAFFFE#00 X"), Err(Rest { column: 23 }));
    assert_eq!(
        parse_line(b"(1.5) can0 18EAFFFE#00_9"),
        Err(Rest { column: 23 }),
        "length codes need eight bytes"
    );
}

proptest! {
    #[test]
    fn what_is_written_is_read(time_us in 0i64..4_000_000_000_000_000, id in 0u32..=Frame::MAX_ID, bytes in prop::collection::vec(any::<u8>(), 0..=8)) {
        let frame = Frame::new(CanId::from_u32(id), &bytes);
        let mut text = Vec::new();
        write_line(&mut text, time_us, "can1", &frame);
        let line = parse_line(&text).unwrap();
        prop_assert_eq!(line, Line { time_us, interface: b"can1", kind: Kind::Data(frame), direction: None });
    }

    #[test]
    fn lines_are_those_of_a_plain_split(bytes in prop::collection::vec(prop_oneof![Just(b'\n'), any::<u8>()], 0..100)) {
        let mut plain: Vec<_> = bytes.split(|byte| *byte == b'\n').collect();
        // A line end at the very end does not begin another line.
        if plain.last().is_some_and(|line| line.is_empty()) {
            plain.pop();
        }
        prop_assert_eq!(lines(&bytes).collect::<Vec<_>>(), plain);
    }

    #[test]
    fn any_time_is_read_the_same_way(seconds in 0i64..1_000_000_000_000, micros in 0i64..1_000_000, place in 0usize..20, with: u8) {
        let mut line = format!("({seconds:010}.{micros:06}) can0 123#").into_bytes();
        prop_assert_eq!(parse_line(&line).unwrap().time_us, seconds * 1_000_000 + micros);
        line[place] = with;
        prop_assert_eq!(parse_time(&line), parse_unusual_time(&line));
    }

    #[test]
    fn any_bytes_do_no_harm(bytes in prop::collection::vec(any::<u8>(), 0..60)) {
        let _ = parse_line(&bytes);
    }

    #[test]
    fn damaged_lines_do_no_harm(place in 0usize..50, with: u8, cut in 0usize..50) {
        let mut line = b"(1700000000.123456) can0 19FE0723#00184603DCCF0600 R".to_vec();
        line[place] = with;
        let _ = parse_line(&line);
        line.truncate(cut);
        let _ = parse_line(&line);
    }
}
