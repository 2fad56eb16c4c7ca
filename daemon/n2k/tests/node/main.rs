//! Nodes on a simulated bus with virtual time, strangers with scripts, and what was recorded on a real one.

#![expect(clippy::unwrap_used, reason = "a test that cannot go on must fail")]

mod commanded;
mod contention;
mod display;
mod hostile;
mod recorded;
mod rest;
mod twin;
mod world;
