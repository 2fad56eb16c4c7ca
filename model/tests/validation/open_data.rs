//! Open data of one seawater element of the 2540 class: 71 steady points before and after two campaigns of oscillating feed.
//!
//! Data set "Performance Data of a SWRO arising from Wave Powered Desalinisation", Mendeley Data (Queen's University Belfast). Feed salinity is not a
//! column: 35,000 ppm, as the authors' rejection is computed with, taken as 35 g/kg. The data stay outside the tree and are looked for under
//! `BARRICO_DATA`, or beside it.

use super::common::{bar, element, l_h, sea};
use barrico_model::math;
use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, GivenPressure, TemperatureResponse, Train, Working,
};
use barrico_model::performance::leak::{self, LeakFit, LeakPoint};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::performance::{Inversion, Measured, Readings, invert};
use barrico_model::quantity::{Flow, Salinity, Temperature};
use std::path::PathBuf;

/// The feed of all points, g/kg.
const FEED_G_KG: f64 = 35.0;

#[derive(Clone, Copy, Debug)]
pub struct Point {
    feed_l_h: f64,
    inlet_bar: f64,
    outlet_bar: f64,
    product_l_h: f64,
    product_mg_kg: f64,
    temperature_c: f64,
}

/// A file of the open data, or none; in CI it must be there.
pub fn data_file_named(name: &str) -> Option<PathBuf> {
    let folder = match std::env::var_os("BARRICO_DATA") {
        Some(folder) => PathBuf::from(folder),
        None => PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../shared/data"),
    };
    let file = folder.join("ro").join(name);
    if file.exists() {
        return Some(file);
    }
    assert!(
        std::env::var_os("CI").is_none_or(|ci| ci != "true"),
        "in CI the open data must be there: {}",
        file.display()
    );
    eprintln!("skipped: no open data at {}", file.display());
    None
}

pub fn points(series: &str) -> Option<Vec<Point>> {
    let text = std::fs::read_to_string(data_file_named("swro_single_element_steady.csv")?).expect("readable");
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().expect("a header").split(',').collect();
    let column = |name: &str| header.iter().position(|title| *title == name).expect("a known column");
    let columns = [
        "feed_flow_l_min",
        "feed_pressure_bar",
        "brine_pressure_bar",
        "permeate_flow_l_min",
        "permeate_salinity_ppm",
        "temp_c",
    ]
    .map(column);
    let rows = lines.map(|line| line.split(',').collect::<Vec<_>>()).filter(|row| row[0] == series);
    Some(
        rows.map(|row| {
            let [feed, inlet, outlet, product, ppm, t] =
                columns.map(|at| row[at].parse::<f64>().expect("a number"));
            Point {
                feed_l_h: 60.0 * feed,
                inlet_bar: inlet,
                outlet_bar: outlet,
                product_l_h: 60.0 * product,
                product_mg_kg: ppm,
                temperature_c: t,
            }
        })
        .collect(),
    )
}

impl Point {
    fn working(&self) -> Working {
        Working {
            feed: l_h(self.feed_l_h),
            pressure: GivenPressure::Inlet(bar(self.inlet_bar)),
            product: bar(0.0),
        }
    }

    /// The element with the pressure lost as it was read at this point.
    fn train(&self, element: &Element) -> Train {
        let law = DifferentialPressureLaw {
            reference_pressure: bar(self.inlet_bar - self.outlet_bar),
            reference_flow: l_h(self.feed_l_h - 0.5 * self.product_l_h),
            exponent: DifferentialPressureLaw::EXPONENT,
        };
        Train::of_equal(Element { differential_pressure: law, ..*element }, 1)
    }

    fn tds_mg_l(&self) -> f64 {
        // mg/kg to mg/L at 25 °C; the density of so weak a solution is that of water within 2e-4.
        self.product_mg_kg * 0.99725
    }

    /// ln(A25), ln(B25) over a reference.
    pub fn inverted(&self, reference: &Element) -> (f64, f64) {
        let exact = |value| Some(Measured::alone(value, 0.0));
        let readings = Readings {
            product_flow_l_h: exact(self.product_l_h),
            product_tds_mg_l: exact(self.tds_mg_l()),
            feed_flow_l_h: exact(self.feed_l_h),
            feed_temperature_c: exact(self.temperature_c),
            feed_salinity_g_kg: exact(FEED_G_KG),
            feed_pressure_bar: exact(self.inlet_bar),
            concentrate_pressure_bar: exact(self.outlet_bar),
            ..Readings::default()
        };
        let train = Train::of_equal(*reference, 1);
        match invert(&train, &Form::default(), [0.0; 3], &readings, None).expect("explained") {
            Inversion::Membrane(state) => (
                math::ln(state.a25.as_m_s_pa() / reference.a25.as_m_s_pa()),
                math::ln(state.b25.as_m_s() / reference.b25.as_m_s()),
            ),
            Inversion::Joint(_) => panic!("the feed flow was measured"),
        }
    }
}

pub fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    values.clone().sum::<f64>() / values.count() as f64
}

pub fn rms(values: &[f64]) -> f64 {
    mean(values.iter().map(|value| value * value)).sqrt()
}

