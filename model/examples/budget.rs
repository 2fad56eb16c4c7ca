//! Runs one calculation many times, for counting its instructions: `valgrind --tool=callgrind target/release/examples/budget NAME COUNT`.
//! The difference between two counts, over the difference of repetitions, is the cost of one.

use barrico_model::membrane::{DifferentialPressureLaw, Element, Form, Salt, Train, Water};
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

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut arguments = std::env::args().skip(1);
    let name = arguments.next().unwrap_or_default();
    let count = arguments.next().map_or(Ok(1), |text| text.parse())?;
    let mut sum = 0.0;
    for i in 0..count {
        sum += match name.as_str() {
            "forward" => forward(i)?,
            other => return Err(format!("unknown calculation: {other}").into()),
        };
    }
    println!("{sum}");
    Ok(())
}
