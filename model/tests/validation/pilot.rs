//! Open data of one 2540-class element of a pilot under cycled pressure, one-minute means over nine experiments.
//!
//! Data object `reverse_osmosis` of the R package mowateR (Baylor University, Colorado School of Mines), MIT licence; pilot run with NREL (K. Sitterley, T.
//! Cath). There is no feed salinity: it comes from the salt balance with the reject's conductivity, taken as compensated to 25 °C (an assumption; taken as
//! raw, the standardised flow would not stay constant). Only minutes at high pressure count, in hourly means, since one minute is not steady.

use super::common::{area, element};
use super::open_data::data_file_named;
use barrico_model::math;
use barrico_model::membrane::{Element, Form, TemperatureResponse, Train};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::performance::{Inversion, Measured, Readings, invert};
use barrico_model::quantity::Conductivity;
use barrico_model::seawater::product_water::salinity_from_conductivity;
use std::collections::BTreeMap;

/// Fewest minutes that make an hour, and fewest hours that make an experiment.
const MINUTES_MIN: usize = 40;
const HOURS_MIN: usize = 8;

/// Bar in a pound per square inch.
const PSI_BAR: f64 = 0.068_947_572_93;

/// Area of the element, m2, derived from the source's own flux and flow.
const AREA_M2: f64 = 2.694;

/// Mean of one hour.
#[derive(Clone, Copy, Debug, Default)]
struct Hour {
    runtime_h: f64,
    pressure_bar: f64,
    temperature_c: f64,
    feed_l_h: f64,
    product_l_h: f64,
    feed_g_kg: f64,
    product_g_kg: f64,
}

/// One experiment.
#[derive(Clone, Debug)]
pub struct Experiment {
    pub number: u32,
    pub hours: usize,
    pub feed_g_kg: f64,
    pub product_l_h: f64,
    /// Geometric mean of the standardised flow, L/h, and its standard deviation from hour to hour, as a logarithm.
    pub standardised_l_h: f64,
    pub standardised_sd: f64,
    /// Geometric mean of the inverted A25, L/(m2 h bar), and its standard deviation from hour to hour, as a logarithm.
    pub a25_l_m2_h_bar: f64,
    pub a25_sd: f64,
    /// Slope of the logarithm of the standardised flow, per hour.
    pub drift_per_h: f64,
}

fn hours(experiment: &str, text: &str) -> Vec<Hour> {
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let column = |name: &str| header.iter().position(|title| *title == name).expect("a known column");
    let columns = [
        "runtime_h",
        "feed_pressure_psi",
        "feed_temperature_c",
        "feed_flow_l_min",
        "permeate_flow_l_min",
        "reject_conductivity_ms",
        "permeate_conductivity_low_us",
    ]
    .map(column);
    let (number, mode) = (column("experiment"), column("mode"));
    let mut sums: BTreeMap<u64, (usize, [f64; 7])> = BTreeMap::new();
    for line in lines {
        let cells: Vec<&str> = line.split(',').collect();
        if cells[number] != experiment || cells[mode] != "cycle_high" {
            continue;
        }
        let values = columns.map(|at| cells[at].parse::<f64>().unwrap_or(f64::NAN));
        if values.iter().all(|value| value.is_finite()) {
            let (count, sum) = sums.entry(values[0] as u64).or_default();
            *count += 1;
            for (sum, value) in sum.iter_mut().zip(values) {
                *sum += value;
            }
        }
    }
    let means = sums.into_values().filter(|(count, _)| MINUTES_MIN <= *count);
    means.map(|(count, sum)| hour(sum.map(|value| value / count as f64))).collect()
}

fn hour([runtime_h, psi, temperature_c, feed, product, reject_ms, product_us]: [f64; 7]) -> Hour {
    let g_kg = |us_cm: f64| {
        let conductivity = Conductivity::from_us_cm(us_cm.max(1.0)).expect("finite");
        salinity_from_conductivity(conductivity).expect("on the scale").as_g_kg()
    };
    let (reject_g_kg, product_g_kg) = (g_kg(1e3 * reject_ms), g_kg(product_us));
    let recovery = product / feed;
    Hour {
        runtime_h,
        pressure_bar: psi * PSI_BAR,
        temperature_c,
        feed_l_h: 60.0 * feed,
        product_l_h: 60.0 * product,
        feed_g_kg: (1.0 - recovery) * reject_g_kg + recovery * product_g_kg,
        product_g_kg,
    }
}

