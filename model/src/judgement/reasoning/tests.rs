//! The tables hold together, and the rules that keep an answer honest hold by construction. Figures are invented and round; which sign belongs to which cause
//! is common practice unless a row names its source.

use super::*;
use crate::parts::*;
use crate::records::EventKind;
use std::collections::BTreeSet;

fn parts(control: PressureControl) -> Parts {
    let element = Element {
        size: "2540".into(),
        serial: None,
        area_m2: 2.6,
        sheet: TestSheet::usual(100.0, 0.994),
        limits: ElementLimits::default(),
    };
    let pump = Pump {
        kind: PumpKind::Plunger,
        nameplate_flow_l_h: 360.0,
        rated_speed_rpm: Some(1450.0),
        rated_pressure_bar: 70.0,
        delivery: None,
        cylinders: Some(3),
        internal_leakage: None,
        mixing: None,
    };
    let kind = DriveKind::AcSinglePhase { voltage_v: 230.0, frequency_hz: 50.0, power_factor: None };
    Parts {
        pressure_control: control,
        set_pressure_bar: Some(55.0),
        set_product_flow_l_h: None,
        valve_set_at: Some(ValveSetting { pressure_bar: 55.0, concentrate_flow_l_h: 260.0 }),
        pump,
        drive: Drive { kind, motor_power_w: Some(2200.0), motor_efficiency: None, start: Start::default() },
        boost_pump: true,
        elements: vec![element],
        parallel_trains: 1,
        prefilters: vec![],
        limits: Limits { product_conductivity_us_cm: Some(1000.0), ..Limits::default() },
    }
}

fn set(minutes_ago: i64, values: &[(Quantity, f64)]) -> ReadingSet {
    ReadingSet { at: Some(-60_000 * minutes_ago), values: values.to_vec() }
}

fn now(values: &[(Quantity, f64)]) -> Vec<ReadingSet> {
    vec![set(0, values)]
}

fn first(answer: &Answer) -> &'static str {
    answer.causes.first().map_or("nothing", |cause| cause.code)
}

use Quantity as Q;

#[test]
fn every_cause_of_the_list_has_a_row_and_every_row_its_words() {
    let rows: BTreeSet<&str> = table::rows().map(|row| row.code).collect();
    let listed: BTreeSet<&str> = cause_list::ALL.iter().map(|cause| cause.code).collect();
    assert_eq!(rows, listed);
    for row in table::rows() {
        assert!(
            !row.source.is_empty() && !row.fits.is_empty() || row.code == "membrane-fouled",
            "{}",
            row.code
        );
        let lists = [row.fits, row.against, row.missed];
        for (sign, _) in lists.into_iter().flatten() {
            if let Sign::Seen(code) = sign {
                assert!(observation_list::of(code).is_some(), "{}: {code}", row.code);
            }
        }
        let both = row.fits.iter().any(|(sign, _)| row.against.iter().any(|(other, _)| sign == other));
        assert!(!both, "{}: a sign speaks for it and against it", row.code);
    }
}

#[test]
fn facts_have_words_and_are_used() {
    let used: BTreeSet<Sign> = table::rows()
        .flat_map(|row| [row.fits, row.against, row.missed].into_iter().flatten())
        .map(|(sign, _)| *sign)
        .collect();
    // These weigh through the pace of a cause, or stand for a reading that others rest on.
    let by_pace = [Fact::OutputStepped];
    for fact in Fact::ALL {
        assert!(!fact.words().is_empty() && !fact.words().ends_with('.'), "{fact:?}");
        assert!(used.contains(&Sign::Fact(*fact)) || by_pace.contains(fact), "{fact:?} weighs nothing");
    }
}

#[test]
fn without_anything_nothing_is_suspected() {
    let parts = parts(PressureControl::Regulated);
    assert_eq!(reason(&Situation::of(&parts)), Answer::default());
    let sets = now(&[(Q::FeedPressure, 55.0), (Q::FeedTemperature, 25.0), (Q::ProductFlow, 70.0)]);
    assert_eq!(first(&reason(&Situation { sets, ..Situation::of(&parts) })), "nothing");
}

