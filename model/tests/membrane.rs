//! Trains of elements against an independent implementation, and the relations that must hold whatever the numbers.

#[macro_use]
#[path = "../src/assert_close.rs"]
mod assert_close;
mod validation;

use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, Polarisation, Train, TrainAt, TrainError, TrainOutput,
};
use barrico_model::quantity::{Area, Flow, Pressure, SaltPermeability, WaterPermeability};
use proptest::prelude::*;
use validation::common::{area, bar, element, form, from_sheet, l_h, sea};
use validation::vectors::FORWARD;

#[test]
fn an_independent_implementation_agrees_in_every_form() {
    for (polarisation, a25, b25, rows) in FORWARD {
        for (count, feed, products, mixed_mg_kg, inlet_bar, concentrate, factors) in rows {
            let train =
                Train::of_equal(element(a25, b25), count).at(&sea(20.0, 33.0), &form(polarisation)).unwrap();
            let output = train.with_outlet_pressure(l_h(feed), bar(55.2), bar(0.0)).unwrap();
            let context = format!("{polarisation:?}, {count} at {feed} L/h");
            for (i, (found, product)) in output.elements.iter().zip(products).enumerate() {
                assert_close!(found.product_m3_s * 3.6e6, *product, relative = 4e-4, "{context}");
                assert_close!(found.polarisation, factors[i], absolute = 1e-3, "{context}");
            }
            assert_close!(output.product_g_kg * 1e3, mixed_mg_kg, relative = 6e-4, "{context}");
            assert_close!(output.inlet_pa / 1e5, inlet_bar, absolute = 1e-3, "{context}");
            assert_close!(output.concentrate_g_kg, concentrate, relative = 2e-4, "{context}");
        }
    }
}

/// The same source: a large feed on a lightly loaded element, in warm and in cold water.
#[test]
fn an_independent_implementation_agrees_on_a_lightly_loaded_element() {
    let one = element(2.797742e-12, 4.983215e-8);
    let at = |t, s, train: Train| {
        train
            .at(&sea(t, s), &Form::default())
            .unwrap()
            .with_outlet_pressure(l_h(720.0), bar(55.0), bar(0.0))
            .unwrap()
    };
    let warm = at(25.0, 35.0, Train::of_equal(one, 1));
    assert_close!(warm.product_m3_s * 3.6e6, 72.0, relative = 1e-3);
    assert_close!(warm.product_g_kg * 1e3, 280.0, relative = 1e-3);
    assert_close!(warm.recovery(), 0.100, absolute = 1e-3);
    let cold = at(8.0, 33.0, Train::of_equal(one, 1));
    assert_close!(cold.product_m3_s * 3.6e6, 44.6, relative = 2e-3);
    assert_close!(cold.product_g_kg * 1e3, 189.0, relative = 3e-3);
    let two = at(25.0, 35.0, Train::of_equal(one, 2));
    assert_close!(two.elements[0].product_m3_s * 3.6e6, 73.92, relative = 1e-3);
    assert_close!(two.elements[1].product_m3_s * 3.6e6, 62.50, relative = 1e-3);
    assert_close!(two.product_g_kg * 1e3, 311.0, relative = 2e-3);
    let side_by_side = at(25.0, 35.0, Train { elements: vec![one], parallel: 2 });
    assert_close!(side_by_side.product_m3_s * 3.6e6, 123.5, relative = 1e-3);
}

/// The same source, L/(m2 h bar) and L/(m2 h), three digits, for sheets at 99.4 %. It took the density of sea salt for the test solution, which makes
/// its water permeability 0.2 % lower.
#[test]
fn permeabilities_from_sheets() {
    let film = Polarisation::default();
    let rows = [
        (500.0, 2.6, Polarisation::Absent, 1.074, 0.176),
        (500.0, 2.6, Polarisation::Exponential, 1.138, 0.166),
        (500.0, 2.6, Polarisation::Film { multiplier: 1.0 }, 1.209, 0.158),
        (500.0, 2.6, film, 1.165, 0.163),
        (600.0, 2.8, film, 1.311, 0.181),
        (700.0, 2.8, Polarisation::Absent, 1.420, 0.228),
        (700.0, 2.8, Polarisation::Exponential, 1.506, 0.216),
        (700.0, 2.8, Polarisation::Film { multiplier: 1.0 }, 1.609, 0.204),
        (700.0, 2.8, film, 1.547, 0.211),
        (850.0, 2.8, film, 1.913, 0.256),
    ];
    for (gpd, area_m2, polarisation, a, b) in rows {
        let found = from_sheet(gpd, area_m2, &form(polarisation));
        assert_close!(found.a25.as_l_m2_h_bar(), a, relative = 4e-3, "{gpd} {polarisation:?}");
        assert_close!(found.b25.as_l_m2_h(), b, relative = 4e-3, "{gpd} {polarisation:?}");
    }
}

