//! The one fit of permeabilities to a working point, and how it answers to everything it rests on.
//!
//! Two readings, product flow and product salinity, for two unknowns, ln A25 and ln B25. How those answer to an error of each source follows from the
//! derivatives of the forward model (implicit differentiation), so a dozen marches give the whole covariance. What it is not: it knows no instruments and no
//! baseline; [`inversion`](super::inversion) brings the errors of the readings, `judgement` sets two of these against each other. What happens on failure: a
//! named [`NotComputable`].

use super::NotComputable;
use crate::math;
use crate::membrane::{
    Form, GivenPressure, Polarisation, Salt, TemperatureResponse, Train, TrainAt, TrainError, TrainOutput,
    Water, Working,
};
use crate::quantity::{Flow, Pressure, Salinity, Temperature};
use crate::solve::bracketed::SolveError;

/// Everything the fit rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Source {
    /// Product flow, L/h.
    ProductFlow,
    /// Salinity of the product, g/kg.
    ProductSalinity,
    /// Feed flow, L/h.
    FeedFlow,
    /// Pressure at the end of the train where it is given, bar.
    Pressure,
    /// Pressure of the product, bar.
    ProductPressure,
    /// Temperature of the feed, °C.
    Temperature,
    /// Salinity of the feed, g/kg.
    Salinity,
    /// Logarithm of the film's multiplier.
    Film,
    /// Logarithm of the osmotic pressure.
    Osmotic,
    /// Logarithm of the pressure lost along the train.
    DifferentialPressure,
    /// Temperature parameter of water at and above 25 °C, K.
    WaterWarm,
    /// Temperature parameter of water below 25 °C, K.
    WaterCold,
    /// Temperature parameter of salt, K.
    SaltTemperature,
}

impl Source {
    /// Number of sources.
    pub const COUNT: usize = Source::SaltTemperature as usize + 1;
}

/// A working point, as it is given to the model and as it must come out.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct FitPoint {
    /// Product flow, L/h.
    pub product_l_h: f64,
    /// Salinity of the product, g/kg.
    pub product_g_kg: f64,
    /// Feed flow, L/h.
    pub feed_l_h: f64,
    /// Pressure at one end of the train, bar gauge.
    pub pressure_bar: f64,
    /// It is that at the membrane inlet; otherwise at the concentrate outlet.
    pub at_inlet: bool,
    /// Pressure of the product, bar gauge.
    pub product_bar: f64,
    /// Temperature of the feed, °C.
    pub temperature_c: f64,
    /// Salinity of the feed, g/kg.
    pub salinity_g_kg: f64,
    /// Logarithm of what the film's multiplier is multiplied with.
    pub ln_film: f64,
    /// Logarithm of what the osmotic pressure is multiplied with.
    pub ln_osmotic: f64,
    /// Logarithm of what the pressure lost along the train is multiplied with.
    pub ln_dp: f64,
}

impl FitPoint {
    fn moved(&self, source: Source, by: f64) -> Self {
        let mut moved = *self;
        match source {
            Source::FeedFlow => moved.feed_l_h += by,
            Source::Pressure => moved.pressure_bar += by,
            Source::ProductPressure => moved.product_bar += by,
            Source::Temperature => moved.temperature_c += by,
            Source::Salinity => moved.salinity_g_kg += by,
            Source::Film => moved.ln_film += by,
            Source::Osmotic => moved.ln_osmotic += by,
            Source::DifferentialPressure => moved.ln_dp += by,
            // Readings that the model must reproduce, and what acts through the permeabilities alone: no march is needed for them.
            Source::ProductFlow
            | Source::ProductSalinity
            | Source::WaterWarm
            | Source::WaterCold
            | Source::SaltTemperature => {}
        }
        moved
    }
}

/// The permeabilities of a working point and their answer to each source, per unit of the source.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answers {
    /// ln of A25 in m/(s Pa) and of B25 in m/s.
    pub ln_ab: [f64; 2],
    /// Derivatives of ln A25 and ln B25 by each source.
    pub by: [[f64; 2]; Source::COUNT],
    /// Derivatives of ln of the model's product flow by ln A25 and ln B25.
    pub ln_product_by_ab: [f64; 2],
}

impl Answers {
    /// Derivatives of ln A25 and ln B25 by a source.
    pub fn by(&self, source: Source) -> [f64; 2] {
        self.by[source as usize]
    }
}

/// Steps of the differences: large against the solver's noise of 1e-9, small against any curvature.
const LN_STEP: f64 = 1e-3;
const STEP_BAR: f64 = 0.01;
const STEP_K: f64 = 0.01;
const STEP_G_KG: f64 = 0.01;

/// A train and the forms of the model, ready to fit points.
#[derive(Clone, Copy, Debug)]
pub struct Fit<'a> {
    /// Areas and laws of the elements; their permeabilities are a first guess.
    pub train: &'a Train,
    /// Forms and parameters of the model.
    pub form: &'a Form,
}

