//! Energy-recovery pumps: what their geometry makes of feed, product and pressures.
//!
//! The pump takes the feed in, sends it through the membranes and takes the concentrate back; the areas fix the product as a share Y of the
//! feed. Of a pump with internal leakage the share l of the feed slips back to the low side and never sees the membranes, while the way back
//! still takes (1 - Y) of the feed: the product is (Y - l) of the feed, so a leak of 2 % takes a fifth of the water from a pump with Y = 10 %. Pumps that exchange
//! pressure by contact mix some concentrate into the feed: 1 to 4 % is usual (from memory).
//!
//! Without friction the low side pushes with p_low = Y p_feed + (1 - Y) p_exhaust: the work of the feed pump is the work on the product. This is
//! used forwards, as an expected reading, and backwards, since the gauge of such a unit often sits there and not at the membranes.

use super::condition::Estimate;
use crate::parts::{Parts, Pump, PumpKind};

/// Pressure behind the outlet of the exhaust, bar gauge: a hose and a through-hull. Common practice, no source.
pub const EXHAUST_BAR: Estimate = Estimate::new(0.2, 0.2);

/// Friction of seals and valves as a factor of the low-side pressure: none in the published form; its spread is our choice, no source.
pub const FRICTION: Estimate = Estimate::new(1.0, 0.05);

/// Spread of a leakage or a mixing that was entered, relative. Our choice, no source.
const ENTERED_SD: f64 = 0.25;

/// Product over feed by the geometry; `None` for a plunger pump.
pub fn product_share(pump: &Pump) -> Option<f64> {
    match pump.kind {
        PumpKind::EnergyRecovery { product_share } => Some(product_share),
        PumpKind::Plunger => None,
    }
}

/// Share of the feed that leaks back inside.
pub fn leakage(pump: &Pump) -> Estimate {
    let share = pump.internal_leakage.filter(|_| product_share(pump).is_some()).unwrap_or(0.0);
    Estimate::new(share, ENTERED_SD * share)
}

/// Share of concentrate in what enters the membranes.
pub fn mixing(pump: &Pump) -> Estimate {
    let share = pump.mixing.filter(|_| product_share(pump).is_some()).unwrap_or(0.0);
    Estimate::new(share, ENTERED_SD * share)
}

/// Product over what enters the membranes, from the geometric share and the leakage. Zero or less: the leak takes all.
pub fn share_at_membranes(share: f64, leakage: f64) -> f64 {
    (share - leakage) / (1.0 - leakage)
}

/// Salinity that enters the membranes, g/kg.
pub fn mixed_salinity_g_kg(feed_g_kg: f64, concentrate_g_kg: f64, mixing: f64) -> f64 {
    feed_g_kg + mixing * (concentrate_g_kg - feed_g_kg)
}

/// Pressure on the low side, bar gauge.
pub fn low_side_bar(share: f64, feed_bar: f64, exhaust_bar: f64, friction: f64) -> f64 {
    friction * (share * feed_bar + (1.0 - share) * exhaust_bar)
}

/// Pressure at the membranes that a reading of the low side means, bar gauge; `None` for a plunger pump. The gauge's error comes out divided by the
/// share: ten times larger at 10 %.
pub fn feed_pressure_from_low_side(parts: &Parts, low_side_bar: Estimate) -> Option<Estimate> {
    let share = product_share(&parts.pump).filter(|share| 0.0 < *share && *share < 1.0)?;
    let rest = 1.0 - share;
    let value = (low_side_bar.value / FRICTION.value - rest * EXHAUST_BAR.value) / share;
    let parts = [
        low_side_bar.deviation / (FRICTION.value * share),
        rest * EXHAUST_BAR.deviation / share,
        low_side_bar.value * FRICTION.deviation / (FRICTION.value * FRICTION.value * share),
    ];
    Some(Estimate::new(value, parts.iter().map(|part| part * part).sum::<f64>().sqrt()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Lossless intensifier: p_low = Y p + (1 - Y) p_exhaust, energy balance of a piston with two areas; 46 bar at 10 % against an open outlet: 4.6 bar.
    #[test]
    fn the_low_side_carries_the_share() {
        assert_close!(low_side_bar(0.10, 46.0, 0.0, 1.0), 4.6, relative = 1e-14);
        assert_close!(low_side_bar(0.10, 46.0, 1.0, 1.0), 5.5, relative = 1e-14);
    }

    /// Volumes: 1 unit in, l back, (1 - Y) returned by the geometry, the rest is product.
    #[test]
    fn a_leak_takes_its_whole_volume_from_the_product() {
        let at_membranes = share_at_membranes(0.10, 0.02) * (1.0 - 0.02);
        assert_close!(at_membranes, 0.08, relative = 1e-14);
        assert_close!(share_at_membranes(0.10, 0.0), 0.10, relative = 1e-14);
        assert!(share_at_membranes(0.10, 0.12) < 0.0);
    }
}
