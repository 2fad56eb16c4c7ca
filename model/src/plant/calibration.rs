//! What is known of this unit's own parts: from their sheets, or from a baseline.
//!
//! Every figure has a spread. A spread of the model's forms (temperature, polarisation) counts only as far as the water at hand differs from that in
//! which the permeabilities were found, because there they reproduce what was read.

use super::concentrate_valve::ConcentrateValve;
use super::condition::{Condition, Estimate};
use super::pump;
use crate::membrane::element::active_length_m;
use crate::membrane::specification::element_from_sheet;
use crate::membrane::{
    DifferentialPressureLaw, Element, Form, GivenPressure, Polarisation, Salt, TemperatureResponse,
    TestConditions, Train, Water, Working,
};
use crate::parts::{self, Parts};
use crate::performance::NotComputable;
use crate::quantity::{
    Area, Flow, MassConcentration, Pressure, Salinity, SaltPermeability, Temperature, WaterPermeability,
};
use crate::records::{Baseline, BaselineKind};
use crate::{Quantity, math};

/// Where the permeabilities come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CalibrationSource {
    /// Nominal values of the sheets.
    NominalSheets,
    /// Minimum values of the sheets, as for an acceptance.
    MinimumSheets,
    /// A baseline of this unit.
    Baseline(BaselineKind),
}

/// This unit's parts as the model sees them.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Where the permeabilities come from.
    pub source: CalibrationSource,
    /// The elements, in the order of the flow.
    pub elements: Vec<Element>,
    /// Standard deviation of ln(A25), common to all elements.
    pub ln_a_sd: f64,
    /// Standard deviation of ln(B25), common to all elements.
    pub ln_b_sd: f64,
    /// Correlation of the two, -1 to 1.
    pub ln_ab_correlation: f64,
    /// Temperature at which the permeabilities were found, °C.
    pub reference_temperature_c: f64,
    /// Change of ln(A25) and ln(B25) for each unit of the logarithm of the film's multiplier, at the point where they were found.
    pub polarisation_response: (f64, f64),
    /// Standard deviation of the logarithm of the pressure lost along the train.
    pub ln_differential_pressure_sd: f64,
    /// Delivery of the pump at rated pressure, share of the nameplate.
    pub delivery: Estimate,
    /// Fall of the delivery from no pressure to rated pressure.
    pub slip: Estimate,
    /// Setting of the concentrate valve, if known.
    pub valve: Option<ConcentrateValve>,
    /// Standard deviation of that valve's exponent.
    pub valve_exponent_sd: f64,
    /// Forms and parameters of the model.
    pub form: Form,
    /// Standard deviations of the temperature parameters: water above 25 °C, water below, salt; K.
    pub temperature_sd_k: [f64; 3],
}

/// Standard deviation of ln(A25) between single elements: 15 to 20 % around the nominal flow (trade data sheets, from memory) as the half width
/// of an even distribution.
pub const SHEET_LN_A_SD: f64 = 0.10;

/// Standard deviation of ln(B25) between single elements. With the temperature's share it gives the ±40 % of common practice.
pub const SHEET_LN_B_SD: f64 = 0.18;

/// Standard deviation of the logarithm of the pressure lost after a baseline: the scatter of the law on open data is 14 %.
const BASELINE_LN_DP_SD: f64 = 0.14;

/// Standard deviation of the pump's delivery after a baseline with a measured flow: two timed jugs.
const BASELINE_DELIVERY_SD: f64 = 0.02;

impl Calibration {
    /// From the nominal values of the elements' sheets.
    ///
    /// # Errors
    /// [`NotComputable::ImpossibleSheet`] or [`NotComputable::ImpossiblePart`].
    pub fn from_nominal_sheets(parts: &Parts) -> Result<Self, NotComputable> {
        Self::from_sheets(parts, CalibrationSource::NominalSheets, |sheet| {
            (sheet.nominal_flow_l_h, sheet.nominal_rejection)
        })
    }

    /// From the minimum values of the elements' sheets; nominal ones where no minimum was entered. A minimum is a limit: single elements
    /// do not scatter about it, so its permeabilities have no spread.
    ///
    /// # Errors
    /// As [`Self::from_nominal_sheets`].
    pub fn from_minimum_sheets(parts: &Parts) -> Result<Self, NotComputable> {
        let minimum = Self::from_sheets(parts, CalibrationSource::MinimumSheets, |sheet| {
            (
                sheet.minimum_flow_l_h.unwrap_or(sheet.nominal_flow_l_h),
                sheet.minimum_rejection.unwrap_or(sheet.nominal_rejection),
            )
        })?;
        Ok(Self { ln_a_sd: 0.0, ln_b_sd: 0.0, ..minimum })
    }

