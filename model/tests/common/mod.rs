//! Shared by the tests of the physics: short constructors and the two reference units.

#![allow(dead_code, reason = "each test binary uses its own part")]

use barrico_model::membrane::specification::element_from_sheet;
use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, Polarisation, Salt, TestConditions, Water,
};
use barrico_model::quantity::{
    Area, Flow, MassConcentration, Pressure, Salinity, SaltPermeability, Temperature, WaterPermeability,
};

/// L/h in a US gallon per day, by definition of the gallon.
pub const GPD_L_H: f64 = 3.785_411_784 / 24.0;

pub fn l_h(value: f64) -> Flow {
    Flow::from_l_h(value).expect("finite")
}

pub fn bar(value: f64) -> Pressure {
    Pressure::from_bar(value).expect("finite")
}

pub fn area(m2: f64) -> Area {
    Area::from_m2(m2).expect("finite")
}

pub fn sea(celsius: f64, g_kg: f64) -> Water {
    Water {
        temperature: Temperature::from_celsius(celsius).expect("finite"),
        salinity: Salinity::from_g_kg(g_kg).expect("finite"),
        salt: Salt::Sea,
    }
}

/// An element of 2.8 m2 with these permeabilities in SI.
pub fn element(a25: f64, b25: f64) -> Element {
    Element {
        area: area(2.8),
        length_m: 0.90,
        a25: WaterPermeability::from_m_s_pa(a25).expect("finite"),
        b25: SaltPermeability::from_m_s(b25).expect("finite"),
        leak: 0.0,
        differential_pressure: DifferentialPressureLaw::small_element(),
    }
}

pub fn form(polarisation: Polarisation) -> Form {
    Form { polarisation, ..Form::default() }
}

/// The usual test of a seawater element, with a rejection of 99.4 %.
pub fn sheet(gpd: f64) -> TestConditions {
    TestConditions {
        product: l_h(gpd * GPD_L_H),
        rejection: 0.994,
        pressure: bar(55.2),
        temperature: Temperature::from_celsius(25.0).expect("finite"),
        sodium_chloride: MassConcentration::from_mg_l(32_000.0).expect("finite"),
        recovery: 0.08,
    }
}

pub fn from_sheet(gpd: f64, area_m2: f64, form: &Form) -> Element {
    let law = DifferentialPressureLaw::small_element();
    element_from_sheet(area(area_m2), 0.90, &sheet(gpd), law, form).expect("a usual sheet")
}
