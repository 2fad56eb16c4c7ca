//! Commands without a daemon: take the lock, drive the same engine, answer when the store has it.

use super::{Store, StoreError};
use crate::engine::wall_clock::ClockMode;
use crate::engine::{Command, Engine, Input, Options, Output, Record, Reply, Ticket};
use crate::settings::Settings;
use barrico_model::{Monotonic, WallMs};
use std::sync::Arc;

/// Rounds of outputs that become inputs. One is usual; a bound instead of an endless loop if the engine should ever ask for ever.
const ROUNDS_MAX: usize = 16;
/// Number of the one request.
const REQUEST: u64 = 1;

/// Carries out one command and returns its answer after the commit. `wall_ms` is the date of the system clock.
///
/// # Errors
/// The history cannot be opened (among others: a daemon has it), read or written. Then nothing was confirmed.
pub fn run_command(settings: &Arc<Settings>, command: Command, wall_ms: WallMs) -> Result<Reply, StoreError> {
    let unit_ids: Vec<String> = settings.units.iter().map(|unit| unit.id.clone()).collect();
    let mut store = Store::open_sound(&settings.state_folder, &unit_ids)?;
    let restored = store.restore(random_boot(&settings.state_folder)?)?;
    let options = Options { clock: ClockMode::Live, find_units: false, transmit: false };
    let mut engine = Engine::new(Arc::clone(settings), options);
    let (now, mut out) = (Monotonic(0), Vec::new());
    engine.handle(now, Input::WallClock(wall_ms), &mut out);
    engine.handle(now, Input::Restored(Box::new(restored)), &mut out);
    engine.handle(now, Input::Command { request: REQUEST, command: Box::new(command) }, &mut out);
    let mut last = Ticket(0);
    for _ in 0..ROUNDS_MAX {
        let mut batch: Vec<(Ticket, Record)> = Vec::new();
        for output in out.drain(..) {
            match output {
                Output::Persist(ticket, record) => batch.push((ticket, *record)),
                Output::Reply { request: REQUEST, reply } => {
                    store.commit(&batch)?;
                    store.close()?;
                    return Ok(*reply);
                }
                _ => {}
            }
        }
        store.commit(&batch)?;
        last = batch.last().map_or(last, |(ticket, _)| *ticket);
        // Also when there was nothing to keep: a question waits for its turn too.
        engine.handle(now, Input::Persisted(last), &mut out);
    }
    Err(StoreError::NoAnswer)
}

/// A random number for this start of the program.
///
/// # Errors
/// The system has no random numbers.
pub fn random_boot(folder: &std::path::Path) -> Result<u64, StoreError> {
    let mut bytes = [0; 8];
    getrandom::fill(&mut bytes).map_err(|error| StoreError::Folder {
        path: folder.to_owned(),
        source: std::io::Error::other(error.to_string()),
    })?;
    Ok(u64::from_le_bytes(bytes))
}
