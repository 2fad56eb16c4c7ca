//! The `barrico` program.
fn main() {}
