//! Seawater properties against published check values, and behaviour outside the ranges.

#[macro_use]
#[path = "../src/assert_close.rs"]
mod assert_close;

use barrico_model::quantity::{
    Conductivity, MassConcentration, PracticalSalinity, Pressure, Salinity, Temperature,
};
use barrico_model::seawater::density::density_kg_m3;
use barrico_model::seawater::osmotic_pressure::{OsmoticPressureAt, osmotic_pressure};
use barrico_model::seawater::practical_salinity::{from_conductivity, to_conductivity};
use barrico_model::seawater::sodium_chloride::SodiumChlorideAt;
use barrico_model::seawater::viscosity::{ViscosityAt, viscosity_pa_s};
use barrico_model::seawater::{
    check_values, product_water, salinity_scales, salt_diffusivity, sodium_chloride,
};
use proptest::prelude::*;

fn celsius(value: f64) -> Temperature {
    Temperature::from_celsius(value).expect("finite")
}

fn g_kg(value: f64) -> Salinity {
    Salinity::from_g_kg(value).expect("finite")
}

fn no_pressure() -> Pressure {
    Pressure::from_bar(0.0).expect("finite")
}

#[test]
fn published_check_values_are_met() {
    let values = check_values::all();
    assert!(values.len() >= 45);
    for value in &values {
        assert!(
            value.holds(),
            "{} at {}: {} against {} ({}), {:+.2e}",
            value.property,
            value.label,
            value.ours,
            value.expected,
            value.source,
            value.relative_error()
        );
    }
    let worst = check_values::worst_by_property();
    assert_eq!(worst.len(), 8);
    assert_eq!(worst.iter().map(|w| w.count).sum::<usize>(), values.len());
}

/// Values of an independent implementation of the same correlations (numpy), so that a slip in a coefficient shows.
#[test]
fn an_independent_implementation_agrees() {
    let rows = [
        // °C, g/kg, kg/m3, mPa s, osmotic coefficient, bar
        (5.0, 35.16504, 1027.6753, 1.619821, 0.901226, 24.1884),
        (15.0, 35.16504, 1025.9720, 1.220279, 0.904570, 25.1293),
        (20.0, 33.0, 1023.1189, 1.071892, 0.904995, 23.9274),
        (20.0, 45.0, 1032.2499, 1.100997, 0.910789, 33.2497),
        (25.0, 35.16504, 1023.3412, 0.959168, 0.906920, 26.0153),
        (30.0, 38.0, 1023.8434, 0.866619, 0.909029, 28.6947),
        (25.0, 0.3, 997.2725, 0.890669, 0.968885, 0.2288),
        (25.0, 5.0, 1000.7901, 0.899098, 0.909860, 3.5985),
        (35.0, 60.0, 1038.4823, 0.826131, 0.924601, 47.8622),
    ];
    for (t, s, rho, mu, phi, pi) in rows {
        assert_close!(density_kg_m3(celsius(t), g_kg(s)), rho, relative = 1e-7, "{t} {s}");
        assert_close!(viscosity_pa_s(celsius(t), g_kg(s)) * 1e3, mu, relative = 1e-5, "{t} {s}");
        let at = OsmoticPressureAt::new(celsius(t));
        assert_close!(at.coefficient(s), phi, relative = 1e-5, "{t} {s}");
        let rounding = 0.5e-4 / pi;
        assert_close!(at.pa(s) / 1e5, pi, relative = 1e-5 + rounding, "{t} {s}");
    }
    let conductivity = Conductivity::from_ms_cm(48.0).unwrap();
    let practical = from_conductivity(conductivity, celsius(20.0), no_pressure()).unwrap();
    assert_close!(practical.as_number(), 35.067_189, relative = 1e-6);
}

/// PHREEQC with its Pitzer data base, standard seawater of 35.165 g/kg; our correlation is known to lie 0.5 % above.
#[test]
fn osmotic_pressure_agrees_with_a_pitzer_model() {
    let rows =
        [(5.0, 24.044), (15.0, 25.003), (20.0, 25.453), (25.0, 25.886), (30.0, 26.301), (35.0, 26.701)];
    for (t, bar) in rows {
        let ours = osmotic_pressure(celsius(t), g_kg(35.165)).unwrap().as_bar();
        assert_close!(ours, bar, relative = 6.5e-3, "{t} °C");
    }
}

