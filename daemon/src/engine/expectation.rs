//! What the unit should make now, in this water, at this pressure.

use super::Engine;
use super::judge::whole_sd;
use super::unit::Unit;
use super::view::ExpectedView;
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::performance::NotComputable;
use barrico_model::plant::{Calibration, Condition, Estimate, Expected, expect};
use barrico_model::{Quantity, records::OperatingState};

impl Engine {
    /// Every figure of what a unit should make now; or why there is none, in the owner's words. Computed anew at each call.
    ///
    /// # Errors
    /// The reasons.
    pub fn expectation(&self, unit: usize) -> Result<Expected, Vec<String>> {
        let unit = self.units.get(unit).ok_or_else(|| vec!["there is no such unit".to_owned()])?;
        expected(unit)
    }
}

fn expected(unit: &Unit) -> Result<Expected, Vec<String>> {
    if unit.operating.state.is_some_and(|state| state != OperatingState::Running) {
        return Err(vec!["the unit is not running".to_owned()]);
    }
    let parts = &unit.settings.parts;
    let calibration = unit.calibration().map_err(|why| vec![why.to_string()])?;
    expect(parts, &condition(unit), &calibration).map_err(|why| vec![why.to_string()])
}

impl Unit {
    /// The parts as the present baseline, the valve's law and the temperature parameters learnt show them; without a baseline as their sheets do.
    ///
    /// # Errors
    /// What is missing or impossible.
    pub fn calibration(&self) -> Result<Calibration, NotComputable> {
        let parts = &self.settings.parts;
        let mut calibration = match self.baseline() {
            Some(baseline) => Calibration::from_baseline(parts, baseline),
            None => Calibration::from_nominal_sheets(parts),
        }?;
        if let Some(law) = self.valve_law() {
            calibration = calibration.with_valve(law.exponent, self.valve_setting());
        }
        let laws = self.laws();
        calibration.with_temperature(laws.form.temperature, laws.temperature_sd_k)
    }
}

/// The expectation and the share of the product that each element makes; or why there is none, in the owner's words.
pub(super) fn expect_now(unit: &Unit) -> Result<(ExpectedView, Vec<f64>), Vec<String>> {
    let expected = expected(unit)?;
    let total: f64 = expected.output.elements.iter().map(|element| element.product_flow_l_h).sum();
    let shares = expected.output.elements.iter().map(|element| element.product_flow_l_h / total).collect();
    let (output, sd) = (&expected.output, &expected.uncertainty);
    let view = ExpectedView {
        product_flow_l_h: (output.product_flow_l_h, sd.product_flow_l_h),
        product_conductivity_us_cm: (
            output.product_conductivity_us_cm_25c,
            sd.product_conductivity_us_cm_25c,
        ),
        specific_energy_wh_l: output.specific_energy_wh_l.zip(sd.specific_energy_wh_l),
        from_specification: unit.baseline().is_none(),
    };
    Ok((view, shares))
}

/// The condition as the fresh readings show it. Salinity comes from a reading, else as usual here, else as of the open sea.
fn condition(unit: &Unit) -> Condition {
    let reading = |quantity: Quantity| {
        let reading = unit.readings.current[quantity as usize]?;
        Some(Estimate::new(reading.value, whole_sd(&reading)))
    };
    let usual = unit.settings.usual_feed_salinity.unwrap_or(OPEN_SEA_G_KG);
    Condition {
        feed_temperature_c: reading(Quantity::FeedTemperature),
        feed_salinity_g_kg: reading(Quantity::FeedSalinity).or(Some(Estimate::new(usual.0, usual.1))),
        feed_pressure_bar: reading(Quantity::FeedPressure),
        concentrate_pressure_bar: reading(Quantity::ConcentratePressure),
        feed_flow_l_h: reading(Quantity::FeedFlow),
        product_pressure_bar: reading(Quantity::ProductPressure),
        inlet_pressure_bar: reading(Quantity::InletPressure),
        pump_speed_rpm: reading(Quantity::PumpSpeed),
        engine_speed_rpm: reading(Quantity::EngineSpeed),
        supply_frequency_hz: reading(Quantity::SupplyFrequency),
        drive_frequency_hz: reading(Quantity::DriveFrequency),
        supply_voltage_v: reading(Quantity::SupplyVoltage),
        product_flow_l_h: None,
    }
}
