//! Physical quantities as types: one newtype each, SI inside, finite by construction.
//!
//! What this is: the types in the signatures of the physics, so that a pressure cannot be passed for a temperature and a number
//! without a unit cannot be passed at all. What it is not: a unit system. There is no arithmetic between quantities; a correlation
//! takes the number out in the unit in which it was published and gives a quantity back. What happens on failure: a value that is not finite,
//! or would not be after conversion, is refused by the constructor with [`NotFinite`] and goes no further.

mod area;
mod conductivity;
mod flow;
mod permeability;
mod power;
mod pressure;
mod salinity;
mod temperature;

pub use area::Area;
pub use conductivity::Conductivity;
pub use flow::Flow;
pub use permeability::{SaltPermeability, WaterPermeability};
pub use power::Power;
pub use pressure::Pressure;
pub use salinity::{MassConcentration, PracticalSalinity, Salinity};
pub use temperature::Temperature;

/// A number that is no number of anything: NaN, infinite, or too large for its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{quantity} is not a finite number")]
pub struct NotFinite {
    /// Which quantity was to be made of it.
    pub quantity: &'static str,
}

/// Defines a newtype over one finite SI value, with a constructor and a getter for each unit in use.
macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $label:literal,
     $($(#[$from_doc:meta])* $from:ident, $(#[$as_doc:meta])* $as:ident, $si_per_unit:expr;)+) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            $(
                $(#[$from_doc])*
                ///
                /// # Errors
                /// [`NotFinite`](super::NotFinite) if the value is not finite in SI.
                pub fn $from(value: f64) -> Result<Self, super::NotFinite> {
                    let si = value * $si_per_unit;
                    if si.is_finite() { Ok(Self(si)) } else { Err(super::NotFinite { quantity: $label }) }
                }

                $(#[$as_doc])*
                pub fn $as(self) -> f64 {
                    self.0 / $si_per_unit
                }
            )+
        }
    };
}
use quantity;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_finite_stops_at_the_door() {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert!(Pressure::from_bar(bad).is_err());
            assert!(Temperature::from_celsius(bad).is_err());
            assert!(Flow::from_l_h(bad).is_err());
            assert!(Salinity::from_g_kg(bad).is_err());
        }
        assert!(Pressure::from_bar(1e305).is_err(), "finite in bar, not in Pa");
        assert_eq!(Pressure::from_bar(f64::NAN).unwrap_err().to_string(), "pressure is not a finite number");
    }

    #[test]
    fn units_round_trip() {
        assert_close!(Pressure::from_bar(55.2).unwrap().as_pa(), 5.52e6, relative = 1e-15);
        assert_close!(Flow::from_l_min(5.45).unwrap().as_l_h(), 327.0, relative = 1e-14);
        assert_close!(Temperature::from_celsius(25.0).unwrap().as_kelvin(), 298.15, relative = 1e-15);
        assert_close!(Conductivity::from_us_cm(500.0).unwrap().as_ms_cm(), 0.5, relative = 1e-14);
        // 1 L/(m2 h bar) = 1e-3 / 3600 / 1e5 m/(s Pa), from the definitions of the units.
        let a = WaterPermeability::from_l_m2_h_bar(1.0).unwrap();
        assert_close!(a.as_m_s_pa(), 2.777_777_777_8e-12, relative = 1e-10);
    }
}
