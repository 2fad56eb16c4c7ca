//! Temperature parameters learnt from simulated histories whose truth is known: they converge, say honestly how far they are off, and do not take fouling for temperature.
//!
//! The histories are made by the forward model with the truth applied and readings with errors drawn at random; no published history of a small unit is known to us.
#![expect(clippy::unwrap_used, reason = "a test whose own set-up fails has failed")]

#[path = "common/draws.rs"]
mod draws;

use barrico_model::judgement::{HistoryPoint, Laws, Learnt, fit, learn, nominal_train, observe};
use barrico_model::math;
use barrico_model::membrane::{Form, Polarisation, TemperatureResponse};
use draws::{Draws, Meters, Truth, parts, readings};

/// A history: a run every few days for some years.
#[derive(Clone, Copy)]
struct Course {
    years: f64,
    every_days: f64,
    /// Half of the swing of the sea's temperature over a year, and its middle.
    swing_c: f64,
    middle_c: f64,
    response: TemperatureResponse,
    film: f64,
    /// Change of ln A in a day.
    fouling_per_day: f64,
    /// Standard deviation of a random walk of ln A, over 30 days.
    wander: f64,
    /// Share of runs that are odd by 20 %.
    odd: f64,
}

const YEARLY: Course = Course {
    years: 3.0,
    every_days: 9.0,
    swing_c: 7.0,
    middle_c: 19.0,
    response: TemperatureResponse { water_warm_k: 2640.0, water_cold_k: 2550.0, salt_k: 5200.0 },
    film: 1.4,
    fouling_per_day: 0.0,
    wander: 0.0,
    odd: 0.0,
};

fn history(course: Course, seed: u64) -> Vec<HistoryPoint> {
    let parts = parts(1);
    let laws = Laws::default();
    let train = nominal_train(&parts, &laws.form).unwrap();
    let mut draws = Draws::new(seed);
    let meters = Meters::drawn(&mut draws);
    let polarisation = Polarisation::Film { multiplier: course.film };
    let truth_form = Form { polarisation, temperature: course.response, ..Form::default() };
    let mut level = 0.0;
    let count = (course.years * 365.0 / course.every_days) as u32;
    let mut points = Vec::new();
    for i in 0..count {
        let days = f64::from(i) * course.every_days;
        level += course.wander * (course.every_days / 30.0).sqrt() * draws.normal();
        let season = 2.0 * std::f64::consts::PI * days / 365.0;
        let temperature_c = course.middle_c + course.swing_c * season.sin() + 0.5 * draws.normal();
        let truth = Truth {
            a: math::exp(level + course.fouling_per_day * days),
            temperature_c,
            salinity_g_kg: 36.0 + 0.4 * draws.normal(),
            ..Truth::SOUND
        };
        let mut means = readings(&parts, &truth_form, truth, &meters, &mut draws);
        if draws.uniform() < course.odd {
            let product = means.iter_mut().find(|mean| mean.quantity == barrico_model::Quantity::ProductFlow);
            product.unwrap().value *= 0.8;
        }
        let observed = observe(&parts, &means, None, None).unwrap();
        let fitted = fit(&train, &observed, &laws).unwrap();
        points.extend(HistoryPoint::new(&fitted, days, 0));
    }
    points
}

fn covered(learnt: &Learnt, truth: &TemperatureResponse) -> [bool; 2] {
    let within = |found: f64, truth: f64, sd: f64| (found - truth).abs() < 1.96 * sd;
    [
        within(learnt.response.water_cold_k, truth.water_cold_k, learnt.sd_k[1]),
        within(learnt.response.salt_k, truth.salt_k, learnt.sd_k[2]),
    ]
}

