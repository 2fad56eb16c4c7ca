//! From an element's test sheet to its permeabilities.
//!
//! The same march as everywhere runs at the sheet's conditions, with sodium chloride: the permeabilities are those with which it gives the
//! sheet's flow and rejection. Sheets are usually measured at 55.2 bar at the inlet, 25 °C, 32,000 mg/L, recovery 8 % (trade data sheets, from memory;
//! the method is ASTM D4194). Rejection counts against the feed.

use super::{
    DifferentialPressureLaw, Element, Form, GivenPressure, Permeabilities, Salt, Train, TrainError, Water,
    Working,
};
use crate::quantity::{
    Area, Flow, MassConcentration, Pressure, Salinity, SaltPermeability, Temperature, WaterPermeability,
};
use crate::seawater::sodium_chloride::density_at_25c_kg_m3;
use crate::solve::bracketed::SolveError;

/// What a sheet says of an element, and under which conditions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TestConditions {
    /// Product flow.
    pub product: Flow,
    /// Rejection, 0 to 1.
    pub rejection: f64,
    /// Pressure at the inlet.
    pub pressure: Pressure,
    /// Temperature.
    pub temperature: Temperature,
    /// Sodium chloride in the feed.
    pub sodium_chloride: MassConcentration,
    /// Recovery, 0 to 1.
    pub recovery: f64,
}

/// The element that meets its sheet.
///
/// # Errors
/// [`TrainError::Element`] if rejection or recovery are not between 0 and 1; [`TrainError::Solve`] if no membrane gives this sheet, for instance when
/// the test pressure lies below the osmotic pressure.
pub fn element_from_sheet(
    area: Area,
    length_m: f64,
    sheet: &TestConditions,
    differential_pressure: DifferentialPressureLaw,
    form: &Form,
) -> Result<Element, TrainError> {
    let between_0_and_1 = |share: f64| 0.0 < share && share < 1.0;
    if !(between_0_and_1(sheet.rejection) && between_0_and_1(sheet.recovery)) {
        return Err(TrainError::Element);
    }
    let g_l = sheet.sodium_chloride.as_mg_l() / 1000.0;
    let salinity = Salinity::from_g_kg(1000.0 * g_l / density_at_25c_kg_m3(g_l))?;
    let water = Water { temperature: sheet.temperature, salinity, salt: Salt::SodiumChloride };
    // Any seawater membrane does as a first guess: 1 L/(m2 h bar) and 0.2 L/(m2 h).
    let mut element = Element {
        area,
        length_m,
        a25: WaterPermeability::from_l_m2_h_bar(1.0)?,
        b25: SaltPermeability::from_l_m2_h(0.2)?,
        leak: 0.0,
        differential_pressure,
    };
    let train = Train::of_equal(element, 1).at(&water, form)?;
    let working = Working {
        feed: Flow::from_m3_s(sheet.product.as_m3_s() / sheet.recovery)?,
        pressure: GivenPressure::Inlet(sheet.pressure),
        product: Pressure::from_pa(0.0)?,
    };
    let product_salinity = Salinity::from_g_kg(salinity.as_g_kg() * (1.0 - sheet.rejection))?;
    let Permeabilities { a25, b25 } = match train.fit(&working, sheet.product, product_salinity) {
        // A sheet that promises flow far beyond any membrane is a sheet typed wrongly.
        Err(TrainError::FeedUsedUp) => return Err(SolveError::RootAbove.into()),
        other => other?,
    };
    (element.a25, element.b25) = (a25, b25);
    Ok(element)
}
