//! Where frames come from: recordings and pipes of candump text.

pub mod candump_log;
pub mod candump_pipe;
