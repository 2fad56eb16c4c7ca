//! Figures of common practice, no source: a small unit with one or two elements of the 2540 class.
//!
//! Sea water at 20 °C of 32,000 to 34,000 ppm, 800 psi, a plunger pump of 1.6 US gal/min: one element makes 21 US gal/h. A second element in series
//! adds 12 to 13 with the same pump and power. Two elements and a pump of 2.3 US gal/min make slightly over 40. At 115 V single phase the smaller
//! pump draws 9.3 A (1 hp), the larger 13.3 A (1.5 hp). Such figures check that nothing is far out; they prove nothing.

use super::common::{GPD_L_H, scaled};
use barrico_model::parts::{
    Drive, DriveKind, Element, ElementLimits, Limits, Parts, PressureControl, Pump, PumpKind, TestSheet,
};
use barrico_model::plant::{Calibration, Condition, Estimate, Figures, expect_central};

/// L/h in a US gallon per hour and in a US gallon per minute, by definition of the gallon.
const GAL_H: f64 = 3.785_411_784;
const GAL_MIN: f64 = 60.0 * GAL_H;
/// Bar in 800 psi.
const PRESSURE_BAR: f64 = 800.0 * 0.068_947_572_93;
/// Middle of the range, taken as mg/kg.
const SALINITY_G_KG: f64 = 33.0;

const SMALL_PUMP: f64 = 1.6;
const LARGE_PUMP: f64 = 2.3;

/// US gal/h: one element with the smaller pump, two with it (21 and the middle of 12 to 13), two with the larger.
pub const PRODUCTION_GAL_H: [f64; 3] = [21.0, 33.5, 40.0];
/// A at 115 V: smaller pump, larger pump.
pub const CURRENT_A: [f64; 2] = [9.3, 13.3];
const VOLTAGE_V: f64 = 115.0;

/// What settings hold when they name only class, area, rejection and pump: everything else is a default.
fn parts(elements: usize, pump_gal_min: f64, delivery: Option<f64>) -> Parts {
    let element = Element {
        size: "2540".into(),
        serial: None,
        area_m2: 2.8,
        sheet: TestSheet::usual(700.0 * GPD_L_H, 0.994),
        limits: ElementLimits::default(),
    };
    Parts {
        pressure_control: PressureControl::Regulated,
        set_pressure_bar: Some(PRESSURE_BAR),
        set_product_flow_l_h: None,
        valve_set_at: None,
        pump: Pump {
            kind: PumpKind::Plunger,
            nameplate_flow_l_h: pump_gal_min * GAL_MIN,
            rated_speed_rpm: None,
            rated_pressure_bar: PRESSURE_BAR,
            delivery,
            cylinders: Some(3),
            internal_leakage: None,
            mixing: None,
        },
        drive: Drive {
            kind: DriveKind::AcSinglePhase { voltage_v: VOLTAGE_V, frequency_hz: 60.0, power_factor: None },
            motor_power_w: None,
            motor_efficiency: None,
            start: barrico_model::parts::Start::default(),
        },
        boost_pump: false,
        elements: vec![element; elements],
        parallel_trains: 1,
        prefilters: Vec::new(),
        limits: Limits::default(),
    }
}

fn figures(elements: usize, pump_gal_min: f64, delivery: Option<f64>, a_factor: f64) -> Figures {
    let parts = parts(elements, pump_gal_min, delivery);
    let calibration = Calibration::from_nominal_sheets(&parts).expect("a usual sheet");
    let condition = Condition {
        feed_temperature_c: Some(Estimate::exact(20.0)),
        feed_salinity_g_kg: Some(Estimate::exact(SALINITY_G_KG)),
        ..Condition::default()
    };
    expect_central(&parts, &condition, &scaled(&calibration, a_factor, 1.0)).expect("computable").output
}

fn production(delivery: Option<f64>, a_factor: f64) -> [f64; 3] {
    [(1, SMALL_PUMP), (2, SMALL_PUMP), (2, LARGE_PUMP)]
        .map(|(elements, pump)| figures(elements, pump, delivery, a_factor).product_flow_l_h / GAL_H)
}

/// Test (a): nothing fitted.
#[derive(Clone, Copy, Debug)]
pub struct Defaults {
    /// Delivery of the pump.
    pub delivery: f64,
    /// US gal/h, in the order of [`PRODUCTION_GAL_H`].
    pub production_gal_h: [f64; 3],
    /// Deviation furthest from zero, percent.
    pub worst_percent: f64,
}

pub fn with_defaults(delivery: Option<f64>) -> Defaults {
    let production_gal_h = production(delivery, 1.0);
    let mut worst: f64 = 0.0;
    for (ours, practice) in production_gal_h.iter().zip(PRODUCTION_GAL_H) {
        let percent = 100.0 * (ours / practice - 1.0);
        if worst.abs() < percent.abs() {
            worst = percent;
        }
    }
    Defaults { delivery: delivery.unwrap_or(0.90), production_gal_h, worst_percent: worst }
}

/// Test (b): permeability fitted to the figure of one element alone.
#[derive(Clone, Copy, Debug)]
pub struct Predicted {
    /// Fitted water permeability over that of the sheet.
    pub a_factor: f64,
    /// What a second element adds, US gal/h.
    pub gain_gal_h: f64,
    /// Two elements with the larger pump, US gal/h.
    pub larger_pump_gal_h: f64,
}

pub fn predicted(delivery: Option<f64>) -> Predicted {
    let one = |factor: f64| figures(1, SMALL_PUMP, delivery, factor).product_flow_l_h / GAL_H;
    // Product rises with permeability throughout; fifty halvings leave rounding.
    let (mut low, mut high) = (0.5, 2.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if one(middle) < PRODUCTION_GAL_H[0] { low = middle } else { high = middle }
    }
    let a_factor = 0.5 * (low + high);
    let [first, both, larger] = production(delivery, a_factor);
    Predicted { a_factor, gain_gal_h: both - first, larger_pump_gal_h: larger }
}

/// Test (c): one set of efficiencies for both motors.
#[derive(Clone, Copy, Debug)]
pub struct Currents {
    /// By the defaults, A: smaller pump with one element, larger pump with two.
    pub ampere: [f64; 2],
    /// Deviation from practice, percent.
    pub deviation_percent: [f64; 2],
    /// Overall efficiency (pump, motor and power factor) that each figure of practice would need.
    pub overall: [f64; 2],
    /// Difference of those two, percent of their mean.
    pub spread_percent: f64,
}

pub fn currents() -> Currents {
    let found = [figures(1, SMALL_PUMP, None, 1.0), figures(2, LARGE_PUMP, None, 1.0)];
    let ampere = [0, 1].map(|i| found[i].supply_current_a.unwrap_or(f64::NAN));
    let overall = [0, 1].map(|i| {
        // Work on the swept volume, W: L/h times bar over 36.
        let swept_l_h = [SMALL_PUMP, LARGE_PUMP][i] * GAL_MIN;
        swept_l_h * found[i].feed_pressure_bar / 36.0 / (VOLTAGE_V * CURRENT_A[i])
    });
    Currents {
        ampere,
        deviation_percent: [0, 1].map(|i| 100.0 * (ampere[i] / CURRENT_A[i] - 1.0)),
        overall,
        spread_percent: 100.0 * (overall[1] - overall[0]).abs() / (0.5 * (overall[0] + overall[1])),
    }
}
