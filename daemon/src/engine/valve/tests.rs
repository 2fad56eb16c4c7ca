use super::*;
use barrico_model::records::SenderId;
use barrico_model::{Monotonic, Quantity};

fn parts() -> Parts {
    let text = include_str!("../../../examples/two-2540-ac-regulated.toml");
    crate::settings::parse(text, "sample").expect("the sample is sound").units[0].parts.clone()
}

fn readings(values: &[(Quantity, f64)]) -> Vec<Option<Reading>> {
    let mut current = vec![None; Quantity::ALL.len()];
    for &(quantity, value) in values {
        current[quantity as usize] = Some(Reading {
            quantity,
            value,
            random: 0.0,
            systematic: 0.0,
            instrument: 0,
            origin: Origin::Nmea2000 { sender: SenderId::Address(35), pgn: 130_567, instance: 255 },
            at: Monotonic(0),
        });
    }
    current
}

/// A warm-up of an hour: the concentrate flow falls by 6 % and the pressure follows with an exponent of 1.8, the definition p ~ Q^m.
#[test]
fn an_hour_of_warming_up_teaches_the_exponent() {
    let usual = ConcentrateValve::usual_exponent(PressureControl::FixedValve);
    let mut follower = ValveFollower::default();
    let parts = parts();
    for second in 0..3600 {
        let flow = 250.0 * (1.0 - 0.06 * f64::from(second) / 3600.0) + 0.3 * f64::from(second % 3 - 1);
        let bar = 55.0 * math::pow(flow / 250.0, 1.8);
        let now = readings(&[(Quantity::ConcentratePressure, bar), (Quantity::ConcentrateFlow, flow)]);
        follower.second(&now, &parts, None, usual);
    }
    let learnt = learn(follower.spells(), usual);
    assert_eq!((follower.spells().len(), learnt.windows), (1, 60));
    assert!((learnt.exponent.value - 1.8).abs() < 0.05, "{learnt:?}");
}

#[test]
fn without_a_measured_flow_nothing_is_learnt() {
    let mut follower = ValveFollower::default();
    let parts = parts();
    let usual = ConcentrateValve::usual_exponent(PressureControl::FixedValve);
    let now = readings(&[(Quantity::FeedPressure, 55.0), (Quantity::ProductFlow, 70.0)]);
    (0..600).for_each(|_| follower.second(&now, &parts, None, usual));
    assert!(follower.spells().is_empty());
}
