//! Newton and secant steps guarded by bisection, on functions that rise or fall throughout.
//!
//! What this is: root search for a monotone function of which the caller knows an interval. The sign of a value tells on which side the root
//! lies, so the interval's ends are evaluated only when the root runs into one. A step that leaves the interval, or does not shrink it, is replaced by
//! halving. What it is not: a minimiser or a search for several roots. What happens on failure: [`SolveError`] says which of three
//! things went wrong.

/// Steps after which a search gives up. Halving alone narrows an interval by 1e12 in 40; the guarded steps need 3 to 8.
pub const STEPS_MAX: u32 = 100;

/// Why no root was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SolveError {
    /// The function has the same sign at the low end: the root, if any, lies below the interval.
    #[error("the solution lies below the range searched")]
    RootBelow,
    /// The function has the same sign at the high end: the root, if any, lies above the interval.
    #[error("the solution lies above the range searched")]
    RootAbove,
    /// The number of steps was used up.
    #[error("the calculation did not converge")]
    NotConverged,
    /// The function gave a value that is not finite.
    #[error("the calculation left the range of numbers")]
    NotFinite,
}

/// Where to look for a root and how exactly.
#[derive(Clone, Copy, Debug)]
pub struct Search {
    /// Low end of the interval.
    pub low: f64,
    /// High end of the interval.
    pub high: f64,
    /// First guess; outside the interval it is moved to the middle.
    pub guess: f64,
    /// Largest error of the root, in its own unit.
    pub tolerance: f64,
}

impl Search {
    fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    fn contains(&self, x: f64) -> bool {
        self.low < x && x < self.high
    }
}

/// The root of a falling function that gives value and slope. Ends with a step that is not above `step_share` of the root itself: Newton's error is
/// about the square of its last step, counted in lengths over which the function bends, and a function may bend within a small part of the
/// interval. `search.tolerance` is only for an interval that halving has brought to nothing.
///
/// # Errors
/// [`SolveError`]; see there.
#[inline]
pub fn newton_falling(
    mut search: Search,
    step_share: f64,
    mut f: impl FnMut(f64) -> (f64, f64),
) -> Result<f64, SolveError> {
    let (lowest, highest) = (search.low, search.high);
    let mut x = if search.contains(search.guess) { search.guess } else { search.middle() };
    for _ in 0..STEPS_MAX {
        let (value, slope) = f(x);
        if !value.is_finite() {
            return Err(SolveError::NotFinite);
        }
        if value > 0.0 {
            search.low = x;
        } else {
            search.high = x;
        }
        let step = value / slope;
        let next = x - step;
        if step.abs() <= step_share * next.abs() && lowest <= next && next <= highest {
            return Ok(next);
        }
        x = if search.contains(next) { next } else { search.middle() };
        if search.high - search.low <= search.tolerance {
            return at_end(x, lowest, highest, search.tolerance, |end| f(end).0);
        }
    }
    Err(SolveError::NotConverged)
}

/// The root of a rising function whose slope is known only roughly: the first step uses `rough_slope`, the next ones are secants.
///
/// # Errors
/// Whatever the function answers, or [`SolveError`] turned into the same type.
pub fn secant_rising<E: From<SolveError>>(
    mut search: Search,
    rough_slope: f64,
    mut f: impl FnMut(f64) -> Result<f64, E>,
) -> Result<f64, E> {
    let (lowest, highest) = (search.low, search.high);
    let mut x = if search.contains(search.guess) { search.guess } else { search.middle() };
    let mut before: Option<(f64, f64)> = None;
    for step_count in 0..STEPS_MAX {
        let value = f(x)?;
        if !value.is_finite() {
            return Err(SolveError::NotFinite.into());
        }
        if value == 0.0 {
            return Ok(x);
        }
        let width_before = search.high - search.low;
        if value < 0.0 {
            search.low = x;
        } else {
            search.high = x;
        }
        let next = match before {
            None => x - value / rough_slope,
            Some((x_before, value_before)) => x - value * (x - x_before) / (value - value_before),
        };
        if before.is_some() && (next - x).abs() <= search.tolerance && lowest <= next && next <= highest {
            return Ok(next);
        }
        before = Some((x, value));
        // Secants that are not through after six steps creep along a bent function: every other step halves then.
        let creeping =
            step_count >= 6 && step_count % 2 == 0 && 2.0 * (search.high - search.low) > width_before;
        x = if search.contains(next) && !creeping { next } else { search.middle() };
        if search.high - search.low <= search.tolerance {
            let end_value = f(x)?;
            return at_end(x, lowest, highest, search.tolerance, |_| end_value).map_err(E::from);
        }
    }
    Err(SolveError::NotConverged.into())
}

