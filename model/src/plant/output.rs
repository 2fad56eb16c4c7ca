//! Figures of a working point, in the units of the JSON keys.

use crate::performance::NotComputable;

/// Where specific energy is counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EnergyBoundary {
    /// Electric power at the terminals of the motor or its inverter, of the high-pressure pump alone.
    MotorTerminals,
    /// Mechanical power at the shaft of the high-pressure pump.
    PumpShaft,
}

impl EnergyBoundary {
    /// The words for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::MotorTerminals => "high-pressure pump, at the motor terminals",
            Self::PumpShaft => "high-pressure pump, at its shaft",
        }
    }
}

/// Figures of one element.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ElementFigures {
    /// Product, L/h.
    pub product_flow_l_h: f64,
    /// Dissolved solids of the product at 25 °C, mg/L.
    pub product_tds_mg_l: f64,
    /// Conductivity of the product at 25 °C, µS/cm.
    pub product_conductivity_us_cm_25c: f64,
    /// Product over feed.
    pub recovery: f64,
    /// Feed, L/h.
    pub feed_flow_l_h: f64,
    /// Pressure at the inlet, bar gauge.
    pub feed_pressure_bar: f64,
    /// Concentrate, L/h.
    pub concentrate_flow_l_h: f64,
    /// Salinity of the concentrate, g/kg.
    pub concentrate_salinity_g_kg: f64,
    /// Water flux, L/(m2 h).
    pub flux_l_m2_h: f64,
    /// Mean polarisation factor.
    pub polarisation_factor: f64,
}

/// Figures of the unit: either a working point, or the standard deviation of each figure of one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Figures {
    /// Product, L/h.
    pub product_flow_l_h: f64,
    /// Salinity of the product by mass, mg/kg.
    pub product_salinity_mg_kg: f64,
    /// Dissolved solids of the product at 25 °C, mg/L.
    pub product_tds_mg_l: f64,
    /// Conductivity of the product at 25 °C, µS/cm.
    pub product_conductivity_us_cm_25c: f64,
    /// Product over feed.
    pub recovery: f64,
    /// Feed, L/h.
    pub feed_flow_l_h: f64,
    /// Pressure at the membrane inlet, bar gauge.
    pub feed_pressure_bar: f64,
    /// Pressure at the concentrate outlet, bar gauge.
    pub concentrate_pressure_bar: f64,
    /// Pressure lost along the train, bar.
    pub differential_pressure_bar: f64,
    /// Concentrate, L/h.
    pub concentrate_flow_l_h: f64,
    /// Salinity of the concentrate, g/kg.
    pub concentrate_salinity_g_kg: f64,
    /// Power at the pump's shaft, W.
    pub shaft_power_w: f64,
    /// Power at the motor's terminals, W; none without an electric motor.
    pub supply_power_w: Option<f64>,
    /// Current at the motor's terminals, A; none without an electric motor.
    pub supply_current_a: Option<f64>,
    /// Current at the start of the motor, A; none without an electric motor.
    pub start_current_a: Option<f64>,
    /// Pressure on the low side of an energy-recovery pump, bar gauge; none with another pump.
    pub low_side_pressure_bar: Option<f64>,
    /// Energy for a litre of product, Wh/L; none without product. The boundary is named beside it.
    pub specific_energy_wh_l: Option<f64>,
    /// Each element, in the order of the flow.
    pub elements: Vec<ElementFigures>,
}

impl ElementFigures {
    fn fields_mut(&mut self) -> [&mut f64; 10] {
        [
            &mut self.product_flow_l_h,
            &mut self.product_tds_mg_l,
            &mut self.product_conductivity_us_cm_25c,
            &mut self.recovery,
            &mut self.feed_flow_l_h,
            &mut self.feed_pressure_bar,
            &mut self.concentrate_flow_l_h,
            &mut self.concentrate_salinity_g_kg,
            &mut self.flux_l_m2_h,
            &mut self.polarisation_factor,
        ]
    }
}

impl Figures {
    /// Every figure that is there, in a fixed order, for arithmetic on all of them.
    fn fields_mut(&mut self) -> Vec<&mut f64> {
        let mut fields = vec![
            &mut self.product_flow_l_h,
            &mut self.product_salinity_mg_kg,
            &mut self.product_tds_mg_l,
            &mut self.product_conductivity_us_cm_25c,
            &mut self.recovery,
            &mut self.feed_flow_l_h,
            &mut self.feed_pressure_bar,
            &mut self.concentrate_pressure_bar,
            &mut self.differential_pressure_bar,
            &mut self.concentrate_flow_l_h,
            &mut self.concentrate_salinity_g_kg,
            &mut self.shaft_power_w,
        ];
        fields.extend(self.start_current_a.as_mut());
        fields.extend(self.low_side_pressure_bar.as_mut());
        fields.extend(self.supply_power_w.as_mut());
        fields.extend(self.supply_current_a.as_mut());
        fields.extend(self.specific_energy_wh_l.as_mut());
        fields.extend(self.elements.iter_mut().flat_map(ElementFigures::fields_mut));
        fields
    }

    /// Combines this with two others of the same shape, figure by figure. Figures that one of them lacks stay.
    pub(crate) fn combine(&mut self, one: &mut Self, other: &mut Self, f: impl Fn(f64, f64, f64) -> f64) {
        let (one, other) = (one.fields_mut(), other.fields_mut());
        let mine = self.fields_mut();
        if mine.len() == one.len() && mine.len() == other.len() {
            for ((mine, one), other) in mine.into_iter().zip(one).zip(other) {
                *mine = f(*mine, *one, *other);
            }
        }
    }

    /// The same shape with zero in every figure.
    pub(crate) fn zeroed(&self) -> Self {
        let mut zero = self.clone();
        zero.fields_mut().into_iter().for_each(|field| *field = 0.0);
        zero
    }

    /// Replaces each figure by a function of it.
    pub(crate) fn map(&mut self, f: impl Fn(f64) -> f64) {
        self.fields_mut().into_iter().for_each(|field| *field = f(*field));
    }
}

/// A figure that is missing: its JSON key and the reason.
pub type Missing = (&'static str, NotComputable);
