//! Recorded bus traffic. The expected counts are those of two decoders that know nothing of this one: canboat's analyzer
//! and an independent reassembly (published with the recordings, see `tests/captures/README.md`).

#![expect(clippy::unwrap_used, reason = "a test helper that fails must fail its test")]
#![expect(clippy::print_stdout, reason = "a skipped test says so")]

use barrico_n2k::candump::{Kind, Line, parse_line};
use barrico_n2k::fast_packet::Counters;
use barrico_n2k::pgn::{self, Content, OperatingState};
use barrico_n2k::senders::Change;
use barrico_n2k::{Assembler, Name, Senders};
use std::collections::BTreeMap;
use std::path::PathBuf;

fn capture(name: &str) -> Vec<u8> {
    std::fs::read(format!("{}/../../tests/captures/{name}", env!("CARGO_MANIFEST_DIR"))).unwrap()
}

/// A full recording, where there is one. In CI there must be.
fn recording(name: &str) -> Option<Vec<u8>> {
    let folder = std::env::var_os("BARRICO_DATA").map_or_else(
        || PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/data")),
        PathBuf::from,
    );
    let read = std::fs::read(folder.join("nmea2000").join(name)).ok();
    if read.is_none() {
        assert_ne!(std::env::var("CI").as_deref(), Ok("true"), "no {name} in BARRICO_DATA");
        println!("skipped: no {name} in BARRICO_DATA");
    }
    read
}

fn lines(log: &[u8]) -> impl Iterator<Item = Line<'_>> {
    log.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()).map(|line| parse_line(line).unwrap())
}