/// Geankoplis, Transport Processes and Unit Operations, membrane chapter (from memory): 0.1 mol/kg NaCl at 25 °C, 4.56 atm measured.
#[test]
fn sodium_chloride_of_a_textbook() {
    let salinity = 0.1 * 58.4428 / (1.0 + 0.1 * 58.4428 / 1000.0);
    let pa = SodiumChlorideAt::new(celsius(25.0)).pa_and_slope(salinity).0;
    assert_close!(pa / 101_325.0, 4.56, relative = 3e-3);
}

#[test]
fn test_solution_has_ten_percent_more_osmotic_pressure_than_sea_salt() {
    let nacl = sodium_chloride::osmotic_pressure(celsius(25.0), g_kg(35.0)).unwrap().as_bar();
    let sea = osmotic_pressure(celsius(25.0), g_kg(35.0)).unwrap().as_bar();
    // Own evaluation of Pitzer's equation against TEOS-10 for the same mass fraction: 28.34 and 25.79 bar.
    assert_close!(nacl, 28.34, relative = 1e-3);
    assert_close!(sea, 25.79, relative = 5e-3);
}

/// TEOS-10 library: conductivity of water of practical salinity 0.3 over that at 25 °C.
#[test]
fn compensation_of_product_water() {
    let rows = [(5.0, 61.69), (10.0, 70.71), (15.0, 80.13), (20.0, 89.91), (30.0, 110.37), (35.0, 120.97)];
    let practical = PracticalSalinity::from_number(0.3).unwrap();
    let at_25c = to_conductivity(practical, celsius(25.0)).unwrap();
    for (t, percent) in rows {
        let raw = to_conductivity(practical, celsius(t)).unwrap();
        assert_close!(100.0 * raw.as_us_cm() / at_25c.as_us_cm(), percent, absolute = 6e-3, "{t} °C");
        let compensated = product_water::compensate_to_25c(raw, celsius(t)).unwrap();
        assert_close!(compensated.as_us_cm(), at_25c.as_us_cm(), relative = 1e-9, "{t} °C");
    }
}

/// UNESCO 44 and Millero et al. 2008 by way of the TEOS-10 library: dissolved solids by volume at 20 °C against salinity by mass.
#[test]
fn salinity_by_mass_and_by_volume() {
    let rows =
        [(32_000.0, 31.316), (33_000.0, 32.272), (34_000.0, 33.226), (35_000.0, 34.179), (36_036.0, 35.165)];
    for (mg_l, by_mass) in rows {
        let volume = MassConcentration::from_mg_l(mg_l).unwrap();
        let mass = salinity_scales::salinity_by_mass(volume, celsius(20.0)).unwrap();
        assert_close!(mass.as_g_kg(), by_mass, absolute = 1e-3);
        let back = salinity_scales::mass_concentration(mass, celsius(20.0)).unwrap();
        assert_close!(back.as_mg_l(), mg_l, relative = 1e-9);
    }
    let practical = PracticalSalinity::from_number(35.0).unwrap();
    let reference = salinity_scales::reference_salinity(practical).unwrap();
    assert_close!(reference.as_g_kg(), 35.16504, relative = 1e-12);
}

/// 55 bar raises the conductivity of seawater by about 0.5 %, so reading it as if at the surface gives 0.5 % too much salt.
#[test]
fn the_pressure_term_has_the_right_sign_and_size() {
    let conductivity = Conductivity::from_ms_cm(50.0).unwrap();
    let surface = from_conductivity(conductivity, celsius(20.0), no_pressure()).unwrap().as_number();
    let deep = Pressure::from_bar(55.0).unwrap();
    let deep = from_conductivity(conductivity, celsius(20.0), deep).unwrap().as_number();
    assert_close!(deep / surface, 0.995, absolute = 1.5e-3);
}

