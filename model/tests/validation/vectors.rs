//! Results of an independent implementation of the same equations (numpy, 20 slices, midpoint rule), so that a slip in a coefficient or a sign shows.
//!
//! It shares our equations, not our code: it says nothing about whether the equations are right.

use super::check::{Check, Group};
use super::common::{bar, element, form, l_h, sea};
use barrico_model::membrane::{Polarisation, TemperatureResponse, Train};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::quantity::{Salinity, Temperature};
use barrico_model::seawater::density::density_kg_m3;
use barrico_model::seawater::osmotic_pressure::OsmoticPressureAt;
use barrico_model::seawater::viscosity::viscosity_pa_s;

/// Feed L/h, product of each element L/h, mixed product mg/kg, inlet bar, last concentrate g/kg, polarisation of each element.
pub type Row = (usize, f64, &'static [f64], f64, f64, f64, &'static [f64]);

/// Form, A25 in m/(s Pa), B25 in m/s, and results at 20 °C, 33 g/kg, 55.2 bar at the concentrate outlet.
pub const FORWARD: [(Polarisation, f64, f64, [Row; 3]); 3] = [
    (
        Polarisation::Film { multiplier: 1.4 },
        4.298579e-12,
        5.857768e-8,
        [
            (1, 327.0, &[73.693], 301.5, 55.479, 42.216, &[1.272]),
            (2, 327.0, &[74.097, 47.236], 400.7, 55.678, 51.498, &[1.273, 1.210]),
            (2, 480.0, &[85.500, 62.854], 300.5, 56.087, 47.117, &[1.214, 1.184]),
        ],
    ),
    (
        Polarisation::Film { multiplier: 1.0 },
        4.469048e-12,
        5.674396e-8,
        [
            (1, 327.0, &[68.227], 333.7, 55.483, 41.349, &[1.361]),
            (2, 327.0, &[68.603, 44.723], 432.2, 55.691, 49.638, &[1.364, 1.279]),
            (2, 480.0, &[81.197, 59.683], 320.7, 56.100, 46.113, &[1.293, 1.248]),
        ],
    ),
    (
        Polarisation::Exponential,
        4.184711e-12,
        5.996516e-8,
        [
            (1, 327.0, &[79.180], 271.2, 55.475, 43.124, &[1.185]),
            (2, 327.0, &[79.618, 49.007], 373.1, 55.665, 53.319, &[1.186, 1.149]),
            (2, 480.0, &[89.928, 65.848], 280.5, 56.074, 48.160, &[1.140, 1.125]),
        ],
    ),
];

/// °C, g/kg, kg/m3, mPa s, osmotic coefficient, bar.
pub const PROPERTIES: [(f64, f64, f64, f64, f64, f64); 9] = [
    (5.0, 35.16504, 1027.6753, 1.619821, 0.901226, 24.1884),
    (15.0, 35.16504, 1025.9720, 1.220279, 0.904570, 25.1293),
    (20.0, 33.0, 1023.1189, 1.071892, 0.904995, 23.9274),
    (20.0, 45.0, 1032.2499, 1.100997, 0.910789, 33.2497),
    (25.0, 35.16504, 1023.3412, 0.959168, 0.906920, 26.0153),
    (30.0, 38.0, 1023.8434, 0.866619, 0.909029, 28.6947),
    (25.0, 0.3, 997.2725, 0.890669, 0.968885, 0.2288),
    (25.0, 5.0, 1000.7901, 0.899098, 0.909860, 3.5985),
    (35.0, 60.0, 1038.4823, 0.826131, 0.924601, 47.8622),
];

const SOURCE: &str = "independent implementation (numpy)";

pub fn all() -> Vec<Group> {
    vec![properties(), normalisation(), forward(), light_load()]
}

fn group(name: &'static str, title: &'static str, checks: Vec<Check>) -> Group {
    Group { name, title, source: SOURCE.to_string(), checks }
}

fn properties() -> Group {
    let mut checks = Vec::new();
    for (t, s, rho, mu, phi, pi) in PROPERTIES {
        let (temperature, salinity) =
            (Temperature::from_celsius(t).expect("finite"), Salinity::from_g_kg(s).expect("finite"));
        let osmotic = OsmoticPressureAt::new(temperature);
        let at = |what: &str| format!("{what} at {t} °C, {s} g/kg");
        checks.push(Check::new(at("density"), rho, density_kg_m3(temperature, salinity), 1e-5));
        checks.push(Check::new(at("viscosity"), mu, viscosity_pa_s(temperature, salinity) * 1e3, 1e-5));
        checks.push(Check::new(at("osmotic coefficient"), phi, osmotic.coefficient(s), 1e-5));
        // Four printed decimals.
        checks.push(Check::new(at("osmotic pressure"), pi, osmotic.pa(s) / 1e5, 1e-5 + 0.5e-4 / pi));
    }
    group("property_vectors", "properties, 9 points", checks)
}