impl Hour {
    fn point(&self) -> StandardPoint {
        StandardPoint {
            feed_flow_l_h: self.feed_l_h,
            product_flow_l_h: self.product_l_h,
            feed_pressure_bar: self.pressure_bar,
            // There is no second gauge; 0.4 bar is what such an element loses at this flow.
            concentrate_pressure_bar: self.pressure_bar - 0.4,
            product_pressure_bar: 0.0,
            temperature_c: self.temperature_c,
            feed_salinity_g_kg: self.feed_g_kg,
            product_salinity_g_kg: self.product_g_kg,
        }
    }

    fn ln_standardised_l_h(&self) -> Option<f64> {
        let standard = Hour {
            pressure_bar: 48.0,
            temperature_c: 20.0,
            feed_l_h: 380.0,
            product_l_h: 60.0,
            feed_g_kg: 33.0,
            product_g_kg: 0.15,
            ..*self
        };
        let found = standardise(&self.point(), &standard.point(), &TemperatureResponse::default()).ok()?;
        Some(math::ln(found.product_flow_l_h))
    }

    fn ln_a25(&self) -> Option<f64> {
        let exact = |value| Some(Measured::alone(value, 0.0));
        let readings = Readings {
            product_flow_l_h: exact(self.product_l_h),
            product_tds_mg_l: exact(self.product_g_kg * 997.2),
            feed_flow_l_h: exact(self.feed_l_h),
            feed_temperature_c: exact(self.temperature_c),
            feed_salinity_g_kg: exact(self.feed_g_kg),
            feed_pressure_bar: exact(self.pressure_bar),
            ..Readings::default()
        };
        let train = Train::of_equal(Element { area: area(AREA_M2), ..element(3.5e-12, 5e-8) }, 1);
        match invert(&train, &Form::default(), [0.0; 3], &readings, None).ok()? {
            Inversion::Membrane(state) => Some(math::ln(state.a25.as_l_m2_h_bar())),
            Inversion::Joint(_) => None,
        }
    }
}

fn mean_and_sd(values: &[f64]) -> (f64, f64) {
    let count = values.len() as f64;
    let mean = values.iter().sum::<f64>() / count;
    let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
    (mean, (squares / (count - 1.0)).sqrt())
}

/// Every experiment with enough steady hours, or none without the data.
pub fn summary() -> Option<Vec<Experiment>> {
    let text = std::fs::read_to_string(data_file_named("ro_pilot_cycled_pressure_1min.csv")?).ok()?;
    let mut found = Vec::new();
    for number in 1..=10 {
        let hours = hours(&number.to_string(), &text);
        let standardised: Vec<f64> = hours.iter().filter_map(Hour::ln_standardised_l_h).collect();
        let inverted: Vec<f64> = hours.iter().filter_map(Hour::ln_a25).collect();
        if standardised.len() < HOURS_MIN || inverted.len() != standardised.len() {
            continue;
        }
        let (ln_flow, standardised_sd) = mean_and_sd(&standardised);
        let (ln_a25, a25_sd) = mean_and_sd(&inverted);
        let of = |f: fn(&Hour) -> f64| hours.iter().map(f).sum::<f64>() / hours.len() as f64;
        let middle = of(|hour| hour.runtime_h);
        let (mut up, mut down) = (0.0, 0.0);
        for (hour, ln) in hours.iter().zip(&standardised) {
            up += (hour.runtime_h - middle) * (ln - ln_flow);
            down += (hour.runtime_h - middle) * (hour.runtime_h - middle);
        }
        found.push(Experiment {
            number,
            hours: hours.len(),
            feed_g_kg: of(|hour| hour.feed_g_kg),
            product_l_h: of(|hour| hour.product_l_h),
            standardised_l_h: math::exp(ln_flow),
            standardised_sd,
            a25_l_m2_h_bar: math::exp(ln_a25),
            a25_sd,
            drift_per_h: up / down,
        });
    }
    Some(found)
}