impl Fit<'_> {
    fn train_at(&self, point: &FitPoint) -> Result<TrainAt, NotComputable> {
        let mut form = *self.form;
        form.osmotic_factor *= math::exp(point.ln_osmotic);
        if let Polarisation::Film { multiplier } = &mut form.polarisation {
            *multiplier *= math::exp(point.ln_film);
        }
        let water = Water {
            temperature: Temperature::from_celsius(point.temperature_c)?,
            salinity: Salinity::from_g_kg(point.salinity_g_kg)?,
            salt: Salt::Sea,
        };
        let mut at = self.train.at(&water, &form)?;
        if point.ln_dp != 0.0 {
            at.scale_differential_pressure(math::exp(point.ln_dp));
        }
        Ok(at)
    }

    fn working(point: &FitPoint) -> Result<Working, NotComputable> {
        let pressure = Pressure::from_bar(point.pressure_bar)?;
        Ok(Working {
            feed: Flow::from_l_h(point.feed_l_h)?,
            pressure: if point.at_inlet {
                GivenPressure::Inlet(pressure)
            } else {
                GivenPressure::Outlet(pressure)
            },
            product: Pressure::from_bar(point.product_bar)?,
        })
    }

    /// ln A25 and ln B25 with which the model gives the product flow and salinity of the point.
    ///
    /// # Errors
    /// [`NotComputable::NoMembraneFits`] and its like if no membrane explains the point.
    pub fn permeabilities(&self, point: &FitPoint) -> Result<[f64; 2], NotComputable> {
        if point.feed_l_h <= point.product_l_h {
            return Err(NotComputable::MoreProductThanFeed);
        }
        if point.salinity_g_kg <= point.product_g_kg {
            return Err(NotComputable::ProductAsSaltyAsFeed);
        }
        let (product, salinity) =
            (Flow::from_l_h(point.product_l_h)?, Salinity::from_g_kg(point.product_g_kg)?);
        let found = self.train_at(point)?.fit(&Self::working(point)?, product, salinity).map_err(
            |error| match error {
                TrainError::Solve(SolveError::RootAbove | SolveError::RootBelow) | TrainError::FeedUsedUp => {
                    NotComputable::NoMembraneFits
                }
                other => other.into(),
            },
        )?;
        Ok([math::ln(found.a25.as_m_s_pa()), math::ln(found.b25.as_m_s())])
    }

    /// What the train does at a point with these permeabilities.
    ///
    /// # Errors
    /// As the forward model.
    pub fn forward(&self, point: &FitPoint, [ln_a, ln_b]: [f64; 2]) -> Result<TrainOutput, NotComputable> {
        let mut train = self.train_at(point)?;
        train.set_ln_permeabilities(ln_a, ln_b);
        Ok(train.solve(&Self::working(point)?)?)
    }

    /// Logarithms of product flow (m3/s) and product salinity (g/kg) at a point with these permeabilities.
    ///
    /// # Errors
    /// As the forward model; [`NotComputable::NoDrivingPressure`] without product.
    pub fn ln_product(&self, point: &FitPoint, ln_ab: [f64; 2]) -> Result<[f64; 2], NotComputable> {
        let output = self.forward(point, ln_ab)?;
        if 0.0 < output.product_m3_s && 0.0 < output.product_g_kg {
            Ok([math::ln(output.product_m3_s), math::ln(output.product_g_kg)])
        } else {
            Err(NotComputable::NoDrivingPressure)
        }
    }

    /// Derivatives at a point with known permeabilities.
    ///
    /// # Errors
    /// As the forward model; [`NotComputable::NoMembraneFits`] where flow and salinity do not tell the two permeabilities apart.
    pub fn answers(&self, point: &FitPoint, ln_ab: [f64; 2]) -> Result<Answers, NotComputable> {
        let here = self.ln_product(point, ln_ab)?;
        let slope = |there: [f64; 2], step: f64| [(there[0] - here[0]) / step, (there[1] - here[1]) / step];
        let [a, b] = ln_ab;
        let by_a = slope(self.ln_product(point, [a + LN_STEP, b])?, LN_STEP);
        let by_b = slope(self.ln_product(point, [a, b + LN_STEP])?, LN_STEP);
        let determinant = by_a[0] * by_b[1] - by_b[0] * by_a[1];
        if determinant.is_nan() || determinant.abs() <= SINGULAR {
            return Err(NotComputable::NoMembraneFits);
        }
        // Model(ln A, ln B, x) - read = 0, so d(ln A, ln B)/dx = -M^-1 of its derivative by x.
        let undo = |[flow, salt]: [f64; 2]| {
            [(by_b[1] * flow - by_b[0] * salt) / determinant, (by_a[0] * salt - by_a[1] * flow) / determinant]
        };
        let mut by = [[0.0; 2]; Source::COUNT];
        by[Source::ProductFlow as usize] = undo([1.0 / point.product_l_h, 0.0]);
        by[Source::ProductSalinity as usize] = undo([0.0, 1.0 / point.product_g_kg]);
        let film = matches!(self.form.polarisation, Polarisation::Film { .. });
        let marched = [
            (Source::FeedFlow, LN_STEP * point.feed_l_h),
            (Source::Pressure, STEP_BAR),
            (Source::ProductPressure, STEP_BAR),
            (Source::Temperature, STEP_K),
            (Source::Salinity, STEP_G_KG),
            (Source::Film, LN_STEP),
            (Source::Osmotic, LN_STEP),
            (Source::DifferentialPressure, 10.0 * LN_STEP),
        ];
        for (source, step) in marched {
            if source == Source::Film && !film {
                continue;
            }
            let [flow, salt] = slope(self.ln_product(&point.moved(source, step), ln_ab)?, step);
            by[source as usize] = undo([-flow, -salt]);
        }
        // The temperature laws act through A25 = A(T)/f(T) only, so their effect is exact.
        let reach = TemperatureResponse::reach_per_k(Temperature::from_celsius(point.temperature_c)?);
        let water = if reach < 0.0 { Source::WaterCold } else { Source::WaterWarm };
        by[water as usize] = [-reach, 0.0];
        by[Source::SaltTemperature as usize] = [0.0, -reach];
        Ok(Answers { ln_ab, by, ln_product_by_ab: [by_a[0], by_b[0]] })
    }
}

/// Determinant below which flow and salinity do not tell the two permeabilities apart; about 0.5 on a usual unit.
const SINGULAR: f64 = 1e-9;
