//! What the settings say, after every check.

use barrico_model::Quantity;
use barrico_model::parts::Parts;
use std::net::SocketAddr;
use std::path::PathBuf;

/// All settings of one boat.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// The boat.
    pub boat: Boat,
    /// The units aboard, at least one; at most [`Settings::UNITS_MAX`].
    pub units: Vec<UnitSettings>,
    /// Instruments; index 0 is "unknown", and readings carry the index.
    pub instruments: Vec<Instrument>,
    /// The web page.
    pub page: Page,
    /// The CAN interface; `None`: none is opened.
    pub bus: Option<BusSettings>,
    /// Folder of the history, 0700.
    pub state_folder: PathBuf,
    /// Folder of the control socket, 0750.
    pub runtime_folder: PathBuf,
    /// The file exactly as read, for the report's settings hash; empty for built-in settings.
    pub text: String,
}

impl Settings {
    /// Alert numbers leave four bits for the unit, so there can be 16.
    pub const UNITS_MAX: usize = 16;
}

/// The boat.
#[derive(Clone, Debug, PartialEq)]
pub struct Boat {
    /// Short name used in topics and files: `[a-z][A-Za-z0-9]*`.
    pub id: String,
    /// Name for people.
    pub name: String,
}

/// One unit.
#[derive(Clone, Debug, PartialEq)]
pub struct UnitSettings {
    /// Short name: `[a-z][A-Za-z0-9]*`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// The parts list.
    pub parts: Parts,
    /// Serial, position and age of each element, in the order of `parts.elements`.
    pub element_history: Vec<ElementHistory>,
    /// Where each reading comes from, best source first within a quantity.
    pub sources: Vec<SourceRule>,
    /// Which sender's PGN 130567 is this unit's, if it speaks.
    pub status_from: Option<SenderRule>,
    /// Where the salinity cell sits.
    pub salinity_cell: SalinityCell,
    /// Is there a valve that sends salty product overboard?
    pub product_diverter: bool,
    /// Product tank, L.
    pub tank_l: Option<f64>,
    /// Salinity of the sea that is assumed when nothing measures it, g/kg, with its standard deviation. `None`: 35 ± 3.
    pub usual_feed_salinity: Option<(f64, f64)>,
    /// What the unit had done before barrico came aboard.
    pub second_hand: SecondHand,
    /// How tables of readings from elsewhere are read.
    pub tables: Vec<TableWords>,
}

/// Identity and age of an element.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ElementHistory {
    /// Serial number.
    pub serial: Option<String>,
    /// Position in the train, from 1 at the feed.
    pub position: u32,
    /// First wetted, milliseconds since 1970 (midnight UTC of the date).
    pub date_wetted_ms: Option<i64>,
    /// Running hours that it had when it came aboard.
    pub hours: Option<f64>,
    /// Litres that it had made when it came aboard.
    pub product_l: Option<f64>,
}

/// Hours and litres on a unit that was not new.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct SecondHand {
    /// Running hours.
    pub hours: Option<f64>,
    /// Litres made.
    pub product_l: Option<f64>,
    /// Running hours of the elements.
    pub element_hours: Option<f64>,
}

/// Before or after post-treatment.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SalinityCell {
    /// Straight behind the membranes.
    BeforePostTreatment,
    /// Behind calcite or the like, which adds salt.
    AfterPostTreatment,
}

/// One source of one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct SourceRule {
    /// What it gives.
    pub quantity: Quantity,
    /// From where.
    pub source: Source,
    /// Index into [`Settings::instruments`].
    pub instrument: u16,
    /// Age after which the value counts no more, s. `None`: three learnt intervals on the bus, 12 hours by hand.
    pub stale_after_s: Option<f64>,
}

/// Where a value comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Source {
    /// The NMEA 2000 bus.
    Bus(BusSource),
    /// Read by a person.
    Hand,
}

/// Which message on the bus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BusSource {
    /// Parameter group.
    pub pgn: u32,
    /// Which device; `None`: any.
    pub sender: Option<SenderRule>,
    /// Instance in the message; `None`: any.
    pub instance: Option<u8>,
    /// Source, type or line in the message (temperature source, fluid type, pressure source, AC line); `None`: the usual one for the quantity.
    pub kind: Option<u8>,
}

/// How a device on the bus is named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SenderRule {
    /// By its NAME.
    Name(u64),
    /// By its address, which may change.
    Address(u8),
}

/// An instrument.
#[derive(Clone, Debug, PartialEq)]
pub struct Instrument {
    /// Name in the settings.
    pub id: String,
    /// What it is.
    pub kind: InstrumentKind,
    /// Random error as given; `None`: usual for the kind.
    pub random: Option<ErrorSize>,
    /// Systematic error as given; `None`: usual for the kind.
    pub systematic: Option<ErrorSize>,
    /// Which gallon it means.
    pub gallon: Option<Gallon>,
    /// Which scale its `ppm` means.
    pub ppm: Option<PpmScale>,
    /// Date of the last check, milliseconds since 1970.
    pub checked_ms: Option<i64>,
}

