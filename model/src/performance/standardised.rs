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

use super::readings::product_g_kg;
use super::{NotComputable, Readings};
use crate::math;
use crate::membrane::TemperatureResponse;
use crate::quantity::Temperature;
use crate::records::Mean;
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

/// The mark that stands beside such values wherever a person or a program reads them.
pub const FORM: &str = "ASTM D4516 form, for comparison with other records";

/// Pressure lost along the elements where only one end was read, bar: as the judgement of runs assumes it.
const DROP_BAR: f64 = 0.35;

/// The means of a run brought to the conditions of a baseline's means, and what was assumed for it. `usual_salinity_g_kg` stands where no feed salinity was read.
///
/// # Errors
/// As [`StandardPoint::from_means`] and [`standardise`].
pub fn of_run(
    run: &[Mean],
    baseline: &[Mean],
    usual_salinity_g_kg: f64,
) -> Result<(Standardised, Vec<&'static str>), NotComputable> {
    let (actual, mut assumed) = StandardPoint::from_means(run, usual_salinity_g_kg)?;
    let (standard, also) = StandardPoint::from_means(baseline, usual_salinity_g_kg)?;
    assumed.extend(also);
    assumed.sort_unstable();
    assumed.dedup();
    Ok((standardise(&actual, &standard, &TemperatureResponse::default())?, assumed))
}

impl StandardPoint {
    /// The point of a run's or a baseline's means, and what was assumed for it.
    ///
    /// # Errors
    /// By name of what was not read: product flow, feed or concentrate flow, product salinity, pressure, temperature.
    pub fn from_means(
        means: &[Mean],
        usual_salinity_g_kg: f64,
    ) -> Result<(Self, Vec<&'static str>), NotComputable> {
        let readings = Readings::from_means(means);
        let value = |measured: Option<super::Measured>| measured.map(|measured| measured.value);
        let product = value(readings.product_flow_l_h).ok_or(NotComputable::ProductFlowUnknown)?;
        let feed = value(readings.feed_flow_l_h)
            .or_else(|| Some(product + value(readings.concentrate_flow_l_h)?))
            .ok_or(NotComputable::FeedFlowUnknown)?;
        let product_salinity = value(readings.product_tds_mg_l)
            .and_then(product_g_kg)
            .ok_or(NotComputable::ProductSalinityUnknown)?;
        let mut assumed = Vec::new();
        let (inlet, outlet) =
            match (value(readings.feed_pressure_bar), value(readings.concentrate_pressure_bar)) {
                (Some(inlet), Some(outlet)) => (inlet, outlet),
                (None, None) => return Err(NotComputable::PressureUnknown),
                (inlet, outlet) => {
                    let drop = value(readings.differential_pressure_bar).unwrap_or_else(|| {
                        assumed.push("0.35 bar lost along the elements");
                        DROP_BAR
                    });
                    (
                        inlet.or(outlet.map(|bar| bar + drop)).unwrap_or(f64::NAN),
                        outlet.or(inlet.map(|bar| bar - drop)).unwrap_or(f64::NAN),
                    )
                }
            };
        let feed_salinity = value(readings.feed_salinity_g_kg).unwrap_or_else(|| {
            assumed.push("feed salinity as usual here, or of the open sea");
            usual_salinity_g_kg
        });
        let point = Self {
            feed_flow_l_h: feed,
            product_flow_l_h: product,
            feed_pressure_bar: inlet,
            concentrate_pressure_bar: outlet,
            product_pressure_bar: value(readings.product_pressure_bar).unwrap_or(0.0),
            temperature_c: value(readings.feed_temperature_c).ok_or(NotComputable::TemperatureUnknown)?,
            feed_salinity_g_kg: feed_salinity,
            product_salinity_g_kg: product_salinity,
        };
        Ok((point, assumed))
    }

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
