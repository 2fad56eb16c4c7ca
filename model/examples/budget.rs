//! Runs one calculation many times, for counting its instructions: `valgrind --tool=callgrind target/release/examples/budget NAME COUNT`.
//! The difference between two counts, over the difference of repetitions, is the cost of one.

use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, Salt, TemperatureResponse, Train, Water,
};
use barrico_model::parts::{
    Drive, DriveKind, Element as PartElement, ElementLimits, Limits, Parts, PressureControl, Pump, PumpKind,
    TestSheet,
};
use barrico_model::performance::standardised::{StandardPoint, standardise};
use barrico_model::performance::{Inversion, Measured, Readings, invert};
use barrico_model::plant::{Calibration, Condition, Estimate, expect, expect_central};
use barrico_model::quantity::{
    Area, Flow, NotFinite, Pressure, Salinity, SaltPermeability, Temperature, WaterPermeability,
};

fn element() -> Result<Element, NotFinite> {
    Ok(Element {
        area: Area::from_m2(2.8)?,
        length_m: 0.90,
        a25: WaterPermeability::from_m_s_pa(4.298579e-12)?,
        b25: SaltPermeability::from_m_s(5.857768e-8)?,
        leak: 0.0,
        differential_pressure: DifferentialPressureLaw::small_element(),
    })
}

fn forward(i: u32) -> Result<f64, Box<dyn std::error::Error>> {
    let water = Water {
        temperature: Temperature::from_celsius(20.0 + 1e-3 * f64::from(i))?,
        salinity: Salinity::from_g_kg(33.0)?,
        salt: Salt::Sea,
    };
    let train = Train::of_equal(element()?, 2).at(&water, &Form::default())?;
    let output = train.with_outlet_pressure(
        Flow::from_l_h(327.0)?,
        Pressure::from_bar(55.2)?,
        Pressure::from_bar(0.0)?,
    )?;
    Ok(output.product_m3_s)
}

fn readings() -> Readings {
    let alone = |value, random| Some(Measured::alone(value, random));
    Readings {
        product_flow_l_h: alone(118.0, 2.4),
        product_tds_mg_l: alone(420.0, 10.0),
        feed_temperature_c: alone(19.0, 0.5),
        feed_salinity_g_kg: alone(33.4, 1.0),
        feed_pressure_bar: alone(55.0, 1.0),
        concentrate_flow_l_h: alone(205.0, 4.0),
        ..Readings::default()
    }
}

fn inversion(i: u32, both_ends: bool) -> Result<f64, Box<dyn std::error::Error>> {
    let mut readings = readings();
    readings.feed_temperature_c = Some(Measured::alone(19.0 + 1e-3 * f64::from(i), 0.5));
    if both_ends {
        readings.concentrate_pressure_bar = readings.feed_pressure_bar.take();
    }
    let train = Train::of_equal(element()?, 2);
    match invert(&train, &Form::default(), [200.0, 329.0, 1000.0], &readings, None)? {
        Inversion::Membrane(state) => Ok(state.covariance().aa),
        Inversion::Joint(_) => Err("a flow was given".into()),
    }
}

fn standardised(i: u32) -> Result<f64, Box<dyn std::error::Error>> {
    let actual = StandardPoint {
        feed_flow_l_h: 348.0,
        product_flow_l_h: 58.8,
        feed_pressure_bar: 54.6,
        concentrate_pressure_bar: 53.9,
        product_pressure_bar: 0.0,
        temperature_c: 18.0 + 1e-3 * f64::from(i),
        feed_salinity_g_kg: 33.0,
        product_salinity_g_kg: 0.22,
    };
    let standard = StandardPoint { temperature_c: 25.0, product_flow_l_h: 78.0, ..actual };
    Ok(standardise(&actual, &standard, &TemperatureResponse::default())?.product_flow_l_h)
}

fn parts() -> Parts {
    let part = PartElement {
        size: "2540".into(),
        serial: None,
        area_m2: 2.8,
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
            rated_pressure_bar: 55.0,
            delivery: None,
            cylinders: Some(3),
            internal_leakage: None,
            mixing: None,
        },
        drive: Drive {
            kind: DriveKind::Dc { voltage_v: 24.0 },
            motor_power_w: None,
            motor_efficiency: None,
            start: barrico_model::parts::Start::default(),
        },
        boost_pump: false,
        elements: vec![part; 2],
        parallel_trains: 1,
        prefilters: Vec::new(),
        limits: Limits::default(),
    }
}

fn calibration(i: u32) -> Result<f64, Box<dyn std::error::Error>> {
    let mut parts = parts();
    parts.elements[0].sheet.nominal_flow_l_h += 1e-3 * f64::from(i);
    Ok(Calibration::from_nominal_sheets(&parts)?.ln_a_sd)
}

fn expected(
    i: u32,
    calibration: Option<&Calibration>,
    with_uncertainty: bool,
) -> Result<f64, Box<dyn std::error::Error>> {
    let parts = parts();
    let calibration = calibration.ok_or("no calibration")?;
    let condition = Condition {
        feed_temperature_c: Some(Estimate::new(20.0 + 1e-3 * f64::from(i), 0.5)),
        feed_salinity_g_kg: Some(Estimate::new(33.0, 1.0)),
        ..Condition::default()
    };
    let calculate = if with_uncertainty { expect } else { expect_central };
    Ok(calculate(&parts, &condition, calibration)?.output.product_flow_l_h)
}

#[expect(clippy::print_stdout, reason = "the result must be used, or it would not be computed")]
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let name = arguments.next().unwrap_or_default();
    let count = arguments.next().map_or(Ok(1), |text| text.parse())?;
    // Made once, as in use.
    let once =
        if name.starts_with("expect") { Some(Calibration::from_nominal_sheets(&parts())?) } else { None };
    let mut sum = 0.0;
    for i in 0..count {
        sum += match name.as_str() {
            "forward" => forward(i)?,
            "inversion" => inversion(i, false)?,
            "inversion-outlet" => inversion(i, true)?,
            "standardised" => standardised(i)?,
            "expect" => expected(i, once.as_ref(), true)?,
            "expect-central" => expected(i, once.as_ref(), false)?,
            "calibration" => calibration(i)?,
            other => return Err(format!("unknown calculation: {other}").into()),
        };
    }
    println!("{sum}");
    Ok(())
}
