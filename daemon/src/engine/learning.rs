//! Temperature parameters of a unit, learnt from its own runs.
//!
//! The statistics are the model's; here is which runs count, and that no run is fitted twice. Without enough runs the defaults stand.

use super::Engine;
use crate::settings::UnitSettings;
use barrico_model::judgement::{HistoryPoint, Laws, Learnt, fit, learn, nominal_train, observe, segment_at};
use barrico_model::membrane::Train;
use barrico_model::records::{LogEntry, RunRecord};
use std::collections::BTreeMap;

/// Most runs that are learnt from, evenly taken from all: enough for years of seasons, and a tenth of a second of work after a start (our choice).
pub const RUNS_LEARNT: usize = 120;

/// Milliseconds of a day.
const DAY_MS: f64 = 86_400_000.0;

/// What was learnt of a unit, and the points it was learnt from by run and revision.
#[derive(Clone, Debug, Default)]
pub struct Learning {
    /// The parameters.
    pub learnt: Learnt,
    /// What stands while the runs teach nothing: the defaults, or what was learnt elsewhere.
    given: Learnt,
    points: BTreeMap<(u64, u32), Option<HistoryPoint>>,
}

impl Learning {
    /// The forms of the model that follow.
    pub fn laws(&self) -> Laws {
        self.learnt.laws()
    }

    /// With parameters that were learnt before, from runs that are not at hand.
    pub fn given(learnt: Learnt) -> Self {
        Self { learnt, given: learnt, ..Self::default() }
    }

    /// Learns anew from runs, oldest first, and the log.
    pub fn learn<'a>(
        &mut self,
        settings: &UnitSettings,
        runs: impl Iterator<Item = &'a RunRecord>,
        log: &[LogEntry],
    ) {
        let laws = Laws::default();
        let Ok(train) = nominal_train(&settings.parts, &laws.form) else { return };
        let dated: Vec<(&RunRecord, i64, u32)> = runs
            .filter(|run| !run.means.is_empty())
            .filter_map(|run| {
                let at = run.start.wall_ms?;
                Some((run, at, segment_at(log, at)?))
            })
            .collect();
        let step = dated.len().div_ceil(RUNS_LEARNT).max(1);
        // Counted from the newest: the latest run always counts.
        let taken: Vec<_> = dated.iter().rev().step_by(step).rev().collect();
        let mut points = BTreeMap::new();
        let mut history = Vec::with_capacity(taken.len());
        for &&(run, at, segment) in &taken {
            let key = (run.id, run.revision);
            let known = self.points.remove(&key);
            let point = known.unwrap_or_else(|| point(settings, &train, run, at, &laws));
            points.insert(key, point.clone());
            history.extend(point.map(|mut point| {
                point.segment = segment;
                point
            }));
        }
        self.points = points;
        let learnt = learn(&history);
        self.learnt = if learnt.runs == 0 { self.given } else { learnt };
    }
}

fn point(
    settings: &UnitSettings,
    train: &Train,
    run: &RunRecord,
    at: i64,
    laws: &Laws,
) -> Option<HistoryPoint> {
    let observed = observe(&settings.parts, &run.means, settings.usual_feed_salinity, None).ok()?;
    let fitted = observed.flow_measured.then(|| fit(train, &observed, laws).ok())??;
    HistoryPoint::new(&fitted, at as f64 / DAY_MS, 0)
}

impl Engine {
    /// Runs or log changed: the unit's temperature parameters are learnt anew.
    pub(super) fn learn(&mut self, unit: usize) {
        let this = &mut self.units[unit];
        if this.has_parts {
            this.learning.learn(&this.settings, this.runs.iter(), &this.log);
        }
    }
}
