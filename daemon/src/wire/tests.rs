//! What is written is read back the same to the last bit, and what is not ours is refused with its reason.

use super::*;
use crate::engine::{
    AlertRecord, AlertState, Command, EntryChange, NewEntry, Reply, RunSelection, UnitHistory,
};
use barrico_model::findings::{FindingCode, Severity, registry};
use barrico_model::plant::valve_law::{LearntExponent, Spell};
use barrico_model::plant::{ConcentrateValve, Estimate, TrainChange};
use barrico_model::records::{
    Baseline, BaselineKind, ElementAge, ElementMove, ElementPlace, EventKind, HandReading, LogBody, LogEntry,
    Mean, Origin, Reading, RunEnd, RunRecord, SenderId,
};
use barrico_model::{Monotonic, Quantity, Stamp};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

fn finite() -> impl Strategy<Value = f64> {
    prop_oneof![
        proptest::num::f64::NORMAL | proptest::num::f64::SUBNORMAL | proptest::num::f64::ZERO,
        -100.0..100.0_f64
    ]
}

fn quantity() -> impl Strategy<Value = Quantity> {
    select(Quantity::ALL)
}

fn stamp() -> impl Strategy<Value = Stamp> {
    // The dates that RFC 3339 can write; others keep their milliseconds and lose the text.
    (any::<u64>(), any::<u64>(), option::of(any::<i64>())).prop_map(|(boot, monotonic, wall_ms)| Stamp {
        boot,
        monotonic: Monotonic(monotonic),
        wall_ms,
    })
}

fn origin() -> impl Strategy<Value = Origin> {
    prop_oneof![
        (any::<u64>(), any::<u32>(), any::<u8>()).prop_map(|(name, pgn, instance)| Origin::Nmea2000 {
            sender: SenderId::Name(name),
            pgn,
            instance
        }),
        (any::<u8>(), any::<u32>(), any::<u8>()).prop_map(|(address, pgn, instance)| Origin::Nmea2000 {
            sender: SenderId::Address(address),
            pgn,
            instance
        }),
        any::<u64>().prop_map(|entry| Origin::Hand { entry }),
        select(&["from product conductivity", "from voltage and current"][..]).prop_map(Origin::Computed),
        Just(Origin::Assumed("open ocean")),
    ]
}

fn means() -> impl Strategy<Value = Vec<Mean>> {
    vec((quantity(), finite(), finite(), finite(), any::<u16>(), origin(), any::<u32>()), 0..12).prop_map(
        |means| {
            let mut means: Vec<Mean> = means
                .into_iter()
                .map(|(quantity, value, random, systematic, instrument, origin, count)| Mean {
                    quantity,
                    value,
                    random,
                    systematic,
                    instrument,
                    origin,
                    count,
                })
                .collect();
            means.sort_by_key(|mean| mean.quantity);
            means.dedup_by_key(|mean| mean.quantity);
            means
        },
    )
}

fn spell() -> impl Strategy<Value = Spell> {
    (any::<u32>(), proptest::array::uniform7(finite())).prop_map(
        |(count, [x, y, xx, xy, yy, x_variance, y_variance])| Spell {
            count,
            x,
            y,
            xx,
            xy,
            yy,
            x_variance,
            y_variance,
        },
    )
}

fn element() -> impl Strategy<Value = ElementAge> {
    (".{0,12}", option::of(any::<u32>()), finite(), finite())
        .prop_map(|(mark, position, hours, product_l)| ElementAge { mark, position, hours, product_l })
}

fn moves() -> impl Strategy<Value = Vec<ElementMove>> {
    let to = prop_oneof![
        any::<u32>().prop_map(ElementPlace::Position),
        select(&[ElementPlace::ByPassed, ElementPlace::Removed][..]),
    ];
    vec((".{0,12}", to).prop_map(|(mark, to)| ElementMove { mark, to }), 0..3)
}

