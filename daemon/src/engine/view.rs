//! What pages, JSON and metrics show: a copy of what the engine knows at one time.

use super::{AlertRecord, BusCounts, UnitHistory};
use barrico_model::findings::Finding;
use barrico_model::judgement::OPEN_SEA_G_KG;
use barrico_model::performance::standardised::{Standardised, of_run};
use barrico_model::records::{Baseline, OperatingState, Origin, RunRecord};
use barrico_model::{Monotonic, Quantity, WallMs};

/// Everything there is to show.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct View {
    /// When it was made.
    pub at: Monotonic,
    /// Date, if one is trusted.
    pub wall_ms: Option<WallMs>,
    /// Name of the boat.
    pub boat: String,
    /// The units.
    pub units: Vec<UnitView>,
    /// Does the store work, and what is wrong if not?
    pub store: Health,
    /// Does the source of frames work, and what is wrong if not?
    pub source: Health,
    /// What is wrong with the source although it works.
    pub source_impaired: Option<String>,
    /// What the CAN interface counts.
    pub bus: BusCounts,
    /// Units whose node on the bus is in trouble, each with what is wrong.
    pub node_troubles: Vec<(String, String)>,
    /// Frames handled.
    pub frames: u64,
    /// Readings taken from them.
    pub readings: u64,
    /// Lines and frames that were damaged.
    pub damaged: u64,
}

/// Works or not, in words.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Health {
    /// Works.
    pub working: bool,
    /// In words for the owner.
    pub text: String,
}

/// One unit.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct UnitView {
    /// Short name.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// State; `None`: unknown.
    pub state: Option<OperatingState>,
    /// The state was inferred from readings.
    pub state_inferred: bool,
    /// Seconds in that state.
    pub state_s: f64,
    /// Newest value of each quantity that has a source.
    pub readings: Vec<ReadingView>,
    /// What it should make now, or why that cannot be computed.
    pub expected: Option<ExpectedView>,
    /// Why there is no expectation, in the owner's words.
    pub expected_missing: Vec<String>,
    /// Owner's limit for the product, µS/cm at 25 °C.
    pub product_conductivity_limit: Option<f64>,
    /// Findings that are active, most urgent first, with their alerts.
    pub findings: Vec<(AlertRecord, Option<Finding>)>,
    /// What cannot be judged, and why.
    pub not_computable: Vec<String>,
    /// The runs, oldest first.
    pub runs: Vec<RunRow>,
    /// Litres since midnight UTC, as far as known.
    pub product_today_l: Option<f64>,
    /// Address of the unit's node on the bus, while it may send.
    pub bus_address: Option<u8>,
    /// Present baseline.
    pub baseline: Option<Baseline>,
    /// Hours since the unit last ran or was flushed, at least.
    pub idle_h: Option<f64>,
    /// Baselines, elements, valve, change of the train.
    pub history: UnitHistory,
    /// Product flow by the rise of the tank, L/h, and its standard deviation: in place of a meter, or as a check of it.
    pub tank_flow_l_h: Option<(f64, f64)>,
    /// Salinity of the sea that the settings call usual, g/kg, with its standard deviation.
    pub usual_feed_salinity: Option<(f64, f64)>,
}

impl UnitView {
    /// A run in the form of ASTM D4516, brought to the water and pressure of the present baseline.
    ///
    /// # Errors
    /// Why there is none, in the owner's words.
    pub fn standardised(&self, run: &RunRecord) -> Result<Standardised, String> {
        let baseline = self.baseline.as_ref().ok_or("there is no baseline to bring it to")?;
        let usual = self.usual_feed_salinity.unwrap_or(OPEN_SEA_G_KG).0;
        let (values, _) = of_run(&run.means, &baseline.means, usual).map_err(|why| why.to_string())?;
        Ok(values)
    }
}

/// One reading as shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadingView {
    /// What.
    pub quantity: Quantity,
    /// Newest value, fresh or not; `status` says whether it is the present one.
    pub value: Option<f64>,
    /// Standard deviation of one reading, chance and instrument together.
    pub sd: f64,
    /// Age, s.
    pub age_s: f64,
    /// Where it comes from.
    pub origin: Origin,
    /// How far it can be trusted.
    pub status: ReadingStatus,
}

/// How far a reading can be trusted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ReadingStatus {
    /// Fresh.
    Fresh,
    /// Too old.
    Stale,
    /// Doubted: stuck, contradicted or not plausible.
    Doubted,
}

/// What the unit should make.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ExpectedView {
    /// Product flow, L/h, and its standard deviation.
    pub product_flow_l_h: (f64, f64),
    /// Product conductivity, µS/cm at 25 °C, and its standard deviation.
    pub product_conductivity_us_cm: (f64, f64),
    /// Specific energy, Wh/L, and its standard deviation, if power is known.
    pub specific_energy_wh_l: Option<(f64, f64)>,
    /// From which baseline: true from the parts list alone.
    pub from_specification: bool,
}

/// One run as shown, with what it should have made.
#[derive(Clone, Debug, PartialEq)]
pub struct RunRow {
    /// The run.
    pub run: RunRecord,
    /// Expected product flow in that run's water, L/h, and its standard deviation.
    pub expected_product_flow_l_h: Option<(f64, f64)>,
}
