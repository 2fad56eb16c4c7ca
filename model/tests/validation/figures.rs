//! Published worked figures: arithmetic that a reader can find printed in an open source, done by our own functions.

use super::check::{Check, Group};
use super::common::{area, bar, element, sea};
use barrico_model::math;
use barrico_model::membrane::{
    Form, GivenPressure, Polarisation, Salt, TemperatureResponse, Train, Water, Working,
};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::quantity::{Flow, Pressure, Salinity, Temperature};
use barrico_model::seawater::sodium_chloride;

/// Pa in a physical atmosphere, by definition.
const ATMOSPHERE_PA: f64 = 101_325.0;

pub fn all() -> Vec<Group> {
    vec![industrial_manual(), temperature_page(), army_table(), textbook()]
}

/// A law of temperature whose factor at this temperature is the one that is printed.
fn with_factor(celsius: f64, factor: f64) -> TemperatureResponse {
    let reach = TemperatureResponse::reach_per_k(Temperature::from_celsius(celsius).expect("finite"));
    let k = math::ln(factor) / reach;
    TemperatureResponse { water_warm_k: k, water_cold_k: k, salt_k: k }
}

/// Nearly no salt and nearly no recovery: what remains of the formula is pressure and temperature.
fn plain_point(flow: f64, bar: f64, celsius: f64) -> StandardPoint {
    StandardPoint {
        feed_flow_l_h: 1e9 * flow,
        product_flow_l_h: flow,
        feed_pressure_bar: bar,
        concentrate_pressure_bar: bar,
        product_pressure_bar: 0.0,
        temperature_c: celsius,
        feed_salinity_g_kg: 1e-9,
        product_salinity_g_kg: 1e-11,
    }
}

/// 35 gal/min, temperature factor 1.44, 285 psi now and 225 psi at the standard: 35 x 1.44 x 225/285 = 39.8 gal/min.
fn industrial_manual() -> Group {
    let psi = 0.068_947_57;
    let response = with_factor(13.0, 1.0 / 1.44);
    let found =
        standardise(&plain_point(35.0, 285.0 * psi, 13.0), &plain_point(40.0, 225.0 * psi, 25.0), &response);
    let ours = found.map_or(f64::NAN, |found| found.product_flow_l_h);
    Group {
        name: "worked_normalised_flow",
        title: "normalised product flow",
        source: "an industrial reverse-osmosis manual, 1999".into(),
        // Three printed digits.
        checks: vec![Check::new("35 gal/min, factor 1.44, 285 to 225 psi, gal/min", 39.8, ours, 1.3e-3)],
    }
}

/// 1800 gal/day at 25 °C; factor 1.47 at 15 °C: 1224 gal/day.
fn temperature_page() -> Group {
    let response = with_factor(15.0, 1.0 / 1.47);
    let found = standardise(&plain_point(1800.0, 15.0, 25.0), &plain_point(1000.0, 15.0, 15.0), &response);
    let ours = found.map_or(f64::NAN, |found| found.product_flow_l_h);
    Group {
        name: "worked_temperature_factor",
        title: "product flow in colder water",
        source: "a public page on temperature factors".into(),
        checks: vec![Check::new("1800 gal/day, factor 1.47 at 15 °C, gal/day", 1224.0, ours, 1e-3)],
    }
}

/// Factors for 32 to 104 F, printed with two digits, which are 1.028^(T - 25); our own default differs and is shown beside it in the report.
pub const ARMY_TABLE: [(f64, f64); 9] = [
    (32.0, 0.50),
    (40.0, 0.57),
    (50.0, 0.66),
    (60.0, 0.77),
    (68.0, 0.87),
    (77.0, 1.00),
    (86.0, 1.15),
    (95.0, 1.32),
    (104.0, 1.51),
];

pub fn celsius_of(fahrenheit: f64) -> f64 {
    (fahrenheit - 32.0) / 1.8
}