fn run() -> impl Strategy<Value = RunRecord> {
    let end = select(&[RunEnd::Open, RunEnd::Stopped, RunEnd::PowerLost, RunEnd::ReadingSet][..]);
    let head = (any::<u64>(), any::<u32>(), stamp(), finite(), end, any::<bool>());
    let rest = (
        finite(),
        means(),
        option::of(finite()),
        option::of(finite()),
        any::<bool>(),
        vec(spell(), 0..3),
        vec(element(), 0..3),
        vec(finite(), 0..3),
    );
    (head, rest).prop_map(|((id, revision, start, duration_s, end, time_invented), rest)| RunRecord {
        id,
        revision,
        start,
        duration_s,
        end,
        time_invented,
        steady_s: rest.0,
        means: rest.1,
        product_l: rest.2,
        element_hours: rest.3,
        valve_moved: rest.4,
        valve: rest.5,
        elements: rest.6,
        element_shares: rest.7,
    })
}

fn baseline() -> impl Strategy<Value = Baseline> {
    let kind = select(&[BaselineKind::Specification, BaselineKind::Provisional, BaselineKind::Confirmed][..]);
    let head = (any::<u64>(), kind, stamp(), ".{0,20}", vec(any::<u64>(), 0..5), means());
    let numbers = proptest::array::uniform6(finite());
    let rest = (
        option::of(finite()),
        any::<bool>(),
        option::of((finite(), finite())),
        option::of((stamp(), ".{0,20}".prop_map(String::from))),
        vec(".{0,12}", 0..3),
    );
    (head, numbers, rest).prop_map(|((id, kind, taken, by, runs, means), n, rest)| Baseline {
        id,
        kind,
        taken,
        by,
        runs,
        means,
        a25: n[0],
        ln_a25_random: n[1],
        b25: n[2],
        ln_b25_random: n[3],
        ln_a25_scatter: n[4],
        ln_b25_scatter: n[5],
        ln_ab25_covariance: n[0],
        temperature_k: [n[1], n[2], n[3]],
        delivery: rest.0,
        flow_measured: rest.1,
        differential_pressure: rest.2,
        retired: rest.3,
        elements: rest.4,
    })
}

fn log_body() -> impl Strategy<Value = LogBody> {
    let hand = (quantity(), finite(), ".{0,12}", option::of("[a-z]{1,8}"))
        .prop_map(|(quantity, value, typed, instrument)| HandReading { quantity, value, typed, instrument });
    prop_oneof![
        vec(hand, 0..6).prop_map(LogBody::Readings),
        select(&EventKind::ALL[..]).prop_map(|(_, kind)| LogBody::Event(kind)),
    ]
}

fn log_entry() -> impl Strategy<Value = LogEntry> {
    let head = (any::<u64>(), any::<u32>(), stamp(), any::<bool>(), ".{0,20}", log_body());
    (head, ".{0,40}", ".{0,40}", any::<bool>(), moves()).prop_map(
        |((id, revision, at, time_invented, by, body), note, reason, voided, elements)| LogEntry {
            id,
            revision,
            at,
            time_invented,
            by,
            body,
            note,
            reason,
            voided,
            elements,
        },
    )
}

fn code() -> impl Strategy<Value = FindingCode> {
    select(registry::ALL.map(|registration| registration.code).to_vec())
}

fn alert() -> impl Strategy<Value = AlertRecord> {
    let states = [
        AlertState::Raised,
        AlertState::Acknowledged,
        AlertState::Latched,
        AlertState::Cleared,
        AlertState::ClosedNotCleared,
    ];
    let severities = [Severity::Notice, Severity::Advice, Severity::Alert, Severity::Alarm];
    let head =
        (code(), option::of(quantity()), any::<u32>(), select(states.to_vec()), select(severities.to_vec()));
    (head, ".{0,40}", stamp(), stamp(), option::of(".{0,20}")).prop_map(
        |((code, about, occurrence, state, severity), title, raised, changed, by)| AlertRecord {
            code,
            about,
            occurrence,
            state,
            severity,
            title,
            raised,
            changed,
            by,
        },
    )
}

