//! Balances of water and salt over a unit.
//!
//! Salt in is salt out: S_f = (1 - Y) S_b + Y S_p, with the recovery Y by mass. Recovery by volume serves within 3 % of the difference.

use super::readings::{Measured, Readings, product_g_kg};
use crate::quantity::Temperature;
use crate::seawater::density::DensityAt;

/// Feed salinity, g/kg, from the salinity of the concentrate and the flows. `None` unless concentrate salinity, product flow and one other flow
/// were read.
pub fn feed_salinity(readings: &Readings) -> Option<Measured> {
    let concentrate = readings.concentrate_salinity_g_kg?;
    let product_l_h = readings.product_flow_l_h?;
    let temperature = Temperature::from_celsius(readings.feed_temperature_c?.value).ok()?;
    let density = DensityAt::new(temperature);
    let product_salt = readings.product_tds_mg_l.and_then(|tds| product_g_kg(tds.value)).unwrap_or(0.0);
    let balance = |concentrate_g_kg: f64, product_l_h: f64, other_l_h: f64| {
        let product_kg_h = product_l_h * density.kg_m3(product_salt) * 1e-3;
        let concentrate_kg_h = if readings.concentrate_flow_l_h.is_some() {
            other_l_h * density.kg_m3(concentrate_g_kg) * 1e-3
        } else {
            // The feed's own density is that of a water a little fresher than the concentrate; 1 % of it matters nothing here.
            other_l_h * density.kg_m3(0.8 * concentrate_g_kg) * 1e-3 - product_kg_h
        };
        let feed_kg_h = concentrate_kg_h + product_kg_h;
        (concentrate_kg_h > 0.0)
            .then(|| (concentrate_kg_h * concentrate_g_kg + product_kg_h * product_salt) / feed_kg_h)
    };
    let other = readings.concentrate_flow_l_h.or(readings.feed_flow_l_h)?;
    let value = balance(concentrate.value, product_l_h.value, other.value)?;
    let by = |moved: Option<f64>, sd: f64, step: f64| moved.map_or(0.0, |moved| (moved - value) / step * sd);
    let sd = |measured: &Measured| measured.variance().sqrt();
    const STEP: f64 = 1e-3;
    let step_p = STEP * product_l_h.value.abs().max(STEP);
    let step_o = STEP * other.value.abs().max(STEP);
    let by_product =
        by(balance(concentrate.value, product_l_h.value + step_p, other.value), sd(&product_l_h), step_p);
    let by_other =
        by(balance(concentrate.value, product_l_h.value, other.value + step_o), sd(&other), step_o);
    let share = value / concentrate.value;
    let random = share * concentrate.random;
    Some(Measured {
        value,
        random: (random * random + by_product * by_product + by_other * by_other).sqrt(),
        systematic: share * concentrate.systematic,
        instrument: concentrate.instrument,
    })
}

/// Water that is missing, L/h: feed less product and concentrate, and its standard deviation. `None` unless all three were read.
pub fn missing_water_l_h(readings: &Readings) -> Option<(f64, f64)> {
    let (feed, product, concentrate) =
        (readings.feed_flow_l_h?, readings.product_flow_l_h?, readings.concentrate_flow_l_h?);
    let variance = feed.variance() + product.variance() + concentrate.variance();
    Some((feed.value - product.value - concentrate.value, variance.sqrt()))
}

/// Recovery, product over feed by volume, from any two of the three flows.
pub fn recovery(readings: &Readings) -> Option<f64> {
    let share = match (readings.product_flow_l_h, readings.feed_flow_l_h, readings.concentrate_flow_l_h) {
        (Some(product), Some(feed), _) => product.value / feed.value,
        (Some(product), None, Some(concentrate)) => product.value / (product.value + concentrate.value),
        (None, Some(feed), Some(concentrate)) => 1.0 - concentrate.value / feed.value,
        _ => return None,
    };
    (share.is_finite() && (0.0..1.0).contains(&share)).then_some(share)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn salt_in_is_salt_out() {
        // By hand, by mass: 75 kg of 50 g/kg and 25 kg of 0.4 g/kg are 100 kg of 37.6 g/kg.
        let at = DensityAt::new(Temperature::from_celsius(20.0).unwrap());
        let readings = Readings {
            product_flow_l_h: Some(Measured::alone(25.0 / at.kg_m3(0.4) * 1e3, 0.5)),
            product_tds_mg_l: Some(Measured::alone(0.4 * 997.35, 0.0)),
            concentrate_flow_l_h: Some(Measured::alone(75.0 / at.kg_m3(50.0) * 1e3, 1.5)),
            concentrate_salinity_g_kg: Some(Measured {
                value: 50.0,
                random: 0.0,
                systematic: 0.5,
                instrument: Some(3),
            }),
            feed_temperature_c: Some(Measured::alone(20.0, 0.0)),
            ..Readings::default()
        };
        let found = feed_salinity(&readings).unwrap();
        assert_close!(found.value, 37.6, relative = 1e-5);
        assert_close!(found.systematic, 0.376, relative = 1e-3);
        assert!(0.2 < found.random && found.random < 0.35, "{}", found.random);
        assert_close!(recovery(&readings).unwrap(), 0.257, absolute = 2e-3);
    }

    #[test]
    fn missing_water_has_the_errors_of_three_readings() {
        let readings = Readings {
            feed_flow_l_h: Some(Measured::alone(330.0, 3.0)),
            product_flow_l_h: Some(Measured::alone(74.0, 2.0)),
            concentrate_flow_l_h: Some(Measured::alone(250.0, 6.0)),
            ..Readings::default()
        };
        assert_eq!(missing_water_l_h(&readings), Some((6.0, 7.0)));
        assert_eq!(recovery(&Readings::default()), None);
    }
}
