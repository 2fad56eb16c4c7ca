//! What this unit should make in given water.
//!
//! The working point of pump, train and pressure control, and how far it can be wrong: each input is moved by one standard deviation both ways
//! and the effects are added as squares. From sheets alone the result is never called better than ±15 % in flow and ±40 % in salinity
//! (as 95 % intervals; own comparison with units and common practice).

use super::calibration::{Calibration, CalibrationSource};
use super::condition::{Condition, Estimate};
use super::control::{RuleKind, rule};
use super::drive;
use super::energy_recovery;
use super::note::{Note, USUAL_ELEMENT_RECOVERY, USUAL_TRAIN_RECOVERY};
use super::output::{ElementFigures, EnergyBoundary, Figures, Missing};
use super::pump::{self, Speed};
use super::supply::supply;
use super::uncertain_inputs::{INPUTS, Input, Inputs};
use super::working_point::{Feed, L_H_PER_M3_S, Plant, Rule};
use crate::math;
use crate::membrane::{Polarisation, Salt, TemperatureResponse, Train, TrainOutput, Water};
use crate::parts::{Parts, PressureControl};
use crate::performance::NotComputable;
use crate::quantity::{Salinity, SaltPermeability, Temperature, WaterPermeability};
use crate::records::BaselineKind;
use crate::seawater::product_water::conductivity_from_salinity;
use crate::seawater::salinity_scales::mass_concentration;

/// What the unit should make.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// The figures.
    pub output: Figures,
    /// One standard deviation of each figure.
    pub uncertainty: Figures,
    /// Where specific energy is counted.
    pub energy_boundary: EnergyBoundary,
    /// Osmotic pressure of the feed, bar.
    pub feed_osmotic_pressure_bar: f64,
    /// Figures that are missing, by JSON key, and why.
    pub missing: Vec<Missing>,
    /// What a reader must know beside the figures.
    pub notes: Vec<Note>,
}

/// Standard deviation of the osmotic pressure's logarithm: bias of the correlation against TEOS-10.
const LN_OSMOTIC_SD: f64 = 0.004;

/// Least relative standard deviation of flow from sheets alone: half of 15 %.
const SHEET_FLOW_SD: f64 = 0.075;

/// Least relative standard deviation of the product's salinity from sheets alone: half of 40 %.
const SHEET_SALT_SD: f64 = 0.20;

/// Below this temperature the note on cold water is given: there the trade's factors differ by over 10 %.
const COLD_C: f64 = 15.0;

/// Range in which the osmotic coefficient was published, g/kg; concentrate included.
const SALINITY_RANGE_G_KG: (f64, f64) = (10.0, 120.0);

/// The expected working point with its uncertainty.
///
/// # Errors
/// [`NotComputable`]: what is missing or impossible. Temperature and salinity must be given; no typical value takes their place.
pub fn expect(
    parts: &Parts,
    condition: &Condition,
    calibration: &Calibration,
) -> Result<Expected, NotComputable> {
    let problem = Problem::new(parts, condition, calibration)?;
    let output = problem.figures(&problem.inputs)?;
    let uncertainty = problem.uncertainty(&output);
    Ok(problem.dressed(output, uncertainty))
}

/// The expected working point without its uncertainty: a twentieth of the work. All deviations are zero.
///
/// # Errors
/// As [`expect`].
pub fn expect_central(
    parts: &Parts,
    condition: &Condition,
    calibration: &Calibration,
) -> Result<Expected, NotComputable> {
    let problem = Problem::new(parts, condition, calibration)?;
    let output = problem.figures(&problem.inputs)?;
    let nothing = output.zeroed();
    Ok(problem.dressed(output, nothing))
}

struct Problem<'a> {
    parts: &'a Parts,
    condition: &'a Condition,
    calibration: &'a Calibration,
    rule: RuleKind,
    speed: Speed,
    inputs: Inputs,
}

