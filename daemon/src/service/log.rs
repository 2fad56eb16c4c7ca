//! The program's log: events in plain words on standard error, where the journal takes them.

use crate::engine::{AlertState, Engine, Event};
use crate::publish::text;
use barrico_model::findings::Severity;

/// Starts the log. `BARRICO_LOG` sets the level: error, warn, info (default), debug.
pub fn start() {
    use tracing_subscriber::EnvFilter;
    let filter = EnvFilter::try_from_env("BARRICO_LOG").unwrap_or_else(|_| EnvFilter::new("info"));
    // A second start in the same process, as tests do, keeps the first one.
    let _ = tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_target(false)
        .with_ansi(false)
        .without_time()
        .with_writer(std::io::stderr)
        .try_init();
}

/// Tells an event at the level of its consequence: error if a person must act, warn if it mends itself.
pub fn event(engine: &Engine, event: &Event) {
    let line = text::event(engine, event);
    match event {
        Event::Reading { .. } | Event::Sender(_) => tracing::debug!("{line}"),
        Event::Finding { alert, .. }
            if alert.state == AlertState::Raised && Severity::Alert <= alert.severity =>
        {
            tracing::error!("{line}");
        }
        Event::Finding { .. } | Event::Remark { .. } => tracing::warn!("{line}"),
        Event::Store { working: false, .. } | Event::Source { working: false, .. } => {
            tracing::warn!("{line}")
        }
        _ => tracing::info!("{line}"),
    }
}
