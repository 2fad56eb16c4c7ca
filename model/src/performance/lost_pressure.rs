//! The pressure lost along a train, read or by law.
//!
//! Two gauges that read to a bar say nothing of it; then the law of the baseline stands. What was read well enough replaces it.

use super::{NotComputable, Readings};
use crate::math;
use crate::membrane::Train;
use crate::quantity::Pressure;

/// Least differential pressure, bar, that replaces the law of the baseline.
const DP_TRUSTED_MIN_BAR: f64 = 0.05;

/// Standard deviation of a differential pressure, bar, up to which it replaces the law of the baseline.
const DP_TRUSTED_SD_BAR: f64 = 0.2;

/// The pressure lost along the train.
pub(super) struct Lost {
    /// The pressure, bar.
    pub bar: f64,
    /// It was read well enough to replace the law.
    pub trusted: bool,
    /// Standard deviation of its logarithm.
    pub ln_sd: f64,
}

/// The pressure lost along the train, read or by law. One that was read scales the law, nearly: the inversion settles the rest.
pub(super) fn lost_pressure(
    train: &mut Train,
    readings: &Readings,
    product_l_h: f64,
) -> Result<Lost, NotComputable> {
    let feed_l_h = match (readings.feed_flow_l_h, readings.concentrate_flow_l_h) {
        (Some(feed), _) => feed.value,
        (None, Some(concentrate)) => product_l_h + concentrate.value,
        // The product is then all that is known of the flow; four times it is a usual feed.
        (None, None) => 4.0 * product_l_h,
    };
    let count = train.elements.len().max(1) as f64;
    let trains = f64::from(train.parallel.max(1));
    let mut law_bar = 0.0;
    for (i, element) in train.elements.iter().enumerate() {
        let law = &element.differential_pressure;
        let passing_l_h = (feed_l_h - product_l_h * (i as f64 + 0.5) / count).max(0.0) / trains;
        law_bar += law.reference_pressure.as_bar()
            * math::pow(passing_l_h / law.reference_flow.as_l_h(), law.exponent);
    }
    let read = readings.differential_pressure_bar.map(|dp| (dp.value, dp.variance())).or_else(|| {
        let (feed, concentrate) = (readings.feed_pressure_bar?, readings.concentrate_pressure_bar?);
        // Two gauges of one instrument share their systematic error.
        let same = feed.instrument.is_some() && feed.instrument == concentrate.instrument;
        let shared = if same {
            0.0
        } else {
            feed.systematic * feed.systematic + concentrate.systematic * concentrate.systematic
        };
        let random = feed.random * feed.random + concentrate.random * concentrate.random;
        Some((feed.value - concentrate.value, random + shared))
    });
    match read {
        Some((dp, variance))
            if DP_TRUSTED_MIN_BAR <= dp && variance.sqrt() <= DP_TRUSTED_SD_BAR && law_bar > 0.0 =>
        {
            for element in &mut train.elements {
                let law = &mut element.differential_pressure;
                law.reference_pressure = Pressure::from_pa(law.reference_pressure.as_pa() * dp / law_bar)?;
            }
            Ok(Lost { bar: dp, trusted: true, ln_sd: (variance.sqrt() / dp).min(LN_DP_SD) })
        }
        _ => Ok(Lost { bar: law_bar, trusted: false, ln_sd: LN_DP_SD }),
    }
}

/// Standard deviation of the logarithm of the pressure lost when only the law is known.
const LN_DP_SD: f64 = crate::membrane::DifferentialPressureLaw::LN_SD;