impl<'a> Problem<'a> {
    fn new(
        parts: &'a Parts,
        condition: &'a Condition,
        calibration: &'a Calibration,
    ) -> Result<Self, NotComputable> {
        let temperature = condition.feed_temperature_c.ok_or(NotComputable::TemperatureUnknown)?;
        let salinity = condition.feed_salinity_g_kg.ok_or(NotComputable::SalinityUnknown)?;
        let (rule, decides) = rule(parts, condition, calibration)?;
        let speed = pump::speed(parts, condition)?;
        let mut inputs = Inputs::new();
        let mut set = |input, estimate: Estimate| inputs.set(input, estimate.value, estimate.deviation);
        set(Input::TemperatureC, temperature);
        set(Input::SalinityGKg, salinity);
        set(Input::Rule, decides);
        set(Input::ProductPressureBar, condition.product_pressure_bar.unwrap_or(Estimate::exact(0.0)));
        set(Input::InletPressureBar, condition.inlet_pressure_bar.unwrap_or(Estimate::exact(0.0)));
        match condition.feed_flow_l_h {
            Some(flow) => set(Input::FeedFlowLH, flow),
            None => {
                set(Input::Delivery, calibration.delivery);
                set(Input::Slip, calibration.slip);
            }
        }
        set(Input::SpeedRatio, speed.ratio);
        set(Input::PermeabilityFirst, Estimate::new(0.0, 1.0));
        set(Input::PermeabilitySecond, Estimate::new(0.0, 1.0));
        let [warm_sd, cold_sd, salt_sd] = calibration.temperature_sd_k;
        let response = calibration.form.temperature;
        // Each of the two counts only if the path from the reference temperature to the water's lies on its side of 25 °C.
        let (low, high) = (
            temperature.value.min(calibration.reference_temperature_c),
            temperature.value.max(calibration.reference_temperature_c),
        );
        set(Input::WaterWarmK, Estimate::new(response.water_warm_k, if high > 25.0 { warm_sd } else { 0.0 }));
        set(Input::WaterColdK, Estimate::new(response.water_cold_k, if low < 25.0 { cold_sd } else { 0.0 }));
        set(Input::SaltK, Estimate::new(response.salt_k, salt_sd));
        set(Input::LnFilm, Estimate::new(0.0, Polarisation::LN_FILM_MULTIPLIER_SD));
        set(Input::LnOsmotic, Estimate::new(0.0, LN_OSMOTIC_SD));
        set(Input::LnDifferentialPressure, Estimate::new(0.0, calibration.ln_differential_pressure_sd));
        set(Input::PumpEfficiency, pump::efficiency(&parts.pump));
        if energy_recovery::product_share(&parts.pump).is_some() {
            set(Input::Leakage, energy_recovery::leakage(&parts.pump));
            set(Input::Mixing, energy_recovery::mixing(&parts.pump));
            set(Input::ExhaustBar, energy_recovery::EXHAUST_BAR);
            set(Input::LowSideFriction, energy_recovery::FRICTION);
        }
        if let RuleKind::Valve(valve) = rule {
            set(Input::ValveExponent, Estimate::new(valve.exponent, calibration.valve_exponent_sd));
        }
        if let Some(drive::StartCurrent::Entered(start) | drive::StartCurrent::Multiple(start)) =
            drive::start_current(&parts.drive)
        {
            set(Input::Start, start);
        }
        if let Ok(electric) = drive::electric(&parts.drive) {
            set(Input::MotorEfficiency, electric.efficiency);
            set(Input::PowerFactor, electric.power_factor);
        }
        Ok(Self { parts, condition, calibration, rule, speed, inputs })
    }

