//! Spiral-wound elements: solution and diffusion, marched along a train.
//!
//! What this is: from feed flow, pressure and water to the product of each element, and back to the two permeabilities. What it is
//! not: a plant; pump, valve and motor are in `plant`. What happens on failure: [`TrainError`] says what cannot be, by name.
//!
//! Equations: Lonsdale, Merten & Riley 1965 and Wijmans & Baker 1995, J. Membr. Sci. 107 (solution and diffusion), film theory for polarisation. Salt is
//! counted as gram per kilogram of solution throughout; the form by volume would change the polarisation by up to 0.7 % and the salt
//! permeability by 2.8 %.

pub mod concentration_polarisation;
pub mod differential_pressure;
pub mod element;
mod flux;
mod march;
mod permeability_fit;
pub mod specification;
pub mod temperature_correction;
pub mod train;

pub use concentration_polarisation::Polarisation;
pub use differential_pressure::DifferentialPressureLaw;
pub use element::Element;
pub use permeability_fit::{GivenPressure, Permeabilities, Working};
pub use specification::TestConditions;
pub use temperature_correction::TemperatureResponse;
pub use train::{ElementOutput, Form, Salt, Train, TrainAt, TrainError, TrainOutput, Water};
