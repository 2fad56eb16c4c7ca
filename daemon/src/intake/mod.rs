//! From protocol values to readings. Units convert here on the way in and nowhere else.

pub mod arbitration;
mod errors;
pub mod from_n2k;
pub mod stream;

pub use errors::usual_errors;