    /// The working point for one set of inputs.
    fn solve(&self, inputs: &Inputs) -> Result<TrainOutput, NotComputable> {
        let calibration = self.calibration;
        let (ln_a, ln_b, form) = self.permeability_shift(inputs)?;
        let mut train =
            Train { elements: calibration.elements.clone(), parallel: self.parts.parallel_trains };
        let dp_factor = math::exp(inputs.get(Input::LnDifferentialPressure));
        for element in &mut train.elements {
            element.a25 = WaterPermeability::from_m_s_pa(element.a25.as_m_s_pa() * math::exp(ln_a))?;
            element.b25 = SaltPermeability::from_m_s(element.b25.as_m_s() * math::exp(ln_b))?;
            let law = &mut element.differential_pressure;
            law.reference_pressure =
                crate::quantity::Pressure::from_pa(law.reference_pressure.as_pa() * dp_factor)?;
        }
        let leakage = inputs.get(Input::Leakage);
        let feed = match self.condition.feed_flow_l_h {
            Some(_) => Feed::Given(inputs.get(Input::FeedFlowLH)),
            None => Feed::Pump {
                speed: inputs.get(Input::SpeedRatio),
                delivery: inputs.get(Input::Delivery),
                slip: inputs.get(Input::Slip),
                leakage,
            },
        };
        let rule = match self.rule.with(inputs.get(Input::Rule), inputs.get(Input::ValveExponent)) {
            Rule::Share(share) => {
                let share = energy_recovery::share_at_membranes(share, leakage);
                if share <= 0.0 {
                    return Err(NotComputable::ImpossiblePart { what: "the pump's internal leakage" });
                }
                Rule::Share(share)
            }
            rule => rule,
        };
        let at = |salinity_g_kg: f64| {
            let water = Water {
                temperature: Temperature::from_celsius(inputs.get(Input::TemperatureC))?,
                salinity: Salinity::from_g_kg(salinity_g_kg)?,
                salt: Salt::Sea,
            };
            let train = train.at(&water, &form)?;
            let product_pressure_bar = inputs.get(Input::ProductPressureBar);
            Plant { pump: &self.parts.pump, train: &train, feed, rule, product_pressure_bar }.solve()
        };
        mixed(at, inputs.get(Input::SalinityGKg).max(0.0), inputs.get(Input::Mixing))
    }

    /// Shift of ln(A25) and ln(B25) and the form that go with the inputs. Temperature and film parameters turn about the point at which the
    /// permeabilities were found: there they change nothing.
    fn permeability_shift(
        &self,
        inputs: &Inputs,
    ) -> Result<(f64, f64, crate::membrane::Form), NotComputable> {
        let calibration = self.calibration;
        let mut form = calibration.form;
        form.temperature = TemperatureResponse {
            water_warm_k: inputs.get(Input::WaterWarmK),
            water_cold_k: inputs.get(Input::WaterColdK),
            salt_k: inputs.get(Input::SaltK),
        };
        let reference = Temperature::from_celsius(calibration.reference_temperature_c)?;
        let (before, after) = (&calibration.form.temperature, &form.temperature);
        let ln_film = inputs.get(Input::LnFilm);
        if let Polarisation::Film { multiplier } = &mut form.polarisation {
            *multiplier *= math::exp(ln_film);
        }
        form.osmotic_factor *= math::exp(inputs.get(Input::LnOsmotic));
        let (first, second) = (inputs.get(Input::PermeabilityFirst), inputs.get(Input::PermeabilitySecond));
        let correlation = calibration.ln_ab_correlation.clamp(-1.0, 1.0);
        let rest = (1.0 - correlation * correlation).sqrt();
        let ln_a = calibration.ln_a_sd * first
            + math::ln(before.water(reference) / after.water(reference))
            + calibration.polarisation_response.0 * ln_film;
        let ln_b = calibration.ln_b_sd * (correlation * first + rest * second)
            + math::ln(before.salt(reference) / after.salt(reference))
            + calibration.polarisation_response.1 * ln_film;
        Ok((ln_a, ln_b, form))
    }

