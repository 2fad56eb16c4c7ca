//! Energy for a litre of product, and the least that nature asks.
//!
//! 1 Wh/L is 1 kWh/m3. Without energy recovery p/(36 Y eta) with p in bar. The least work of taking a share Y out of seawater is the mean osmotic
//! pressure on the way, (1/Y) times the integral of pi(S/(1 - y)) from 0 to Y, with perfect rejection (own derivation).

use super::NotComputable;
use crate::quantity::{Power, Temperature};
use crate::seawater::osmotic_pressure::OsmoticPressureAt;

/// Wh/L in a bar: 1e5 Pa over 3.6e6 J/kWh, for a m3.
pub const WH_L_PER_BAR: f64 = 1.0 / 36.0;

/// Energy for a litre of product, Wh/L.
///
/// # Errors
/// [`NotComputable::ProductFlowUnknown`] without product.
pub fn specific_energy_wh_l(power: Power, product_flow_l_h: f64) -> Result<f64, NotComputable> {
    if product_flow_l_h > 0.0 {
        Ok(power.as_w() / product_flow_l_h)
    } else {
        Err(NotComputable::ProductFlowUnknown)
    }
}

/// Steps of the integral; Simpson's rule on so smooth a function is exact to 1e-8 with them.
const STEPS: u32 = 64;

/// Least work for a litre of product, Wh/L, from water of this temperature and salinity at this recovery.
///
/// # Errors
/// [`NotComputable::MoreProductThanFeed`] unless the recovery lies from 0 to below 0.9, where concentrate still is a solution.
pub fn least_work_wh_l(
    temperature: Temperature,
    salinity_g_kg: f64,
    recovery: f64,
) -> Result<f64, NotComputable> {
    const RECOVERY_MAX: f64 = 0.9;
    if !(0.0..RECOVERY_MAX).contains(&recovery) {
        return Err(NotComputable::MoreProductThanFeed);
    }
    let osmotic = OsmoticPressureAt::new(temperature);
    let at = |i: u32| osmotic.pa(salinity_g_kg / (1.0 - recovery * f64::from(i) / f64::from(STEPS))) / 1e5;
    let weight = |i: u32| {
        if i == 0 || i == STEPS {
            1.0
        } else if i % 2 == 1 {
            4.0
        } else {
            2.0
        }
    };
    let mean_bar = (0..=STEPS).map(|i| weight(i) * at(i)).sum::<f64>() / (3.0 * f64::from(STEPS));
    Ok(mean_bar * WH_L_PER_BAR)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Own evaluation with the TEOS-10 library's osmotic pressure (35 g/kg, 25 °C), which lies 0.4 % below ours.
    #[test]
    fn least_work_of_seawater() {
        let temperature = Temperature::from_celsius(25.0).unwrap();
        for (recovery, wh_l) in [(0.0, 0.719), (0.1, 0.760), (0.22, 0.818), (0.35, 0.898), (0.5, 1.024)] {
            let found = least_work_wh_l(temperature, 35.0, recovery).unwrap();
            assert_close!(found, wh_l, relative = 5e-3, "recovery {recovery}");
        }
        // Literature, from memory: 1.06 Wh/L at 50 % from 35 g/kg.
        assert_close!(least_work_wh_l(temperature, 35.0, 0.5).unwrap(), 1.06, relative = 0.04);
        assert!(least_work_wh_l(temperature, 35.0, 0.9).is_err());
    }

    #[test]
    fn energy_is_power_over_product() {
        assert_eq!(specific_energy_wh_l(Power::from_w(800.0).unwrap(), 80.0), Ok(10.0));
        assert!(specific_energy_wh_l(Power::from_w(800.0).unwrap(), 0.0).is_err());
    }
}
