//! Numbers that must be there in the domain, and `null` for what is not a number.

use serde::{Deserialize, Deserializer, Serializer};

/// JSON has no NaN: what is not a number is not known.
pub fn finite(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

/// Writes a number, or `null`.
pub fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
    match finite(*value) {
        Some(value) => serializer.serialize_f64(value),
        None => serializer.serialize_none(),
    }
}

/// Reads a number; `null` becomes NaN, which the model takes for unknown.
pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
    Ok(Option::<f64>::deserialize(deserializer)?.unwrap_or(f64::NAN))
}

/// A 64-bit number as 16 hexadecimal digits.
pub mod hex {
    use serde::{Deserialize, Deserializer, Serializer, de};

    /// Writes it.
    pub fn serialize<S: Serializer>(value: &u64, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&format!("{value:016x}"))
    }

    /// Reads it.
    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<u64, D::Error> {
        let text = String::deserialize(deserializer)?;
        let digits = text.bytes().all(|byte| byte.is_ascii_hexdigit());
        u64::from_str_radix(&text, 16)
            .ok()
            .filter(|_| digits)
            .ok_or_else(|| de::Error::custom("expected up to 16 hexadecimal digits"))
    }
}