    /// The figures for one set of inputs.
    fn figures(&self, inputs: &Inputs) -> Result<Figures, NotComputable> {
        let train = self.solve(inputs)?;
        let mut elements = Vec::with_capacity(train.elements.len());
        for element in &train.elements {
            let (tds, conductivity) = product_measures(element.product_g_kg)?;
            elements.push(ElementFigures {
                product_flow_l_h: element.product_m3_s * L_H_PER_M3_S,
                product_tds_mg_l: tds,
                product_conductivity_us_cm_25c: conductivity,
                recovery: element.recovery(),
                feed_flow_l_h: element.feed_m3_s * L_H_PER_M3_S,
                feed_pressure_bar: element.inlet_pa / 1e5,
                concentrate_flow_l_h: element.concentrate_m3_s * L_H_PER_M3_S,
                concentrate_salinity_g_kg: element.concentrate_g_kg,
                flux_l_m2_h: element.flux_m_s * L_H_PER_M3_S,
                polarisation_factor: element.polarisation,
            });
        }
        let (tds, conductivity) = product_measures(train.product_g_kg)?;
        let product_l_h = train.product_m3_s * L_H_PER_M3_S;
        let feed_bar = train.inlet_pa / 1e5;
        let feed_l_h = train.feed_m3_s * L_H_PER_M3_S;
        let pump = &self.parts.pump;
        let share = energy_recovery::product_share(pump);
        // What a tight pump would make of the feed that this one takes in.
        let worked_l_h =
            share.map_or(product_l_h, |share| share * feed_l_h / (1.0 - inputs.get(Input::Leakage)));
        let shaft_w = pump::shaft_power_w(
            pump,
            pump.nameplate_flow_l_h * inputs.get(Input::SpeedRatio),
            worked_l_h,
            feed_bar - inputs.get(Input::InletPressureBar),
            inputs.get(Input::PumpEfficiency),
        );
        let supply = supply(self.parts, self.condition, inputs, shaft_w);
        let low_side_pressure_bar = share.map(|share| {
            let (exhaust, friction) = (inputs.get(Input::ExhaustBar), inputs.get(Input::LowSideFriction));
            energy_recovery::low_side_bar(share, feed_bar, exhaust, friction)
        });
        let specific = (product_l_h > 0.0).then(|| supply.power_w.unwrap_or(shaft_w) / product_l_h);
        Ok(Figures {
            product_flow_l_h: product_l_h,
            product_salinity_mg_kg: train.product_g_kg * 1e3,
            product_tds_mg_l: tds,
            product_conductivity_us_cm_25c: conductivity,
            recovery: train.recovery(),
            feed_flow_l_h: feed_l_h,
            feed_pressure_bar: feed_bar,
            concentrate_pressure_bar: train.outlet_pa / 1e5,
            differential_pressure_bar: (train.inlet_pa - train.outlet_pa) / 1e5,
            concentrate_flow_l_h: train.concentrate_m3_s * L_H_PER_M3_S,
            concentrate_salinity_g_kg: train.concentrate_g_kg,
            shaft_power_w: shaft_w,
            supply_power_w: supply.power_w,
            supply_current_a: supply.current_a,
            start_current_a: supply.start_current_a,
            low_side_pressure_bar,
            specific_energy_wh_l: specific,
            elements,
        })
    }

    /// Root of the sum of squares of what each input does to each figure.
    fn uncertainty(&self, output: &Figures) -> Figures {
        let mut squares = output.zeroed();
        for index in 0..INPUTS {
            if self.inputs.deviation[index] <= 0.0 {
                continue;
            }
            let up = self.figures(&self.inputs.moved(index, 1.0));
            let down = self.figures(&self.inputs.moved(index, -1.0));
            // A deviation that leads out of the model (no working point there) counts by its other side, doubled.
            let (mut up, mut down, share) = match (up, down) {
                (Ok(up), Ok(down)) => (up, down, 0.5),
                (Ok(up), Err(_)) => (up, output.clone(), 1.0),
                (Err(_), Ok(down)) => (output.clone(), down, 1.0),
                (Err(_), Err(_)) => continue,
            };
            squares.combine(&mut up, &mut down, |sum, up, down| {
                let effect = share * (up - down);
                sum + effect * effect
            });
        }
        squares.map(f64::sqrt);
        // A minimum is a limit and does not scatter as single elements do.
        if self.calibration.source == CalibrationSource::NominalSheets {
            let flow_is_set = matches!(self.rule, RuleKind::Product | RuleKind::Share);
            at_least(&mut squares, output, flow_is_set);
        }
        squares
    }

