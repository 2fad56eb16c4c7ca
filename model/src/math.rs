//! The only door to transcendental functions.
//!
//! The standard library's `exp`, `ln` and `powf` come from the platform and differ between processors in
//! the last bit. The same input must give the same output everywhere, so everything goes through `libm`, which is plain
//! Rust. `sqrt`, `abs`, `floor` and the four operations are exact by IEEE 754 and need no door.

/// e to the power of `x`.
pub fn exp(x: f64) -> f64 {
    libm::exp(x)
}

/// Natural logarithm of `x`.
pub fn ln(x: f64) -> f64 {
    libm::log(x)
}

/// `x` to the power of `y`.
pub fn pow(x: f64, y: f64) -> f64 {
    libm::pow(x, y)
}

/// Sine of `x`, in radians.
pub fn sin(x: f64) -> f64 {
    libm::sin(x)
}

/// Cosine of `x`, in radians.
pub fn cos(x: f64) -> f64 {
    libm::cos(x)
}

/// Error function, as needed for the normal distribution.
pub fn erf(x: f64) -> f64 {
    libm::erf(x)
}
