//! Standardised product flow and salt passage in the form of ASTM D4516.
//!
//! Flow equation as on a public technical guide to the standard; salt passage from memory; log-mean feed-brine salinity from university notes on
//! desalination. Osmotic pressure is that of sea salt by our own correlation, not the standard's sodium chloride form; the temperature factor of salt is one of
//! its own, since setting it equal to that of water understates the effect by a third.
//!
//! ```text
//! S_fb = S_f ln(1/(1 - Y))/Y          NDP = p_f - dP/2 - p_p - pi(S_fb) + pi(S_p)
//! Q_s  = Q_a NDP_s/NDP_a TCF_s/TCF_a
//! SP_s = SP_a (Q_a/Q_s0) (STCF_s/STCF_a) (S_fb,s/S_fb,a) (S_f,a/S_f,s)      Q_s0: product flow of the standard
//! ```
//!
//! For comparison with other people's records only. Polarisation is left out, so on a small train the flow answers to a fouled membrane with an exponent
//! near 0.6 and reports a change where only pump, sea or salinity changed.

use super::NotComputable;
use crate::math;
use crate::membrane::TemperatureResponse;
use crate::quantity::Temperature;
use crate::seawater::osmotic_pressure::OsmoticPressureAt;

/// One point, standard or actual.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StandardPoint {
    /// Feed, L/h.
    pub feed_flow_l_h: f64,
    /// Product, L/h.
    pub product_flow_l_h: f64,
    /// Pressure at the membrane inlet, bar gauge.
    pub feed_pressure_bar: f64,
    /// Pressure at the concentrate outlet, bar gauge.
    pub concentrate_pressure_bar: f64,
    /// Pressure of the product, bar gauge.
    pub product_pressure_bar: f64,
    /// Temperature, °C.
    pub temperature_c: f64,
    /// Salinity of the feed, g/kg.
    pub feed_salinity_g_kg: f64,
    /// Salinity of the product, g/kg.
    pub product_salinity_g_kg: f64,
}

/// What the formulas make of one point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driving {
    /// Net driving pressure, bar.
    pub net_driving_pressure_bar: f64,
    /// Log-mean feed-brine salinity, g/kg.
    pub feed_brine_salinity_g_kg: f64,
    /// Salt passage, product salinity over feed salinity.
    pub salt_passage: f64,
}

/// Standardised values of an actual point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standardised {
    /// Product flow at standard conditions, L/h.
    pub product_flow_l_h: f64,
    /// That over the standard's own product flow.
    pub flow_ratio: f64,
    /// Salt passage at standard conditions.
    pub salt_passage: f64,
    /// That over the standard's own salt passage.
    pub salt_passage_ratio: f64,
    /// The actual point.
    pub actual: Driving,
    /// The standard point.
    pub standard: Driving,
}

/// Recovery below which the log-mean is taken from its series: the formula loses digits there.
const SERIES_BELOW: f64 = 1e-3;

/// Log-mean salinity between feed and brine.
///
/// # Errors
/// [`NotComputable::MoreProductThanFeed`] for a recovery of one and above, or below zero.
pub fn log_mean_salinity_g_kg(feed_g_kg: f64, recovery: f64) -> Result<f64, NotComputable> {
    if !(0.0..1.0).contains(&recovery) {
        return Err(NotComputable::MoreProductThanFeed);
    }
    let y = recovery;
    let factor = if y < SERIES_BELOW { 1.0 + y * (0.5 + y / 3.0) } else { -math::ln(1.0 - y) / y };
    Ok(feed_g_kg * factor)
}

impl StandardPoint {
    /// Driving pressure, feed-brine salinity and salt passage.
    ///
    /// # Errors
    /// [`NotComputable::MoreProductThanFeed`]; [`NotComputable::NoDrivingPressure`] where the pressure does not exceed the osmotic pressure;
    /// [`NotComputable::SalinityUnknown`] for a feed without salt, of which there is no passage.
    pub fn driving(&self) -> Result<Driving, NotComputable> {
        let feed_brine =
            log_mean_salinity_g_kg(self.feed_salinity_g_kg, self.product_flow_l_h / self.feed_flow_l_h)?;
        let osmotic = OsmoticPressureAt::new(Temperature::from_celsius(self.temperature_c)?);
        let mean_bar =
            0.5 * (self.feed_pressure_bar + self.concentrate_pressure_bar) - self.product_pressure_bar;
        let net = mean_bar - (osmotic.pa(feed_brine) - osmotic.pa(self.product_salinity_g_kg)) / 1e5;
        if net.is_nan() || net <= 0.0 {
            return Err(NotComputable::NoDrivingPressure);
        }
        if self.feed_salinity_g_kg.is_nan() || self.feed_salinity_g_kg <= 0.0 {
            return Err(NotComputable::SalinityUnknown);
        }
        Ok(Driving {
            net_driving_pressure_bar: net,
            feed_brine_salinity_g_kg: feed_brine,
            salt_passage: self.product_salinity_g_kg / self.feed_salinity_g_kg,
        })
    }
}

/// Brings an actual point to the conditions of a standard one.
///
/// # Errors
/// As [`StandardPoint::driving`], for either point; [`NotComputable::ProductFlowUnknown`] if the standard has no product.
pub fn standardise(
    actual: &StandardPoint,
    standard: &StandardPoint,
    response: &TemperatureResponse,
) -> Result<Standardised, NotComputable> {
    let (a, s) = (actual.driving()?, standard.driving()?);
    if !(standard.product_flow_l_h > 0.0 && s.salt_passage > 0.0) {
        return Err(NotComputable::ProductFlowUnknown);
    }
    let (at, st) = (
        Temperature::from_celsius(actual.temperature_c)?,
        Temperature::from_celsius(standard.temperature_c)?,
    );
    let product_flow_l_h = actual.product_flow_l_h
        * (s.net_driving_pressure_bar / a.net_driving_pressure_bar)
        * (response.water(st) / response.water(at));
    let salt_passage = a.salt_passage
        * (actual.product_flow_l_h / standard.product_flow_l_h)
        * (response.salt(st) / response.salt(at))
        * (s.feed_brine_salinity_g_kg / a.feed_brine_salinity_g_kg)
        * (actual.feed_salinity_g_kg / standard.feed_salinity_g_kg);
    Ok(Standardised {
        product_flow_l_h,
        flow_ratio: product_flow_l_h / standard.product_flow_l_h,
        salt_passage,
        salt_passage_ratio: salt_passage / s.salt_passage,
        actual: a,
        standard: s,
    })
}