    fn dressed(&self, output: Figures, uncertainty: Figures) -> Expected {
        let mut missing = Vec::new();
        let energy_boundary = match drive::electric(&self.parts.drive) {
            Ok(_) => EnergyBoundary::MotorTerminals,
            Err(reason) => {
                missing.push(("supply_power_w", reason));
                missing.push(("supply_current_a", reason));
                missing.push(("start_current_a", reason));
                EnergyBoundary::PumpShaft
            }
        };
        if output.low_side_pressure_bar.is_none() {
            missing.push(("low_side_pressure_bar_gauge", NotComputable::NoLowSide));
        }
        if output.specific_energy_wh_l.is_none() {
            missing.push(("specific_energy_wh_l", NotComputable::NoDrivingPressure));
        }
        let osmotic_bar = self.feed_osmotic_pressure_bar();
        let notes = self.notes(&output, osmotic_bar);
        Expected {
            output,
            uncertainty,
            energy_boundary,
            feed_osmotic_pressure_bar: osmotic_bar,
            missing,
            notes,
        }
    }

    fn feed_osmotic_pressure_bar(&self) -> f64 {
        let temperature = Temperature::from_celsius(self.inputs.get(Input::TemperatureC));
        temperature.map_or(0.0, |temperature| {
            crate::seawater::osmotic_pressure::OsmoticPressureAt::new(temperature)
                .pa(self.inputs.get(Input::SalinityGKg))
                / 1e5
        })
    }

    fn notes(&self, output: &Figures, osmotic_bar: f64) -> Vec<Note> {
        let mut notes = Vec::new();
        match self.calibration.source {
            CalibrationSource::NominalSheets
            | CalibrationSource::MinimumSheets
            | CalibrationSource::Baseline(BaselineKind::Specification) => notes.push(Note::SpecificationOnly),
            CalibrationSource::Baseline(BaselineKind::Provisional) => notes.push(Note::ProvisionalBaseline),
            CalibrationSource::Baseline(BaselineKind::Confirmed) => {}
        }
        self.limit_notes(output, &mut notes);
        for (i, element) in output.elements.iter().enumerate() {
            if element.recovery > USUAL_ELEMENT_RECOVERY {
                notes.push(Note::ElementRecoveryAboveUsual { position: i + 1, recovery: element.recovery });
            }
        }
        if output.recovery > USUAL_TRAIN_RECOVERY {
            notes.push(Note::TrainRecoveryAboveUsual { recovery: output.recovery });
        }
        if output.feed_pressure_bar < 1.05 * osmotic_bar {
            notes.push(Note::BelowOsmoticPressure);
        }
        if self.condition.feed_flow_l_h.is_none() {
            notes.push(Note::FeedFlowFromPump);
            if self.speed.assumed {
                notes.push(Note::SpeedAssumed);
            }
        }
        let read = self.condition.feed_pressure_bar.or(self.condition.concentrate_pressure_bar);
        if read.is_none() {
            match (self.rule, self.parts.pressure_control) {
                (RuleKind::Valve(_), PressureControl::FixedValve | PressureControl::HandSetFlow) => {
                    notes.push(Note::PressureFromValve);
                }
                (RuleKind::Outlet | RuleKind::Valve(_), _) => notes.push(Note::PressureAsSet),
                (RuleKind::Inlet | RuleKind::Product | RuleKind::Share, _) => {}
            }
        }
        if self.inputs.get(Input::TemperatureC) < COLD_C && COLD_C < self.calibration.reference_temperature_c
        {
            notes.push(Note::ColdWater);
        }
        let (low, high) = SALINITY_RANGE_G_KG;
        if self.inputs.get(Input::SalinityGKg) < low || high < output.concentrate_salinity_g_kg {
            notes.push(Note::SalinityBeyondCorrelation);
        }
        if let Some(rating_w) = self.parts.drive.motor_power_w.filter(|rating| *rating < output.shaft_power_w)
        {
            notes.push(Note::MotorOverloaded { rating_w });
        }
        notes
    }