/// One standard deviation of an error: a size that is always there and a share of the reading, independent of each other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ErrorSize {
    /// In the unit of the quantity.
    pub absolute: f64,
    /// Share of the reading, 0 to 1.
    pub share: f64,
}

impl ErrorSize {
    /// The standard deviation at a reading.
    pub fn at(self, value: f64) -> f64 {
        let share = self.share * value.abs();
        (self.absolute * self.absolute + share * share).sqrt()
    }
}

/// Kinds of instrument; each has usual errors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum InstrumentKind {
    /// Not named.
    Unknown,
    /// Dial gauge.
    Gauge,
    /// Electronic sensor without a kind of its own below.
    Transmitter,
    /// Turbine, magnetic or other flow meter with a signal or a counter.
    FlowMeter,
    /// Conductivity cell fitted in the line.
    ConductivityCell,
    /// Jug and watch.
    Jug,
    /// Float in a tube, read by eye.
    FlowTube,
    /// Hand-held meter.
    HandMeter,
    /// Thermometer.
    Thermometer,
    /// Refractometer or hydrometer.
    Refractometer,
}

/// Gallons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gallon {
    /// US liquid gallon, 3.785411784 L.
    Us,
    /// Imperial gallon, 4.54609 L.
    Imperial,
}

/// Scales of meters that show ppm.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PpmScale {
    /// 0.5 mg/L per µS/cm.
    Nacl,
    /// 0.7 mg/L per µS/cm.
    Scale442,
}

/// The CAN interface.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct BusSettings {
    /// Its name, such as `can0`.
    pub interface: String,
    /// Nothing is ever written to it.
    pub listen_only: bool,
    /// Unique number of the first unit's NAME; further units count up. `None`: drawn once and kept.
    pub unique_number: Option<u32>,
    /// Device instance of the first unit; further units count up.
    pub device_instance: Option<u8>,
    /// System instance.
    pub system_instance: Option<u8>,
}

/// The web page.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Address to listen on.
    pub bind: SocketAddr,
    /// Host names under which the page may be asked for, beside the address itself.
    pub hosts: Vec<String>,
    /// File with the password, needed when the address is not loopback.
    pub password_file: Option<PathBuf>,
}

/// How a table of readings is read: which column is what. As typed; the rows are checked at import.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TableWords {
    /// Short name, to choose it at import; empty if it was given on the command line.
    pub name: String,
    /// `column=quantity:unit`, perhaps with `@instrument`.
    pub columns: Vec<String>,
    /// `quantity=value with unit`: the same in every row.
    pub constants: Vec<String>,
    /// `column=value`: only rows that have it.
    pub only: Vec<String>,
    /// Column with the time.
    pub time: Option<String>,
    /// How the time is written, as for `strftime`; or `unix` for seconds since 1970. Without it RFC 3339 or `2026-03-03 14:05`, UTC if there is no offset.
    pub time_format: Option<String>,
    /// Time of the first row, for a table without times.
    pub start: Option<String>,
    /// From one row to the next.
    pub every: Option<String>,
}

impl UnitSettings {
    /// A unit of which nothing is known but a name: no parts, no sources.
    pub fn unknown(id: &str, name: &str) -> Self {
        use barrico_model::parts::{Drive, DriveKind, Limits, PressureControl, Pump, PumpKind, Start};
        Self {
            id: id.to_owned(),
            name: name.to_owned(),
            parts: Parts {
                pressure_control: PressureControl::Regulated,
                set_pressure_bar: None,
                set_product_flow_l_h: None,
                valve_set_at: None,
                pump: Pump {
                    kind: PumpKind::Plunger,
                    nameplate_flow_l_h: 0.0,
                    rated_speed_rpm: None,
                    rated_pressure_bar: 0.0,
                    delivery: None,
                    cylinders: None,
                    internal_leakage: None,
                    mixing: None,
                },
                drive: Drive {
                    kind: DriveKind::Hydraulic,
                    motor_power_w: None,
                    motor_efficiency: None,
                    start: Start::default(),
                },
                boost_pump: false,
                elements: vec![],
                parallel_trains: 1,
                prefilters: vec![],
                limits: Limits::default(),
            },
            element_history: vec![],
            sources: vec![],
            status_from: None,
            salinity_cell: SalinityCell::BeforePostTreatment,
            product_diverter: false,
            tank_l: None,
            usual_feed_salinity: None,
            second_hand: SecondHand::default(),
            tables: vec![],
        }
    }
}

impl Settings {
    /// No settings at all: for recordings of unknown boats.
    pub fn unknown() -> Self {
        let nobody = Instrument {
            id: "unknown".to_owned(),
            kind: InstrumentKind::Transmitter,
            random: None,
            systematic: None,
            gallon: None,
            ppm: None,
            checked_ms: None,
        };
        Self {
            boat: Boat { id: "boat".to_owned(), name: "boat".to_owned() },
            units: vec![],
            instruments: vec![nobody],
            page: Page { bind: SocketAddr::from(([127, 0, 0, 1], 0)), hosts: vec![], password_file: None },
            bus: None,
            state_folder: PathBuf::new(),
            runtime_folder: PathBuf::new(),
            text: String::new(),
        }
    }
}