#[test]
fn pressures_that_are_off_by_psi_are_a_matter_of_units() {
    let parts = parts(PressureControl::Regulated);
    // 55 bar are 798 psi; read as bar the other way round, 55 psi are 3.8 bar.
    let sets = now(&[(Q::FeedPressure, 3.8), (Q::ProductFlow, 70.0), (Q::FeedTemperature, 25.0)]);
    let situation = Situation { sets, ..Situation::of(&parts) };
    let answer = reason(&situation);
    assert_eq!((first(&answer), answer.decided), ("unit-psi-bar", true), "{:?}", answer.causes);
    assert!(answer.blames_a_reading() && answer.doubted().contains(&Q::FeedPressure));
}

#[test]
fn a_temperature_that_cannot_be_is_tried_in_the_other_scale() {
    let parts = parts(PressureControl::Regulated);
    let of = |value: f64| {
        let beside = vec![Beside { role: Role::Impossible, quantity: Q::FeedTemperature, value }];
        let sets = now(&[(Q::FeedPressure, 55.0), (Q::ProductFlow, 70.0)]);
        reason(&Situation { sets, beside, ..Situation::of(&parts) })
    };
    // 77 °F are 25 °C; 240 of either is no sea.
    assert_eq!(first(&of(77.0)), "unit-celsius-fahrenheit");
    assert_eq!(first(&of(240.0)), "temperature-reading");
}

#[test]
fn the_scale_of_a_meter_is_no_rise_of_salt() {
    let parts = parts(PressureControl::Regulated);
    let second = |value: f64| {
        let beside = vec![Beside { role: Role::SecondInstrument, quantity: Q::ProductSalinity, value }];
        reason(&Situation { sets: now(&[(Q::ProductSalinity, 700.0)]), beside, ..Situation::of(&parts) })
    };
    assert_eq!(first(&second(500.0)), "unit-ppm-scale", "0.7 over 0.5");
    assert_eq!(first(&second(250.0)), "product-salinity-reading");
}

