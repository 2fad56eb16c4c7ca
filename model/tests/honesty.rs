//! Simulated truths with drawn errors: what the comparison says of its own uncertainty must hold as often as it says.
//!
//! The truths are made by the forward model with everything drawn that is uncertain: instruments, chance, film, temperature parameters. The expected shares are those of the intervals
//! themselves; no published example is known to us.
#![expect(clippy::unwrap_used, reason = "a test whose own set-up fails has failed")]

#[path = "common/draws.rs"]
mod draws;

use barrico_model::judgement::{
    BaselineFit, Comparison, Fitted, Laws, NotIdentified, Reference, compare, fit, leak_over_runs,
    nominal_train, observe,
};
use barrico_model::math;
use barrico_model::membrane::{Form, Polarisation, TemperatureResponse};
use barrico_model::records::Mean;
use barrico_model::{Quantity, parts::Parts};
use draws::{Draws, Meters, Truth, parts, readings};

fn fitted(parts: &Parts, means: &[Mean]) -> Fitted {
    let laws = Laws::default();
    let train = nominal_train(parts, &laws.form).unwrap();
    fit(&train, &observe(parts, means, None, None).unwrap(), &laws).unwrap()
}

fn against(parts: &Parts, baseline: &[Mean], now: &[Mean]) -> Comparison {
    let laws = Laws::default();
    let train = nominal_train(parts, &laws.form).unwrap();
    let (then, now) = (fitted(parts, baseline), fitted(parts, now));
    let found = BaselineFit {
        ln_ab: then.ln_ab(),
        random: then.state.random_covariance(),
        scatter: [0.0; 2],
        stated_with: laws.form.temperature,
    };
    let reference = Reference::new(&train, &then.observed, &found, &laws).unwrap();
    compare(&train, &now, &reference, &laws).unwrap()
}

fn drawn_form(draws: &mut Draws) -> Form {
    let temperature = TemperatureResponse {
        water_warm_k: 2640.0 + 200.0 * draws.normal(),
        water_cold_k: 3020.0 + 329.0 * draws.normal(),
        salt_k: 4000.0 + 1000.0 * draws.normal(),
    };
    let polarisation = Polarisation::Film { multiplier: 1.4 * math::exp(0.2 * draws.normal()) };
    Form { polarisation, temperature, ..Form::default() }
}

/// 90 % intervals of every figure hold 85 to 95 % of 400 truths; chance alone leaves 87 to 93 %.
#[test]
fn intervals_hold_as_often_as_they_say() {
    const DRAWS: u64 = 400;
    let parts = parts(1);
    let mut held = [0_u32; 5];
    for seed in 0..DRAWS {
        let mut draws = Draws::new(seed);
        let form = drawn_form(&mut draws);
        let meters = Meters::drawn(&mut draws);
        let sound = Truth { temperature_c: 15.0 + 8.0 * draws.uniform(), ..Truth::SOUND };
        let truth = Truth {
            a: 0.75 + 0.3 * draws.uniform(),
            b: 0.8 + draws.uniform(),
            delivery: 0.8 + 0.25 * draws.uniform(),
            pressure_bar: 50.0 + 8.0 * draws.uniform(),
            temperature_c: 11.0 + 17.0 * draws.uniform(),
            salinity_g_kg: 32.0 + 6.0 * draws.uniform(),
            ..Truth::SOUND
        };
        let then = readings(&parts, &form, sound, &meters, &mut draws);
        // Half of the boats come with another set of instruments.
        let meters = if seed % 2 == 0 { meters } else { Meters { first: 20, ..Meters::drawn(&mut draws) } };
        let now = readings(&parts, &form, truth, &meters, &mut draws);
        let found = against(&parts, &then, &now);
        let output = true_output(&parts, &form, sound, truth);
        let figures = [
            (found.ln_a, math::ln(truth.a)),
            (found.ln_b, math::ln(truth.b)),
            (found.ln_output, output),
            (found.ln_delivery.unwrap(), math::ln(truth.delivery)),
            (found.ln_motor_constant.unwrap(), 0.0),
        ];
        for (count, (figure, truth)) in held.iter_mut().zip(figures) {
            *count += u32::from((figure.value - truth).abs() < 1.645 * figure.sd);
        }
    }
    let share: Vec<f64> = held.iter().map(|&count| f64::from(count) / DRAWS as f64).collect();
    assert!(
        share.iter().all(|share| (0.85..=0.95).contains(share)),
        "A, B, output, delivery, motor: {share:?}"
    );
}

/// ln of the product at the baseline's point with these membranes over that with sound ones, by the true form.
fn true_output(parts: &Parts, form: &Form, sound: Truth, now: Truth) -> f64 {
    let exact = Meters {
        first: 1,
        gauge_bar: 0.0,
        jug_share: 0.0,
        thermometer_k: 0.0,
        feed_meter_g_kg: 0.0,
        hand_meter_share: 0.0,
        clamp_share: 0.0,
    };
    let product = |truth: Truth| {
        // The same draws on both sides: their chance cancels exactly, since it is a share of the flow.
        let means = readings(parts, form, truth, &exact, &mut Draws::new(7));
        means.iter().find(|mean| mean.quantity == Quantity::ProductFlow).unwrap().value
    };
    math::ln(product(Truth { a: now.a, b: now.b, ..sound }) / product(sound))
}

