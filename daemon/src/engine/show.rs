//! A copy of what the engine knows, for pages, JSON and metrics.

use super::Engine;
use super::judge::{RUNS_SHOWN, whole_sd};
use super::unit::Unit;
use super::view::{Health, ReadingStatus, ReadingView, RunRow, UnitView, View};
use barrico_model::findings::registry;
use barrico_model::{Monotonic, Quantity, WallMs};

/// Milliseconds in a day.
const DAY_MS: i64 = 86_400_000;

impl Engine {
    /// The view at this moment.
    pub fn view(&self, now: Monotonic) -> View {
        View {
            at: now,
            wall_ms: self.clock.wall(now),
            boat: self.settings.boat.name.clone(),
            units: (0..self.units.len())
                .filter(|&unit| !self.units[unit].is_boat)
                .map(|u| self.unit_view(now, u))
                .collect(),
            store: self.store.clone(),
            source: Health { working: self.source.working, text: self.source.text.clone() },
            source_impaired: self.source_impaired.clone(),
            bus: self.bus_counts,
            node_troubles: self.node_troubles(),
            frames: self.bus.frames,
            readings: self.bus.values,
            damaged: self.damaged_lines + self.bus.damaged(),
        }
    }

    fn node_troubles(&self) -> Vec<(String, String)> {
        let of = |unit: usize| {
            Some((self.units[unit].settings.name.clone(), self.network.trouble(unit)?.to_owned()))
        };
        (0..self.units.len()).filter_map(of).collect()
    }

    fn unit_view(&self, now: Monotonic, index: usize) -> UnitView {
        let unit = &self.units[index];
        let judgement = &self.judgement[index];
        let runs: Vec<RunRow> = unit
            .runs
            .iter()
            .skip(unit.runs.len().saturating_sub(RUNS_SHOWN))
            .map(|run| RunRow {
                run: run.clone(),
                expected_product_flow_l_h: judgement.expected_of_run.get(&run.id).copied(),
            })
            .collect();
        UnitView {
            id: unit.settings.id.clone(),
            name: unit.settings.name.clone(),
            state: unit.operating.state,
            state_inferred: unit.operating.inferred,
            state_s: now.seconds_since(unit.operating.since),
            readings: Quantity::ALL
                .iter()
                .filter_map(|&quantity| reading_view(unit, now, quantity))
                .collect(),
            expected: judgement.expected,
            expected_missing: judgement.expected_missing.clone(),
            product_conductivity_limit: unit.settings.parts.limits.product_conductivity_us_cm,
            findings: unit.alerts.active(),
            not_computable: judgement
                .cannot
                .iter()
                .map(|(code, why)| format!("{}: {why}", registry::of(*code).title))
                .collect(),
            runs,
            product_today_l: product_today(unit, self.clock.wall(now)),
            bus_address: self.network.address(index),
            baseline: unit.baseline().cloned(),
            idle_h: unit.idle_h(self.clock.stamp(now)),
            history: judgement.history.clone(),
            tank_flow_l_h: unit.tank.reading(now).map(|reading| (reading.value, whole_sd(&reading))),
            usual_feed_salinity: unit.settings.usual_feed_salinity,
        }
    }
}

fn reading_view(unit: &Unit, now: Monotonic, quantity: Quantity) -> Option<ReadingView> {
    let current = unit.readings.current[quantity as usize];
    let known = current.or(unit.readings.last[quantity as usize])?;
    let arbiter = unit.readings.arbiters().iter().find(|arbiter| arbiter.quantity == quantity);
    let doubted = arbiter.is_some_and(|arbiter| {
        arbiter.choice.doubts.iter().any(|doubt| Some(doubt.stream) == arbiter.choice.stream)
    });
    Some(ReadingView {
        quantity,
        value: Some(known.value),
        sd: whole_sd(&known),
        age_s: now.seconds_since(known.at),
        origin: known.origin,
        status: match current {
            None => ReadingStatus::Stale,
            Some(_) if doubted => ReadingStatus::Doubted,
            Some(_) => ReadingStatus::Fresh,
        },
    })
}

/// Litres since midnight UTC: closed runs of today and the open one. `None` without a date or without any known flow.
fn product_today(unit: &Unit, wall_ms: Option<WallMs>) -> Option<f64> {
    let midnight = wall_ms?.div_euclid(DAY_MS) * DAY_MS;
    let closed = unit.runs.iter().filter(|run| run.start.wall_ms.is_some_and(|start| midnight <= start));
    let open = unit.run.iter().map(|run| &run.record);
    let mut litres: Option<f64> = None;
    for made in closed.chain(open).filter_map(|run| run.product_l) {
        *litres.get_or_insert(0.0) += made;
    }
    litres
}
