//! One day in one water: hours, energy, battery and fuel for the crew's need.

use super::supply::{Supply, SupplyKind};
use super::unknown::{Figure, Unknown, scaled, times};
use crate::plant::Estimate;

/// A day. Deviations follow from those of product flow and power, to first order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Day {
    /// Running hours for the day's need, h.
    pub hours: Figure,
    /// Running hours for one filling of the tank, h.
    pub filling_hours: Figure,
    /// Energy at motor terminals or pump shaft, other power on the same supply included, Wh.
    pub energy_wh: Figure,
    /// Apparent energy that an alternating-current supply must carry, VAh.
    pub apparent_vah: Figure,
    /// Energy drawn from the battery, losses of the inverter included, Wh.
    pub drawn_wh: Figure,
    /// Hours that the usable battery runs the unit without any charging, h.
    pub battery_hours: Figure,
    /// Share of the drawn energy that the sun covers, 0 to 1.
    pub solar_share: Figure,
    /// Hours of the generator or engine, h.
    pub engine_hours: Figure,
    /// Fuel for turning the engine, L.
    pub fuel_idle_l: Figure,
    /// Fuel for the load, L.
    pub fuel_load_l: Figure,
    /// Fuel in all, L.
    pub fuel_l: Figure,
}

const NO_BATTERY: Unknown = Unknown::NoMeaning("this supply is no battery");
const NO_FUEL: Unknown = Unknown::NoMeaning("power from the shore burns no fuel aboard");

/// What a day needs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Demand {
    /// Litres a day.
    pub daily_l: f64,
    /// Litres of one filling.
    pub filling_l: Result<f64, Unknown>,
    /// Product, L/h.
    pub product_l_h: Estimate,
    /// Power from the supply while it runs, W.
    pub power_w: Estimate,
    /// Apparent power, VA.
    pub apparent_va: Figure,
    /// What the sun leaves, Wh.
    pub solar_wh: Option<f64>,
}

impl Day {
    pub(super) fn new(demand: &Demand, supply: &Supply) -> Self {
        let hours = hours(demand.daily_l, demand.product_l_h);
        let energy_wh = hours.map(|hours| times(hours, demand.power_w));
        let mut day = Self {
            hours,
            filling_hours: demand.filling_l.and_then(|litres| self::hours(litres, demand.product_l_h)),
            energy_wh,
            apparent_vah: hours.and_then(|hours| Ok(times(hours, demand.apparent_va?))),
            drawn_wh: Err(NO_BATTERY),
            battery_hours: Err(NO_BATTERY),
            solar_share: Err(NO_BATTERY),
            engine_hours: Err(NO_FUEL),
            fuel_idle_l: Err(NO_FUEL),
            fuel_load_l: Err(NO_FUEL),
            fuel_l: Err(NO_FUEL),
        };
        match supply.kind {
            SupplyKind::Shore => {}
            SupplyKind::Generator | SupplyKind::Engine => {
                day.burn(supply, hours, energy_wh, Some(demand.power_w));
            }
            SupplyKind::Battery(battery) => {
                let drawn_w = scaled(demand.power_w, 1.0 / battery.inverter_efficiency);
                let drawn = hours.map(|hours| times(hours, drawn_w));
                day.drawn_wh = drawn;
                day.battery_hours = quotient(battery.capacity_wh * battery.usable_share, drawn_w);
                let solar = demand.solar_wh.ok_or(Unknown::NotEntered("what the sun leaves on a day here"));
                day.solar_share = drawn.and_then(|drawn| covered(solar?, drawn));
                let rest = drawn.and_then(|drawn| Ok(beyond(drawn, solar?)));
                let charger = battery.charge_power_w;
                let engine_hours = rest.and_then(|rest| match charger {
                    _ if rest.value <= 0.0 => Ok(rest),
                    Some(watts) => Ok(scaled(rest, 1.0 / watts)),
                    None => Err(Unknown::NotEntered("the power that charges the battery without sun")),
                });
                day.burn(supply, engine_hours, rest, None);
            }
        }
        day
    }

    /// Fuel for these hours and this energy. With a power the energy is that power times the hours, and their errors go together.
    fn burn(&mut self, supply: &Supply, hours: Figure, energy_wh: Figure, power_w: Option<Estimate>) {
        let idle = supply.fuel.idle_l_h.ok_or(Unknown::NotEntered("the engine's fuel without load"));
        let load = supply.fuel.per_kwh_l.ok_or(Unknown::NotEntered("the engine's fuel for a kilowatt-hour"));
        let none_needed = energy_wh.is_ok_and(|energy| energy.value <= 0.0);
        let or_none = |figure: Figure| if none_needed { Ok(Estimate::exact(0.0)) } else { figure };
        self.engine_hours = hours;
        self.fuel_idle_l = or_none(hours.and_then(|hours| Ok(scaled(hours, idle?))));
        self.fuel_load_l = or_none(energy_wh.and_then(|energy| Ok(scaled(energy, load? / 1e3))));
        self.fuel_l = match (self.fuel_idle_l, self.fuel_load_l, hours, power_w) {
            (Ok(idle_l), Ok(load_l), Ok(hours), Some(watts)) if 0.0 < hours.value => {
                let by_hours = hours.deviation / hours.value * (idle_l.value + load_l.value);
                let by_power = watts.deviation / watts.value.max(f64::MIN_POSITIVE) * load_l.value;
                let deviation = (by_hours * by_hours + by_power * by_power).sqrt();
                Ok(Estimate::new(idle_l.value + load_l.value, deviation))
            }
            (Ok(idle_l), Ok(load_l), ..) => {
                Ok(Estimate::new(idle_l.value + load_l.value, idle_l.deviation + load_l.deviation))
            }
            (Err(why), ..) | (_, Err(why), ..) => Err(why),
        };
    }
}

/// Hours that it takes to make so many litres.
fn hours(litres: f64, product_l_h: Estimate) -> Figure {
    if product_l_h.value <= 0.0 {
        return Err(Unknown::NoProduct);
    }
    quotient(litres, product_l_h)
}

fn quotient(amount: f64, by: Estimate) -> Figure {
    if by.value <= 0.0 {
        return Err(Unknown::NoMeaning("nothing is used"));
    }
    let value = amount / by.value;
    Ok(Estimate::new(value, value * by.deviation / by.value))
}

/// Share of `drawn` that `solar` covers, at most 1.
fn covered(solar_wh: f64, drawn: Estimate) -> Figure {
    let share = quotient(solar_wh, drawn)?;
    Ok(if share.value < 1.0 { share } else { Estimate::exact(1.0) })
}

/// What is drawn beyond the sun; nothing if that is enough.
fn beyond(drawn: Estimate, solar_wh: f64) -> Estimate {
    if drawn.value <= solar_wh {
        Estimate::exact(0.0)
    } else {
        Estimate::new(drawn.value - solar_wh, drawn.deviation)
    }
}
