//! Differential pressure brought to one flow.
//!
//! dP_s = dP_a (Qm_s/Qm_a)^n with Qm = Q_f - Q_p/2 and n = 1.43, fitted to open data of one 2540 element; public notes and manuals use 1.4 to 1.5.

use super::NotComputable;
use crate::math;

/// Exponent of the flow.
pub const EXPONENT: f64 = 1.43;

/// Below this a differential pressure means nothing: gauges of small units read to 1 or 2 bar. Our choice, no source.
pub const MINIMUM_BAR: f64 = 0.2;

/// Flow that passes the elements on average, L/h.
pub fn mean_flow_l_h(feed_flow_l_h: f64, product_flow_l_h: f64) -> f64 {
    feed_flow_l_h - 0.5 * product_flow_l_h
}

/// Differential pressure, bar, at the standard's mean flow.
///
/// # Errors
/// [`NotComputable::DifferentialPressureTooSmall`] below 0.2 bar; [`NotComputable::FeedFlowUnknown`] for a flow that is not above zero.
pub fn normalised_bar(
    actual_bar: f64,
    actual_mean_flow_l_h: f64,
    standard_mean_flow_l_h: f64,
) -> Result<f64, NotComputable> {
    if actual_bar.is_nan() || actual_bar < MINIMUM_BAR {
        return Err(NotComputable::DifferentialPressureTooSmall { minimum_bar: MINIMUM_BAR });
    }
    if !(actual_mean_flow_l_h > 0.0 && standard_mean_flow_l_h > 0.0) {
        return Err(NotComputable::FeedFlowUnknown);
    }
    Ok(actual_bar * math::pow(standard_mean_flow_l_h / actual_mean_flow_l_h, EXPONENT))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 0.7 bar at 5.31 L/min is 0.7 (5.41/5.31)^1.43 = 0.71893 bar at 5.41 L/min.
    #[test]
    fn more_flow_loses_more() {
        assert_close!(normalised_bar(0.7, 5.31, 5.41).unwrap(), 0.718_93, relative = 1e-5);
        assert_close!(mean_flow_l_h(348.0, 58.8), 318.6, relative = 1e-12);
        assert_eq!(normalised_bar(0.7, 5.0, 5.0).unwrap(), 0.7);
    }

    #[test]
    fn too_little_is_named() {
        assert!(normalised_bar(0.2, 300.0, 300.0).is_ok());
        let small = NotComputable::DifferentialPressureTooSmall { minimum_bar: MINIMUM_BAR };
        assert_eq!(normalised_bar(0.199, 300.0, 300.0), Err(small));
        assert_eq!(normalised_bar(f64::NAN, 300.0, 300.0), Err(small));
        assert_eq!(normalised_bar(0.5, 0.0, 300.0), Err(NotComputable::FeedFlowUnknown));
    }
}