#[test]
fn an_element_made_from_its_sheet_meets_it() {
    let found = from_sheet(700.0, 2.8, &Form::default());
    assert_close!(found.a25.as_m_s_pa(), 4.298579e-12, relative = 3e-3);
    assert_close!(found.b25.as_m_s(), 5.857768e-8, relative = 1e-3);
}

#[test]
fn a_sheet_that_no_membrane_can_meet_is_refused() {
    use barrico_model::membrane::specification::element_from_sheet;
    let law = DifferentialPressureLaw::small_element();
    let with = |sheet| element_from_sheet(area(2.8), 0.9, &sheet, law, &Form::default());
    let usual = validation::common::sheet(700.0);
    assert!(with(usual).is_ok());
    for bad in [
        barrico_model::membrane::TestConditions { rejection: 1.0, ..usual },
        barrico_model::membrane::TestConditions { recovery: 0.0, ..usual },
        barrico_model::membrane::TestConditions { pressure: bar(20.0), ..usual },
        barrico_model::membrane::TestConditions { product: l_h(1e6), ..usual },
        barrico_model::membrane::TestConditions { product: l_h(-1.0), ..usual },
    ] {
        let failed = with(bad);
        assert!(failed.is_err(), "{bad:?} gave {failed:?}");
    }
}

fn boat_unit(count: usize, form: &Form) -> TrainAt {
    Train::of_equal(element(4.298579e-12, 5.857768e-8), count).at(&sea(20.0, 33.0), form).expect("in range")
}

/// Product of the two-element unit converges with the square of the slice.
#[test]
fn slices_converge_with_second_order() {
    let product = |slices| {
        let train = boat_unit(2, &Form { slices, ..Form::default() });
        train.with_inlet_pressure(l_h(327.0), bar(55.678), bar(0.0)).unwrap().product_m3_s
    };
    let limit = product(800);
    let error = |slices| (product(slices) - limit).abs() / limit;
    assert!(error(5) < 1.0e-3 && error(10) < 3e-4, "{:e} {:e}", error(5), error(10));
    for slices in [5, 10, 20] {
        // Four is second order; the extrapolated start of each slice adds a part of third.
        let ratio = error(slices) / error(2 * slices);
        assert!(3.5 <= ratio, "{slices}: {ratio}");
    }
}

fn balances_close(output: &TrainOutput, train: &TrainAt, salinity: f64) {
    let mass = |flow: f64, s: f64| flow * train.density_kg_m3(s);
    let feed = mass(output.feed_m3_s, salinity);
    let (mut product, mut salt) = (0.0, 0.0);
    for element in &output.elements {
        // The density of a mixture is not quite that of its mean salinity, so the mass is taken from the stream.
        let passed = mass(element.feed_m3_s, feed_salinity(element, output, salinity))
            - mass(element.concentrate_m3_s, element.concentrate_g_kg);
        product += passed;
        salt += passed * element.product_g_kg;
    }
    let concentrate = mass(output.concentrate_m3_s, output.concentrate_g_kg);
    assert_close!(product + concentrate, feed, relative = 1e-12, "water");
    assert_close!(salt + concentrate * output.concentrate_g_kg, feed * salinity, relative = 1e-11, "salt");
}

fn feed_salinity(
    element: &barrico_model::membrane::ElementOutput,
    output: &TrainOutput,
    salinity: f64,
) -> f64 {
    let at = output.elements.iter().position(|other| std::ptr::eq(other, element)).expect("one of them");
    if at == 0 { salinity } else { output.elements[at - 1].concentrate_g_kg }
}

/// With the pressure below the osmotic pressure product does not stop but becomes a salty trickle.
#[test]
fn below_the_osmotic_pressure_there_is_a_salty_trickle() {
    let train = boat_unit(1, &Form::default());
    let at = |p| {
        let output = train.with_outlet_pressure(l_h(327.0), bar(p), bar(0.0)).unwrap();
        (output.product_m3_s * 3.6e6, output.product_g_kg)
    };
    // The same independent implementation: 24 bar 5.6 L/h at 2.6 g/kg, 20 bar 2.0 L/h at 6.4 g/kg.
    let (flow, salt) = at(24.0);
    assert_close!(flow, 5.6, absolute = 0.06);
    assert_close!(salt, 2.6, absolute = 0.06);
    let (flow, salt) = at(20.0);
    assert_close!(flow, 2.0, absolute = 0.06);
    assert_close!(salt, 6.4, absolute = 0.06);
}