/// The interval has shrunk to nothing: a root, unless it shrank to one of its first ends and no sign change is there.
fn at_end(
    x: f64,
    lowest: f64,
    highest: f64,
    tolerance: f64,
    mut f: impl FnMut(f64) -> f64,
) -> Result<f64, SolveError> {
    if x - lowest > tolerance && highest - x > tolerance {
        return Ok(x);
    }
    if f(x) == 0.0 {
        return Ok(x);
    }
    Err(if x - lowest <= tolerance { SolveError::RootBelow } else { SolveError::RootAbove })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn between(low: f64, high: f64) -> Search {
        Search { low, high, guess: 0.5 * (low + high), tolerance: 1e-12 }
    }

    #[test]
    fn newton_finds_a_known_root() {
        // x^3 = 2: cube root of two.
        let root = newton_falling(between(0.0, 4.0), 1e-12, |x| (2.0 - x * x * x, -3.0 * x * x)).unwrap();
        assert_close!(root, 1.259_921_049_894_873, relative = 1e-14);
    }

    /// Half of a saturating function: root at its own length, a millionth of the interval. A step that is small beside the interval proves nothing.
    #[test]
    fn newton_is_exact_where_the_function_bends_within_a_small_part_of_the_interval() {
        for guess in [0.7e-6, 1.3e-6, 1e-4, 0.5] {
            let search = Search { low: 0.0, high: 1.0, guess, tolerance: 1e-15 };
            let root = newton_falling(search, 1e-4, |x| (0.5 - x / (x + 1e-6), -1e-6 / (x + 1e-6).powi(2)));
            assert_close!(root.unwrap(), 1e-6, relative = 1e-8, "{guess}");
        }
    }

    #[test]
    fn newton_survives_a_slope_of_zero_and_a_wild_step() {
        // Flat outside a narrow band: plain Newton would divide by zero or leave for good.
        let root = newton_falling(between(-100.0, 300.0), 1e-12, |x| {
            let t = libm::tanh(x - 1.0);
            (-t, -(1.0 - t * t))
        });
        assert_close!(root.unwrap(), 1.0, absolute = 1e-11);
    }

    #[test]
    fn secant_finds_a_known_root_and_passes_errors_on() {
        let root = secant_rising(between(0.0, 4.0), 2.0, |x| Ok::<_, SolveError>(x * x - 2.0)).unwrap();
        assert_close!(root, core::f64::consts::SQRT_2, relative = 1e-12);
        let failed = secant_rising(between(0.0, 4.0), 0.1, |_| Err::<f64, _>(SolveError::NotFinite));
        assert_eq!(failed, Err(SolveError::NotFinite));
    }

    #[test]
    fn a_root_outside_the_interval_is_named() {
        assert_eq!(newton_falling(between(2.0, 4.0), 1e-12, |x| (1.0 - x, -1.0)), Err(SolveError::RootBelow));
        assert_eq!(newton_falling(between(2.0, 4.0), 1e-12, |x| (9.0 - x, -1.0)), Err(SolveError::RootAbove));
        let below = secant_rising(between(2.0, 4.0), 0.1, |x| Ok::<_, SolveError>(x - 1.0));
        assert_eq!(below, Err(SolveError::RootBelow));
        let above = secant_rising(between(2.0, 4.0), 0.1, |x| Ok::<_, SolveError>(x - 9.0));
        assert_eq!(above, Err(SolveError::RootAbove));
    }

    #[test]
    fn a_value_that_is_not_finite_is_named() {
        assert_eq!(
            newton_falling(between(0.0, 1.0), 1e-12, |_| (f64::NAN, -1.0)),
            Err(SolveError::NotFinite)
        );
        let nan = secant_rising(between(0.0, 1.0), 0.1, |_| Ok::<_, SolveError>(f64::NAN));
        assert_eq!(nan, Err(SolveError::NotFinite));
    }

    #[test]
    fn a_jump_is_found_by_halving_within_the_count() {
        let root =
            secant_rising(between(0.0, 1.0), 0.1, |x| Ok::<_, SolveError>(if x < 0.3 { -1.0 } else { 5.0 }));
        assert_close!(root.unwrap(), 0.3, absolute = 1e-11);
    }
}