/// Runs a log through reassembly; gives messages per group and the counters. Time is the sum of the steps forward.
fn messages(
    log: &[u8],
    mut each: impl FnMut(u64, &barrico_n2k::Message<'_>),
) -> (BTreeMap<u32, u64>, Counters) {
    let mut assembler = Assembler::new();
    let mut counts = BTreeMap::new();
    let start_us = lines(log).next().map_or(0, |line| line.time_us);
    for line in lines(log) {
        let Kind::Data(frame) = line.kind else { panic!("{line:?}") };
        let now_ms = ((line.time_us - start_us) / 1000) as u64;
        if let Some(message) = assembler.push(now_ms, frame.can_id(), frame.payload()) {
            *counts.entry(message.pgn).or_default() += 1;
            each(now_ms, &message);
        }
    }
    (counts, assembler.counters())
}

/// `pgn:count` pairs as published with the recordings.
fn published(list: &str) -> BTreeMap<u32, u64> {
    let pair = |pair: &str| {
        let (pgn, count) = pair.split_once(':').unwrap();
        (pgn.parse().unwrap(), count.parse().unwrap())
    };
    list.split_whitespace().map(pair).collect()
}

const BOAT_A: &str = "59392:50 59904:136 60928:162 61184:1 65280:239 65284:30 65285:119 65295:96 65301:90 65305:177 \
    65309:59 65312:59 65313:238 65317:238 65341:270 65350:596 65408:60 126208:4 126992:176 126993:30 126996:9 127237:269 \
    127245:850 127250:1889 127251:2391 127252:596 127257:1900 127258:383 127488:95 127489:9 127493:95 127503:30 127504:60 \
    127505:4 127506:80 127507:40 127508:160 127509:40 127744:39 127745:39 127746:39 127747:39 127748:39 127749:39 \
    128000:300 128259:420 128267:418 128275:240 129025:1636 129026:1409 129029:353 129283:176 129284:176 129539:353 \
    129540:348 130306:1850 130310:136 130311:477 130312:624 130314:591 130316:109 130578:240 130817:18 130820:42 130822:188 \
    130823:12 130824:1412 130825:3 130845:32 130850:26 130860:58";

#[test]
fn boat_a_gives_the_published_messages() {
    let Some(log) = recording("boat-a-socketcan-60s.log") else { return };
    let (counts, counters) = messages(&log, |_, _| {});
    assert_eq!(counts, published(BOAT_A));
    assert_eq!((counters.frames, counters.messages), (44_257, 23_611));
    assert_eq!(counters.stray, 1, "the repeated frame of 129029: {counters:?}");
    println!("{counters:?}");
}

const BOAT_B: &str = "59392:72 59904:106 60928:210 65005:12 65012:64 65013:64 65014:64 65018:39 65025:194 65026:194 \
    65027:194 65280:2576 65284:390 65408:65 65409:65 65410:65 126208:72 126992:128 126996:16 127250:3220 127251:3220 \
    127257:2642 127258:225 127489:256 127501:89 127505:228 127506:86 127508:172 128259:65 128267:65 128275:65 129025:967 \
    129026:967 129029:129 129539:64 129540:129 130306:647 130310:387 130311:129 130312:417 130313:32 130314:129 130818:126 \
    130820:64 130821:7 130823:65 130824:7 130826:65 130836:48 130837:48";

#[test]
fn boat_b_gives_the_published_messages() {
    let Some(log) = recording("boat-b-tanks-power-64s.log") else { return };
    let mut water_tank = false;
    let (counts, counters) = messages(&log, |_, message| {
        // Published: water tank 39.78 % of 1570.9 L.
        if let Some(Content::FluidLevel(tank)) = pgn::decode(message.pgn, message.payload)
            && tank.fluid_type == Some(pgn::FluidType::Water)
        {
            water_tank |= tank.capacity_l == Some(1570.9)
                && tank.level_percent.is_some_and(|percent| (percent - 39.78).abs() < 0.005);
        }
    });
    assert_eq!(counts, published(BOAT_B));
    assert_eq!((counters.frames, counters.messages), (26_435, 19_350));
    assert!(water_tank);
}

#[test]
fn watermaker_messages_say_what_was_published() {
    let log = capture("watermaker-130567-real.log");
    let mut states = Vec::new();
    let mut running = None;
    let (counts, _) = messages(&log, |_, message| {
        let Some(Content::WatermakerStatus(status)) = pgn::decode(message.pgn, message.payload) else {
            panic!()
        };
        states.push((message.source, status.operating_state));
        if status.operating_state == Some(OperatingState::Running) {
            running = Some(status);
        }
    });
    assert_eq!(counts, [(130_567, 5)].into());
    let mut sorted: Vec<_> = states.iter().map(|(source, state)| (*source, state.unwrap())).collect();
    sorted.sort();
    use OperatingState::{Initiating, Manual, Running};
    assert_eq!(sorted, [(200, Running), (200, Initiating), (200, Initiating), (201, Manual), (201, Manual)]);
    let running = running.unwrap();
    assert_eq!(running.product_water_flow_l_h, Some(278.9));
    assert_eq!(running.salinity_ppm, Some(9.0));
    assert_eq!(running.product_water_temperature_k, Some(302.81));
    assert_eq!(running.system_high_pressure_pa, Some(768_000.0));
    assert_eq!(running.product_solenoid_valve_warning, Some(true));
}

/// The old owner of address 0 is driven from 0, 1, 2, 3 to 4. The steps and NAMEs as they stand in the log.
#[test]
fn address_contention_is_followed() {
    let log = capture("boat-a-address-contention.log");
    let (loser, winner) = (Name(0xC08C_BE00_2FB0_81CD), Name(0xC064_AAF8_14A1_65E0));
    let mut senders = Senders::new();
    let mut changes = Vec::new();
    let mut history = Vec::new();
    let mut assembler = Assembler::new();
    for line in lines(&log) {
        let Kind::Data(frame) = line.kind else { panic!("{line:?}") };
        let now_ms = (line.time_us / 1000) as u64;
        if let Some(message) = assembler.push(now_ms, frame.can_id(), frame.payload()) {
            senders.handle(now_ms, frame.can_id(), message.payload, &mut changes);
        }
        history.append(&mut changes);
    }
    // Claims on 1, 2 and 3 are answered by their owners within 12 ms, so they never count.
    let of = |name: Name| {
        let about = move |change: &&Change| match change {
            Change::Claimed { name: other, .. } | Change::Lost { name: other, .. } => *other == name,
        };
        history.iter().filter(about).copied().collect::<Vec<_>>()
    };
    let expected = [
        Change::Claimed { name: loser, address: 0, moved_from: None },
        Change::Lost { name: loser, address: 0 },
        Change::Claimed { name: loser, address: 4, moved_from: None },
    ];
    assert_eq!(of(loser), expected);
    assert_eq!(of(winner).last(), Some(&Change::Claimed { name: winner, address: 0, moved_from: None }));
    assert_eq!((senders.name_at(0), senders.name_at(4)), (Some(winner), Some(loser)));
    assert_eq!(assembler.counters().stray, 1, "repetition of a frame of 129029");
}