fn new_entry() -> impl Strategy<Value = NewEntry> {
    (option::of(any::<i64>()), any::<bool>(), ".{0,20}", log_body(), ".{0,40}", moves()).prop_map(
        |(at, time_invented, by, body, note, elements)| NewEntry {
            at,
            time_invented,
            by,
            body,
            note,
            elements,
        },
    )
}

fn command() -> impl Strategy<Value = Command> {
    let unit = || "[a-z][A-Za-z0-9]{0,8}";
    let text = || ".{0,20}";
    let selection = prop_oneof![
        Just(RunSelection::Latest),
        any::<usize>().prop_map(RunSelection::LatestCount),
        (any::<u64>(), any::<u64>()).prop_map(|(first, last)| RunSelection::Range(first, last)),
    ];
    let change = prop_oneof![Just(EntryChange::Void), log_body().prop_map(EntryChange::Amend)];
    prop_oneof![
        (unit(), vec(new_entry(), 0..4)).prop_map(|(unit, entries)| Command::AddEntries { unit, entries }),
        (unit(), any::<u64>(), change, text(), text()).prop_map(|(unit, id, change, by, reason)| {
            Command::ChangeEntry { unit, id, change, by, reason }
        }),
        (unit(), any::<usize>()).prop_map(|(unit, last)| Command::ListLog { unit, last }),
        (unit(), selection, text()).prop_map(|(unit, runs, by)| Command::TakeBaseline { unit, runs, by }),
        (unit(), text(), text()).prop_map(|(unit, by, reason)| Command::RetireBaseline { unit, by, reason }),
        unit().prop_map(|unit| Command::ListBaselines { unit }),
        unit().prop_map(|unit| Command::ShowHistory { unit }),
        (unit(), code(), option::of(quantity()), any::<u32>(), text()).prop_map(
            |(unit, code, about, occurrence, by)| Command::Acknowledge { unit, code, about, occurrence, by }
        ),
    ]
}

fn history() -> impl Strategy<Value = UnitHistory> {
    let estimate = || (finite(), finite()).prop_map(|(value, deviation)| Estimate::new(value, deviation));
    let change =
        (any::<u64>(), 0..9usize, 0..9usize, [estimate(), estimate(), estimate()], option::of(estimate()))
            .prop_map(
                |(
                    old_baseline,
                    before,
                    now,
                    [product_before_l_h, gain_nominal_l_h, gain_minimum_l_h],
                    gain_achieved_l_h,
                )| TrainChange {
                    old_baseline,
                    before,
                    now,
                    product_before_l_h,
                    gain_nominal_l_h,
                    gain_minimum_l_h,
                    gain_achieved_l_h,
                },
            );
    let law = (estimate(), any::<u32>(), finite())
        .prop_map(|(exponent, windows, own_share)| LearntExponent { exponent, windows, own_share });
    let setting = (finite(), finite(), option::of(finite()), finite()).prop_map(
        |(pressure_bar, concentrate_flow_l_h, density_kg_m3, exponent)| ConcentrateValve {
            pressure_bar,
            concentrate_flow_l_h,
            density_kg_m3,
            exponent,
        },
    );
    let head = (vec(baseline(), 0..2), vec(element(), 0..3), vec(".{0,12}", 0..2));
    (head, option::of(law), option::of(setting), option::of(change), finite()).prop_map(
        |((baselines, elements, by_passed), valve, valve_setting, train_change, settles_in_h)| UnitHistory {
            baselines,
            elements,
            by_passed,
            valve,
            valve_setting,
            train_change,
            settles_in_h,
        },
    )
}

fn reply() -> impl Strategy<Value = Reply> {
    prop_oneof![
        (vec(any::<u64>(), 0..4), vec(any::<u64>(), 0..4), vec(".{0,20}", 0..3))
            .prop_map(|(entries, runs, remarks)| Reply::Written { entries, runs, remarks }),
        vec(log_entry(), 0..4).prop_map(Reply::Log),
        baseline().prop_map(|baseline| Reply::Baseline(Box::new(baseline))),
        vec(baseline(), 0..3).prop_map(Reply::Baselines),
        history().prop_map(|history| Reply::History(Box::new(history))),
        Just(Reply::Done),
        ".{0,40}".prop_map(Reply::Refused),
    ]
}

