use super::NotFinite;

/// Offset of the Celsius scale, K, by definition.
const CELSIUS_ZERO_K: f64 = 273.15;

/// Temperature on ITS-90.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// From degrees Celsius.
    ///
    /// # Errors
    /// [`NotFinite`] if the value is not finite.
    pub fn from_celsius(value: f64) -> Result<Self, NotFinite> {
        if value.is_finite() { Ok(Self(value)) } else { Err(NotFinite { quantity: "temperature" }) }
    }

    /// In degrees Celsius. Kept as given, so that 25 °C stays exactly 25 °C.
    pub fn as_celsius(self) -> f64 {
        self.0
    }

    /// In kelvin.
    pub fn as_kelvin(self) -> f64 {
        self.0 + CELSIUS_ZERO_K
    }
}