    fn from_sheets(
        parts: &Parts,
        source: CalibrationSource,
        values: impl Fn(&parts::TestSheet) -> (f64, f64),
    ) -> Result<Self, NotComputable> {
        check(parts)?;
        let form = Form::default();
        let law = DifferentialPressureLaw::small_element();
        let make = |part: &parts::Element, position: usize, form: &Form| {
            let area = Area::from_m2(part.area_m2)?;
            let conditions = test_conditions(&part.sheet, values(&part.sheet))?;
            element_from_sheet(area, active_length_m(&part.size), &conditions, law, form)
                .map_err(|_| NotComputable::ImpossibleSheet { position })
        };
        let mut elements = Vec::with_capacity(parts.elements.len());
        for (i, part) in parts.elements.iter().enumerate() {
            // Elements of one sheet are the same element to the model.
            let same = parts.elements[..i].iter().position(|other| {
                other.area_m2 == part.area_m2 && other.size == part.size && other.sheet == part.sheet
            });
            elements.push(match same {
                Some(at) => elements[at],
                None => make(part, i + 1, &form)?,
            });
        }
        let (first, again) = match (parts.elements.first(), elements.first()) {
            (Some(part), Some(element)) => (element, make(part, 1, &with_multiplier(&form, STEP_LN_K))?),
            _ => return Err(NotComputable::ImpossiblePart { what: "a unit without elements" }),
        };
        let polarisation_response = response(first, &again);
        Ok(Self { source, polarisation_response, ..Self::of_elements(parts, elements, form) })
    }

    /// From a baseline of this unit. What the baseline does not hold stays as the parts list has it.
    ///
    /// # Errors
    /// [`NotComputable::TemperatureUnknown`] for a baseline without a temperature; otherwise as for sheets.
    pub fn from_baseline(parts: &Parts, baseline: &Baseline) -> Result<Self, NotComputable> {
        check(parts)?;
        let mean =
            |quantity| baseline.means.iter().find(|mean| mean.quantity == quantity).map(|mean| mean.value);
        let temperature_c = mean(Quantity::FeedTemperature).ok_or(NotComputable::TemperatureUnknown)?;
        let law = match baseline.differential_pressure {
            Some((pressure_bar, mean_flow_l_h)) if 0.0 < pressure_bar && 0.0 < mean_flow_l_h => {
                DifferentialPressureLaw {
                    reference_pressure: Pressure::from_bar(
                        pressure_bar / parts.elements.len().max(1) as f64,
                    )?,
                    reference_flow: Flow::from_l_h(mean_flow_l_h / f64::from(parts.parallel_trains.max(1)))?,
                    exponent: DifferentialPressureLaw::EXPONENT,
                }
            }
            _ => DifferentialPressureLaw::small_element(),
        };
        let a25 = WaterPermeability::from_m_s_pa(baseline.a25)?;
        let b25 = SaltPermeability::from_m_s(baseline.b25)?;
        let mut elements = Vec::with_capacity(parts.elements.len());
        for part in &parts.elements {
            elements.push(Element {
                area: Area::from_m2(part.area_m2)?,
                length_m: active_length_m(&part.size),
                a25,
                b25,
                leak: 0.0,
                differential_pressure: law,
            });
        }
        let temperature = TemperatureResponse::from_parameters_k(baseline.temperature_k);
        let form = Form { temperature, ..Form::default() };
        let mut calibration = Self::of_elements(parts, elements, form);
        calibration.source = CalibrationSource::Baseline(baseline.kind);
        calibration.reference_temperature_c = temperature_c;
        let squares = |a: f64, b: f64| (a * a + b * b).sqrt();
        calibration.ln_a_sd = squares(baseline.ln_a25_random, baseline.ln_a25_scatter);
        calibration.ln_b_sd = squares(baseline.ln_b25_random, baseline.ln_b25_scatter);
        let sds = baseline.ln_a25_random * baseline.ln_b25_random;
        if 0.0 < sds {
            calibration.ln_ab_correlation = (baseline.ln_ab25_covariance / sds).clamp(-1.0, 1.0);
        }
        if baseline.differential_pressure.is_some() {
            calibration.ln_differential_pressure_sd = BASELINE_LN_DP_SD;
        }
        if let Some(share) = baseline.delivery {
            let pressure = mean(Quantity::FeedPressure).or(mean(Quantity::ConcentratePressure));
            let speed = pump::speed(parts, &speeds(baseline)).ok().filter(|speed| !speed.assumed);
            let delivery = pump::delivery_at_rated(
                &parts.pump,
                share,
                speed.map_or(1.0, |speed| speed.ratio.value),
                calibration.slip.value,
                pressure.unwrap_or(parts.pump.rated_pressure_bar),
            );
            calibration.delivery = Estimate::new(delivery, BASELINE_DELIVERY_SD * delivery);
        }
        let salinity = mean(Quantity::FeedSalinity).unwrap_or(DEFAULT_SALINITY_G_KG);
        let pressure = mean(Quantity::FeedPressure).or(mean(Quantity::ConcentratePressure));
        let feed = mean(Quantity::FeedFlow)
            .or_else(|| Some(mean(Quantity::ProductFlow)? + mean(Quantity::ConcentrateFlow)?))
            .unwrap_or(parts.pump.nameplate_flow_l_h * calibration.delivery.value);
        let water = Water {
            temperature: Temperature::from_celsius(temperature_c)?,
            salinity: Salinity::from_g_kg(salinity)?,
            salt: Salt::Sea,
        };
        let working = Working {
            feed: Flow::from_l_h(feed)?,
            pressure: GivenPressure::Inlet(Pressure::from_bar(
                pressure.unwrap_or(parts.pump.rated_pressure_bar),
            )?),
            product: Pressure::from_bar(0.0)?,
        };
        if let Some((pressure_bar, mean_flow_l_h)) = baseline.differential_pressure {
            calibration.meet_differential_pressure(parts, &water, &working, pressure_bar, mean_flow_l_h)?;
        }
        calibration.polarisation_response = calibration.response_at(parts, &water, &working)?;
        Ok(calibration)
    }

