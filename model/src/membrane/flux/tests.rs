//! The flux against halving of the same equation, which knows no stop rule but rounding.

use super::super::train::OsmoticKind;
use super::*;
use crate::quantity::Temperature;
use crate::seawater::osmotic_pressure::OsmoticPressureAt;

fn sea_water(celsius: f64) -> OsmoticAt {
    let temperature = Temperature::from_celsius(celsius).unwrap();
    OsmoticAt { kind: OsmoticKind::Sea(OsmoticPressureAt::new(temperature)), factor: 1.0 }
}

/// The root of the patch's equation, written from J S_p = B (S_w - S_p) and S_w - S_p = (S_b - S_p) F, halved 200 times in the logarithm.
fn by_halving(patch: &Patch, osmotic: &OsmoticAt) -> f64 {
    let excess = |j: f64| {
        let factor = match patch.polarisation {
            PatchPolarisation::Film(k) => math::exp((j / k).min(EXPONENT_MAX)),
            PatchPolarisation::Fixed(factor) => factor,
        };
        let product = patch.b * patch.bulk_g_kg * factor / (j + patch.b * factor);
        let face = product * (j + patch.b) / patch.b;
        patch.a * (patch.net_pa - osmotic.pa_and_slope(face).0 + osmotic.pa_and_slope(product).0) - j
    };
    let most = patch.a * patch.net_pa;
    let (mut low, mut high) = (1e-12 * most, 1.01 * most);
    for _ in 0..200 {
        let middle = (low * high).sqrt();
        if 0.0 < excess(middle) { low = middle } else { high = middle }
    }
    high
}

/// From a thousandth of the osmotic pressure to three times as much, from membranes that hold nearly everything to open ones, and from good
/// and poor first guesses. A stop rule that counts steps in shares of the largest possible flux was wrong by 1e-5 and more in the trickle.
#[test]
fn the_flux_is_exact_from_the_trickle_to_full_flow() {
    let mut worst: f64 = 0.0;
    for celsius in [2.0, 12.0, 25.0, 38.0] {
        let osmotic = sea_water(celsius);
        for bar in [0.03, 0.3, 1.5, 4.17, 10.0, 18.0, 26.0, 40.0, 60.0, 80.0] {
            for (bulk_g_kg, b_l_m2_h) in
                [(0.5, 0.1), (10.0, 0.01), (32.0, 1e-4), (32.0, 0.02), (40.0, 0.2), (50.0, 2.0)]
            {
                for polarisation in [
                    PatchPolarisation::Film(2e-6),
                    PatchPolarisation::Film(3e-5),
                    PatchPolarisation::Fixed(1.1),
                ] {
                    let (a, b) = (1.6 / 3.6e11, b_l_m2_h / 3.6e6);
                    let patch = Patch { net_pa: 1e5 * bar, bulk_g_kg, a, b, polarisation };
                    let expected = by_halving(&patch, &osmotic);
                    for guess in
                        [patch.first_guess(&osmotic), 0.03 * expected, 1.02 * expected, 7.0 * expected]
                    {
                        let found = patch.solve(&osmotic, guess).unwrap();
                        let share = (found.water_m_s / expected - 1.0).abs();
                        assert!(share < 1e-8, "{share:e} at {celsius} °C, guess {guess:e}, {patch:?}");
                        worst = worst.max(share);
                    }
                }
            }
        }
    }
    // Not exact to rounding, or the rule would spend steps for nothing.
    assert!(1e-12 < worst, "{worst:e}");
}
