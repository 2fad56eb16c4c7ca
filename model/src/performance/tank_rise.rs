//! Product flow from the rise of the tank.
//!
//! The slope of the level over a stretch in which nobody draws water, times the tank's capacity. The level of a boat's tank sloshes and its sender has steps of a percent or
//! so, so the slope is the median of the slopes of all pairs of points (Theil 1950; Sen 1968, Journal of the American Statistical Association 63), which no single
//! wave moves. A tap that is opened shows as a fall: the stretch begins anew there.
//!
//! What this is not: a flow meter. The error is that of a sender whose tank is no straight box. Failure: too short, too little risen, or a slope within its error:
//! `None`.

use crate::plant::Estimate;

/// Length of a bin, s: waves and rolling average out.
pub const BIN_S: f64 = 120.0;
/// Bins kept: eight hours.
const BINS_MAX: usize = 240;
/// Least number of bins for a slope: half an hour.
const BINS_MIN: usize = 15;
/// A fall of the level by more than this between two bins is water drawn, percent of the tank. Our choice, no source.
const DRAWN_PERCENT: f64 = 1.0;
/// Error of the slope that no averaging takes out, relative: the tank's form and its capacity. Common practice, no source.
const FORM_SD: f64 = 0.08;
/// Least step of a level sender, percent (many have 1; the network's unit is 0.004).
const STEP_PERCENT: f64 = 0.5;

/// Level over time in one stretch without a draw.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TankRise {
    bins: Vec<(f64, f64)>,
    sum: f64,
    count: u32,
    began_s: f64,
    /// Stretches that ended because water was drawn.
    pub draws: u32,
}

impl TankRise {
    /// The level at a moment, s and percent. Moments must rise.
    pub fn add(&mut self, at_s: f64, level_percent: f64) {
        if self.count == 0 {
            self.began_s = at_s;
        }
        self.sum += level_percent;
        self.count += 1;
        if at_s - self.began_s < BIN_S {
            return;
        }
        let (mid, mean) = (0.5 * (self.began_s + at_s), self.sum / f64::from(self.count));
        (self.sum, self.count) = (0.0, 0);
        if self.bins.last().is_some_and(|(_, before)| mean < before - DRAWN_PERCENT) {
            self.bins.clear();
            self.draws += 1;
        }
        if BINS_MAX <= self.bins.len() {
            self.bins.remove(0);
        }
        self.bins.push((mid, mean));
    }

    /// The stretch is over: the unit stopped, or the product went elsewhere.
    pub fn restart(&mut self) {
        *self = Self { draws: self.draws, ..Self::default() };
    }

    /// Product flow, L/h: value with chance error, and the error that all such figures of this tank share.
    pub fn flow_l_h(&self, tank_l: f64) -> Option<(Estimate, f64)> {
        if self.bins.len() < BINS_MIN || tank_l <= 0.0 {
            return None;
        }
        let mut slopes = Vec::with_capacity(self.bins.len() * self.bins.len() / 2);
        for (i, &(t, level)) in self.bins.iter().enumerate() {
            slopes.extend(self.bins[i + 1..].iter().map(|&(later, higher)| (higher - level) / (later - t)));
        }
        let slope = median(&mut slopes)?;
        // Scatter about the line, robust, and never below what the sender's steps hide.
        let start = self.bins[0].0;
        let mut levels: Vec<f64> = self.bins.iter().map(|(t, level)| level - slope * (t - start)).collect();
        let middle = median(&mut levels)?;
        let mut off: Vec<f64> = levels.iter().map(|level| (level - middle).abs()).collect();
        let scatter = (1.4826 * median(&mut off)?).max(STEP_PERCENT / 12.0_f64.sqrt());
        let n = self.bins.len() as f64;
        let mean_t = self.bins.iter().map(|(t, _)| t).sum::<f64>() / n;
        let spread: f64 = self.bins.iter().map(|(t, _)| (t - mean_t) * (t - mean_t)).sum();
        // Bins of two minutes of one sea are not independent: counted as a third of their number. Our choice, no source.
        let sd = scatter * (3.0 / spread).sqrt();
        let to_l_h = tank_l / 100.0 * 3600.0;
        let flow = Estimate::new(slope * to_l_h, sd * to_l_h);
        (2.0 * flow.deviation < flow.value).then_some((flow, FORM_SD * flow.value))
    }
}

fn median(values: &mut [f64]) -> Option<f64> {
    if values.is_empty() {
        return None;
    }
    let middle = values.len() / 2;
    let (_, median, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A tank of 400 L that gets 60 L/h: 15 % an hour; waves of 2 % with a period of 7 s, a sender with steps of 1 %.
    fn filled(minutes: usize, drawn_at: Option<usize>) -> TankRise {
        let mut rise = TankRise::default();
        for second in 0..minutes * 60 {
            let t = second as f64;
            let drawn = drawn_at.is_some_and(|minute| minute * 60 <= second);
            let wave = 2.0 * crate::math::exp(-((t % 7.0) - 3.5) * ((t % 7.0) - 3.5)) - 0.5;
            let level = 20.0 + 15.0 * t / 3600.0 + wave - if drawn { 8.0 } else { 0.0 };
            rise.add(t, level.round());
        }
        rise
    }

    #[test]
    fn the_rise_gives_the_flow_through_waves_and_steps() {
        let (flow, shared) = filled(120, None).flow_l_h(400.0).expect("two hours are enough");
        assert!((flow.value - 60.0).abs() < 3.0 * flow.deviation.max(1.0), "{flow:?}");
        assert!(flow.deviation < 5.0, "{flow:?}");
        assert_close!(shared, 0.08 * flow.value, relative = 1e-12);
    }

    #[test]
    fn a_tap_ends_the_stretch_and_does_not_lower_the_flow() {
        let rise = filled(180, Some(60));
        // The tap may fall into the middle of a bin: then two of them fall.
        assert!(1 <= rise.draws && rise.draws <= 2, "{}", rise.draws);
        let (flow, _) = rise.flow_l_h(400.0).expect("two hours since");
        assert!((flow.value - 60.0).abs() < 3.0 * flow.deviation.max(1.0), "{flow:?}");
    }

    #[test]
    fn too_short_too_flat_or_falling_is_no_flow() {
        assert_eq!(filled(20, None).flow_l_h(400.0), None);
        let mut flat = TankRise::default();
        (0..7200).for_each(|second| flat.add(f64::from(second), 40.0));
        assert_eq!(flat.flow_l_h(400.0), None);
        let mut rise = filled(120, None);
        rise.restart();
        assert_eq!(rise.flow_l_h(400.0), None);
    }
}
