//! The sea along a passage of our own invention: from a cool harbour over a warmer ocean into a warm, salty sea.
//!
//! Temperatures and salinities are round numbers of the right size for such waters (common knowledge, no source). They follow
//! the clock, not the position: a boat that stays is in the table too.

use super::random::Random;
use barrico_model::math;

/// Where the boat is and what it floats in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Water {
    /// Temperature at the intake, °C.
    pub temperature_c: f64,
    /// Salinity, g/kg.
    pub salinity_g_kg: f64,
    /// Latitude, degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude, degrees, east positive.
    pub longitude_deg: f64,
}

/// Hours since the beginning, latitude, longitude, °C, g/kg; straight lines between, the last row for ever after.
const PASSAGE: [(f64, [f64; 4]); 10] = [
    (0.0, [48.0, -5.0, 16.0, 34.8]),
    (96.0, [48.0, -5.0, 16.4, 34.8]),
    (144.0, [45.0, -8.0, 17.2, 35.3]),
    (216.0, [41.0, -10.0, 18.0, 35.8]),
    (288.0, [36.5, -8.5, 19.5, 36.2]),
    (336.0, [36.0, -4.5, 20.5, 36.6]),
    (432.0, [38.0, 4.0, 22.5, 37.4]),
    (552.0, [37.5, 11.5, 24.0, 37.8]),
    (672.0, [36.0, 18.5, 25.0, 38.4]),
    (792.0, [35.5, 24.0, 25.5, 38.8]),
];

/// Half of the difference between afternoon and early morning, K.
const DAY_K: f64 = 0.25;

/// The sea as this seed has it.
#[derive(Clone, Debug)]
pub(super) struct Sea {
    /// Phases of two slow waves in temperature and salinity: fronts and eddies.
    phases: [f64; 4],
}

impl Sea {
    pub fn new(seed: u64) -> Self {
        let mut random = Random::new(seed, 1);
        Self { phases: std::array::from_fn(|_| random.uniform()) }
    }

    /// The water after so many hours. `hour_of_day` is UTC.
    pub fn at(&self, hours: f64, hour_of_day: f64) -> Water {
        let [latitude_deg, longitude_deg, temperature_c, salinity_g_kg] = on_passage(hours);
        let wave = |turns: f64| math::sin(std::f64::consts::TAU * turns);
        let [a, b, c, d] = self.phases;
        // Fronts come about every two and five days; the sea is warmest in the middle of the afternoon.
        let front_k = 0.20 * wave(hours / 53.0 + a) + 0.20 * wave(hours / 117.0 + b);
        let front_g_kg = 0.06 * wave(hours / 61.0 + c) + 0.08 * wave(hours / 127.0 + d);
        let day_k = DAY_K * wave((hour_of_day - 9.0) / 24.0);
        Water {
            temperature_c: temperature_c + front_k + day_k,
            salinity_g_kg: salinity_g_kg + front_g_kg,
            latitude_deg,
            longitude_deg,
        }
    }
}

fn on_passage(hours: f64) -> [f64; 4] {
    let after = PASSAGE.iter().position(|(from, _)| hours < *from).unwrap_or(PASSAGE.len());
    let (Some((_, there)), Some((_, here))) = (PASSAGE.get(after), PASSAGE.get(after.wrapping_sub(1))) else {
        return if after == 0 { PASSAGE[0].1 } else { PASSAGE[PASSAGE.len() - 1].1 };
    };
    let (from, to) = (PASSAGE[after - 1].0, PASSAGE[after].0);
    let share = (hours - from) / (to - from);
    std::array::from_fn(|i| here[i] + share * (there[i] - here[i]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_passage_begins_and_ends_where_the_table_says() {
        for (hours, expected) in PASSAGE {
            assert_eq!(on_passage(hours), expected, "{hours} h");
        }
        assert_eq!(on_passage(1e6), PASSAGE[9].1);
        assert_eq!(on_passage(-1.0), PASSAGE[0].1);
        assert!((on_passage(48.0)[2] - 16.2).abs() < 1e-12);
    }
}
