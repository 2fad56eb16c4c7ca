//! How permeabilities change with temperature.
//!
//! Form: exp(E (1/298.15 - 1/T)), T in kelvin, as on public pages of the trade. Water: E = 2640 K at and above 25 °C, 3020 K below. In
//! the cold the truth may lie anywhere from 2450 K (the 3 % per kelvin of ASTM D4516, from memory, at 5 °C) to 3020 K, so real cold water may
//! give more than the default says and hardly less. Salt: 4000 K on both sides, an assumption between a field pair (5400 K) and the habit of
//! data sheets (2640 K). All three are parameters, to be learnt from a unit's own history.

use crate::math;
use crate::quantity::Temperature;

/// Temperature at which permeabilities are stated, K.
const REFERENCE_K: f64 = 298.15;

/// The three temperature parameters, K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TemperatureResponse {
    /// Water permeability at and above 25 °C, K.
    pub water_warm_k: f64,
    /// Water permeability below 25 °C, K.
    pub water_cold_k: f64,
    /// Salt permeability, K.
    pub salt_k: f64,
}

impl Default for TemperatureResponse {
    fn default() -> Self {
        Self { water_warm_k: 2640.0, water_cold_k: 3020.0, salt_k: 4000.0 }
    }
}

impl TemperatureResponse {
    /// Standard deviation of the parameter below 25 °C, K: root mean square distance of the interval 2450 to 3020 K from its upper end.
    pub const WATER_COLD_SD_K: f64 = 329.0;
    /// Standard deviation of the parameter above 25 °C, K. Our choice, no source.
    pub const WATER_WARM_SD_K: f64 = 200.0;
    /// Standard deviation of the salt parameter, K. Our choice, no source.
    pub const SALT_SD_K: f64 = 1000.0;
    /// All three: water above 25 °C, below, salt.
    pub const SD_K: [f64; 3] = [Self::WATER_WARM_SD_K, Self::WATER_COLD_SD_K, Self::SALT_SD_K];

    /// From the three parameters, K: water at and above 25 °C, below, salt.
    pub const fn from_parameters_k([water_warm_k, water_cold_k, salt_k]: [f64; 3]) -> Self {
        Self { water_warm_k, water_cold_k, salt_k }
    }

    /// The three parameters, K, in the same order.
    pub const fn parameters_k(&self) -> [f64; 3] {
        [self.water_warm_k, self.water_cold_k, self.salt_k]
    }

    /// Water permeability over that at 25 °C.
    pub fn water(&self, temperature: Temperature) -> f64 {
        let reach = Self::reach_per_k(temperature);
        math::exp(reach * if reach < 0.0 { self.water_cold_k } else { self.water_warm_k })
    }

    /// Salt permeability over that at 25 °C.
    pub fn salt(&self, temperature: Temperature) -> f64 {
        math::exp(Self::reach_per_k(temperature) * self.salt_k)
    }

    /// 1/298.15 - 1/T, 1/K: what a parameter is multiplied with.
    pub fn reach_per_k(temperature: Temperature) -> f64 {
        1.0 / REFERENCE_K - 1.0 / temperature.as_kelvin()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Own evaluation of the form named above, three decimals.
    #[test]
    fn the_factors_of_the_trade() {
        let response = TemperatureResponse::default();
        let rows = [
            (5.0, 0.483),
            (10.0, 0.585),
            (15.0, 0.704),
            (20.0, 0.841),
            (25.0, 1.0),
            (30.0, 1.157),
            (35.0, 1.333),
        ];
        for (t, factor) in rows {
            let temperature = Temperature::from_celsius(t).unwrap();
            assert_close!(response.water(temperature), factor, absolute = 6e-4, "{t} °C");
        }
    }

    /// US Army TM 10-4610-309-14: factors for 32 to 104 F. Another form of the trade, so only near 25 °C must ours agree: within 6 % from
    /// 20 to 30 °C, within 8 % at 35 °C.
    #[test]
    fn near_25_degrees_a_published_table_agrees() {
        for (fahrenheit, published, tolerance) in
            [(68.0, 0.87, 0.06), (77.0, 1.0, 1e-9), (86.0, 1.15, 0.06), (95.0, 1.32, 0.08)]
        {
            let temperature = Temperature::from_celsius((fahrenheit - 32.0) / 1.8).unwrap();
            let ours = TemperatureResponse::default().water(temperature);
            assert_close!(ours, published, relative = tolerance, "{fahrenheit} F");
        }
    }

    #[test]
    fn warmer_water_passes_more_of_both_and_25_degrees_is_one() {
        let response = TemperatureResponse::default();
        let mut before = (0.0, 0.0);
        for t in 0..45 {
            let temperature = Temperature::from_celsius(f64::from(t)).unwrap();
            let now = (response.water(temperature), response.salt(temperature));
            assert!(before.0 < now.0 && before.1 < now.1);
            before = now;
        }
        let at_25 = Temperature::from_celsius(25.0).unwrap();
        assert_eq!((response.water(at_25), response.salt(at_25)), (1.0, 1.0));
    }
}
