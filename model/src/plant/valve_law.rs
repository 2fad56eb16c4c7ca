//! The law of the concentrate valve, learnt while nobody turns it.
//!
//! ln p = c + m (ln Q + 0.5 ln rho): a straight line whose slope m is the valve's and whose intercept c is its setting. Warm-up, feed changes and the sea move the point
//! along the line; a hand moves the intercept. So windows of a run are cut into spells with one setting each, all spells share the slope, and only what
//! happens within a spell counts. Both coordinates have errors, so the slope is that of the structural relation (Deming 1943, Statistical
//! Adjustment of Data; York 1966, Canadian Journal of Physics 44), and what the kind of valve makes likely is one more observation of it.
//!
//! What this is not: judgement. A step of the setting is "valve moved", never a fault. Failure: with nothing learnt the answer is the usual exponent with its
//! spread.

use super::concentrate_valve::ConcentrateValve;
use super::condition::Estimate;
use crate::math;

/// Windows of one minute, or one: pressure behind the last element and flow through the valve, with the errors of their means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// Pressure at the concentrate outlet, bar gauge, with its chance error.
    pub pressure_bar: Estimate,
    /// Concentrate flow, L/h, with its chance error.
    pub concentrate_flow_l_h: Estimate,
    /// Density of the concentrate, kg/m3.
    pub density_kg_m3: f64,
}

/// Windows with one setting of the valve, condensed. In logarithms: x = ln Q + 0.5 ln(rho/1000), y = ln p.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spell {
    /// How many windows.
    pub count: u32,
    /// Mean of x.
    pub x: f64,
    /// Mean of y.
    pub y: f64,
    /// Sum of squares of x about its mean.
    pub xx: f64,
    /// Sum of products about the means.
    pub xy: f64,
    /// Sum of squares of y about its mean.
    pub yy: f64,
    /// Error variance of one window's x.
    pub x_variance: f64,
    /// Error variance of one window's y.
    pub y_variance: f64,
}

/// Spells kept of one run: a run in which the valve was turned more often teaches nothing.
pub const SPELLS_MAX: usize = 8;

/// A jump of so many standard deviations between two windows is a hand at the valve.
const STEP_SDS: f64 = 5.0;

/// The least jump that counts, of the logarithm: wear of a gauge's linkage and slow drift stay below. Our choice, no source.
const STEP_MIN: f64 = 0.01;

/// Density that x is counted from, kg/m3.
const DENSITY_KG_M3: f64 = 1000.0;

/// Least error of a window's coordinate: last digits and pulsation that a mean does not take out. Our choice, no source.
const ERROR_MIN: f64 = 5e-4;

/// Range of the exponent: a regulator may over-compensate a little, no valve is steeper than a needle by much.
const EXPONENT_RANGE: (f64, f64) = (-0.5, 3.0);

/// Collects the windows of one run, in the order of time.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SpellCollector {
    spells: Vec<Spell>,
    last: Option<(f64, f64)>,
    /// Turns of the valve seen within this run.
    pub turns: u32,
}

impl SpellCollector {
    /// One more window; `exponent` is what is believed of the valve now, and tells a turn from a move along the line.
    pub fn add(&mut self, window: &Window, exponent: Estimate) {
        let Some(point) = Point::of(window) else { return };
        let stepped = self.last.is_some_and(|(x, y)| {
            let (dx, dy) = (point.x - x, point.y - y);
            let m = exponent.value;
            let variance = 2.0 * (point.y_variance + m * m * point.x_variance)
                + dx * dx * exponent.deviation * exponent.deviation;
            (STEP_SDS * variance.sqrt()).max(STEP_MIN) < (dy - m * dx).abs()
        });
        self.last = Some((point.x, point.y));
        match self.spells.last_mut() {
            Some(spell) if !stepped => spell.add(&point),
            _ => {
                self.turns += u32::from(stepped);
                if self.spells.len() < SPELLS_MAX {
                    let mut spell = Spell::default();
                    spell.add(&point);
                    self.spells.push(spell);
                }
            }
        }
    }

    /// The spells so far.
    pub fn spells(&self) -> &[Spell] {
        &self.spells
    }

    /// Time in which nothing was seen: a hand may have been at the valve.
    pub fn interrupt(&mut self) {
        self.last = None;
    }
}

struct Point {
    x: f64,
    y: f64,
    x_variance: f64,
    y_variance: f64,
}

impl Point {
    fn of(window: &Window) -> Option<Self> {
        let (p, q) = (window.pressure_bar, window.concentrate_flow_l_h);
        let possible = 0.0 < p.value && 0.0 < q.value && 0.0 < window.density_kg_m3;
        let variance = |of: Estimate| {
            let relative = of.deviation / of.value;
            relative * relative + ERROR_MIN * ERROR_MIN
        };
        let x = math::ln(q.value) + 0.5 * math::ln(window.density_kg_m3 / DENSITY_KG_M3);
        let y = math::ln(p.value);
        (possible && x.is_finite() && y.is_finite()).then(|| Self {
            x,
            y,
            x_variance: variance(q),
            y_variance: variance(p),
        })
    }
}

