//! The shell around the engine: clocks, threads, sources, the page. Nothing is judged here.
//!
//! ```text
//!  CAN socket ◄────frames──►┐
//!  candump pipe ───frames──►│ engine thread ──records──► store thread
//!  control socket ─commands►│  (never waits  ◄─persisted─┘
//!  page ──────────commands─►┘   for any)     ──view────► page (tokio, main thread)
//! ```

mod bell;
pub mod clock;
pub mod engine_thread;
pub mod frame_log;
pub mod log;
pub mod mailbox;