fn army_table() -> Group {
    let checks = ARMY_TABLE
        .iter()
        .map(|&(fahrenheit, factor)| {
            let ours = math::pow(1.028, celsius_of(fahrenheit) - 25.0);
            // Half of the last printed digit, and 0.6 % of the form itself.
            Check::new(format!("factor at {fahrenheit} F"), factor, ours, 6e-3 + 0.005 / factor)
        })
        .collect();
    Group {
        name: "worked_temperature_table",
        title: "table of temperature factors, by 1.028^(T - 25)",
        source: "US Army TM 10-4610-309-14".into(),
        checks,
    }
}

/// Our default factor over that of the table, at each of its temperatures in °C.
pub fn default_over_army_table() -> Vec<(f64, f64)> {
    let response = TemperatureResponse::default();
    let ours = |t: f64| response.water(Temperature::from_celsius(t).expect("finite"));
    ARMY_TABLE.iter().map(|&(f, factor)| (celsius_of(f), ours(celsius_of(f)) / factor)).collect()
}

/// 10.0 and 0.39 kg/m3 of sodium chloride, 1.92e-8 m3/s through 2.00e-3 m2 at 54.42 atm.
fn textbook() -> Group {
    let cell = barrico_model::membrane::Element { area: area(2.0e-3), ..element(2e-12, 4e-7) };
    let form = Form { polarisation: Polarisation::Absent, ..Form::default() };
    // The book takes 1004 kg/m3 for the feed and 997 for the product.
    let salinity = Salinity::from_g_kg(10.0 / 1004.0 * 1e3).expect("finite");
    let water = Water { salt: Salt::SodiumChloride, salinity, ..sea(25.0, 10.0) };
    let working = Working {
        feed: Flow::from_m3_s(1e-4).expect("finite"),
        pressure: GivenPressure::Inlet(Pressure::from_pa(54.42 * ATMOSPHERE_PA).expect("finite")),
        product: bar(0.0),
    };
    let mut at = Train::of_equal(cell, 1).at(&water, &form).expect("in range");
    // A cell has no length along which pressure is lost.
    at.scale_differential_pressure(0.0);
    let product = Salinity::from_g_kg(0.39 / 997.3 * 1e3).expect("finite");
    let found = at.fit(&working, Flow::from_m3_s(1.92e-8).expect("finite"), product).expect("a membrane");
    at.set_ln_permeabilities(math::ln(found.a25.as_m_s_pa()), math::ln(found.b25.as_m_s()));
    let again = at.with_inlet_pressure(
        working.feed,
        Pressure::from_pa(54.42 * ATMOSPHERE_PA).expect("finite"),
        bar(0.0),
    );
    let again = again.expect("a working point").elements[0];
    let atm = |salinity| {
        sodium_chloride::osmotic_pressure(water.temperature, salinity).expect("finite").as_pa()
            / ATMOSPHERE_PA
    };
    Group {
        name: "worked_textbook_cell",
        title: "test cell with sodium chloride",
        source: "Geankoplis, Transport Processes and Unit Operations (from memory)".into(),
        checks: vec![
            Check::new(
                "water permeability, kg/(s m2 atm)",
                2.04e-4,
                found.a25.as_m_s_pa() * 997.0 * ATMOSPHERE_PA,
                5e-3,
            ),
            Check::new("water flux, kg/(s m2)", 9.57e-3, again.flux_m_s * 997.0, 1e-3),
            Check::new("rejection by concentrations", 0.961, 1.0 - again.product_g_kg * 0.9973 / 10.0, 1e-3),
            // Taken by volume in the book and by mass here: 0.7 % apart.
            Check::new("salt permeability, m/s", 3.90e-7, found.b25.as_m_s(), 1e-2),
            Check::new("osmotic pressure of the feed, atm", 7.80, atm(salinity), 1e-2),
            Check::new("osmotic pressure of the product, atm", 0.32, atm(product), 2e-2),
        ],
    }
}
