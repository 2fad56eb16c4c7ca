//! Every golden vector: reassembled from its frames, decoded, and compared field by field with what two independent
//! general-purpose decoders give (canboat's analyzer 8.0.0-beta3 and canboatjs 3.20.0; see `tests/captures/README.md`).
//! Where the two differ, `meta.known_differences` of the file says which one is right.

#![expect(clippy::unwrap_used, reason = "a test helper that fails must fail its test")]

mod fields;
mod plant_fields;

use barrico_n2k::candump::{Kind, parse_line};
use barrico_n2k::{Assembler, pgn};
use fields::{Value, fields};
use serde_json::Value as Json;
use std::collections::BTreeMap;

/// Vectors in the file.
const VECTORS: usize = 137;
/// Fields compared: a number that falls if fields are forgotten.
const FIELDS_AT_LEAST: usize = 1000;

/// Vectors that are not the same after decoding and encoding, and must not be: codes for "error" and "reserved" become
/// "not available", reserved bits become ones, short payloads get their full length, long ones lose their tail, UTF-16
/// becomes UTF-8, blanks in fixed texts become filler, and -32768 is not a legal code.
const CHANGED_BY_ENCODING: [&str; 22] = [
    "alert_canboat_test",
    "alert_text_location_missing",
    "alert_text_utf16",
    "dc_detail_9",
    "product_info_132",
    "rec_a_127488_0",
    "rec_a_127489_0",
    "rec_a_127503_1",
    "rec_a_127504_1",
    "rec_a_127506_1",
    "rec_b_127505_5",
    "rec_b_127506_176",
    "switch_status",
    "tank_level_oor",
    "tank_short_7",
    "temp_ext_oor",
    "temp_oor",
    "wm_long_26",
    "wm_out_of_range",
    "wm_reserved_code",
    "wm_short_20",
    "wm_signed_8000",
];

fn golden() -> Json {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/captures/golden.json");
    serde_json::from_slice(&std::fs::read(path).unwrap()).unwrap()
}

fn payload_of(vector: &Json) -> Vec<u8> {
    let hex = vector["payload_hex"].as_str().unwrap().as_bytes();
    hex.chunks(2).map(|pair| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap()).collect()
}

/// The message of a vector's frames, with its group number.
fn reassembled(vector: &Json) -> (u32, Vec<u8>) {
    let mut assembler = Assembler::new();
    let mut messages = Vec::new();
    for frame in vector["frames"].as_array().unwrap() {
        let line = format!("(1.000000) can0 {}", frame.as_str().unwrap());
        let Kind::Data(frame) = parse_line(line.as_bytes()).unwrap().kind else { panic!("{line}") };
        let message = assembler.push(0, frame.can_id(), frame.payload());
        messages.extend(message.map(|message| (message.pgn, message.payload.to_vec())));
    }
    assert_eq!(messages.len(), 1, "{}", vector["id"]);
    messages.remove(0)
}

/// The fields a decoder gives, lists as `name.0.field`, without reserved bits and without names of codes.
fn flatten(json: &Json, name: &str, out: &mut BTreeMap<String, Json>) {
    match json {
        Json::Object(map)
            if map.contains_key("value") && (map.contains_key("name") || map.contains_key("key")) =>
        {
            out.insert(name.to_owned(), map["value"].clone());
        }
        Json::Object(map) => {
            for (key, value) in map.iter().filter(|(key, _)| !key.starts_with("reserved")) {
                let dot = if name.is_empty() { "" } else { "." };
                flatten(value, &format!("{name}{dot}{key}"), out);
            }
        }
        // A set of bits: their sum.
        Json::Array(list) if name.starts_with("discreteStatus") => {
            let bits: u64 = list.iter().filter_map(|bit| bit["value"].as_u64()).sum();
            out.insert(name.to_owned(), bits.into());
        }
        Json::Array(list) => {
            for (index, value) in list.iter().enumerate() {
                flatten(value, &format!("{name}.{index}"), out);
            }
        }
        other => {
            out.insert(name.to_owned(), other.clone());
        }
    }
}

/// What the vector says: canboat's analyzer, and canboatjs where the former is known to give no number although there is
/// one (64-bit numbers, and the manufacturer code 2046).
fn expected(vector: &Json) -> BTreeMap<String, Json> {
    let mut map = BTreeMap::new();
    flatten(&vector["canboat_c"], "", &mut map);
    let mut other = BTreeMap::new();
    flatten(&vector["canboatjs"], "", &mut other);
    for (name, value) in &mut map {
        let last = name.rsplit('.').next().unwrap();
        if value.is_null() && matches!(last, "thresholdLevel" | "valueData" | "manufacturerCode") {
            *value = other[name].clone();
        }
    }
    map
}