    /// With the concentrate valve as it was learnt: its exponent, and where it stands if that is known.
    #[must_use]
    pub fn with_valve(mut self, exponent: Estimate, setting: Option<ConcentrateValve>) -> Self {
        self.valve_exponent_sd = exponent.deviation;
        self.valve =
            setting.or(self.valve).map(|valve| ConcentrateValve { exponent: exponent.value, ..valve });
        self
    }

    /// The same with other temperature parameters and their doubt, such as those learnt from the unit's own runs. At the temperature where the permeabilities were found nothing changes.
    ///
    /// # Errors
    /// [`NotComputable::NotFinite`] for a parameter that is none.
    pub fn with_temperature(
        mut self,
        response: TemperatureResponse,
        sd_k: [f64; 3],
    ) -> Result<Self, NotComputable> {
        let there = Temperature::from_celsius(self.reference_temperature_c)?;
        let before = self.form.temperature;
        let (a, b) = (before.water(there) / response.water(there), before.salt(there) / response.salt(there));
        for element in &mut self.elements {
            element.a25 = WaterPermeability::from_m_s_pa(element.a25.as_m_s_pa() * a)?;
            element.b25 = SaltPermeability::from_m_s(element.b25.as_m_s() * b)?;
        }
        self.form.temperature = response;
        self.temperature_sd_k = sd_k;
        Ok(self)
    }

    fn of_elements(parts: &Parts, elements: Vec<Element>, form: Form) -> Self {
        let exponent = ConcentrateValve::usual_exponent(parts.pressure_control).value;
        Self {
            source: CalibrationSource::NominalSheets,
            elements,
            ln_a_sd: SHEET_LN_A_SD,
            ln_b_sd: SHEET_LN_B_SD,
            ln_ab_correlation: 0.0,
            // Sheets are measured at 25 °C, or near.
            reference_temperature_c: parts
                .elements
                .first()
                .map_or(25.0, |element| element.sheet.temperature_c),
            polarisation_response: (0.0, 0.0),
            ln_differential_pressure_sd: DifferentialPressureLaw::LN_SD,
            delivery: parts
                .pump
                .delivery
                .map_or(pump::DELIVERY, |share| Estimate::new(share, ENTERED_DELIVERY_SD * share)),
            slip: pump::SLIP,
            valve: parts.valve_set_at.map(|setting| ConcentrateValve {
                pressure_bar: setting.pressure_bar,
                concentrate_flow_l_h: setting.concentrate_flow_l_h,
                density_kg_m3: None,
                exponent,
            }),
            valve_exponent_sd: ConcentrateValve::usual_exponent(parts.pressure_control).deviation,
            form,
            temperature_sd_k: [
                TemperatureResponse::WATER_WARM_SD_K,
                TemperatureResponse::WATER_COLD_SD_K,
                TemperatureResponse::SALT_SD_K,
            ],
        }
    }

    /// Scales the law so that the march loses what the baseline lost: along a train the flow falls unevenly, so its mean is not quite the law's.
    fn meet_differential_pressure(
        &mut self,
        parts: &Parts,
        water: &Water,
        working: &Working,
        pressure_bar: f64,
        mean_flow_l_h: f64,
    ) -> Result<(), NotComputable> {
        let train = Train { elements: self.elements.clone(), parallel: parts.parallel_trains };
        let made = train.at(water, &self.form)?.solve(working)?;
        let modelled_bar = (made.inlet_pa - made.outlet_pa) / 1e5;
        let mean_l_h = working.feed.as_l_h() - 0.5 * made.product_m3_s * 3.6e6;
        let wanted_bar =
            pressure_bar * math::pow(mean_l_h / mean_flow_l_h, DifferentialPressureLaw::EXPONENT);
        if modelled_bar > 0.0 && wanted_bar > 0.0 {
            for element in &mut self.elements {
                let law = &mut element.differential_pressure;
                law.reference_pressure =
                    Pressure::from_pa(law.reference_pressure.as_pa() * wanted_bar / modelled_bar)?;
            }
        }
        Ok(())
    }

