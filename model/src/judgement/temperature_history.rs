//! A unit's runs as points from which its temperature parameters can be learnt.
//!
//! Only runs with a measured flow count: without one a worn pump would be learnt as a temperature. What a run was assumed is chance here: the sea is not the same
//! twice. Each cleaning and each changed part begins a new segment with a level of its own; a new element forgets what was before.

use super::comparison::Fitted;
use crate::WallMs;
use crate::math;
use crate::performance::membrane_state::SharedKey;
use crate::quantity::Temperature;
use crate::records::{EventKind, LogBody, LogEntry};

/// One run.
#[derive(Clone, Debug, PartialEq)]
pub struct HistoryPoint {
    /// Time, days from any fixed date.
    pub days: f64,
    /// Runs between two cleanings or changes of a part have the same number.
    pub segment: u32,
    /// Temperature of the feed, °C.
    pub temperature_c: f64,
    /// Chance of its reading, K.
    pub(super) temperature_random_k: f64,
    /// Was the product's salinity measured?
    pub salt_measured: bool,
    /// ln A and ln B at the run's own temperature: no temperature parameter is in them.
    pub(super) ln_ab: [f64; 2],
    /// Their standard deviations by chance.
    pub(super) random_sd: [f64; 2],
    /// What each shared error does to both, one standard deviation of it.
    pub(super) shared: Vec<(SharedKey, [f64; 2])>,
}

impl HistoryPoint {
    /// From a fitted run. `None` without a measured feed or concentrate flow.
    pub fn new(fitted: &Fitted, days: f64, segment: u32) -> Option<Self> {
        if !fitted.observed.flow_measured {
            return None;
        }
        let state = &fitted.state;
        let temperature = Temperature::from_celsius(state.point.temperature_c).ok()?;
        // A(T) = A25 f(T): the parameters that were used for A25 leave it again.
        let used = fitted.response;
        let [ln_a, ln_b] = fitted.ln_ab();
        let ln_ab = [ln_a + math::ln(used.water(temperature)), ln_b + math::ln(used.salt(temperature))];
        let chance = state.random_covariance();
        let mut variance = [chance.aa, chance.bb];
        let mut shared = Vec::new();
        for (key, (a, b)) in state.named_errors() {
            if key.is_temperature_law() {
                continue;
            }
            if key.is_alone() {
                variance[0] += a * a;
                variance[1] += b * b;
            } else {
                shared.push((key, [a, b]));
            }
        }
        Some(Self {
            days,
            segment,
            temperature_c: state.point.temperature_c,
            temperature_random_k: fitted.observed.readings.feed_temperature_c.map_or(0.0, |read| read.random),
            salt_measured: fitted.observed.salt_measured,
            ln_ab,
            random_sd: variance.map(f64::sqrt),
            shared,
        })
    }
}

/// Where a run stands among the events of the log: its segment, or `None` if an element was replaced after it. Both times in ms since 1970.
pub fn segment_at(log: &[LogEntry], run: WallMs) -> Option<u32> {
    let mut segment = 0;
    for entry in log.iter().filter(|entry| !entry.voided) {
        let LogBody::Event(kind) = entry.body else { continue };
        let Some(at) = entry.at.wall_ms else { continue };
        match kind {
            EventKind::ElementReplaced if run < at => return None,
            _ if at <= run && (kind == EventKind::Cleaned || kind.ends_baseline()) => segment += 1,
            _ => {}
        }
    }
    Some(segment)
}