/// Found at random: the flux of each slice was once exact only to a share of what the pressure alone would drive, a thousand times the trickle here, and
/// one hundredth more permeability showed as 8e-6 less product.
#[test]
fn below_the_osmotic_pressure_product_still_rises_with_permeability() {
    let product = |a| {
        let case = Case { t: 11.51, s: 31.83, p: 4.17, feed: 1851.0, count: 2, a, b: 0.0215, leak: 0.00183 };
        case.solve().unwrap().product_m3_s
    };
    let gain = product(1.590 * 1.01) / product(1.590) - 1.0;
    // The trickle is what osmosis leaves, so it hardly depends on the membrane: own evaluation with a stop rule four orders tighter.
    assert_close!(gain, 1.490531e-5, absolute = 1e-9);
}

/// Found at random, the same cause: the error with few slices is small here, and that of the flux hid the order.
#[test]
fn below_the_osmotic_pressure_slices_still_converge_with_second_order() {
    let case =
        Case { t: 4.14, s: 39.23, p: 13.90, feed: 165.0, count: 1, a: 2.795, b: 0.0228, leak: 0.00214 };
    let product = |slices| {
        let form = Form { slices, ..Form::default() };
        let train = Train::of_equal(case.element(), case.count).at(&sea(case.t, case.s), &form).unwrap();
        train.with_inlet_pressure(l_h(case.feed), bar(case.p), bar(0.0)).unwrap().product_m3_s
    };
    let limit = product(1000);
    let error = |slices| (product(slices) / limit - 1.0).abs();
    assert!(error(10) < 2e-7, "{:e}", error(10));
    for slices in [5, 10, 20, 40] {
        assert_close!(error(slices) / error(2 * slices), 4.0, absolute = 0.1, "{slices}");
    }
}

#[test]
fn without_pressure_or_feed_nothing_is_made_up() {
    let train = boat_unit(2, &Form::default());
    let none = train.with_inlet_pressure(l_h(327.0), bar(0.0), bar(0.0)).unwrap();
    assert_eq!(none.product_m3_s, 0.0);
    assert_close!(none.concentrate_g_kg, 33.0, relative = 1e-12);
    assert_eq!(train.with_inlet_pressure(l_h(0.0), bar(55.0), bar(0.0)), Err(TrainError::NoFeed));
    let fresh = Train::of_equal(element(4.3e-12, 5.9e-8), 2).at(&sea(20.0, 0.1), &Form::default()).unwrap();
    assert_eq!(fresh.with_inlet_pressure(l_h(50.0), bar(55.0), bar(0.0)), Err(TrainError::FeedUsedUp));
    let empty = Train { elements: Vec::new(), parallel: 1 };
    assert_eq!(empty.at(&sea(20.0, 33.0), &Form::default()).unwrap_err(), TrainError::Shape);
    let hot = Train::of_equal(element(4e-12, 5e-8), 1).at(&sea(90.0, 33.0), &Form::default());
    assert_eq!(hot.unwrap_err(), TrainError::Temperature);
}

#[test]
fn a_leak_makes_product_saltier_and_not_more() {
    let solved = |leak| {
        let leaking = Element { leak, ..element(4.298579e-12, 5.857768e-8) };
        let train = Train::of_equal(leaking, 1).at(&sea(20.0, 33.0), &Form::default()).unwrap();
        train.with_outlet_pressure(l_h(327.0), bar(55.2), bar(0.0)).unwrap()
    };
    let (sound, leaking) = (solved(0.0), solved(0.002));
    assert_close!(leaking.product_m3_s, sound.product_m3_s, relative = 2e-3);
    // 0.2 % of water of the face's salinity, about 1.27 times 37 g/kg.
    assert_close!(leaking.product_g_kg - sound.product_g_kg, 0.002 * 1.27 * 37.0, relative = 0.03);
}

#[derive(Clone, Debug)]
struct Case {
    t: f64,
    s: f64,
    p: f64,
    feed: f64,
    count: usize,
    a: f64,
    b: f64,
    leak: f64,
}