    /// How the permeabilities that reproduce this working point answer to the film's multiplier.
    fn response_at(
        &self,
        parts: &Parts,
        water: &Water,
        working: &Working,
    ) -> Result<(f64, f64), NotComputable> {
        let train = Train { elements: self.elements.clone(), parallel: parts.parallel_trains };
        let made = train.at(water, &self.form)?.solve(working)?;
        let other = train.at(water, &with_multiplier(&self.form, STEP_LN_K))?;
        let found = other.fit(
            working,
            Flow::from_m3_s(made.product_m3_s)?,
            Salinity::from_g_kg(made.product_g_kg)?,
        )?;
        let Some(first) = self.elements.first() else {
            return Err(NotComputable::ImpossiblePart { what: "a unit without elements" });
        };
        Ok(response(first, &Element { a25: found.a25, b25: found.b25, ..*first }))
    }
}

/// What the baseline knew of the pump's speed.
fn speeds(baseline: &Baseline) -> Condition {
    let mean = |quantity| baseline.means.iter().find(|mean| mean.quantity == quantity);
    let exact = |quantity| mean(quantity).map(|mean| Estimate::exact(mean.value));
    Condition {
        pump_speed_rpm: exact(Quantity::PumpSpeed),
        engine_speed_rpm: exact(Quantity::EngineSpeed),
        supply_frequency_hz: exact(Quantity::SupplyFrequency),
        drive_frequency_hz: exact(Quantity::DriveFrequency),
        supply_voltage_v: exact(Quantity::SupplyVoltage),
        ..Condition::default()
    }
}

/// Step of the logarithm of the film's multiplier for finite differences.
const STEP_LN_K: f64 = 0.05;

/// Standard deviation of a delivery that was entered, relative. Our choice, no source.
const ENTERED_DELIVERY_SD: f64 = 0.03;

/// Open ocean. Only where a baseline holds none, for a derivative that hardly depends on it.
const DEFAULT_SALINITY_G_KG: f64 = 35.0;

fn with_multiplier(form: &Form, ln_step: f64) -> Form {
    let polarisation = match form.polarisation {
        Polarisation::Film { multiplier } => {
            Polarisation::Film { multiplier: multiplier * math::exp(ln_step) }
        }
        other => other,
    };
    Form { polarisation, ..*form }
}

fn response(element: &Element, other: &Element) -> (f64, f64) {
    (
        math::ln(other.a25.as_m_s_pa() / element.a25.as_m_s_pa()) / STEP_LN_K,
        math::ln(other.b25.as_m_s() / element.b25.as_m_s()) / STEP_LN_K,
    )
}

fn test_conditions(
    sheet: &parts::TestSheet,
    (flow_l_h, rejection): (f64, f64),
) -> Result<TestConditions, NotComputable> {
    Ok(TestConditions {
        product: Flow::from_l_h(flow_l_h)?,
        rejection,
        pressure: Pressure::from_bar(sheet.pressure_bar)?,
        temperature: Temperature::from_celsius(sheet.temperature_c)?,
        sodium_chloride: MassConcentration::from_mg_l(sheet.sodium_chloride_mg_l)?,
        recovery: sheet.recovery,
    })
}

/// What every calculation on a parts list rests on.
fn check(parts: &Parts) -> Result<(), NotComputable> {
    let above_zero = |value: f64, what| {
        if 0.0 < value && value.is_finite() { Ok(()) } else { Err(NotComputable::ImpossiblePart { what }) }
    };
    above_zero(parts.pump.nameplate_flow_l_h, "the pump's nameplate flow")?;
    above_zero(parts.pump.rated_pressure_bar, "the pump's rated pressure")?;
    above_zero(f64::from(parts.parallel_trains), "the number of trains side by side")?;
    if let Some(delivery) = parts.pump.delivery {
        above_zero(delivery, "the pump's delivery")?;
    }
    if let Some(valve) = parts.valve_set_at {
        above_zero(valve.pressure_bar, "the pressure at which the valve was set")?;
        above_zero(valve.concentrate_flow_l_h, "the concentrate flow at which the valve was set")?;
    }
    for element in &parts.elements {
        above_zero(element.area_m2, "an element's area")?;
    }
    Ok(())
}
