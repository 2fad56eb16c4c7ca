//! The settings file as typed: every table and key there is. Nothing is checked here but names and types.
//!
//! Meaning, unit, range and default of each key are in `daemon/docs/settings.md`; ranges in `ranges`.

use super::problem::Problem;
use super::typed::{
    Amount, Date, Field, Kind, Named, Place, Read, Share, Text, field, table_of, unknown_keys,
};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

macro_rules! tables {
    ($($(#[$doc:meta])* $name:ident { $($key:ident: $kind:ty,)* })*) => {
        $(
            $(#[$doc])*
            #[derive(Clone, Debug)]
            pub(in crate::settings) struct $name {
                $(pub $key: Field<$kind>,)*
            }

            impl $name {
                /// `header` is where the table stands; `None` for the top of the file.
                pub(in crate::settings) fn read_table(table: &DeTable<'_>, place: &Place, header: Option<Range<usize>>, out: &mut Vec<Problem>) -> Self {
                    unknown_keys(table, &[$(stringify!($key)),*], place, out);
                    Self {
                        $($key: field(table, stringify!($key), place, header.as_ref(), out),)*
                    }
                }
            }

            impl Read for $name {
                fn read(value: &Spanned<DeValue<'_>>, place: &Place, out: &mut Vec<Problem>) -> Option<Self> {
                    let table = table_of(value, place, out)?;
                    Some(Self::read_table(table, place, Some(value.span()), out))
                }

                fn keys(pattern: &str, out: &mut Vec<(String, Kind)>) {
                    let place = Place { path: String::new(), pattern: pattern.to_string() };
                    $(<$kind as Read>::keys(&place.key(stringify!($key)).pattern, out);)*
                }
            }
        )*
    };
}
pub(super) use tables;

tables! {
    /// The whole file.
    RawFile {
        boat: RawBoat,
        page: RawPage,
        folders: RawFolders,
        bus: RawBus,
        instruments: Named<RawInstrument>,
        units: Named<RawUnit>,
    }
    /// `[boat]`
    RawBoat { id: Text, name: Text, }
    /// `[page]`
    RawPage { bind: Text, hosts: Vec<Text>, password_file: Text, }
    /// `[folders]`
    RawFolders { state: Text, runtime: Text, }
    /// `[bus]`
    RawBus { interface: Text, listen_only: bool, unique_number: u32, device_instance: u32, system_instance: u32, }
    /// `[instruments.<id>]`
    RawInstrument {
        kind: Text,
        random: Amount,
        random_share: Share,
        systematic: Amount,
        systematic_share: Share,
        gallon: Text,
        ppm: Text,
        checked: Date,
    }
    /// `[units.<id>]`
    RawUnit {
        name: Text,
        pressure_control: Text,
        set_pressure: Amount,
        set_product_flow: Amount,
        valve_set_at: RawValve,
        salinity_cell: Text,
        product_diverter: bool,
        tank: Amount,
        usual_feed_salinity: Amount,
        usual_feed_salinity_spread: Amount,
        boost_pump: bool,
        parallel_trains: u32,
        status_from: Text,
        pump: RawPump,
        drive: RawDrive,
        elements: Vec<RawElement>,
        prefilters: Vec<RawPrefilter>,
        limits: RawLimits,
        readings: Vec<RawReading>,
        second_hand: RawSecondHand,
        tables: Named<RawTable>,
    }
    /// `[units.<id>.valve_set_at]`
    RawValve { pressure: Amount, concentrate_flow: Amount, }
    /// `[units.<id>.pump]`
    RawPump {
        kind: Text,
        flow: Amount,
        rated_speed: Amount,
        rated_pressure: Amount,
        delivery: Share,
        cylinders: u32,
        product_share: Share,
        internal_leakage: Share,
        mixing: Share,
    }
    /// `[units.<id>.drive]`
    RawDrive {
        kind: Text,
        voltage: Amount,
        frequency: Amount,
        power_factor: Share,
        motor_power: Amount,
        motor_efficiency: Share,
        ratio: f64,
        engine_speed: Amount,
        output_frequency: Amount,
        start_current: Amount,
        start_multiple: f64,
        soft_start: bool,
    }
    /// `[[units.<id>.elements]]`
    RawElement {
        size: Text,
        serial: Text,
        position: u32,
        date_wetted: Date,
        hours: Amount,
        product: Amount,
        area: Amount,
        nominal_flow: Amount,
        minimum_flow: Amount,
        nominal_rejection: Share,
        minimum_rejection: Share,
        test_pressure: Amount,
        test_temperature: Amount,
        test_solution: Amount,
        test_recovery: Share,
        maximum_pressure: Amount,
        maximum_temperature: Amount,
        maximum_product_flow: Amount,
        maximum_feed_flow: Amount,
        maximum_differential_pressure: Amount,
    }
    /// `[[units.<id>.prefilters]]`
    RawPrefilter { rating: Amount, change_at: Amount, }
    /// `[units.<id>.limits]`
    RawLimits {
        feed_pressure: Amount,
        product_pressure: Amount,
        low_side_pressure: Amount,
        inlet_pressure_minimum: Amount,
        product_conductivity: Amount,
        flush_interval_cool: Amount,
        flush_interval_warm: Amount,
    }
    /// `[[units.<id>.readings]]`
    RawReading {
        quantity: Text,
        from: Text,
        pgn: u32,
        sender: Text,
        instance: u32,
        kind: u32,
        instrument: Text,
        stale_after: Amount,
    }
    /// `[units.<id>.second_hand]`
    RawSecondHand { hours: Amount, product: Amount, element_hours: Amount, }
    /// `[units.<id>.tables.<id>]`
    RawTable {
        columns: Vec<Text>,
        constants: Vec<Text>,
        only: Vec<Text>,
        time: Text,
        time_format: Text,
        start: Text,
        every: Text,
    }
}

/// The file as typed, from TOML that could be read.
pub(super) fn read(table: &DeTable<'_>, out: &mut Vec<Problem>) -> RawFile {
    RawFile::read_table(table, &Place::default(), None, out)
}

/// Every key there is, as the pattern of its path, with its kind.
pub(super) fn all_keys() -> Vec<(String, Kind)> {
    let mut keys = Vec::new();
    RawFile::keys("", &mut keys);
    keys
}

/// Headers of the tables that have a key of this name.
pub(super) fn tables_with(name: &str) -> Vec<String> {
    const LISTS: &[&str] = &["units.<id>.elements", "units.<id>.prefilters", "units.<id>.readings"];
    all_keys()
        .iter()
        .filter_map(|(pattern, _)| pattern.rsplit_once('.'))
        .filter(|(_, key)| *key == name)
        .map(
            |(table, _)| {
                if LISTS.contains(&table) { format!("`[[{table}]]`") } else { format!("`[{table}]`") }
            },
        )
        .collect()
}
