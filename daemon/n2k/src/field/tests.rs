use super::*;
use proptest::prelude::*;

fn read(codec: impl Codec<f64>, bytes: &[u8]) -> Result<f64, Missing> {
    codec.read(&Reader::new(bytes))
}

// Codes per width as canboat's documentation gives them.
#[test]
fn codes_without_value_by_width() {
    use Missing::*;
    let unsigned_cases = [
        (8, 0xFF, Some(NotAvailable)),
        (8, 0xFE, Some(Error)),
        (8, 0xFD, Some(Reserved)),
        (8, 0xFC, None),
        (16, 0xFFFF, Some(NotAvailable)),
        (24, 0xFF_FFFE, Some(Error)),
        (32, 0xFFFF_FFFD, Some(Reserved)),
        (64, u64::MAX, Some(NotAvailable)),
        (64, u64::MAX - 3, None),
        (7, 127, Some(NotAvailable)),
        (6, 62, Some(Error)),
        (6, 61, None),
        (4, 15, Some(NotAvailable)),
        (4, 13, None),
        (3, 7, Some(NotAvailable)),
        (3, 6, None),
        (2, 3, Some(NotAvailable)),
        (2, 2, Some(Error)),
        (2, 1, None),
        (1, 1, None),
    ];
    for (bits, raw, missing) in unsigned_cases {
        assert_eq!(missing_unsigned(raw, bits), missing, "{bits} bits, {raw:X}");
    }
    let signed_cases = [
        (8, 0x7F, Some(NotAvailable)),
        (16, 0x7FFE, Some(Error)),
        (24, 0x7F_FFFD, Some(Reserved)),
        (32, 0x7FFF_FFFC, None),
        (16, -1, None),
        (16, -32768, None),
        (64, i64::MAX, Some(NotAvailable)),
    ];
    for (bits, raw, missing) in signed_cases {
        assert_eq!(missing_signed(raw, bits), missing, "{bits} bits, {raw}");
    }
}

#[test]
fn numbers_are_the_nearest_to_their_decimal_form() {
    assert_eq!(read(unsigned(0, 16, 1.0, 100.0), &30015u16.to_le_bytes()), Ok(300.15));
    assert_eq!(read(signed(0, 16, 4.0, 1000.0), &15687i16.to_le_bytes()), Ok(62.748));
    assert_eq!(read(signed(0, 32, 1.0, 1e7), &(-53_500_000i32).to_le_bytes()), Ok(-5.35));
}

#[test]
fn what_does_not_fit_is_written_as_out_of_range() {
    let cases: [(Scaled, Option<f64>, [u8; 2]); 9] = [
        (unsigned(0, 16, 1.0, 1.0), Some(65532.0), [0xFC, 0xFF]),
        (unsigned(0, 16, 1.0, 1.0), Some(65532.4), [0xFC, 0xFF]),
        (unsigned(0, 16, 1.0, 1.0), Some(65533.0), [0xFE, 0xFF]),
        (unsigned(0, 16, 1.0, 1.0), Some(-0.4), [0, 0]),
        (unsigned(0, 16, 1.0, 1.0), Some(-1.0), [0xFE, 0xFF]),
        (signed(0, 16, 1.0, 10.0), Some(3276.4), [0xFC, 0x7F]),
        (signed(0, 16, 1.0, 10.0), Some(f64::INFINITY), [0xFE, 0x7F]),
        (signed(0, 16, 1.0, 10.0), Some(f64::NAN), [0xFF, 0x7F]),
        (signed(0, 16, 1.0, 10.0), None, [0xFF, 0x7F]),
    ];
    for (codec, value, bytes) in cases {
        let mut out = Vec::new();
        codec.write(&mut Writer::append(&mut out, 2), value);
        assert_eq!(out, bytes, "{value:?}");
    }
    let mut out = Vec::new();
    Codec::<u8>::write(&count(0, 8), &mut Writer::append(&mut out, 1), Some(253));
    Codec::<u8>::write(&count(0, 3), &mut Writer::append(&mut out, 1), Some(9));
    assert_eq!(out, [0xFE, 0xFF]);
}

#[test]
fn texts() {
    assert_eq!(read_fixed(b"Old device   \0\0"), Some("Old device".into()));
    assert_eq!(read_fixed(b"A@@@@"), Some("A".into()));
    assert_eq!(read_fixed(&[0xFF; 32]), None);
    assert_eq!(read_fixed(&[b'B', 0xFC]), Some("B\u{FC}".into()), "Latin-1");
    assert_eq!(read_lau(&[2, 1], 0), (None, Some(2)));
    assert_eq!(read_lau(&[6, 0, b'B', 0, b'u', 0, 9], 0), (Some("Bu".into()), Some(6)));
    for broken in [&[][..], &[0], &[0, 1], &[1, 1, b'A'], &[9, 1, b'A']] {
        assert_eq!(read_lau(broken, 0), (None, None), "{broken:?}");
    }
    let mut out = Vec::new();
    write_fixed(&mut out, 4, Some("a\u{FC}\u{FC}"));
    assert_eq!(out, [b'a', 0xC3, 0xBC, 0xFF], "cut between characters");
    out.clear();
    write_lau(&mut out, 1000, Some(&"x".repeat(300)));
    assert_eq!((out.len(), out[0]), (255, 255));
}

proptest! {
    #[test]
    fn bits_survive(offset in 0u32..40, bits in 1u32..=64, raw: u64, before: [u8; 16]) {
        let mut payload = before;
        Writer::new(&mut payload).unsigned(offset, bits, raw);
        prop_assert_eq!(Reader::new(&payload).unsigned(offset, bits), Ok(raw & mask(bits)));
        // Nothing else changed.
        Writer::new(&mut payload).unsigned(offset, bits, Reader::new(&before).unsigned(offset, bits).unwrap());
        prop_assert_eq!(payload, before);
    }

    #[test]
    fn any_payload_of_any_length_can_be_read(payload in prop::collection::vec(any::<u8>(), 0..12), offset in 0u32..100, bits in 1u32..=64) {
        let inside = (offset + bits).div_ceil(8) as usize <= payload.len();
        prop_assert_eq!(Reader::new(&payload).unsigned(offset, bits).is_ok(), inside);
        prop_assert_eq!(Reader::new(&payload).signed(offset, bits).is_ok(), inside);
        let _ = (read_lau(&payload, offset as usize % 16), read_fixed(&payload));
    }
}