/// Deviations of product flow and salinity, as logarithms of model over reading.
pub fn deviations(points: &[Point], element: &Element) -> (Vec<f64>, Vec<f64>) {
    points
        .iter()
        .map(|point| {
            let at = point
                .train(element)
                .at(&sea(point.temperature_c, FEED_G_KG), &Form::default())
                .expect("in range");
            let output = at.solve(&point.working()).expect("a working point");
            (
                math::ln(output.product_m3_s * 3.6e6 / point.product_l_h),
                math::ln(output.product_g_kg * 1e3 / point.product_mg_kg),
            )
        })
        .unzip()
}

/// The element that fits best: no mean deviation in either.
pub fn fitted(points: &[Point]) -> Element {
    let (mut a, mut b) = (3.0e-12, 1.8e-8);
    for _ in 0..20 {
        let (flow, salt) = deviations(points, &element(a, b));
        a *= math::exp(-1.2 * mean(flow.iter().copied()));
        b *= math::exp(-mean(salt.iter().copied()));
    }
    element(a, b)
}

pub fn leak_fit(points: &[Point], reference: &Element) -> LeakFit {
    let points: Vec<LeakPoint> = points
        .iter()
        .map(|point| LeakPoint {
            temperature: Temperature::from_celsius(point.temperature_c).expect("finite"),
            salinity: Salinity::from_g_kg(FEED_G_KG).expect("finite"),
            working: point.working(),
            product: Flow::from_l_h(point.product_l_h).expect("finite"),
            product_tds_mg_l: point.tds_mg_l(),
        })
        .collect();
    leak::fit(&Train::of_equal(*reference, 1), &Form::default(), &points).expect("points of different flux")
}

/// What the points say, by the model's defaults.
pub struct OpenData {
    /// The element fitted to the points as new.
    pub element: Element,
    /// Root mean square and largest deviation of flow, root mean square of salinity, as logarithms.
    pub flow_rms: f64,
    pub flow_worst: f64,
    pub salt_rms: f64,
    /// As new, after the first campaign, after the second.
    pub series: [Series; 3],
}

/// One series of points.
pub struct Series {
    pub name: &'static str,
    pub points: usize,
    /// Inverted A25 and B25 over the mean of the new element's.
    pub a_ratio: f64,
    pub b_ratio: f64,
    /// Standard deviation of the inverted A25 within the series, as a logarithm.
    pub a_sd: f64,
    /// Standardised flow (log-mean) over the mean of the new element's, and its standard deviation within the series.
    pub log_mean_ratio: f64,
    pub log_mean_sd: f64,
    pub leak: LeakFit,
}

const SERIES: [(&str, &str); 3] = [
    ("steady_new_membrane", "as new"),
    ("steady_after_sine", "after the first campaign"),
    ("steady_after_rectified_sine", "after the second campaign"),
];

impl Point {
    /// Logarithm of the product flow at 8 L/min of feed, 55.2 bar and 25 °C in the form of ASTM D4516, over any constant.
    fn ln_standardised(&self) -> f64 {
        let actual = StandardPoint {
            feed_flow_l_h: self.feed_l_h,
            product_flow_l_h: self.product_l_h,
            feed_pressure_bar: self.inlet_bar,
            concentrate_pressure_bar: self.outlet_bar,
            product_pressure_bar: 0.0,
            temperature_c: self.temperature_c,
            feed_salinity_g_kg: FEED_G_KG,
            product_salinity_g_kg: self.product_mg_kg * 1e-3,
        };
        let standard = StandardPoint {
            feed_flow_l_h: 480.0,
            product_flow_l_h: 72.0,
            feed_pressure_bar: 55.2,
            concentrate_pressure_bar: 54.6,
            temperature_c: 25.0,
            product_salinity_g_kg: 0.11,
            ..actual
        };
        standardise(&actual, &standard, &TemperatureResponse::default())
            .map_or(f64::NAN, |found| math::ln(found.flow_ratio))
    }
}

fn sd(values: &[f64]) -> f64 {
    let middle = mean(values.iter().copied());
    let squares: f64 = values.iter().map(|value| (value - middle) * (value - middle)).sum();
    (squares / (values.len() as f64 - 1.0)).sqrt()
}

/// Everything, or none without the data.
pub fn summary() -> Option<OpenData> {
    let new = points(SERIES[0].0)?;
    let element = fitted(&new);
    let (flow, salt) = deviations(&new, &element);
    let mut base = (0.0, 0.0, 0.0);
    let mut series = Vec::new();
    for (column, name) in SERIES {
        let points = points(column)?;
        let (ln_a, ln_b): (Vec<f64>, Vec<f64>) = points.iter().map(|point| point.inverted(&element)).unzip();
        let standardised: Vec<f64> = points.iter().map(Point::ln_standardised).collect();
        let here =
            (mean(ln_a.iter().copied()), mean(ln_b.iter().copied()), mean(standardised.iter().copied()));
        if series.is_empty() {
            base = here;
        }
        series.push(Series {
            name,
            points: points.len(),
            a_ratio: math::exp(here.0 - base.0),
            b_ratio: math::exp(here.1 - base.1),
            a_sd: sd(&ln_a),
            log_mean_ratio: math::exp(here.2 - base.2),
            log_mean_sd: sd(&standardised),
            leak: leak_fit(&points, &element),
        });
    }
    Some(OpenData {
        element,
        flow_rms: rms(&flow),
        flow_worst: flow.iter().fold(0.0, |worst: f64, value| worst.max(value.abs())),
        salt_rms: rms(&salt),
        series: series.try_into().ok()?,
    })
}
