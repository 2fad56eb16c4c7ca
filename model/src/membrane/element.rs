//! One membrane module as the model sees it.

use super::DifferentialPressureLaw;
use crate::quantity::{Area, SaltPermeability, WaterPermeability};

/// Active length of a 40-inch element, m (from memory of the trade).
const LENGTH_40_INCH_M: f64 = 0.90;

/// What the end pieces of an element take of its nominal length, m: 40 inches less 0.90 m.
const END_PIECES_M: f64 = 40.0 * 0.0254 - LENGTH_40_INCH_M;

/// One membrane module. Permeabilities are those at 25 °C and belong to the form of polarisation and temperature they were found with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Element {
    /// Active area.
    pub area: Area,
    /// Active length along the flow, m.
    pub length_m: f64,
    /// Water permeability at 25 °C.
    pub a25: WaterPermeability,
    /// Salt permeability at 25 °C.
    pub b25: SaltPermeability,
    /// Water from the membrane's face that reaches the product past the membrane, as a share of the product.
    pub leak: f64,
    /// Law of its differential pressure.
    pub differential_pressure: DifferentialPressureLaw,
}

/// Active length, m, of an element of this size class: the last two digits are its length in inches ("2540", "4021"). A name that is
/// no such class counts as 40 inches, the commonest.
pub fn active_length_m(size: &str) -> f64 {
    let digits =
        size.len().checked_sub(2).and_then(|at| size.get(at..)).and_then(|end| end.parse::<u8>().ok());
    match digits {
        Some(inches) if (12..=60).contains(&inches) => f64::from(inches) * 0.0254 - END_PIECES_M,
        _ => LENGTH_40_INCH_M,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_length_is_in_the_size_class() {
        assert_close!(active_length_m("2540"), 0.90, relative = 1e-12);
        assert_close!(active_length_m("4040"), 0.90, relative = 1e-12);
        assert_close!(active_length_m("2521"), 0.90 - 19.0 * 0.0254, relative = 1e-12);
        for odd in ["", "x", "own", "2599", "°°"] {
            assert_close!(active_length_m(odd), 0.90, relative = 1e-12, "{odd}");
        }
    }
}
