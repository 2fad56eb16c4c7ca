//! The model against open data of one seawater element of the 2540 class: 71 steady points before and after two campaigns of
//! oscillating feed, and a pilot under cycled pressure.
//!
//! Origin in `validation/open_data.rs` and `validation/pilot.rs`. Skipped where the data are not at hand, except in CI.

#[macro_use]
#[path = "../src/assert_close.rs"]
mod assert_close;
mod validation;

use validation::open_data;
use validation::pilot::Experiment;

#[test]
fn one_pair_of_permeabilities_explains_the_new_element() {
    let Some(found) = open_data::summary() else { return };
    assert_eq!(found.series[0].points, 47);
    assert!(found.flow_rms < 0.025, "{}", found.flow_rms);
    assert!(found.salt_rms < 0.09, "{}", found.salt_rms);
    assert!(found.flow_worst < 0.06, "{}", found.flow_worst);
    // An independent implementation (numpy): 1.098 and 0.063, flow 2.0 % and 5.2 %, salt 8.0 %.
    assert_close!(found.element.a25.as_l_m2_h_bar(), 1.098, relative = 0.01);
    assert_close!(found.element.b25.as_l_m2_h(), 0.063, relative = 0.02);
}

#[test]
fn the_campaigns_show_where_they_did_something() {
    let Some(found) = open_data::summary() else { return };
    let [new, sine, rectified] = &found.series;
    assert_eq!((sine.points, rectified.points), (12, 12));
    assert_close!(sine.a_ratio, 1.0, absolute = 0.01);
    // The same independent implementation: +7.6 %.
    assert_close!(rectified.a_ratio, 1.076, absolute = 0.03);
    assert!(2.5 < rectified.b_ratio);
    // Log-mean standardising reports a change where nothing changed, because the points lie at other recoveries: +2.2 % by the same source.
    assert_close!(sine.log_mean_ratio, 1.022, absolute = 0.005);
    assert!(new.a_sd < new.log_mean_sd, "{} {}", new.a_sd, new.log_mean_sd);
}

#[test]
fn the_second_campaign_opened_a_leak() {
    let Some(found) = open_data::summary() else { return };
    let [new, sine, rectified] = found.series.each_ref().map(|series| series.leak);
    // The same independent implementation: 0.05, 0.04 and 0.51 %; 1.4 against 18 % of residual.
    assert!((5.0..=20.0).contains(&(rectified.leak / new.leak)), "{} over {}", rectified.leak, new.leak);
    assert_close!(rectified.leak, 0.0051, relative = 0.1);
    assert!(sine.leak < 0.001);
    assert!(rectified.residual < 0.03 && 0.1 < rectified.residual_without_leak);
}

/// An independent implementation: the hourly standardised flow is constant within 2 % (3 % from one sea to the other) while the raw flow falls by a third.
#[test]
fn a_change_of_the_sea_leaves_the_standardised_flow_alone() {
    let Some(mut found) = validation::pilot::summary() else { return };
    // One experiment had a brackish feed; there neither the standardised flow nor the permeability is that in sea water, as the report says.
    found.retain(|experiment| 20.0 < experiment.feed_g_kg);
    assert_eq!(found.len(), 7);
    let by_salt = |a: &&Experiment, b: &&Experiment| a.feed_g_kg.total_cmp(&b.feed_g_kg);
    let (fresh, salty) = (found.iter().min_by(by_salt).unwrap(), found.iter().max_by(by_salt).unwrap());
    assert!(6.0 < salty.feed_g_kg - fresh.feed_g_kg, "{found:?}");
    assert!(salty.product_l_h < 0.75 * fresh.product_l_h, "{found:?}");
    assert_close!(salty.standardised_l_h, fresh.standardised_l_h, relative = 0.06, "{found:?}");
    assert!(found.iter().all(|experiment| experiment.standardised_sd < 0.04), "{found:?}");
}
