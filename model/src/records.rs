//! What is remembered: readings, runs, baselines, log entries.