fn cases() -> impl Strategy<Value = Case> {
    (0.0..40.0_f64, 0.0..50.0_f64, 0.0..80.0_f64, 100.0..1500.0_f64, 1..=8_usize, 0.3..3.0_f64, 0.02..2.0_f64)
        .prop_map(|(t, s, p, feed, count, a, b)| Case { t, s, p, feed, count, a, b, leak: 0.0 })
}

impl Case {
    fn element(&self) -> Element {
        Element {
            a25: WaterPermeability::from_l_m2_h_bar(self.a).expect("finite"),
            b25: SaltPermeability::from_l_m2_h(self.b).expect("finite"),
            leak: self.leak,
            ..element(4e-12, 5e-8)
        }
    }

    fn train(&self) -> TrainAt {
        Train::of_equal(self.element(), self.count)
            .at(&sea(self.t, self.s), &Form::default())
            .expect("in range")
    }

    fn solve(&self) -> Result<TrainOutput, TrainError> {
        self.train().with_outlet_pressure(l_h(self.feed), bar(self.p), bar(0.0))
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn every_case_ends_in_numbers_or_a_name(case in cases()) {
        match case.solve() {
            Err(error) => prop_assert_eq!(error, TrainError::FeedUsedUp),
            Ok(output) => {
                let numbers = [output.product_m3_s, output.product_g_kg, output.concentrate_m3_s, output.concentrate_g_kg, output.inlet_pa];
                prop_assert!(numbers.iter().all(|number| number.is_finite() && 0.0 <= *number), "{:?}", output);
                prop_assert!(output.product_g_kg <= case.s * (1.0 + 1e-9));
                prop_assert!((output.outlet_pa / 1e5 - case.p).abs() < 1e-4);
                balances_close(&output, &case.train(), case.s);
            }
        }
    }

    #[test]
    fn product_grows_with_pressure_temperature_feed_and_permeability_and_falls_with_salt(case in cases()) {
        let more = |change: fn(&mut Case)| {
            let mut other = case.clone();
            change(&mut other);
            other.solve().map(|output| output.product_m3_s)
        };
        if let Ok(output) = case.solve() {
            let here = output.product_m3_s;
            // Where osmosis, not the membrane, limits the product (little pressure over the concentrate's osmotic pressure, or nearly all
            // the water taken), warmth may cost product, because the osmotic pressure rises with it.
            if 0.5 < output.recovery() || case.p < 0.8 * output.concentrate_g_kg + 8.0 {
                return Ok(());
            }
            let margin = 1.0 + 1e-9;
            if let Ok(there) = more(|c| c.p += 1.0) { prop_assert!(here < there * margin, "pressure") }
            if let Ok(there) = more(|c| c.t += 1.0) { prop_assert!(here < there * margin, "temperature") }
            if let Ok(there) = more(|c| c.a *= 1.02) { prop_assert!(here < there * margin, "permeability") }
            if let Ok(there) = more(|c| c.feed *= 1.05) { prop_assert!(here < there * margin, "feed") }
            if let Ok(there) = more(|c| c.s += 0.5) { prop_assert!(there < here * margin, "salt") }
        }
    }

    #[test]
    fn a_small_change_changes_little(case in cases()) {
        let mut near = case.clone();
        (near.t, near.s, near.p, near.feed) = (case.t + 1e-7, case.s + 1e-7, case.p + 1e-7, case.feed + 1e-6);
        if let (Ok(here), Ok(there)) = (case.solve(), near.solve()) {
            let scale = here.product_m3_s.max(1e-9);
            prop_assert!((here.product_m3_s - there.product_m3_s).abs() < 1e-5 * scale);
        }
    }
}

#[test]
fn quantities_refuse_what_is_not_finite_before_the_model_sees_it() {
    assert!(Flow::from_l_h(f64::NAN).is_err() && Pressure::from_bar(f64::INFINITY).is_err());
    assert!(Area::from_m2(f64::NAN).is_err());
}

/// Nearly fresh water and membranes that take nearly all of it: product once came out as salty as the feed to the last digit, and the
/// salinity at the face, a difference of the two times a huge factor, was lost.
#[test]
fn a_train_that_runs_dry_is_named() {
    let case =
        Case { t: 23.12, s: 1.0664, p: 75.797, feed: 526.02, count: 3, a: 2.7164, b: 1.8568, leak: 0.0 };
    assert_eq!(case.solve(), Err(TrainError::FeedUsedUp));
}