fn agrees(name: &str, ours: &Value, theirs: &Json) -> bool {
    match (ours, theirs) {
        (Value::Number(None) | Value::Whole(None) | Value::Text(None), Json::Null) => true,
        (Value::Text(Some(ours)), Json::String(theirs)) => ours == theirs,
        (Value::Whole(Some(ours)), Json::Number(theirs)) => {
            theirs.as_u64() == Some(*ours) || theirs.as_i64() == Some(*ours as i64)
        }
        (Value::Number(Some(ours)), Json::Number(theirs)) => {
            let theirs = theirs.as_f64().unwrap();
            // canboat prints this one with three decimals, its resolution is 1/128 Hz.
            let tolerance = if name == "acFrequency" { 0.000_5 } else { 1e-12 * theirs.abs() };
            (ours - theirs).abs() <= tolerance
        }
        _ => false,
    }
}

#[test]
fn all_vectors_decode_as_two_other_decoders_do() {
    let golden = golden();
    let vectors = golden["vectors"].as_array().unwrap();
    let mut compared = 0;
    let mut wrong = Vec::new();
    for vector in vectors {
        let id = vector["id"].as_str().unwrap();
        let (group, payload) = reassembled(vector);
        assert_eq!(u64::from(group), vector["pgn"].as_u64().unwrap(), "{id}");
        assert_eq!(payload, payload_of(vector), "{id}");
        let content = pgn::decode(group, &payload).unwrap_or_else(|| panic!("{id}: {group} is not known"));
        let ours = fields(&content);
        let theirs = expected(vector);
        for (name, value) in &theirs {
            match ours.get(name) {
                Some(our_value) if agrees(name, our_value, value) => compared += 1,
                our_value => wrong.push(format!("{id} {name}: {our_value:?}, expected {value}")),
            }
        }
        // Short payloads: what the other decoder leaves out has no value here either.
        for (name, value) in &ours {
            let missing = matches!(value, Value::Number(None) | Value::Whole(None) | Value::Text(None));
            if !theirs.contains_key(name) && !missing {
                wrong.push(format!("{id} {name}: {value:?}, expected nothing"));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    println!("{} vectors, {compared} fields compared", vectors.len());
    assert_eq!(vectors.len(), VECTORS);
    assert!(FIELDS_AT_LEAST <= compared, "{compared}");
}

/// Reasons of missing values, from the table of codes in canboat's documentation.
#[test]
fn sentinels_have_reasons() {
    use barrico_n2k::field::Missing;
    let golden = golden();
    let payload =
        |id: &str| payload_of(golden["vectors"].as_array().unwrap().iter().find(|v| v["id"] == id).unwrap());
    let reasons = |id: &str| pgn::WatermakerStatus::missing(&payload(id));
    // 22 fields: all but the reserved one.
    for (id, reason) in [("wm_all_na", Missing::NotAvailable), ("wm_out_of_range", Missing::Error)] {
        assert_eq!(reasons(id).len(), 22);
        assert!(reasons(id).iter().all(|(_, missing)| *missing == reason), "{id}");
    }
    assert_eq!(reasons("wm_reserved_code").len(), 9);
    assert!(reasons("wm_reserved_code").iter().all(|(_, missing)| *missing == Missing::Reserved));
    assert_eq!(reasons("wm_short_20"), [("run_time_s", Missing::Short)]);
    assert_eq!(reasons("wm_running"), []);
}

/// What was decoded and encoded again has the same bytes, where all reserved bits are ones and nothing is cut short.
#[test]
fn normal_vectors_encode_to_the_same_bytes() {
    let golden = golden();
    let (mut same, mut other) = (0, Vec::new());
    for vector in golden["vectors"].as_array().unwrap() {
        let payload = payload_of(vector);
        let content = pgn::decode(vector["pgn"].as_u64().unwrap() as u32, &payload).unwrap();
        let mut again = Vec::new();
        content.encode(&mut again);
        assert_eq!(u64::from(content.pgn()), vector["pgn"].as_u64().unwrap());
        if again == payload { same += 1 } else { other.push(vector["id"].as_str().unwrap().to_owned()) }
    }
    println!("{same} vectors encode to the same bytes");
    other.sort();
    assert_eq!(other, CHANGED_BY_ENCODING);
}