/// Through text and back.
fn through<J: RecordBody>(body: &J) -> J {
    let line = Payload::new("main", body).to_line();
    assert!(!line.contains('\n'), "one line");
    read_body(&line).unwrap()
}

proptest! {
    #[test]
    fn a_run_comes_back_the_same(run in run()) {
        prop_assert_eq!(RunRecord::try_from(through(&RunJson::from(&run))).unwrap(), run);
    }

    #[test]
    fn a_baseline_comes_back_the_same(baseline in baseline()) {
        prop_assert_eq!(Baseline::try_from(through(&BaselineJson::from(&baseline))).unwrap(), baseline);
    }

    #[test]
    fn a_log_entry_comes_back_the_same(entry in log_entry()) {
        prop_assert_eq!(LogEntry::try_from(through(&LogEntryJson::from(&entry))).unwrap(), entry);
    }

    #[test]
    fn an_alert_comes_back_the_same(alert in alert()) {
        prop_assert_eq!(AlertRecord::try_from(through(&AlertJson::from(&alert))).unwrap(), alert);
    }

    #[test]
    fn a_reading_comes_back_the_same(
        quantity in quantity(), value in finite(), random in finite(), origin in origin(), at in any::<u64>()
    ) {
        let reading = Reading { quantity, value, random, systematic: 0.1, instrument: 7, origin, at: Monotonic(at) };
        let line = serde_json::to_string(&ReadingJson::from(&reading)).unwrap();
        let back: ReadingJson = serde_json::from_str(&line).unwrap();
        prop_assert_eq!(Reading::try_from(back).unwrap(), reading);
    }

    #[test]
    fn a_command_comes_back_the_same(command in command()) {
        let line = serde_json::to_string(&CommandJson::from(&command)).unwrap();
        let back: CommandJson = serde_json::from_str(&line).unwrap();
        prop_assert_eq!(Command::try_from(back).unwrap(), command);
    }

    #[test]
    fn a_reply_comes_back_the_same(reply in reply()) {
        let line = serde_json::to_string(&ReplyJson::from(&reply)).unwrap();
        let back: ReplyJson = serde_json::from_str(&line).unwrap();
        prop_assert_eq!(Reply::try_from(back).unwrap(), reply);
    }

    #[test]
    fn no_text_makes_the_reader_panic(line in ".{0,200}") {
        let _ = read_body::<RunJson>(&line);
        let _ = serde_json::from_str::<CommandJson>(&line);
    }
}

fn example_run() -> RunRecord {
    let mean = |quantity, value, random, systematic| Mean {
        quantity,
        value,
        random,
        systematic,
        instrument: 2,
        origin: Origin::Hand { entry: 4 },
        count: 12,
    };
    RunRecord {
        id: 12,
        revision: 1,
        start: Stamp { boot: 0xfeed, monotonic: Monotonic(60_000), wall_ms: Some(482_196_050_520) },
        duration_s: 7_200.0,
        end: RunEnd::PowerLost,
        time_invented: false,
        steady_s: 6_000.0,
        means: vec![
            mean(Quantity::FeedPressure, 55.1, 0.3, 0.4),
            mean(Quantity::ProductFlow, 61.0, 0.6, 0.8),
        ],
        product_l: Some(122.0),
        element_hours: None,
        valve_moved: true,
        valve: vec![],
        elements: vec![],
        element_shares: vec![],
    }
}