impl Spell {
    /// Welford's update of means and sums (Welford 1962, Technometrics 4, 419).
    fn add(&mut self, point: &Point) {
        self.count += 1;
        let n = f64::from(self.count);
        let (dx, dy) = (point.x - self.x, point.y - self.y);
        self.x += dx / n;
        self.y += dy / n;
        self.xx += dx * (point.x - self.x);
        self.xy += dx * (point.y - self.y);
        self.yy += dy * (point.y - self.y);
        self.x_variance += (point.x_variance - self.x_variance) / n;
        self.y_variance += (point.y_variance - self.y_variance) / n;
    }

    /// Sum of squared distances from a line with this slope.
    fn squares(&self, m: f64) -> f64 {
        (self.yy - 2.0 * m * self.xy + m * m * self.xx).max(0.0)
    }

    /// Error variance of one window across a line with this slope.
    fn across(&self, m: f64) -> f64 {
        self.y_variance + m * m * self.x_variance
    }

    /// The setting of the valve in this spell: a point on its line.
    pub fn setting(&self, exponent: f64) -> ConcentrateValve {
        // x counts the density in: a flow of x at the reference density.
        ConcentrateValve {
            pressure_bar: math::exp(self.y),
            concentrate_flow_l_h: math::exp(self.x),
            density_kg_m3: Some(DENSITY_KG_M3),
            exponent,
        }
    }
}

/// What was learnt of the exponent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LearntExponent {
    /// The exponent.
    pub exponent: Estimate,
    /// Windows that it rests on; 0: nothing but what is usual.
    pub windows: u32,
    /// Share of the certainty that comes from this unit and not from what is usual, 0 to 1.
    pub own_share: f64,
}

/// The exponent from the spells of all runs and what is usual.
///
/// Errors larger than promised (a regulator that hunts, a pump that pulsates) widen the result: the windows' errors are scaled so that their scatter
/// about the line is as expected.
pub fn learn(spells: &[Spell], usual: Estimate) -> LearntExponent {
    let used = || spells.iter().filter(|spell| 3 <= spell.count);
    let windows: u32 = used().map(|spell| spell.count).sum();
    let prior = 1.0 / (usual.deviation * usual.deviation).max(1e-12);
    let nothing = LearntExponent { exponent: usual, windows: 0, own_share: 0.0 };
    if windows == 0 {
        return nothing;
    }
    let distance = |m: f64| used().map(|spell| spell.squares(m) / spell.across(m)).sum::<f64>();
    let free: f64 = used().map(|spell| f64::from(spell.count) - 1.0).sum::<f64>() - 1.0;
    let cost = |scale: f64, m: f64| {
        let off = m - usual.value;
        distance(m) / scale + prior * off * off
    };
    let mut scale = 1.0;
    let mut m = lowest(|m| cost(scale, m));
    for _ in 0..3 {
        scale = (distance(m) / free.max(1.0)).max(1.0);
        m = lowest(|m| cost(scale, m));
    }
    let curvature = |f: &dyn Fn(f64) -> f64| {
        let h = 1e-3;
        (f(m + h) - 2.0 * f(m) + f(m - h)) / (h * h)
    };
    // The cost is twice the negative logarithm of the likelihood.
    let own = (0.5 * curvature(&|m| distance(m) / scale)).max(0.0);
    let exponent = Estimate::new(m, 1.0 / (own + prior).sqrt());
    LearntExponent { exponent, windows, own_share: own / (own + prior) }
}

/// Minimum over the range of exponents: a coarse look, since the cost can have two valleys, then a golden section.
fn lowest(cost: impl Fn(f64) -> f64) -> f64 {
    const STEPS: usize = 70;
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    let (low, high) = EXPONENT_RANGE;
    let step = (high - low) / STEPS as f64;
    let at = |i: usize| low + step * i as f64;
    let best = (0..=STEPS).min_by(|&i, &j| cost(at(i)).total_cmp(&cost(at(j)))).unwrap_or(0);
    let (mut a, mut b) = ((at(best) - step).max(low), (at(best) + step).min(high));
    for _ in 0..40 {
        let (c, d) = (b - GOLDEN * (b - a), a + GOLDEN * (b - a));
        if cost(c) <= cost(d) { b = d } else { a = c }
    }
    0.5 * (a + b)
}

/// Does the setting differ between two spells? A difference that the errors or the doubt of the exponent cover does not count.
pub fn moved(before: &Spell, after: &Spell, exponent: Estimate) -> bool {
    let m = exponent.value;
    let (dx, dy) = (after.x - before.x, after.y - before.y);
    let mean = |spell: &Spell| spell.across(m) / f64::from(spell.count.max(1));
    let variance = mean(before) + mean(after) + dx * dx * exponent.deviation * exponent.deviation;
    (STEP_SDS * variance.sqrt()).max(STEP_BETWEEN_RUNS_MIN) < (dy - m * dx).abs()
}

/// The least step between two runs that counts, of the logarithm of the valve number: gauges and pulsation differ from day to day. Our choice,
/// no source.
const STEP_BETWEEN_RUNS_MIN: f64 = 0.03;

#[cfg(test)]
mod tests;
