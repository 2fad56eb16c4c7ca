//! The same case told otherwise: with instrument noise, in other units, without one of the deciding readings.

use barrico::case::{Case, Deciding};
use barrico::intake::usual_errors;
use barrico_model::{Dimension, Quantity};
use serde_json::Value;

/// Numbers that only look like chance (splitmix64, Steele, Lea & Flood 2014): the same seed gives the same noise on every machine.
pub struct Chance(pub u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Standard normal, as the sum of twelve uniform numbers less six: near enough for noise, and without rare extremes.
    fn normal(&mut self) -> f64 {
        (0..12).map(|_| (self.next() >> 11) as f64 / (1_u64 << 53) as f64).sum::<f64>() - 6.0
    }
}

/// Adds the random error of its instrument to every reading, in the baseline too. What would become impossible stays as it was.
pub fn noisy(case: &mut Case, chance: &mut Chance) {
    let instruments = case.question.settings.instruments.clone();
    let sets = case.question.baseline.iter_mut().chain(&mut case.question.readings);
    for reading in sets.flat_map(|set| &mut set.readings) {
        let draw = chance.normal();
        let named = reading.instrument.as_deref();
        let instrument =
            instruments.iter().find(|known| Some(known.id.as_str()) == named).or(instruments.first());
        let Some(instrument) = instrument else { continue };
        // A zero is a stopped pump or an empty gauge, not a small number.
        if reading.value == 0.0 {
            continue;
        }
        let value = reading.value + draw * usual_errors(instrument, reading.quantity, reading.value).0;
        if reading.quantity.is_possible(value) {
            reading.value = value;
        }
    }
}

/// Every reading in another unit. Digits enough to be the same value.
pub fn in_other_units(json: &mut Value) {
    for pointer in ["/readings", "/baseline/readings"] {
        for reading in json.pointer_mut(pointer).and_then(Value::as_array_mut).into_iter().flatten() {
            let name = reading["quantity"].as_str().unwrap_or("").to_string();
            let text = reading["value"].as_str().unwrap_or("").to_string();
            if let Some(other) = Quantity::from_name(&name).and_then(|quantity| converted(quantity, &text)) {
                reading["value"] = Value::String(other);
            }
        }
    }
}

/// The same amount in another unit; `None`: there is only one, or it is already another.
fn converted(quantity: Quantity, text: &str) -> Option<String> {
    let (number, unit) = text.split_once(' ')?;
    let value: f64 = number.parse().ok()?;
    // Factors: 1 psi = 0.0689476 bar and 1 US gallon = 3.785412 L (NIST SP 811, appendix B).
    let (value, unit) = match (quantity.dimension(), unit) {
        (Dimension::Pressure | Dimension::PressureDifference, "bar") => (value / 0.068_947_57, "psi"),
        (Dimension::Flow, "L/h") => (value / 3.785_411_784, "US gal/h"),
        (Dimension::Temperature, "C") => (value * 1.8 + 32.0, "F"),
        (Dimension::Conductivity, "uS/cm") => (value / 1000.0, "mS/cm"),
        (Dimension::Duration, "h") => (value * 60.0, "min"),
        _ => return None,
    };
    Some(format!("{:.6} {unit}", value))
}

/// Takes the deciding readings of one name out of the present ones. False: there was none.
pub fn without(json: &mut Value, deciding: Deciding) -> bool {
    let is_it = |reading: &Value| {
        let name = reading["quantity"].as_str().unwrap_or("");
        let second = reading["second_instrument"] == Value::Bool(true) || reading["sender"].is_string();
        match deciding {
            // Conductivity and salinity of the product are one reading in two forms.
            Deciding::Quantity(Quantity::ProductConductivity) => {
                ["product_conductivity", "product_salinity"].contains(&name)
            }
            Deciding::Quantity(quantity) => name == quantity.name(),
            Deciding::ByElement => reading.get("element").is_some(),
            Deciding::SecondInstrument => second,
            Deciding::Inspection => false,
        }
    };
    let mut taken = false;
    if let Some(readings) = json["readings"].as_array_mut() {
        let before = readings.len();
        readings.retain(|reading| !is_it(reading));
        taken = readings.len() < before;
    }
    if deciding == Deciding::Inspection {
        for key in ["observations", "log"] {
            let list = json.get_mut(key).and_then(Value::as_array_mut);
            taken |= list.is_some_and(|list| !std::mem::take(list).is_empty());
        }
    }
    taken
}

/// How much surer an answer may become by rounding alone.
pub const SURER: f64 = 0.01;

/// Is the second answer surer than the first? Each: is it decided, and the probability of its first cause.
pub fn is_surer(before: (bool, f64), after: (bool, f64)) -> bool {
    after.0 && (!before.0 || before.1 + SURER < after.1)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn other_units_are_the_same_amount() {
        let number = |text: Option<String>| -> f64 {
            text.expect("converted").split(' ').next().and_then(|n| n.parse().ok()).expect("a number")
        };
        // 55 bar is 798 psi, 72 L/h is 19.0 US gal/h, 25 °C is 77 °F.
        assert!((number(converted(Quantity::FeedPressure, "55 bar")) - 797.7).abs() < 0.1);
        assert!((number(converted(Quantity::ProductFlow, "72 L/h")) - 19.02).abs() < 0.01);
        assert!((number(converted(Quantity::FeedTemperature, "25 C")) - 77.0).abs() < 1e-9);
        assert_eq!(converted(Quantity::SupplyVoltage, "12 V"), None);
    }

    #[test]
    fn a_deciding_reading_is_taken_out_of_the_present_ones_only() {
        let mut json = json!({
            "baseline": { "readings": [{ "quantity": "concentrate_flow", "value": "1 L/h" }] },
            "readings": [{ "quantity": "concentrate_flow", "value": "1 L/h" }, { "quantity": "feed_pressure", "value": "1 bar" }],
            "observations": [{ "observation": "gauge-swings" }],
        });
        assert!(without(&mut json, Deciding::Quantity(Quantity::ConcentrateFlow)));
        assert_eq!(json["readings"].as_array().map(Vec::len), Some(1));
        assert_eq!(json["baseline"]["readings"].as_array().map(Vec::len), Some(1));
        assert!(!without(&mut json, Deciding::SecondInstrument));
        assert!(without(&mut json, Deciding::Inspection) && json["observations"] == json!([]));
    }

    #[test]
    fn noise_has_the_spread_it_says() {
        let mut chance = Chance(1);
        let draws: Vec<f64> = (0..10_000).map(|_| chance.normal()).collect();
        let mean = draws.iter().sum::<f64>() / 1e4;
        let sd = (draws.iter().map(|x| (x - mean) * (x - mean)).sum::<f64>() / 1e4).sqrt();
        // Errors of mean and deviation of 10,000 normal draws: 0.01 and 0.007.
        assert!(mean.abs() < 0.04 && (sd - 1.0).abs() < 0.03, "{mean} {sd}");
    }

    #[test]
    fn surer_means_decided_with_more_than_before() {
        assert!(is_surer((false, 0.4), (true, 0.6)));
        assert!(is_surer((true, 0.6), (true, 0.7)));
        assert!(!is_surer((true, 0.6), (true, 0.605)));
        assert!(!is_surer((true, 0.9), (false, 0.45)));
    }
}
