//! The operating state, from the unit itself or from what its sensors show.
//!
//! The unit's own word (PGN 130567) leads while it is fresh. Without it the state is inferred from pressure, flow or current, and says so. No usable sensor:
//! the state is unknown, not "stopped".

use barrico_model::parts::Parts;
use barrico_model::records::OperatingState;
use barrico_model::{Monotonic, Quantity};

/// Above this share of the set pressure the unit makes product (our choice).
const RUNNING_SHARE: f64 = 0.5;
/// Without a set pressure: osmotic pressure of sea water is near 25 bar, below it hardly any product comes.
const RUNNING_BAR: f64 = 25.0;
/// Above this a vessel is neither stopped nor flushed from a tank (our choice).
const RISING_BAR: f64 = 6.0;
/// Product above this is product, L/h (our choice: a drip is less).
const PRODUCT_L_H: f64 = 2.0;
/// Flow through the vessel at low pressure is a flush, L/h.
const FLUSH_L_H: f64 = 20.0;
/// A new state must hold for so long before it counts, ms: a gauge passes through in less.
const HOLD_MS: u64 = 5_000;

/// What the sensors show at one moment.
#[derive(Clone, Copy, Debug, Default)]
pub struct Signs {
    /// The unit's own word.
    pub told: Option<OperatingState>,
    /// Pressure on the high side, bar gauge.
    pub pressure_bar: Option<f64>,
    /// Product flow, L/h.
    pub product_l_h: Option<f64>,
    /// Feed or concentrate flow, L/h.
    pub through_l_h: Option<f64>,
}

impl Signs {
    /// From fresh values.
    pub fn from_values(told: Option<OperatingState>, value: impl Fn(Quantity) -> Option<f64>) -> Self {
        Self {
            told,
            pressure_bar: value(Quantity::FeedPressure).or(value(Quantity::ConcentratePressure)),
            product_l_h: value(Quantity::ProductFlow),
            through_l_h: value(Quantity::ConcentrateFlow).or(value(Quantity::FeedFlow)),
        }
    }
}

/// The state and since when.
#[derive(Clone, Debug, Default)]
pub struct Operating {
    /// State; `None`: unknown.
    pub state: Option<OperatingState>,
    /// Since when.
    pub since: Monotonic,
    /// Inferred, not told.
    pub inferred: bool,
    candidate: Option<(Option<OperatingState>, Monotonic)>,
}

/// The state changed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Change {
    /// Before.
    pub from: Option<OperatingState>,
    /// Now.
    pub to: Option<OperatingState>,
}

impl Operating {
    /// New signs. Told states count at once; inferred ones after they have held.
    pub fn update(&mut self, now: Monotonic, signs: Signs, parts: Option<&Parts>) -> Option<Change> {
        let (next, inferred) = match signs.told {
            Some(state) => (Some(state), false),
            None => (self.infer(signs, parts), true),
        };
        if next == self.state {
            self.candidate = None;
            self.inferred = inferred;
            return None;
        }
        if inferred {
            let since = match self.candidate {
                Some((state, since)) if state == next => since,
                _ => {
                    self.candidate = Some((next, now));
                    now
                }
            };
            if now < since.plus_ms(HOLD_MS) {
                return None;
            }
        }
        self.candidate = None;
        let from = std::mem::replace(&mut self.state, next);
        self.since = now;
        self.inferred = inferred;
        Some(Change { from, to: next })
    }

    fn infer(&self, signs: Signs, parts: Option<&Parts>) -> Option<OperatingState> {
        use OperatingState::{Flushing, Running, Starting, Stopped, Stopping};
        let threshold =
            parts.and_then(|parts| parts.set_pressure_bar).map_or(RUNNING_BAR, |bar| RUNNING_SHARE * bar);
        let was_running = matches!(self.state, Some(Running | Stopping));
        match (signs.pressure_bar, signs.product_l_h) {
            (Some(bar), _) if threshold <= bar => Some(Running),
            (None, Some(product)) if PRODUCT_L_H <= product => Some(Running),
            (Some(bar), _) if RISING_BAR <= bar => Some(if was_running { Stopping } else { Starting }),
            (None, None) => None,
            _ if signs.through_l_h.is_some_and(|flow| FLUSH_L_H <= flow) => {
                Some(if matches!(self.state, Some(Running | Starting)) { Stopping } else { Flushing })
            }
            _ => Some(Stopped),
        }
    }
}

/// The state that a set of readings shows, taken together at one moment; `None`: they show none.
pub fn state_shown(parts: Option<&Parts>, value: impl Fn(Quantity) -> Option<f64>) -> Option<OperatingState> {
    Operating::default().infer(Signs::from_values(None, value), parts)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn second(
        operating: &mut Operating,
        second: u64,
        bar: Option<f64>,
        product: Option<f64>,
    ) -> Option<OperatingState> {
        let signs = Signs { told: None, pressure_bar: bar, product_l_h: product, through_l_h: None };
        operating.update(Monotonic(second * 1000), signs, None);
        operating.state
    }

    #[test]
    fn without_sensors_the_state_is_unknown_and_not_stopped() {
        let mut operating = Operating::default();
        assert_eq!(second(&mut operating, 0, None, None), None);
        assert_eq!(second(&mut operating, 60, None, None), None);
    }

    #[test]
    fn pressure_tells_start_run_and_stop() {
        let mut operating = Operating::default();
        let mut seen = vec![];
        for s in 0..100u64 {
            let bar = match s {
                0..20 => 0.0,
                20..40 => 12.0,
                40..70 => 55.0,
                70..80 => 10.0,
                _ => 0.0,
            };
            let state = second(&mut operating, s, Some(bar), None);
            if seen.last() != Some(&state) {
                seen.push(state);
            }
        }
        use OperatingState::{Running, Starting, Stopped, Stopping};
        assert_eq!(seen, [None, Some(Stopped), Some(Starting), Some(Running), Some(Stopping), Some(Stopped)]);
    }

    #[test]
    fn the_units_own_word_counts_at_once() {
        let mut operating = Operating::default();
        let signs = Signs { told: Some(OperatingState::Initiating), ..Signs::default() };
        let change = operating.update(Monotonic(0), signs, None);
        assert_eq!(change, Some(Change { from: None, to: Some(OperatingState::Initiating) }));
        assert!(!operating.inferred);
    }
}
