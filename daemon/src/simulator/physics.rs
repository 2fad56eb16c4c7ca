//! What the simulated unit really does.
//!
//! It marches the same train as the model, since there is one set of equations, but in forms that the judge does not use: polarisation exp(0.7 Y) on an
//! element's recovery, other answers to temperature, elements that differ from their sheets, back pressure in the product line, a hose that
//! loses pressure before the membranes, ageing. What the judge makes of it is therefore a test of the judge.

use super::faults::Wear;
use super::random::Random;
use super::sea::Water;
use barrico_model::math;
use barrico_model::membrane::specification::element_from_sheet;
use barrico_model::membrane::{
    DifferentialPressureLaw, Element, Form, Polarisation, TemperatureResponse, TestConditions, element,
};
use barrico_model::parts::{Parts, PressureControl, PumpKind};
use barrico_model::performance::NotComputable;
use barrico_model::plant::{Calibration, Condition, Estimate, expect_central};
use barrico_model::quantity::{
    Area, Flow, MassConcentration, Pressure, SaltPermeability, Temperature, WaterPermeability,
};

/// The simulated membrane's answer to temperature, K. The judge's are 2640, 3020 and 4000; these lie within its doubt.
const TEMPERATURE: TemperatureResponse =
    TemperatureResponse { water_warm_k: 2560.0, water_cold_k: 2800.0, salt_k: 4400.0 };
/// Pressure in the product line: height of the tank's filler and the salinity cell's orifice. Nothing aboard measures it.
const PRODUCT_BAR: f64 = 0.15;
/// Pressure lost in the hose between the pressure sensor and the membranes.
const HOSE_BAR: f64 = 0.2;
/// Loss of water permeability by settling, per year; gain of salt permeability.
const AGEING_PER_YEAR: (f64, f64) = (-0.05, 0.06);
/// Elements differ from their sheets by so much, standard deviation of the logarithm (trade sheets give ±15 % as limits, from memory).
const ELEMENT_LN_SD: (f64, f64) = (0.04, 0.08);

/// A unit as it really is.
#[derive(Clone, Debug)]
pub(super) struct Physics {
    parts: Parts,
    calibration: Calibration,
    healthy: Vec<Element>,
}

/// What it does at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Doing {
    /// Product, L/h.
    pub product_l_h: f64,
    /// Dissolved solids of the product, mg/L.
    pub product_tds_mg_l: f64,
    /// Concentrate, L/h.
    pub concentrate_l_h: f64,
    /// Pressure at the sensor behind the high-pressure pump, bar gauge.
    pub feed_bar: f64,
    /// Electric power of the high-pressure pump, W.
    pub power_w: f64,
}

impl Physics {
    /// The unit of this parts list, with elements as this seed has them.
    ///
    /// # Errors
    /// A sheet that no membrane meets.
    pub fn new(parts: &Parts, random: &mut Random) -> Result<Self, NotComputable> {
        let form =
            Form { polarisation: Polarisation::Exponential, temperature: TEMPERATURE, ..Form::default() };
        let mut calibration = Calibration::from_nominal_sheets(parts)?;
        let mut healthy = Vec::new();
        for (position, part) in parts.elements.iter().enumerate() {
            let sheet = TestConditions {
                product: Flow::from_l_h(part.sheet.nominal_flow_l_h)?,
                rejection: part.sheet.nominal_rejection,
                pressure: Pressure::from_bar(part.sheet.pressure_bar)?,
                temperature: Temperature::from_celsius(part.sheet.temperature_c)?,
                sodium_chloride: MassConcentration::from_mg_l(part.sheet.sodium_chloride_mg_l)?,
                recovery: part.sheet.recovery,
            };
            let area = Area::from_m2(part.area_m2)?;
            let length_m = element::active_length_m(&part.size);
            let law = DifferentialPressureLaw { exponent: 1.6, ..DifferentialPressureLaw::small_element() };
            let nominal = element_from_sheet(area, length_m, &sheet, law, &form)
                .map_err(|_| NotComputable::ImpossibleSheet { position: position + 1 })?;
            let (a_sd, b_sd) = ELEMENT_LN_SD;
            healthy.push(changed(&nominal, a_sd * random.normal(), b_sd * random.normal())?);
        }
        calibration.elements.clone_from(&healthy);
        calibration.form = form;
        let delivery = parts.pump.delivery.unwrap_or(0.92);
        calibration.delivery = Estimate::exact(delivery * (1.0 + 0.015 * random.normal()));
        calibration.slip = Estimate::exact(0.06);
        Ok(Self { parts: parts.clone(), calibration, healthy })
    }

    /// What it does in this water, after so many hours, with this wear. `regulator_bar` is how far the regulator is off by itself.
    ///
    /// # Errors
    /// No working point in this water.
    pub fn doing(
        &self,
        water: &Water,
        hours: f64,
        wear: &Wear,
        regulator_bar: f64,
    ) -> Result<Doing, NotComputable> {
        let mut calibration = self.calibration.clone();
        let years = hours / 8766.0;
        let last = self.healthy.len().saturating_sub(1);
        for (index, healthy) in self.healthy.iter().enumerate() {
            let more = if index == last { wear.ln_a_last } else { 0.0 };
            let ln_a = AGEING_PER_YEAR.0 * years + wear.ln_a + more;
            let mut now = changed(healthy, ln_a, AGEING_PER_YEAR.1 * years + wear.ln_b)?;
            now.leak = wear.leak;
            let law = &mut now.differential_pressure;
            law.reference_pressure =
                Pressure::from_bar(law.reference_pressure.as_bar() * math::exp(wear.ln_differential))?;
            calibration.elements[index] = now;
        }
        calibration.delivery.value *= wear.delivery;
        let set =
            self.parts.set_pressure_bar.filter(|_| self.parts.pressure_control == PressureControl::Regulated);
        let condition = Condition {
            feed_temperature_c: Some(Estimate::exact(water.temperature_c)),
            feed_salinity_g_kg: Some(Estimate::exact(water.salinity_g_kg)),
            concentrate_pressure_bar: set.map(|bar| Estimate::exact(bar + regulator_bar + wear.stuck_bar)),
            product_pressure_bar: Some(Estimate::exact(PRODUCT_BAR)),
            ..Condition::default()
        };
        let made = expect_central(&self.parts, &condition, &calibration)?.output;
        Ok(Doing {
            product_l_h: made.product_flow_l_h,
            product_tds_mg_l: made.product_tds_mg_l,
            concentrate_l_h: made.concentrate_flow_l_h,
            feed_bar: made.feed_pressure_bar + HOSE_BAR,
            power_w: made.supply_power_w.unwrap_or(made.shaft_power_w),
        })
    }

    /// Does an energy-recovery pump drive it?
    pub fn recovers_energy(&self) -> bool {
        matches!(self.parts.pump.kind, PumpKind::EnergyRecovery { .. })
    }
}

fn changed(element: &Element, ln_a: f64, ln_b: f64) -> Result<Element, NotComputable> {
    Ok(Element {
        a25: WaterPermeability::from_m_s_pa(element.a25.as_m_s_pa() * math::exp(ln_a))?,
        b25: SaltPermeability::from_m_s(element.b25.as_m_s() * math::exp(ln_b))?,
        ..*element
    })
}