/// The same instrument errs alike then and now: an error of a whole bar and of 4 % in salt leaves the ratios as they are; with other instruments it does not, and the
/// interval says so.
#[test]
fn errors_of_the_same_instruments_cancel() {
    let parts = parts(1);
    let form = Form::default();
    let off = Meters {
        first: 1,
        gauge_bar: 2.0,
        jug_share: 0.01,
        thermometer_k: 0.8,
        feed_meter_g_kg: 1.0,
        hand_meter_share: 0.08,
        clamp_share: 0.04,
    };
    let quiet = |meters: &Meters| {
        let mut means = readings(&parts, &form, Truth::SOUND, meters, &mut Draws::new(1));
        means.iter_mut().for_each(|mean| mean.random *= 1e-3);
        means
    };
    let same = against(&parts, &quiet(&off), &quiet(&off));
    assert!(same.ln_a.value.abs() < 1e-6 && same.ln_a.sd < 0.002, "{same:?}");
    assert!(same.ln_b.sd < 0.002 && same.ln_delivery.unwrap().sd < 0.001, "{same:?}");
    let other = against(&parts, &quiet(&off), &quiet(&Meters { first: 20, ..off }));
    assert!(0.06 < other.ln_a.sd && 0.05 < other.ln_b.sd, "{other:?}");
}

/// A share of the reading cancels in a ratio whatever the reading; a fixed size does not when the reading has halved.
#[test]
fn shares_cancel_where_sizes_do_not() {
    let parts = parts(1);
    let mean = |value: f64, systematic: f64| {
        let mut means = readings(
            &parts,
            &Form::default(),
            Truth::SOUND,
            &Meters::drawn(&mut Draws::new(3)),
            &mut Draws::new(4),
        );
        for mean in &mut means {
            (mean.random, mean.systematic) = (0.0, 0.0);
            if mean.quantity == Quantity::SupplyCurrent {
                (mean.value, mean.systematic) = (value, systematic);
            }
        }
        means
    };
    let sd = |then: Vec<Mean>, now: Vec<Mean>| against(&parts, &then, &now).ln_motor_constant.unwrap().sd;
    assert!(sd(mean(10.0, 0.5), mean(5.0, 0.25)) < 1e-9);
    // By hand: 0.5 A of 10 A is 5 %, of 5 A 10 %; they err together and leave 5 %.
    assert!((sd(mean(10.0, 0.5), mean(5.0, 0.5)) - 0.05).abs() < 1e-9);
}

/// A worn pump leaves the motor's constant alone, a fall of pressure too; the vessel's pressure is compared at one flow.
#[test]
fn the_motor_constant_does_not_know_the_delivery() {
    let parts = parts(1);
    let form = Form::default();
    let meters = Meters::drawn(&mut Draws::new(5));
    let of = |truth| readings(&parts, &form, truth, &meters, &mut Draws::new(6));
    let worn = Truth { delivery: 0.8, pressure_bar: 46.0, ..Truth::SOUND };
    let found = against(&parts, &of(Truth::SOUND), &of(worn));
    let motor = found.ln_motor_constant.unwrap();
    assert!(motor.value.abs() < 1.645 * motor.sd && motor.sd < 0.05, "{motor:?}");
    assert!((math::exp(found.ln_delivery.unwrap().value) - 0.8).abs() < 0.03);
    assert!(found.ln_differential_pressure.is_none(), "one gauge only");
    assert!(found.not_identified.iter().any(|missing| missing.quantity == Quantity::DifferentialPressure));
}

/// Sets at 56, 50 and 44 bar tell a leak from diffusion, with intervals that hold; at one pressure the answer is which set to take.
#[test]
fn leak_and_diffusion_are_told_apart_by_a_lower_pressure() {
    let parts = parts(1);
    let laws = Laws::default();
    let train = nominal_train(&parts, &laws.form).unwrap();
    let sets = |pressures: &[f64], leak: f64, seed: u64| -> Vec<Fitted> {
        let mut draws = Draws::new(seed);
        let meters = Meters { hand_meter_share: 0.0, ..Meters::drawn(&mut draws) };
        pressures
            .iter()
            .map(|&pressure_bar| {
                let truth = Truth { leak, pressure_bar, ..Truth::SOUND };
                fitted(&parts, &readings(&parts, &laws.form, truth, &meters, &mut draws))
            })
            .collect()
    };
    let one_pressure = leak_over_runs(&train, &laws, &sets(&[55.2, 55.2, 55.4], 0.004, 1));
    assert_eq!(one_pressure, Err(NotIdentified::LEAK));
    let mut held = 0;
    const DRAWS: u64 = 100;
    for seed in 0..DRAWS {
        let leak = 0.006;
        let low = [58.0, 58.0, 52.0, 46.0, 40.0, 40.0];
        let split = leak_over_runs(&train, &laws, &sets(&low, leak, 50 + seed)).unwrap();
        held += u32::from((split.leak.value - leak).abs() < 1.645 * split.leak.sd);
        assert!(split.covariance_m_s < 0.0 && split.sets == 6);
    }
    assert!(80 <= held, "90 % intervals held {held} of {DRAWS}");
}
