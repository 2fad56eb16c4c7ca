//! Steady windows: which part of a run may be averaged, and the averages.
//!
//! Values are taken once a second. A window counts only if pressure, product flow and temperature hold still in it; what changes during
//! start, after a turn of the valve or while a regulator hunts is left out. The mean over a run is the mean of its window
//! means; its random error is their scatter, so that slow wandering within the run is part of it.

use barrico_model::Quantity;
use barrico_model::records::{Mean, Reading};

/// Length of a window. A minute averages pulsation and is short against warm-up (our choice).
pub const WINDOW_S: u32 = 60;

/// How far a quantity may wander within a window: share of its mean, and absolute in its unit (our choice).
const STILLNESS: [(Quantity, f64, f64); 5] = [
    (Quantity::FeedPressure, 0.015, 0.3),
    (Quantity::ConcentratePressure, 0.015, 0.3),
    (Quantity::ProductFlow, 0.03, 0.5),
    (Quantity::FeedFlow, 0.03, 2.0),
    (Quantity::FeedTemperature, 0.0, 0.3),
];

/// Mean and scatter of a row of numbers (Welford 1962, Technometrics 4, 419).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Running {
    count: u32,
    mean: f64,
    m2: f64,
}

impl Running {
    fn add(&mut self, value: f64) {
        self.count += 1;
        let delta = value - self.mean;
        self.mean += delta / f64::from(self.count);
        self.m2 += delta * (value - self.mean);
    }

    fn sd(&self) -> f64 {
        if self.count < 2 { 0.0 } else { (self.m2 / f64::from(self.count - 1)).sqrt() }
    }
}

#[derive(Clone, Copy, Debug)]
struct Slot {
    window: Running,
    run: Running,
    last: Option<Reading>,
    readings: u32,
}

const EMPTY: Slot = Slot {
    window: Running { count: 0, mean: 0.0, m2: 0.0 },
    run: Running { count: 0, mean: 0.0, m2: 0.0 },
    last: None,
    readings: 0,
};

/// The averages of one run.
#[derive(Clone, Debug)]
pub struct Steady {
    slots: Vec<Slot>,
    seconds: u32,
    /// Seconds in windows that counted.
    pub steady_s: f64,
    /// Windows left out because something wandered.
    pub unsteady_windows: u32,
}

impl Default for Steady {
    fn default() -> Self {
        Self { slots: vec![EMPTY; Quantity::ALL.len()], seconds: 0, steady_s: 0.0, unsteady_windows: 0 }
    }
}

impl Steady {
    /// One second passed with these readings. Returns true when a window has just been counted.
    pub fn second<'a>(&mut self, readings: impl Iterator<Item = &'a Reading>) -> bool {
        for reading in readings {
            let slot = &mut self.slots[reading.quantity as usize];
            slot.window.add(reading.value);
            slot.last = Some(*reading);
        }
        self.seconds += 1;
        if self.seconds < WINDOW_S { false } else { self.close_window() }
    }

    /// Throw the window away that has just begun, for instance when the state changes.
    pub fn restart_window(&mut self) {
        self.seconds = 0;
        for slot in &mut self.slots {
            slot.window = Running::default();
        }
    }

    fn close_window(&mut self) -> bool {
        let still = STILLNESS.iter().all(|&(quantity, share, absolute)| {
            let window = &self.slots[quantity as usize].window;
            window.sd() <= absolute.max(share * window.mean.abs())
        });
        if still {
            self.steady_s += f64::from(WINDOW_S);
            // A quantity that was missing for half of the window has no mean in it.
            for slot in self.slots.iter_mut().filter(|slot| WINDOW_S / 2 <= slot.window.count) {
                slot.run.add(slot.window.mean);
                slot.readings += slot.window.count;
            }
        } else {
            self.unsteady_windows += 1;
        }
        self.restart_window();
        still
    }

    /// Means over the windows so far, ordered by quantity.
    pub fn means(&self) -> Vec<Mean> {
        self.slots.iter().filter_map(mean_of).collect()
    }
}

fn mean_of(slot: &Slot) -> Option<Mean> {
    let last = slot.last.filter(|_| 0 < slot.run.count)?;
    let windows = f64::from(slot.run.count);
    let scatter = slot.run.sd() / windows.sqrt();
    let chance = last.random / f64::from(slot.readings.max(1)).sqrt();
    Some(Mean {
        quantity: last.quantity,
        value: slot.run.mean,
        random: scatter.max(chance),
        systematic: last.systematic,
        instrument: last.instrument,
        origin: last.origin,
        count: slot.readings,
    })
}

/// Averages a hand reading into a set of means: the hand reading stands alone where nothing else measured the quantity.
pub fn add_missing(means: &mut Vec<Mean>, readings: &[Reading]) {
    for reading in readings {
        if means.iter().any(|mean| mean.quantity == reading.quantity) {
            continue;
        }
        means.push(Mean {
            quantity: reading.quantity,
            value: reading.value,
            random: reading.random,
            systematic: reading.systematic,
            instrument: reading.instrument,
            origin: reading.origin,
            count: 1,
        });
    }
    means.sort_by_key(|mean| mean.quantity);
}

#[cfg(test)]
mod tests {
    use super::*;
    use barrico_model::Monotonic;
    use barrico_model::records::Origin;

    fn reading(quantity: Quantity, value: f64) -> Reading {
        Reading {
            quantity,
            value,
            random: 0.5,
            systematic: 0.2,
            instrument: 0,
            origin: Origin::Assumed("test"),
            at: Monotonic(0),
        }
    }

    #[test]
    fn a_still_window_counts_and_a_wandering_one_does_not() {
        let mut steady = Steady::default();
        for second in 0..120 {
            let pressure = if second < 60 {
                55.0 + 0.1 * f64::from(second % 2)
            } else {
                55.0 + 0.1 * f64::from(second - 60)
            };
            let counted = steady.second([reading(Quantity::FeedPressure, pressure)].iter());
            assert_eq!(counted, second == 59, "second {second}");
        }
        assert_eq!((steady.steady_s, steady.unsteady_windows), (60.0, 1));
        let means = steady.means();
        assert_eq!(means.len(), 1);
        assert!((means[0].value - 55.05).abs() < 1e-9);
        assert_eq!(means[0].count, 60);
    }

    #[test]
    fn scatter_between_windows_is_the_random_error() {
        let mut steady = Steady::default();
        for minute in 0..4 {
            for _ in 0..60 {
                steady.second([reading(Quantity::ProductFlow, 70.0 + f64::from(minute % 2) * 4.0)].iter());
            }
        }
        let mean = steady.means()[0];
        assert!((mean.value - 72.0).abs() < 1e-9);
        // Four windows of 70, 74, 70, 74: standard deviation 2.309, of the mean 1.155.
        assert!((mean.random - 1.1547).abs() < 1e-3, "{}", mean.random);
    }
}