/// A needle that backed off a little is likelier than a by-pass; after a large step nothing separates the two but a look.
#[test]
fn a_large_step_of_the_valve_stays_open_until_the_by_pass_was_looked_at() {
    let parts = parts(PressureControl::FixedValve);
    let baseline = vec![(Q::FeedPressure, 55.0), (Q::ConcentrateFlow, 260.0), (Q::ProductFlow, 70.0)];
    let of = |bar: f64, concentrate: f64, product: f64, seen: &[(&'static str, bool)]| {
        let sets =
            now(&[(Q::FeedPressure, bar), (Q::ConcentrateFlow, concentrate), (Q::ProductFlow, product)]);
        let (baseline, seen) = (baseline.clone(), seen.to_vec());
        reason(&Situation { sets, baseline, seen, ..Situation::of(&parts) })
    };
    let little = of(50.0, 268.0, 62.0, &[]);
    assert_eq!((first(&little), little.decided), ("valve-moved", true), "{:?}", little.causes);
    let much = of(42.0, 282.0, 48.0, &[]);
    assert!(!much.decided, "{:?}", much.causes);
    assert!(much.looks.iter().any(|planned| planned.look == Look::Inspection));
    let found = of(42.0, 282.0, 48.0, &[("bypass-not-shut", true)]);
    assert_eq!((first(&found), found.decided), ("bypass-open", true), "{:?}", found.causes);
}

/// Packings and a relief valve that passes give the same jugs: only a look at the relief's hose separates them.
#[test]
fn jugs_alone_do_not_tell_packings_from_the_relief() {
    let parts = parts(PressureControl::Regulated);
    let baseline = vec![(Q::FeedPressure, 55.0), (Q::ConcentrateFlow, 260.0), (Q::ProductFlow, 70.0)];
    let of = |seen: &[(&'static str, bool)]| {
        let sets = now(&[(Q::FeedPressure, 55.0), (Q::ConcentrateFlow, 225.0), (Q::ProductFlow, 67.0)]);
        reason(&Situation { sets, baseline: baseline.clone(), seen: seen.to_vec(), ..Situation::of(&parts) })
    };
    let open = of(&[]);
    assert!(!open.decided, "{:?}", open.causes);
    assert_eq!(first(&of(&[("relief-hose-runs", true)])), "relief-passing");
    let dripping = of(&[("drip-at-packings", true), ("relief-hose-runs", false)]);
    assert_eq!((first(&dripping), dripping.decided), ("pump-worn", true), "{:?}", dripping.causes);
}

/// What is taken away never makes the answer surer: a stalled motor with fewer and fewer of its signs.
#[test]
fn fewer_readings_never_make_surer() {
    let parts = parts(PressureControl::Regulated);
    let all = [(Q::SupplyCurrent, 60.0), (Q::FeedPressure, 0.0), (Q::SupplyVoltage, 230.0)];
    let around = Surroundings { commanded_on: Some(true), ..Surroundings::default() };
    let said = |values: &[(Quantity, f64)]| {
        let answer = reason(&Situation { sets: now(values), around, ..Situation::of(&parts) });
        (first(&answer), if answer.decided { answer.causes[0].probability } else { 0.0 })
    };
    let whole = said(&all);
    assert_eq!(whole.0, "motor-stalled");
    for left_out in 0..all.len() {
        let less: Vec<(Quantity, f64)> =
            all.iter().enumerate().filter(|(at, _)| *at != left_out).map(|(_, reading)| *reading).collect();
        assert!(said(&less).1 <= whole.1, "without {:?}: {:?} after {whole:?}", all[left_out].0, said(&less));
    }
}

#[test]
fn a_due_flush_from_a_chlorinated_tank_is_forbidden_not_advised() {
    let parts = parts(PressureControl::Regulated);
    let event = |kind, days: f64| PastEvent { kind, days_ago: Some(days), note: String::new() };
    let around = Surroundings { days_idle: Some(6.0), ..Surroundings::default() };
    let of = |events: Vec<PastEvent>| reason(&Situation { events, around, ..Situation::of(&parts) });
    let chlorinated = of(vec![event(EventKind::TankChlorinated, 2.0)]);
    assert_eq!(first(&chlorinated), "tank-chlorinated");
    assert!(chlorinated.veto.contains(&crate::judgement::action_list::FLUSH_OR_RUN));
    let rinsed = of(vec![event(EventKind::TankChlorinated, 4.0), event(EventKind::TankRinsed, 3.0)]);
    assert_eq!(first(&rinsed), "idle-too-long", "{:?}", rinsed.causes);
}

#[test]
fn an_open_product_outlet_comes_before_the_stop() {
    let parts = parts(PressureControl::HandSetPressure);
    let values =
        [(Q::FeedPressure, 55.0), (Q::ProductFlow, 0.0), (Q::ProductPressure, 1.5), (Q::TankLevel, 100.0)];
    let answer = reason(&Situation { sets: now(&values), ..Situation::of(&parts) });
    assert_eq!(first(&answer), "product-shut", "{:?}", answer.causes);
    let codes: Vec<&str> = answer.act.iter().map(|action| action.code).collect();
    assert_eq!(codes.first(), Some(&"open-product-outlet"), "{codes:?}");
}

#[test]
fn pressure_that_hunts_or_fades_or_collapses_is_told_apart() {
    let parts = parts(PressureControl::FixedValve);
    let course = |bars: &[f64], seconds: i64| {
        let at = |index: usize| Some(-1000 * seconds * (bars.len() - 1 - index) as i64);
        let sets = bars
            .iter()
            .enumerate()
            .map(|(index, bar)| ReadingSet { at: at(index), values: vec![(Q::FeedPressure, *bar)] });
        let around = Surroundings { minutes_since_start: Some(30.0), ..Surroundings::default() };
        let situation = Situation { now: Some(0), sets: sets.collect(), around, ..Situation::of(&parts) };
        let signs = Signs::of(&situation);
        [Fact::PressureHunts, Fact::PressureFades, Fact::CollapsedFromLimit].map(|fact| 0.5 < signs.is(fact))
    };
    assert_eq!(course(&[48.0, 55.0, 49.0, 56.0, 48.0], 2), [true, false, false]);
    assert_eq!(course(&[55.0, 50.0, 42.0, 36.0], 180), [false, true, false]);
    assert_eq!(course(&[60.0, 70.0, 5.0], 20), [false, false, true]);
    assert_eq!(course(&[55.0, 55.2, 54.9, 55.1], 30), [false; 3]);
}