#[test]
fn seasons_teach_the_parameters() {
    let learnt = learn(&history(YEARLY, 1));
    let truth = YEARLY.response;
    let [_, cold_sd, salt_sd] = learnt.sd_k;
    assert!(cold_sd < 0.6 * TemperatureResponse::WATER_COLD_SD_K, "{learnt:?}");
    assert!(salt_sd < 0.5 * TemperatureResponse::SALT_SD_K, "{learnt:?}");
    assert_eq!(covered(&learnt, &truth), [true; 2], "{learnt:?}");
    // Far nearer to the truth than the defaults, 3020 and 4000 K.
    assert!((learnt.response.water_cold_k - truth.water_cold_k).abs() < 235.0, "{learnt:?}");
    assert!((learnt.response.salt_k - truth.salt_k).abs() < 600.0, "{learnt:?}");
    // More years tell more.
    let longer = learn(&history(Course { years: 6.0, ..YEARLY }, 1));
    assert!(longer.sd_k[1] < cold_sd && longer.sd_k[2] < salt_sd, "{longer:?}");
}

/// Of 60 histories with truths drawn from the prior, drift, fouling, odd runs and a film that is not as believed, 95 % intervals must hold about 95 %. Binomial: below 88 % (53 of 60) by
/// chance in one of 50 cases.
#[test]
fn intervals_hold_the_truth() {
    let mut held = [0, 0];
    const HISTORIES: u64 = 60;
    for seed in 0..HISTORIES {
        let mut draws = Draws::new(1000 + seed);
        let course = Course {
            years: 1.0 + 3.0 * draws.uniform(),
            every_days: 12.0,
            response: TemperatureResponse {
                water_cold_k: 2450.0 + 570.0 * draws.uniform(),
                water_warm_k: 2640.0 + 200.0 * draws.normal(),
                salt_k: 4000.0 + 1000.0 * draws.normal(),
            },
            film: 1.4 * math::exp(0.2 * draws.normal()),
            fouling_per_day: -0.15 / 365.0 * draws.uniform(),
            wander: 0.012 * draws.uniform(),
            odd: 0.03,
            ..YEARLY
        };
        let learnt = learn(&history(course, seed));
        for (count, hit) in held.iter_mut().zip(covered(&learnt, &course.response)) {
            *count += u64::from(hit);
        }
    }
    assert!(held.iter().all(|count| 53 <= *count), "{held:?} of {HISTORIES}");
}

#[test]
fn steady_fouling_in_water_of_one_temperature_teaches_nothing() {
    let course = Course { swing_c: 0.0, fouling_per_day: -0.3 / 365.0, ..YEARLY };
    let response = TemperatureResponse::default();
    let learnt = learn(&history(Course { response, ..course }, 5));
    let default = Learnt::default();
    assert!((learnt.response.water_cold_k - default.response.water_cold_k).abs() < 110.0, "{learnt:?}");
    assert!(0.8 * default.sd_k[1] < learnt.sd_k[1], "{learnt:?}");
    assert!((learnt.response.salt_k - default.response.salt_k).abs() < 500.0, "{learnt:?}");
    assert!(0.7 * default.sd_k[2] < learnt.sd_k[2], "{learnt:?}");
}

/// Fouling that keeps pace with a warming spring is not learnt as temperature: half a season cannot tell them apart, and says so.
#[test]
fn fouling_through_one_spring_leaves_the_doubt() {
    let spring = Course { years: 0.45, every_days: 5.0, fouling_per_day: -0.25 / 365.0, ..YEARLY };
    let learnt = learn(&history(Course { response: TemperatureResponse::default(), ..spring }, 9));
    assert!((learnt.response.water_cold_k - 3020.0).abs() < 1.96 * learnt.sd_k[1], "{learnt:?}");
    assert!(0.5 * TemperatureResponse::WATER_COLD_SD_K < learnt.sd_k[1], "{learnt:?}");
}

#[test]
fn odd_runs_do_not_teach() {
    let quiet = learn(&history(YEARLY, 3));
    let odd = learn(&history(Course { odd: 0.08, ..YEARLY }, 3));
    let moved = (odd.response.water_cold_k - quiet.response.water_cold_k).abs();
    assert!(moved < 1.5 * quiet.sd_k[1], "{quiet:?} {odd:?}");
}

#[test]
fn too_few_runs_are_the_defaults() {
    let points = history(YEARLY, 1);
    assert_eq!(learn(&points[..5]), Learnt::default());
    assert_eq!(learn(&[]), Learnt::default());
}