    fn limit_notes(&self, output: &Figures, notes: &mut Vec<Note>) {
        match self.parts.pressure_limit_bar() {
            None => notes.push(Note::PressureLimitMissing),
            Some((limit_bar, part)) if limit_bar < output.feed_pressure_bar => {
                notes.push(Note::PressureAboveLimit { limit_bar, part });
            }
            Some(_) => {}
        }
        let trains = f64::from(self.parts.parallel_trains.max(1));
        for (i, (part, figures)) in self.parts.elements.iter().zip(&output.elements).enumerate() {
            let limits = &part.limits;
            if let Some(limit_l_h) =
                limits.maximum_product_flow_l_h.filter(|l_h| *l_h < figures.product_flow_l_h / trains)
            {
                notes.push(Note::ProductAboveElementLimit { position: i + 1, limit_l_h });
            }
            if let Some(limit_l_h) =
                limits.maximum_feed_flow_l_h.filter(|l_h| *l_h < figures.feed_flow_l_h / trains)
            {
                notes.push(Note::FeedAboveElementLimit { position: i + 1, limit_l_h });
            }
        }
        let warmest =
            self.parts.elements.iter().filter_map(|part| part.limits.maximum_temperature_c).reduce(f64::min);
        if let Some(limit_c) = warmest.filter(|limit| *limit < self.inputs.get(Input::TemperatureC)) {
            notes.push(Note::TemperatureAboveElementLimit { limit_c });
        }
    }
}

/// Rounds of the loop below. Each leaves a share of about the mixing, a few hundredths, of the error of the one before.
const MIXING_ROUNDS: usize = 6;

/// The working point when the pump mixes some of the concentrate into the feed: the salinity that enters the membranes rests on what leaves them.
fn mixed(
    at: impl Fn(f64) -> Result<TrainOutput, NotComputable>,
    feed_g_kg: f64,
    mixing: f64,
) -> Result<TrainOutput, NotComputable> {
    let mut output = at(feed_g_kg)?;
    if mixing <= 0.0 {
        return Ok(output);
    }
    let mut entering = feed_g_kg;
    for _ in 0..MIXING_ROUNDS {
        let next = energy_recovery::mixed_salinity_g_kg(feed_g_kg, output.concentrate_g_kg, mixing);
        let done = (next - entering).abs() <= 1e-7 * feed_g_kg;
        entering = next;
        output = at(entering)?;
        if done {
            break;
        }
    }
    Ok(output)
}

/// Dissolved solids in mg/L and conductivity in µS/cm, both at 25 °C.
fn product_measures(product_g_kg: f64) -> Result<(f64, f64), NotComputable> {
    let salinity = Salinity::from_g_kg(product_g_kg)?;
    let at_25c = Temperature::from_celsius(25.0)?;
    Ok((mass_concentration(salinity, at_25c)?.as_mg_l(), conductivity_from_salinity(salinity)?.as_us_cm()))
}

/// Widens what sheets alone give to what experience allows. Where the control sets the product, its own deviation stands and the
/// pressure carries the rest.
fn at_least(uncertainty: &mut Figures, output: &Figures, flow_is_set: bool) {
    let widen = |deviation: &mut f64, value: f64, share: f64| *deviation = deviation.max(share * value);
    if !flow_is_set {
        widen(&mut uncertainty.product_flow_l_h, output.product_flow_l_h, SHEET_FLOW_SD);
        widen(&mut uncertainty.recovery, output.recovery, SHEET_FLOW_SD);
    }
    widen(&mut uncertainty.product_tds_mg_l, output.product_tds_mg_l, SHEET_SALT_SD);
    widen(&mut uncertainty.product_salinity_mg_kg, output.product_salinity_mg_kg, SHEET_SALT_SD);
    widen(
        &mut uncertainty.product_conductivity_us_cm_25c,
        output.product_conductivity_us_cm_25c,
        SHEET_SALT_SD,
    );
    for (deviation, element) in uncertainty.elements.iter_mut().zip(&output.elements) {
        if !flow_is_set {
            widen(&mut deviation.product_flow_l_h, element.product_flow_l_h, SHEET_FLOW_SD);
        }
        widen(&mut deviation.product_tds_mg_l, element.product_tds_mg_l, SHEET_SALT_SD);
        widen(
            &mut deviation.product_conductivity_us_cm_25c,
            element.product_conductivity_us_cm_25c,
            SHEET_SALT_SD,
        );
    }
}
