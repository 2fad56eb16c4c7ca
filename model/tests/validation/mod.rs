//! What the validation report, the tests and the printed figures have in common: each comparison is computed in one place.
//!
//! Nothing here decides whether a figure is good enough except the tolerances beside the comparisons. Random numbers are our own and seeded, logarithms
//! and exponentials are the model's: the report is the same to the byte on every machine.

#![allow(dead_code, reason = "each test binary and each program uses its own part")]

#[path = "../common/mod.rs"]
pub mod common;

pub mod check;
pub mod document;
pub mod figures;
pub mod libraries;
pub mod naming;
pub mod open_data;
pub mod pilot;
pub mod practice;
pub mod random;
pub mod search;
pub mod truths;
pub mod vectors;
