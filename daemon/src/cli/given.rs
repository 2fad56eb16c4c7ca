//! Options that give the value of a quantity: one for each name, `feed_pressure` as `--feed-pressure '800 psi'`.

use crate::case;
use crate::settings::{Settings, UnitSettings};
use barrico_model::records::HandReading;
use barrico_model::{Dimension, Quantity};
use clap::{Arg, ArgMatches, Command};
use std::marker::PhantomData;
use std::sync::OnceLock;

/// Which quantities a command takes.
pub(super) trait Takes {
    const QUANTITIES: &'static [Quantity];
}

/// All quantities.
#[derive(Clone, Copy, Debug)]
pub(super) struct Every;

impl Takes for Every {
    const QUANTITIES: &'static [Quantity] = Quantity::ALL;
}

/// The values that were given, as typed, in the order of the quantities.
#[derive(Clone, Debug)]
pub(super) struct Given<T> {
    pub typed: Vec<(Quantity, String)>,
    takes: PhantomData<T>,
}

impl<T: Takes> Given<T> {
    /// What was given, read with the conventions of the unit's instruments. All that is wrong, at once.
    pub fn readings(&self, settings: &Settings, unit: &UnitSettings) -> anyhow::Result<Vec<HandReading>> {
        let (mut readings, mut faults) = (Vec::new(), Vec::new());
        for (quantity, typed) in &self.typed {
            match case::reading(settings, unit, *quantity, typed, None) {
                Ok(reading) => readings.push(reading),
                Err(fault) => faults.push(format!("--{}: {fault}", flag(*quantity))),
            }
        }
        if faults.is_empty() { Ok(readings) } else { Err(anyhow::anyhow!("{}", faults.join("\nbarrico: "))) }
    }
}

/// The option of a quantity, without its hyphens in front.
pub(super) fn flag(quantity: Quantity) -> &'static str {
    // The command line wants names that live as long as the program.
    static FLAGS: OnceLock<Vec<String>> = OnceLock::new();
    let flags = FLAGS.get_or_init(|| Quantity::ALL.iter().map(|q| q.name().replace('_', "-")).collect());
    &flags[quantity as usize]
}

impl<T: Takes + Send + Sync + Clone + 'static> clap::Args for Given<T> {
    fn augment_args(command: Command) -> Command {
        T::QUANTITIES.iter().fold(command, |command, quantity| {
            command.arg(
                Arg::new(quantity.name())
                    .long(flag(*quantity))
                    .value_name(value_name(*quantity))
                    .help(help(*quantity))
                    .help_heading("Readings, each with its unit")
                    // A vacuum begins with a minus.
                    .allow_hyphen_values(true),
            )
        })
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}

impl<T: Takes> clap::FromArgMatches for Given<T> {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, clap::Error> {
        let typed = T::QUANTITIES
            .iter()
            .filter_map(|quantity| Some((*quantity, matches.get_one::<String>(quantity.name())?.clone())))
            .collect();
        Ok(Self { typed, takes: PhantomData })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), clap::Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

fn help(quantity: Quantity) -> String {
    let place = match quantity {
        Quantity::FeedPressure => ", at the membranes' inlet",
        Quantity::ConcentratePressure => ", at the membranes' outlet",
        Quantity::InletPressure => "; a vacuum is below 0",
        Quantity::FeedConductivity | Quantity::ProductConductivity => ", at 25 °C",
        _ => "",
    };
    format!("{}{place}", crate::publish::words::sentence(quantity.label()))
}

/// An example in place of a type: it shows the unit and its spelling.
fn value_name(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::InletPressure | Quantity::PrefilterInletPressure => "'5 inHg vac'",
        Quantity::LowSidePressure => "'8 bar'",
        Quantity::ProductPressure => "'0.3 bar'",
        Quantity::ProductFlow => "'75 L/h'",
        Quantity::ConcentrateSalinity => "'43 g/kg'",
        Quantity::FeedConductivity => "'54 mS/cm'",
        Quantity::EngineSpeed => "'1700 rpm'",
        _ => match quantity.dimension() {
            Dimension::Flow => "'5.4 L/min'",
            Dimension::Temperature => "'20 C'",
            Dimension::Salinity => "'35 g/kg'",
            Dimension::Solids => "'280 mg/L'",
            Dimension::Conductivity => "'550 uS/cm'",
            Dimension::Pressure => "'55 bar'",
            Dimension::PressureDifference => "'0.4 bar'",
            Dimension::Voltage => "'230 V'",
            Dimension::Current => "'8.5 A'",
            Dimension::Power => "'1.5 kW'",
            Dimension::Frequency => "'50 Hz'",
            Dimension::Speed => "'1450 rpm'",
            Dimension::Level => "'60 %'",
            Dimension::Duration => "'812 h'",
            Dimension::State => "running",
            Dimension::Route => "tank",
        },
    }
}

/// The unit that is meant: by its short name, or the only one.
pub(super) fn unit_of<'s>(settings: &'s Settings, id: Option<&str>) -> anyhow::Result<&'s UnitSettings> {
    let names = || settings.units.iter().map(|unit| unit.id.as_str()).collect::<Vec<_>>().join(", ");
    match (id, settings.units.as_slice()) {
        (None, [only]) => Ok(only),
        (None, _) => {
            anyhow::bail!("the settings have several units: say which with `--unit`, one of {}", names())
        }
        (Some(id), units) => units.iter().find(|unit| unit.id == id).ok_or_else(|| {
            anyhow::anyhow!("there is no unit `{}`; the settings have {}", case::shown(id), names())
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity_text::{self, Convention};

    #[test]
    fn every_example_is_a_value_of_its_quantity() {
        for quantity in Quantity::ALL {
            let example = value_name(*quantity).trim_matches('\'');
            let value = quantity_text::parse(example, *quantity, &Convention::default());
            assert!(value.is_ok(), "{}: {value:?}", quantity.name());
        }
    }
}