fn normalisation() -> Group {
    let point = |feed: f64, product: f64, p_f, p_b, t, s_f, s_p| StandardPoint {
        feed_flow_l_h: 60.0 * feed,
        product_flow_l_h: 60.0 * product,
        feed_pressure_bar: p_f,
        concentrate_pressure_bar: p_b,
        product_pressure_bar: 0.0,
        temperature_c: t,
        feed_salinity_g_kg: s_f,
        product_salinity_g_kg: s_p,
    };
    let standard = point(6.06, 1.30, 55.2, 54.8, 25.0, 35.0, 0.25);
    let actual = point(5.80, 0.98, 54.6, 53.9, 18.0, 33.0, 0.22);
    let found = standardise(&actual, &standard, &TemperatureResponse::default()).expect("computable");
    let checks = vec![
        Check::new(
            "net driving pressure of the standard, bar",
            25.85444,
            found.standard.net_driving_pressure_bar,
            1e-5,
        ),
        Check::new(
            "net driving pressure of the point, bar",
            28.26521,
            found.actual.net_driving_pressure_bar,
            1e-5,
        ),
        Check::new(
            "log-mean salinity of the standard, g/kg",
            39.39548,
            found.standard.feed_brine_salinity_g_kg,
            1e-5,
        ),
        Check::new(
            "log-mean salinity of the point, g/kg",
            36.14804,
            found.actual.feed_brine_salinity_g_kg,
            1e-5,
        ),
        Check::new("standardised flow, L/min", 1.14360, found.product_flow_l_h / 60.0, 1e-5),
        // Four printed digits.
        Check::new("standardised salt passage", 0.007130, found.salt_passage, 1e-4),
    ];
    group("normalisation_vector", "log-mean standardising in the form of ASTM D4516", checks)
}

fn forward() -> Group {
    let mut checks = Vec::new();
    for (polarisation, a25, b25, rows) in FORWARD {
        for (count, feed, products, mixed_mg_kg, inlet_bar, concentrate, factors) in rows {
            let train = Train::of_equal(element(a25, b25), count)
                .at(&sea(20.0, 33.0), &form(polarisation))
                .expect("in range");
            let output = train.with_outlet_pressure(l_h(feed), bar(55.2), bar(0.0)).expect("a working point");
            let form = match polarisation {
                Polarisation::Film { multiplier } => format!("film x {multiplier:.1}"),
                Polarisation::Exponential => "exp(0.7 Y)".into(),
                Polarisation::Absent => "no polarisation".into(),
            };
            let plural = if products.len() == 1 { "" } else { "s" };
            let context = format!("{} element{plural}, {feed} L/h, {form}", products.len());
            let mut add = |what: &str, expected: f64, ours: f64, tolerance: f64| {
                checks.push(Check::new(format!("{what}, {context}"), expected, ours, tolerance));
            };
            for (i, (found, product)) in output.elements.iter().zip(products).enumerate() {
                add(
                    &format!("product of element {}, L/h", i + 1),
                    *product,
                    found.product_m3_s * 3.6e6,
                    2e-3,
                );
                add(&format!("polarisation of element {}", i + 1), factors[i], found.polarisation, 2e-3);
            }
            add("mixed product, mg/kg", mixed_mg_kg, output.product_g_kg * 1e3, 2e-3);
            add("inlet pressure, bar", inlet_bar, output.inlet_pa / 1e5, 2e-3);
            add("last concentrate, g/kg", concentrate, output.concentrate_g_kg, 2e-3);
        }
    }
    group("forward_vectors", "trains of one and two elements, three forms of polarisation", checks)
}

fn light_load() -> Group {
    let one = element(2.797742e-12, 4.983215e-8);
    let at = |t, s, train: Train| {
        let at = train.at(&sea(t, s), &barrico_model::membrane::Form::default()).expect("in range");
        at.with_outlet_pressure(l_h(720.0), bar(55.0), bar(0.0)).expect("a working point")
    };
    let warm = at(25.0, 35.0, Train::of_equal(one, 1));
    let cold = at(8.0, 33.0, Train::of_equal(one, 1));
    let two = at(25.0, 35.0, Train::of_equal(one, 2));
    let l_h = |m3_s: f64| m3_s * 3.6e6;
    let checks = vec![
        Check::new("product at 25 °C, L/h", 72.0, l_h(warm.product_m3_s), 2e-3),
        Check::new("its salinity, mg/kg", 280.0, warm.product_g_kg * 1e3, 2e-3),
        Check::new("product at 8 °C, L/h", 44.6, l_h(cold.product_m3_s), 2e-3),
        Check::new("its salinity, mg/kg", 189.0, cold.product_g_kg * 1e3, 3e-3),
        Check::new("first of two elements, L/h", 73.92, l_h(two.elements[0].product_m3_s), 2e-3),
        Check::new("second of two elements, L/h", 62.50, l_h(two.elements[1].product_m3_s), 2e-3),
        Check::new("mixed product of two, mg/kg", 311.0, two.product_g_kg * 1e3, 2e-3),
    ];
    group("light_load_vectors", "one and two lightly loaded elements, 720 L/h of feed", checks)
}