/// Stokes-Einstein with 1.6e-9 m2/s at 25 °C; own evaluation, no source.
#[test]
fn diffusivity_follows_the_viscosity() {
    for (t, m2_s) in [(10.0, 1.036e-9), (20.0, 1.398e-9), (25.0, 1.6e-9), (30.0, 1.816e-9)] {
        let ours = salt_diffusivity::salt_diffusivity_m2_s(celsius(t), &ViscosityAt::new(celsius(t)));
        assert_close!(ours, m2_s, relative = 5e-4, "{t} °C");
    }
}

#[test]
fn practical_salinity_is_continuous_at_two() {
    for t in [0.0, 5.0, 15.0, 25.0, 35.0] {
        let at = |n: f64| {
            to_conductivity(PracticalSalinity::from_number(n).unwrap(), celsius(t)).unwrap().as_ms_cm()
        };
        let step = at(2.0 + 1e-7) - at(2.0 - 1e-7);
        assert!(0.0 < step, "{t} °C: {step}");
        assert_close!(step, 2e-7 * at(2.0) / 2.0, relative = 0.15, "{t} °C");
    }
}

#[test]
fn outside_the_ranges_everything_stays_finite_and_rising() {
    for t in [-3.0, 0.0, 25.0, 45.0] {
        let sea = OsmoticPressureAt::new(celsius(t));
        let nacl = SodiumChlorideAt::new(celsius(t));
        let mut before = (-1.0, -1.0);
        for s in [0.0, 1e-6, 9.999, 10.0, 10.001, 50.0, 119.9, 120.1, 999.0, 1001.0, 1e6, 1e30] {
            let now = (sea.pa(s), nacl.pa_and_slope(s).0);
            assert!(before.0 < now.0 && now.0.is_finite(), "sea salt, {t} °C, {s} g/kg");
            assert!(before.1 < now.1 && now.1.is_finite(), "sodium chloride, {t} °C, {s} g/kg");
            before = now;
        }
    }
    assert_eq!(osmotic_pressure(celsius(20.0), g_kg(-5.0)).unwrap().as_pa(), 0.0);
    assert!(to_conductivity(PracticalSalinity::from_number(1e9).unwrap(), celsius(20.0)).is_err());
    assert!(
        from_conductivity(Conductivity::from_ms_cm(50.0).unwrap(), celsius(-40.0), no_pressure()).is_err()
    );
    assert!(viscosity_pa_s(celsius(-40.0), g_kg(35.0)).is_finite());
}

proptest! {
    #[test]
    fn conductivity_and_salinity_are_inverse(practical in 0.01_f64..60.0, t in -2.0_f64..40.0) {
        let given = PracticalSalinity::from_number(practical).unwrap();
        let conductivity = to_conductivity(given, celsius(t)).unwrap();
        let back = from_conductivity(conductivity, celsius(t), no_pressure()).unwrap();
        prop_assert!((back.as_number() - practical).abs() < 1e-9 * practical.max(1.0));
    }

    #[test]
    fn osmotic_pressure_slope_is_its_derivative(s in 0.01_f64..200.0, t in 0.0_f64..40.0) {
        let h = 1e-5 * s;
        let sea = OsmoticPressureAt::new(celsius(t));
        let by_difference = (sea.pa(s + h) - sea.pa(s - h)) / (2.0 * h);
        prop_assert!((by_difference / sea.pa_and_slope(s).1 - 1.0).abs() < 2e-3, "kinks only at 10 and 120 g/kg");
        let nacl = SodiumChlorideAt::new(celsius(t));
        let by_difference = (nacl.pa_and_slope(s + h).0 - nacl.pa_and_slope(s - h).0) / (2.0 * h);
        prop_assert!((by_difference / nacl.pa_and_slope(s).1 - 1.0).abs() < 2e-3);
    }

    #[test]
    fn more_salt_conducts_more_and_weighs_more(s in 0.0_f64..60.0, t in 0.0_f64..40.0) {
        let more = s + 0.01;
        prop_assert!(density_kg_m3(celsius(t), g_kg(s)) < density_kg_m3(celsius(t), g_kg(more)));
        prop_assert!(viscosity_pa_s(celsius(t), g_kg(s)) < viscosity_pa_s(celsius(t), g_kg(more)));
        let conducts = |x| product_water::conductivity_from_salinity(g_kg(x)).unwrap().as_us_cm();
        prop_assert!(conducts(s) < conducts(more));
    }
}
