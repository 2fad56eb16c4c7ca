//! State and alerts of a unit as NMEA 2000 messages.
//!
//! Values only where they are known; unknown is "not available", too large is "out of range", never a wrapped number.
//!
//! | severity of ours | alert type on the bus |
//! | --- | --- |
//! | alarm | 2, alarm |
//! | alert | 5, warning |
//! | advice, notice | 8, caution |

use crate::engine::{AlertRecord, AlertState};
use barrico_model::findings::Severity;
use barrico_model::records::{OperatingState, Reading};
use barrico_model::{Quantity, records};
use barrico_n2k::Name;
use barrico_n2k::field::Code;
use barrico_n2k::pgn::{
    self, ActualPressure, Alert, AlertHead, AlertText, Content, TemperatureExtended, WatermakerStatus,
};

/// Absolute zero in °C.
const KELVIN: f64 = 273.15;
/// Pascal in a bar.
const BAR: f64 = 1e5;
/// Displays show 60 to 80 characters of an alert (change log of a public Signal K plugin).
pub const DESCRIPTION_MAX: usize = 64;

/// The status message, from fresh readings.
pub fn status(state: Option<OperatingState>, readings: &[Option<Reading>]) -> WatermakerStatus {
    let value = |quantity: Quantity| readings.get(quantity as usize)?.as_ref().map(|reading| reading.value);
    let pascal = |quantity| value(quantity).map(|bar| bar * BAR);
    WatermakerStatus {
        operating_state: state
            .map(|state| pgn::OperatingState::from_raw(records::OperatingState::code(state))),
        production: state.map(|state| state == OperatingState::Running),
        flush_mode: state.map(|state| state == OperatingState::Flushing),
        rinse: state.map(|state| state == OperatingState::Rinsing),
        salinity_ppm: value(Quantity::ProductSalinity),
        product_water_temperature_k: value(Quantity::ProductTemperature).map(|celsius| celsius + KELVIN),
        // These two are unsigned on the bus: a vacuum cannot be told, so it is left out instead of sent as zero.
        pre_filter_pressure_pa: pascal(Quantity::PrefilterInletPressure).filter(|pa| 0.0 <= *pa),
        post_filter_pressure_pa: pascal(Quantity::InletPressure).filter(|pa| 0.0 <= *pa),
        feed_pressure_pa: pascal(Quantity::LowSidePressure),
        system_high_pressure_pa: pascal(Quantity::FeedPressure).filter(|pa| 0.0 <= *pa),
        product_water_flow_l_h: value(Quantity::ProductFlow),
        brine_water_flow_l_h: value(Quantity::ConcentrateFlow),
        run_time_s: value(Quantity::RunTime),
        ..WatermakerStatus::default()
    }
}

/// A temperature or pressure as a message of its own; `None` for other quantities. The instance tells units apart.
pub fn value(reading: &Reading, unit: usize) -> Option<Content> {
    let temperature = |source| {
        Content::TemperatureExtended(TemperatureExtended {
            instance: Some(unit as u8),
            source: Some(source),
            actual_temperature_k: Some(reading.value + KELVIN),
            ..TemperatureExtended::default()
        })
    };
    // Sources of the bus name the medium, not the place: the places of one unit get instances of their own.
    let pressure = |place: u8, source| {
        Content::ActualPressure(ActualPressure {
            instance: Some(unit as u8 * 8 + place),
            source: Some(source),
            pressure_pa: Some(reading.value * BAR),
            ..ActualPressure::default()
        })
    };
    Some(match reading.quantity {
        Quantity::FeedTemperature => temperature(pgn::TemperatureSource::Sea),
        Quantity::FeedPressure => pressure(0, pgn::PressureSource::Water),
        Quantity::ConcentratePressure => pressure(1, pgn::PressureSource::Water),
        Quantity::ProductPressure => pressure(2, pgn::PressureSource::Water),
        Quantity::LowSidePressure => pressure(3, pgn::PressureSource::Water),
        Quantity::InletPressure => pressure(4, pgn::PressureSource::Filter),
        Quantity::PrefilterInletPressure => pressure(5, pgn::PressureSource::Filter),
        _ => return None,
    })
}

/// Number of an alert on the bus: the number of the finding and the unit. Stable over restarts.
pub fn alert_id(alert: &AlertRecord, unit: usize) -> u16 {
    (alert.code as u16) * 16 + (unit as u16 & 15)
}

/// Which alert it is, on the bus: what displays send back when they answer.
pub fn head(alert: &AlertRecord, unit: usize, source: Name) -> AlertHead {
    AlertHead {
        alert_type: Some(match alert.severity {
            Severity::Alarm => pgn::AlertType::Alarm,
            Severity::Alert => pgn::AlertType::Warning,
            Severity::Advice | Severity::Notice => pgn::AlertType::Caution,
        }),
        category: Some(pgn::AlertCategory::Technical),
        system: Some(5),
        sub_system: Some(0),
        alert_id: Some(alert_id(alert, unit)),
        data_source_name: Some(source),
        // Alerts about different readings share a number; the instance tells them apart.
        data_source_instance: Some(alert.about.map_or(0, |quantity| quantity as u8 + 1)),
        data_source_index: Some(0),
        occurrence: Some((alert.occurrence & 0xFF) as u8),
    }
}

/// What displays answered to this occurrence of an alert.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Answered {
    /// Silent for a while.
    pub silent: bool,
    /// NAME of the display that acknowledged it.
    pub by: Option<Name>,
}

/// PGN 126983.
pub fn alert(alert: &AlertRecord, unit: usize, source: Name, answered: Answered) -> Alert {
    let silent = answered.silent && alert.state == AlertState::Raised;
    let (state, threshold) = match alert.state {
        AlertState::Raised if silent => (pgn::AlertState::Silenced, pgn::ThresholdStatus::Exceeded),
        AlertState::Raised => (pgn::AlertState::Active, pgn::ThresholdStatus::Exceeded),
        AlertState::Acknowledged => (pgn::AlertState::Acknowledged, pgn::ThresholdStatus::Exceeded),
        AlertState::Latched => (pgn::AlertState::AwaitingAcknowledge, pgn::ThresholdStatus::Normal),
        AlertState::Cleared | AlertState::ClosedNotCleared => {
            (pgn::AlertState::Normal, pgn::ThresholdStatus::Normal)
        }
    };
    Alert {
        head: head(alert, unit, source),
        temporary_silence: Some(silent),
        acknowledged: Some(alert.state == AlertState::Acknowledged),
        escalated: Some(false),
        temporary_silence_supported: Some(true),
        acknowledge_supported: Some(true),
        escalation_supported: Some(false),
        acknowledge_source_name: answered.by.filter(|_| alert.state == AlertState::Acknowledged),
        trigger_condition: Some(pgn::TriggerCondition::Auto),
        threshold_status: Some(threshold),
        priority: Some(0),
        state: Some(state),
    }
}

/// PGN 126985. The unit's name is the location.
pub fn alert_text(alert: &AlertRecord, unit: usize, unit_name: &str, source: Name) -> AlertText {
    AlertText {
        head: head(alert, unit, source),
        language: Some(pgn::Language::EnglishUk),
        description: Some(shorten(&alert.title, DESCRIPTION_MAX)),
        location: Some(shorten(unit_name, 16)),
    }
}

fn shorten(text: &str, most: usize) -> String {
    // One letter is one byte on the bus: what is not ASCII is put in plain letters first.
    let plain: String = text.replace('µ', "u").chars().map(|c| if c.is_ascii() { c } else { '?' }).collect();
    plain.chars().take(most).collect()
}
