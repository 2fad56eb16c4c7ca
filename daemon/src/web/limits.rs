//! Every limit of the page, with its reason.

use std::time::Duration;

/// Largest body of a request. A full hand-reading form has about 4 kB.
pub const BODY_BYTES_MAX: usize = 64 * 1024;

/// Connections at a time. A browser opens up to 6; so five people, and no more than about 1 MB of buffers.
pub const CONNECTIONS_MAX: usize = 32;

/// Listeners to live events at a time. Each takes a connection for good; the others stay free for pages.
pub const EVENT_LISTENERS_MAX: usize = 12;

/// Time for the head of a request to arrive, also between two requests on one connection.
pub const HEAD_TIMEOUT: Duration = Duration::from_secs(15);

/// Time for the body of a request to arrive.
pub const BODY_TIMEOUT: Duration = Duration::from_secs(15);

/// Time that sent bytes may stay unacknowledged: a phone that left the Wi-Fi gives its connection back.
pub const DEAD_PEER_TIMEOUT: Duration = Duration::from_secs(30);

/// Buffer for the head of a request; hyper's smallest is 8 kB.
pub const HEAD_BYTES_MAX: usize = 16 * 1024;

/// Two live events to one listener are at least so far apart.
pub const EVENT_GAP: Duration = Duration::from_secs(1);

/// Without news an event goes out so often, so that the browser can tell silence from calm.
pub const EVENT_HEARTBEAT: Duration = Duration::from_secs(9);

/// Time for the engine to answer a command, the commit to disk included.
pub const COMMAND_TIMEOUT: Duration = Duration::from_secs(15);

/// Time that open connections get to finish when the program stops.
pub const SHUTDOWN_GRACE: Duration = Duration::from_secs(2);

/// People signed in at a time; one more signs the oldest out.
pub const SESSIONS_MAX: usize = 16;

/// A phone stays signed in for a fortnight's cruise.
pub const SESSION_LIFE: Duration = Duration::from_secs(14 * 24 * 3600);

/// Wrong passwords in a window before further tries are refused unheard.
pub const WRONG_PASSWORDS_MAX: usize = 5;

/// The window for wrong passwords.
pub const WRONG_PASSWORDS_WINDOW: Duration = Duration::from_secs(60);

/// Shortest password: with five tries a minute and address, eight characters outlast any cruise.
pub const PASSWORD_CHARS_MIN: usize = 8;

/// Longest password; also what the sign-in form takes.
pub const PASSWORD_CHARS_MAX: usize = 200;

/// Answers to posted forms that wait for their page to be fetched; older ones are forgotten.
pub const NOTICES_MAX: usize = 64;

/// Log entries on the log page.
pub const LOG_ENTRIES_MAX: usize = 200;

pub use crate::hand::NAME_CHARS_MAX;

/// Longest note.
pub const NOTE_CHARS_MAX: usize = 500;