#[test]
fn a_run_looks_like_this() {
    let json = RunJson::from(&example_run());
    let value: serde_json::Value = serde_json::from_str(&Payload::new("main", &json).to_line()).unwrap();
    let expected = serde_json::json!({
        "schema": "barrico-run", "schema_version": 2, "unit": "main", "id": 12, "revision": 1,
        "start": {
            "boot": "000000000000feed", "monotonic_ms": 60_000, "wall_ms": 482_196_050_520_i64,
            "time": "1985-04-12T23:20:50.52Z",
        },
        "time_invented": false, "end": "power_lost", "duration_s": 7200.0, "steady_s": 6000.0,
        "product_l": 122.0, "element_hours": null, "valve_moved": true,
        "means": {"feed_pressure_bar_gauge": 55.1, "product_flow_l_h": 61.0},
        "uncertainty": {"feed_pressure_bar_gauge": 0.5, "product_flow_l_h": 1.0},
        "uncertainty_random": {"feed_pressure_bar_gauge": 0.3, "product_flow_l_h": 0.6},
        "uncertainty_systematic": {"feed_pressure_bar_gauge": 0.4, "product_flow_l_h": 0.8},
        "measured": {
            "feed_pressure_bar_gauge": {"instrument": 2, "origin": {"hand": {"entry": 4}}, "count": 12},
            "product_flow_l_h": {"instrument": 2, "origin": {"hand": {"entry": 4}}, "count": 12},
        },
    });
    assert_eq!(value, expected);
}

#[test]
fn a_number_that_is_none_is_null_and_comes_back_as_none() {
    let mut run = example_run();
    run.duration_s = f64::NAN;
    run.product_l = Some(f64::INFINITY);
    run.means[0].random = f64::NAN;
    let line = Payload::new("main", &RunJson::from(&run)).to_line();
    assert!(line.contains(r#""duration_s":null"#), "{line}");
    let back = RunRecord::try_from(read_body::<RunJson>(&line).unwrap()).unwrap();
    assert!(back.duration_s.is_nan() && back.means[0].random.is_nan());
    assert_eq!(back.product_l, None);
}

#[test]
fn another_kind_and_a_newer_version_are_refused_by_name() {
    let line = Payload::new("main", &RunJson::from(&example_run())).to_line();
    let kind = read_body::<AlertJson>(&line).unwrap_err();
    assert_eq!(kind, WireError::Kind { wanted: "barrico-alert", found: "barrico-run".into() });
    let newer = line.replace(r#""schema_version":2"#, r#""schema_version":3"#);
    assert_eq!(read_body::<RunJson>(&newer).unwrap_err(), WireError::Newer { found: 3 });
    // Records of version 1 lack what came later, and are read.
    let older = line.replace(r#""schema_version":2"#, r#""schema_version":1"#);
    assert_eq!(RunRecord::try_from(read_body::<RunJson>(&older).unwrap()).unwrap(), example_run());
    let added = line.replace(r#""id":12"#, r#""id":12,"added_later":true"#);
    assert_eq!(RunRecord::try_from(read_body::<RunJson>(&added).unwrap()).unwrap(), example_run());
}

#[test]
fn a_command_typed_by_hand_is_taken_and_a_slip_is_named() {
    let line = r#"{"add_entries":{"unit":"main","entries":[{"time":"1985-04-12T23:20:50.52Z",
        "body":{"readings":[{"key":"feed_pressure_bar_gauge","value":55.2,"typed":"800 psi"}]}}]}}"#;
    let json: CommandJson = serde_json::from_str(line).unwrap();
    let Command::AddEntries { entries, .. } = Command::try_from(json).unwrap() else {
        panic!("another command")
    };
    assert_eq!(entries[0].at, Some(482_196_050_520));
    let slip = serde_json::from_str::<CommandJson>(r#"{"list_log":{"unit":"main","last":3,"lats":4}}"#);
    assert!(slip.unwrap_err().to_string().contains("lats"));
    let event = line.replace(
        r#"{"readings":[{"key":"feed_pressure_bar_gauge","value":55.2,"typed":"800 psi"}]}"#,
        r#"{"event":"filter-chnged"}"#,
    );
    let json: CommandJson = serde_json::from_str(&event).unwrap();
    assert_eq!(Command::try_from(json).unwrap_err().to_string(), "`filter-chnged` is no event");
}
