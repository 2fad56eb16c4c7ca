//! What every request sees.

use super::commands::Commands;
use super::doors::HostList;
use super::limits::EVENT_LISTENERS_MAX;
use super::notices::Notices;
use super::session::Sessions;
use crate::engine::view::View;
use crate::settings::Settings;
use std::sync::Arc;
use tokio::sync::{Semaphore, watch};

/// What the page needs of the rest of the program.
pub struct App {
    /// The engine's last view.
    pub view: watch::Receiver<Arc<View>>,
    /// The way to the engine.
    pub commands: Commands,
    /// Settings: page, units, instruments.
    pub settings: Arc<Settings>,
    /// Secrets of this start of the program.
    pub secrets: Secrets,
}

/// Secrets of one start of the program.
#[derive(Clone)]
pub struct Secrets {
    /// Form token while nobody has to sign in, and of the sign-in form.
    pub form_token: [u8; 32],
}

impl Secrets {
    /// New ones from the system's random source.
    ///
    /// # Errors
    /// If that source fails; then there must be no page.
    pub fn random() -> Result<Self, getrandom::Error> {
        let mut form_token = [0; 32];
        getrandom::fill(&mut form_token)?;
        Ok(Self { form_token })
    }
}

/// The state behind the routes.
pub(super) struct Site {
    pub view: watch::Receiver<Arc<View>>,
    pub commands: Commands,
    pub settings: Arc<Settings>,
    pub hosts: HostList,
    /// `None`: the address is loopback and no password is needed.
    pub sessions: Option<Sessions>,
    /// Form token without a session.
    pub token: String,
    pub event_slots: Arc<Semaphore>,
    pub notices: Notices,
    /// Turns true when the program stops.
    pub stopping: watch::Receiver<bool>,
}

impl Site {
    pub fn new(
        app: App,
        hosts: HostList,
        sessions: Option<Sessions>,
        stopping: watch::Receiver<bool>,
    ) -> Self {
        Self {
            view: app.view,
            commands: app.commands,
            settings: app.settings,
            hosts,
            sessions,
            token: hex(&app.secrets.form_token),
            event_slots: Arc::new(Semaphore::new(EVENT_LISTENERS_MAX)),
            notices: Notices::default(),
            stopping,
        }
    }

    /// The engine's last view.
    pub fn view(&self) -> Arc<View> {
        Arc::clone(&self.view.borrow())
    }
}

/// Lower-case hexadecimal.
pub(super) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// A new random text that nobody can guess; `None` if the system's random source fails.
pub(super) fn random_text() -> Option<String> {
    let mut bytes = [0; 32];
    getrandom::fill(&mut bytes).ok().map(|()| hex(&bytes))
}

/// Equal, in a time that does not tell where they differ.
pub(super) fn same_secret(a: &str, b: &str) -> bool {
    let differences = a.bytes().zip(b.bytes()).fold(0, |all, (x, y)| all | (x ^ y));
    (a.len() == b.len()) & (std::hint::black_box(differences) == 0)
}
