//! Where frames come from: the CAN interface, recordings and pipes of candump text.

pub mod can_bus;
pub mod candump_log;
pub mod candump_pipe;
