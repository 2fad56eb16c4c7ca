//! Shared by the tests of the physics: short constructors and the two reference units.

#![allow(dead_code, reason = "each test binary uses its own part")]

use barrico_model::membrane::specification::element_from_sheet;
use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, Polarisation, Salt, TestConditions, Water,
};
use barrico_model::parts::{
    Drive, DriveKind, Element as PartElement, ElementLimits, Limits, Parts, PressureControl, Pump, PumpKind,
    TestSheet,
};
use barrico_model::plant::{Calibration, Condition, Estimate};
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

/// A boat unit with a plunger pump: 327 L/h whatever the pressure, elements of 2.8 m2 and the 700 gpd class, 55.2 bar at the outlet.
pub fn boat_unit(count: usize) -> (Parts, Calibration) {
    let part = PartElement {
        size: "2540".into(),
        serial: None,
        area_m2: 2.8,
        sheet: TestSheet::usual(700.0 * GPD_L_H, 0.994),
        limits: ElementLimits::default(),
    };
    let parts = Parts {
        pressure_control: PressureControl::Regulated,
        set_pressure_bar: Some(55.2),
        set_product_flow_l_h: None,
        valve_set_at: None,
        pump: Pump {
            kind: PumpKind::Plunger,
            nameplate_flow_l_h: 327.0,
            rated_speed_rpm: None,
            rated_pressure_bar: 55.0,
            delivery: Some(1.0),
            cylinders: Some(3),
            internal_leakage: None,
            mixing: None,
        },
        drive: Drive {
            kind: DriveKind::AcSinglePhase { voltage_v: 230.0, frequency_hz: 50.0, power_factor: None },
            motor_power_w: None,
            motor_efficiency: None,
            start: barrico_model::parts::Start::default(),
        },
        boost_pump: false,
        elements: vec![part; count],
        parallel_trains: 1,
        prefilters: Vec::new(),
        limits: Limits::default(),
    };
    let mut calibration = Calibration::from_nominal_sheets(&parts).expect("a usual sheet");
    calibration.elements = vec![element(4.298579e-12, 5.857768e-8); count];
    calibration.slip = Estimate::exact(0.0);
    (parts, calibration)
}

/// Water known to half a degree and a fifth of a g/kg.
pub fn condition(celsius: f64, g_kg: f64) -> Condition {
    Condition {
        feed_temperature_c: Some(Estimate::new(celsius, 0.5)),
        feed_salinity_g_kg: Some(Estimate::new(g_kg, 0.2)),
        ..Condition::default()
    }
}

/// The same calibration with every water and salt permeability multiplied.
pub fn scaled(calibration: &Calibration, a: f64, b: f64) -> Calibration {
    let mut scaled = calibration.clone();
    for one in &mut scaled.elements {
        one.a25 = WaterPermeability::from_m_s_pa(one.a25.as_m_s_pa() * a).expect("finite");
        one.b25 = SaltPermeability::from_m_s(one.b25.as_m_s() * b).expect("finite");
    }
    scaled
}
