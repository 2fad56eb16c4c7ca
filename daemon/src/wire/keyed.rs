//! Numbers under the JSON keys of their quantities.

use super::WireError;
use super::number::finite;
use barrico_model::Quantity;
use std::collections::BTreeMap;

/// Key with unit to number; `null` where it is not known.
pub type Keyed = BTreeMap<String, Option<f64>>;

/// Puts a number under the key of its quantity.
pub fn put(keyed: &mut Keyed, quantity: Quantity, value: f64) {
    keyed.insert(quantity.json_key().to_owned(), finite(value));
}

/// The number under a key; unknown is NaN.
pub fn get(keyed: &Keyed, key: &str) -> f64 {
    keyed.get(key).copied().flatten().unwrap_or(f64::NAN)
}

/// The quantity of a JSON key, such as `feed_pressure_bar_gauge`.
pub fn quantity_of_key(key: &str) -> Result<Quantity, WireError> {
    Quantity::ALL
        .iter()
        .copied()
        .find(|quantity| quantity.json_key() == key)
        .ok_or_else(|| WireError::word("quantity with its unit", key))
}

/// The quantity of a name, such as `feed_pressure`.
pub fn quantity_of_name(name: &str) -> Result<Quantity, WireError> {
    Quantity::from_name(name).ok_or_else(|| WireError::word("quantity", name))
}
