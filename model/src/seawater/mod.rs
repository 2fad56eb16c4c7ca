//! Properties of seawater, of its dilution and concentrate, and of sodium chloride test solutions.
//!
//! What this is: one correlation a file, each with source, units, range and stated error. What it is not: a model of other salt mixtures:
//! everything here rests on the constant proportions of sea salt and errs in the Baltic, the Caspian and in estuaries of rivers rich in
//! sulfate. What happens on failure: a property of a quantity is always a finite number; outside the range of its correlation it is an
//! extrapolation, and each file says how far that was compared with anything.
//!
//! `check_values` holds the published values that all this is checked against.

pub mod check_values;
pub mod density;
pub mod osmotic_pressure;
pub mod practical_salinity;
pub mod product_water;
pub mod salinity_scales;
pub mod salt_diffusivity;
pub mod sodium_chloride;
pub mod viscosity;
