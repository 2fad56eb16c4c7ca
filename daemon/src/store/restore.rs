//! What the engine gets back at start.

use super::dating::{Dated, Dating};
use super::record_rows::{self, Kind, Which};
use super::{Store, StoreError, cut_run, limits, sample_rows};
use crate::engine::{Restored, RestoredUnit};
use crate::wire::{AlertJson, BaselineJson, LogEntryJson, NodeJson, PartsJson, RunJson, read_body};
use barrico_model::Monotonic;
use barrico_model::records::{Baseline, LogEntry, RunEnd, RunRecord};

impl Store {
    /// Everything the engine judges with. `boot` is the random number of this start of the program.
    ///
    /// # Errors
    /// A record that is damaged or was written by a newer program.
    pub fn restore(&self, boot: u64) -> Result<Restored, StoreError> {
        let sqlite = |error: rusqlite::Error| StoreError::from_sqlite(&self.path, &error);
        let number =
            |sql: &str| self.connection.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(sqlite);
        let store_id = number("SELECT value FROM meta WHERE key = 'store_id'")? as u64;
        let last_id =
            number("SELECT coalesce(max(id), 0) FROM record WHERE kind IN ('log', 'run', 'baseline')")?
                as u64;
        let boots = sample_rows::boots(&self.connection).map_err(sqlite)?;
        let dating = Dating::new(&boots);
        let units = (0..self.unit_ids.len()).map(|unit| self.restore_unit(unit, &boots, &dating));
        Ok(Restored { store_id, boot, units: units.collect::<Result<_, _>>()?, last_id })
    }

    fn restore_unit(
        &self,
        unit: usize,
        boots: &[sample_rows::Boot],
        dating: &Dating,
    ) -> Result<RestoredUnit, StoreError> {
        let id = self.unit_ids[unit].as_str();
        let (connection, path) = (&self.connection, self.path.as_path());
        let latest = |count: usize| Which::Latest(count);
        let everything = latest(usize::MAX);
        // One more than the engine keeps: the latest may be the run that was cut.
        let found: Vec<RunRecord> = record_rows::read::<RunJson, _>(
            connection,
            path,
            id,
            Kind::Run,
            latest(limits::RESTORED_RUNS_MAX + 1),
        )?;
        let (runs, cut_run) = self.close_cut_runs(unit, found, boots)?;
        let log: Vec<LogEntry> = record_rows::read::<LogEntryJson, _>(
            connection,
            path,
            id,
            Kind::Log,
            latest(limits::RESTORED_LOG_MAX),
        )?;
        let baselines: Vec<Baseline> =
            record_rows::read::<BaselineJson, _>(connection, path, id, Kind::Baseline, everything)?;
        let alerts = record_rows::read::<AlertJson, _>(connection, path, id, Kind::Alert, everything)?;
        let parts = record_rows::bodies(connection, path, id, Kind::Parts, everything)?;
        let parts = parts
            .last()
            .map(|body| read_body::<PartsJson>(body))
            .transpose()
            .map_err(|error| StoreError::from_wire(path, error))?;
        let node = record_rows::bodies(connection, path, id, Kind::Node, everything)?;
        let node = node
            .last()
            .map(|body| read_body::<NodeJson>(body))
            .transpose()
            .map_err(|error| StoreError::from_wire(path, error))?;
        Ok(RestoredUnit {
            log: recent(dated(log, dating)),
            runs: dated(runs, dating),
            baselines: dated(baselines, dating),
            alerts: dated(alerts, dating),
            parts_fingerprint: parts.map(|parts| parts.fingerprint),
            learnt: Default::default(),
            node: node.and_then(|node| node.try_into().ok()),
            cut_run: cut_run.map(|mut run| {
                run.date(dating);
                run
            }),
        })
    }

    /// Runs that are open in the store were cut. The latest is given apart, so that it is written closed; older ones (cut again
    /// before that could be done) are closed the same way each time.
    fn close_cut_runs(
        &self,
        unit: usize,
        found: Vec<RunRecord>,
        boots: &[sample_rows::Boot],
    ) -> Result<(Vec<RunRecord>, Option<RunRecord>), StoreError> {
        let last_open = found.iter().rposition(|run| run.end == RunEnd::Open);
        let mut closed: Vec<RunRecord> = Vec::with_capacity(found.len());
        let mut cut = None;
        for (index, run) in found.into_iter().enumerate() {
            if run.end != RunEnd::Open {
                closed.push(run);
                continue;
            }
            let mut samples = Vec::new();
            if let Some(boot) = boots.iter().find(|boot| boot.boot == run.start.boot) {
                let span = (run.start.monotonic, Monotonic(u64::MAX));
                let name = (unit, self.unit_ids[unit].as_str());
                let read = sample_rows::each(&self.connection, &self.path, name, *boot, span, |sample| {
                    if sample.run == run.id {
                        samples.push(sample);
                    }
                });
                match read {
                    // Damaged samples do not keep the daemon from starting: the run is closed from those before the damage.
                    Ok(()) | Err(StoreError::Damaged { .. }) => {}
                    Err(other) => return Err(other),
                }
            }
            let run = cut_run::close(&run, &samples, &closed);
            if Some(index) == last_open {
                cut = Some(run);
            } else {
                closed.push(run);
            }
        }
        let surplus = closed.len().saturating_sub(limits::RESTORED_RUNS_MAX);
        closed.drain(..surplus);
        Ok((closed, cut))
    }
}

fn dated<T: Dated>(mut records: Vec<T>, dating: &Dating) -> Vec<T> {
    records.iter_mut().for_each(|record| record.date(dating));
    records
}

/// The last two years, counted from the newest date; entries without a date stay.
fn recent(mut log: Vec<LogEntry>) -> Vec<LogEntry> {
    if let Some(newest) = log.iter().filter_map(|entry| entry.at.wall_ms).max() {
        let oldest = newest.saturating_sub(limits::RESTORED_LOG_AGE_MS);
        log.retain(|entry| entry.at.wall_ms.is_none_or(|wall| oldest <= wall));
    }
    log
}
