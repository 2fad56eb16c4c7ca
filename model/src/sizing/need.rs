//! How much water the crew uses, and whether the tank lasts from one filling to the next.

use super::unknown::Unknown;

/// The crew's need, in the reader's own numbers.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Need {
    /// Persons aboard.
    pub persons: u32,
    /// Litres a person uses in a day, one number for each use (drinking, cooking, washing ...).
    pub per_person_l_day: Vec<f64>,
    /// Litres a day that do not depend on the number of persons (rinsing the deck, flushing the unit ...).
    pub per_boat_l_day: Vec<f64>,
    /// Days from one filling of the tank to the next.
    pub between_fillings_days: Option<f64>,
    /// Size of the tank, L.
    pub tank_l: Option<f64>,
    /// Days of a year on which the need is met by the unit.
    pub days_per_year: Option<f64>,
    /// The reader's own limit for the product, µS/cm at 25 °C.
    pub conductivity_limit_us_cm: Option<f64>,
}

/// One filling of the tank.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filling {
    /// Litres that are used up from one filling to the next.
    pub wanted_l: f64,
    /// Litres that one filling can be: as wanted, or the tank if that is smaller.
    pub litres: f64,
    /// Days that these litres last.
    pub lasts_days: f64,
    /// Does the tank hold what is wanted?
    pub tank_is_enough: bool,
}

impl Need {
    /// Litres a day.
    pub fn daily_l(&self) -> f64 {
        let per_person: f64 = self.per_person_l_day.iter().sum();
        f64::from(self.persons) * per_person + self.per_boat_l_day.iter().sum::<f64>()
    }

    /// One filling.
    ///
    /// # Errors
    /// [`Unknown::NotEntered`] without the days between fillings or the tank.
    pub fn filling(&self) -> Result<Filling, Unknown> {
        let days = self.between_fillings_days.ok_or(Unknown::NotEntered("the days between two fillings"))?;
        let tank_l = self.tank_l.ok_or(Unknown::NotEntered("the size of the tank"))?;
        let daily_l = self.daily_l();
        let wanted_l = daily_l * days;
        let litres = wanted_l.min(tank_l);
        let lasts_days = if 0.0 < daily_l { litres / daily_l } else { days };
        Ok(Filling { wanted_l, litres, lasts_days, tank_is_enough: wanted_l <= tank_l })
    }
}
