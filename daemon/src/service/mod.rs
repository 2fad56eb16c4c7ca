//! The shell around the engine: clocks, threads, sources, the page. Nothing is judged here.
//!
//! ```text
//!  reader thread ──frames──►┐
//!  control socket ─commands►│ engine thread ──records──► store thread
//!  page ──────────commands─►│  (never waits  ◄─persisted─┘
//!                           └──  for any)    ──view────► page (tokio, main thread)
//! ```

pub mod clock;
pub mod engine_thread;
pub mod frame_log;
pub mod log;
pub mod mailbox;
