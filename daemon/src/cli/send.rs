//! A command to the engine: through the running daemon if there is one, else with the history's lock in our own hands. Both answer after the commit.

use crate::control;
use crate::engine::wall_clock::EARLIEST_LIVE_MS;
use crate::engine::{Command, Reply};
use crate::service::clock;
use crate::settings::Settings;
use crate::store;
use std::sync::Arc;

/// Sends and waits for the answer. A refusal is an error in the engine's words.
pub fn send(settings: &Arc<Settings>, command: &Command) -> anyhow::Result<Reply> {
    let reply = match control::connect(&settings.runtime_folder)? {
        Some(mut daemon) => daemon.send(command)?,
        None => store::run_command(settings, command.clone(), date()?)?,
    };
    match reply {
        Reply::Refused(why) => anyhow::bail!("{why}"),
        reply => Ok(reply),
    }
}

/// The computer's date, unless it is plainly one that nobody has set.
fn date() -> anyhow::Result<i64> {
    let now = clock::system_date();
    if now < EARLIEST_LIVE_MS {
        anyhow::bail!(
            "the computer's date is not set: set it first, or give the time of the reading with --at"
        );
    }
    Ok(now)
}

/// The unit that is meant: the one named, or the only one.
pub fn unit(settings: &Settings, named: Option<&str>) -> anyhow::Result<String> {
    let known: Vec<&str> = settings.units.iter().map(|unit| unit.id.as_str()).collect();
    match (named, known.as_slice()) {
        (Some(named), _) if known.contains(&named) => Ok(named.to_owned()),
        (Some(named), _) => {
            anyhow::bail!("there is no unit `{named}`; the settings have: {}", known.join(", "))
        }
        (None, [only]) => Ok((*only).to_owned()),
        (None, _) => anyhow::bail!("there are several units: name one with --unit ({})", known.join(", ")),
    }
}

/// Who writes: the name given, or the account.
pub fn person(named: Option<&str>) -> String {
    named.map(str::to_owned).or_else(|| std::env::var("USER").ok()).unwrap_or_else(|| "somebody".to_owned())
}
