//! Simulated readings with errors drawn at random, for tests of what is said of uncertainty.

#![allow(dead_code, reason = "each test binary uses its own part")]

use barrico_model::judgement::nominal_train;
use barrico_model::membrane::{Form, Salt, Water};
use barrico_model::parts::*;
use barrico_model::quantity::{Flow, Pressure, Salinity, Temperature};
use barrico_model::records::{Mean, Origin};
use barrico_model::seawater::salinity_scales::mass_concentration;
use barrico_model::{Quantity, math};

/// Numbers that look random and are the same in every run (Steele, Lea & Flood 2014, splitmix64).
pub struct Draws(u64);

impl Draws {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03)
    }

    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Normal, mean 0, standard deviation 1 (Box & Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.uniform(), self.uniform());
        (-2.0 * u.ln()).sqrt() * (2.0 * std::f64::consts::PI * v).cos()
    }
}

pub fn parts(elements: usize) -> Parts {
    let element = Element {
        size: "2540".into(),
        serial: None,
        area_m2: 2.8,
        // 700 US gallons a day, the middle of the size class.
        sheet: TestSheet::usual(110.4, 0.994),
        limits: ElementLimits::default(),
    };
    Parts {
        pressure_control: PressureControl::Regulated,
        set_pressure_bar: Some(55.2),
        set_product_flow_l_h: None,
        valve_set_at: None,
        pump: Pump {
            kind: PumpKind::Plunger,
            nameplate_flow_l_h: 363.0,
            rated_speed_rpm: None,
            rated_pressure_bar: 55.2,
            delivery: Some(0.9),
            cylinders: Some(3),
            internal_leakage: None,
            mixing: None,
        },
        drive: Drive {
            kind: DriveKind::AcSinglePhase { voltage_v: 230.0, frequency_hz: 50.0, power_factor: None },
            motor_power_w: None,
            motor_efficiency: None,
            start: Start::default(),
        },
        boost_pump: true,
        elements: vec![element; elements],
        parallel_trains: 1,
        prefilters: vec![],
        limits: Limits::default(),
    }
}

/// What is true in one run.
#[derive(Clone, Copy)]
pub struct Truth {
    pub a: f64,
    pub b: f64,
    pub leak: f64,
    pub delivery: f64,
    pub pressure_bar: f64,
    pub temperature_c: f64,
    pub salinity_g_kg: f64,
}

impl Truth {
    pub const SOUND: Self = Self {
        a: 1.0,
        b: 1.0,
        leak: 0.0,
        delivery: 1.0,
        pressure_bar: 55.2,
        temperature_c: 20.0,
        salinity_g_kg: 35.0,
    };
}

/// Systematic errors of one set of instruments: the same in all their readings.
#[derive(Clone, Copy, Debug)]
pub struct Meters {
    /// Number of the first instrument; others follow.
    pub first: u16,
    pub gauge_bar: f64,
    pub jug_share: f64,
    pub thermometer_k: f64,
    pub feed_meter_g_kg: f64,
    pub hand_meter_share: f64,
    pub clamp_share: f64,
}

/// Standard deviations, systematic and random, that the readings state and that are drawn from.
pub const GAUGE: (f64, f64) = (1.0, 0.5);
pub const JUG: (f64, f64) = (0.005, 0.02);
pub const THERMOMETER: (f64, f64) = (0.5, 0.3);
pub const FEED_METER: (f64, f64) = (0.5, 0.2);
pub const HAND_METER: (f64, f64) = (0.04, 0.02);
pub const CLAMP: (f64, f64) = (0.02, 0.01);

impl Meters {
    pub fn drawn(draws: &mut Draws) -> Self {
        Self {
            first: 1,
            gauge_bar: GAUGE.0 * draws.normal(),
            jug_share: JUG.0 * draws.normal(),
            thermometer_k: THERMOMETER.0 * draws.normal(),
            feed_meter_g_kg: FEED_METER.0 * draws.normal(),
            hand_meter_share: HAND_METER.0 * draws.normal(),
            clamp_share: CLAMP.0 * draws.normal(),
        }
    }
}

/// What the instruments of a boat with two jugs, a dial gauge and hand meters show of a truth.
pub fn readings(parts: &Parts, form: &Form, truth: Truth, meters: &Meters, draws: &mut Draws) -> Vec<Mean> {
    let water = Water {
        temperature: Temperature::from_celsius(truth.temperature_c).expect("finite"),
        salinity: Salinity::from_g_kg(truth.salinity_g_kg).expect("finite"),
        salt: Salt::Sea,
    };
    let mut train = nominal_train(parts, &Form::default()).expect("a usual sheet");
    let (a25, b25) = (train.elements[0].a25.as_m_s_pa(), train.elements[0].b25.as_m_s());
    train.elements.iter_mut().for_each(|element| element.leak = truth.leak);
    let mut at = train.at(&water, form).expect("in range");
    at.set_ln_permeabilities(math::ln(a25 * truth.a), math::ln(b25 * truth.b));
    let feed = 327.0 * truth.delivery;
    let output = at
        .with_inlet_pressure(
            Flow::from_l_h(feed).expect("finite"),
            Pressure::from_bar(truth.pressure_bar).expect("finite"),
            Pressure::from_bar(0.0).expect("finite"),
        )
        .expect("a working point");
    let at_25c = Temperature::from_celsius(25.0).expect("finite");
    let salt = Salinity::from_g_kg(output.product_g_kg).expect("finite");
    let solids = mass_concentration(salt, at_25c).expect("in range").as_mg_l();
    let product = output.product_m3_s * 3.6e6;
    let mut mean =
        |quantity, truth: f64, error: f64, (systematic, random): (f64, f64), instrument: u16| Mean {
            quantity,
            value: truth + error + random * draws.normal(),
            random,
            systematic,
            instrument: meters.first + instrument,
            origin: Origin::Hand { entry: 1 },
            count: 1,
        };
    let share = |(systematic, random): (f64, f64), value: f64| (systematic * value, random * value);
    // A three-plunger pump at rated speed, with 60 % of the electric power in the water: round, invented.
    let amperes = 363.0 * truth.pressure_bar / 36.0 / 0.6 / 190.0;
    vec![
        mean(Quantity::FeedPressure, truth.pressure_bar, meters.gauge_bar, GAUGE, 0),
        mean(Quantity::ProductFlow, product, meters.jug_share * product, share(JUG, product), 1),
        mean(
            Quantity::ConcentrateFlow,
            feed - product,
            meters.jug_share * (feed - product),
            share(JUG, feed - product),
            1,
        ),
        mean(Quantity::FeedTemperature, truth.temperature_c, meters.thermometer_k, THERMOMETER, 2),
        mean(Quantity::FeedSalinity, truth.salinity_g_kg, meters.feed_meter_g_kg, FEED_METER, 3),
        mean(
            Quantity::ProductSalinity,
            solids,
            meters.hand_meter_share * solids,
            share(HAND_METER, solids),
            4,
        ),
        mean(Quantity::SupplyCurrent, amperes, meters.clamp_share * amperes, share(CLAMP, amperes), 5),
    ]
}
