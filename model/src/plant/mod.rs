//! The whole unit: pump, drive, pressure control and train, and what it should make in given water.
//!
//! What this is: [`expect`] answers "what should this unit make here", with uncertainty and notes. What it is not: judgement of readings. What
//! happens on failure: [`NotComputable`](crate::performance::NotComputable) says what is missing, by name.
//!
//! ```
//! use barrico_model::parts::*;
//! use barrico_model::plant::{Calibration, Condition, Estimate, expect};
//!
//! let element = Element {
//!     size: "2540".into(),
//!     serial: None,
//!     area_m2: 2.8,
//!     sheet: TestSheet::usual(110.4, 0.994),
//!     limits: ElementLimits::default(),
//! };
//! let parts = Parts {
//!     pressure_control: PressureControl::Regulated,
//!     set_pressure_bar: Some(55.0),
//!     set_product_flow_l_h: None,
//!     valve_set_at: None,
//!     pump: Pump {
//!         kind: PumpKind::Plunger,
//!         nameplate_flow_l_h: 360.0,
//!         rated_speed_rpm: None,
//!         rated_pressure_bar: 60.0,
//!         delivery: None,
//!         cylinders: Some(3),
//!         internal_leakage: None,
//!         mixing: None,
//!     },
//!     drive: Drive {
//!         kind: DriveKind::Dc { voltage_v: 24.0 },
//!         motor_power_w: None,
//!         motor_efficiency: None,
//!         start: Start::default(),
//!     },
//!     boost_pump: false,
//!     elements: vec![element],
//!     parallel_trains: 1,
//!     prefilters: Vec::new(),
//!     limits: Limits::default(),
//! };
//! let calibration = Calibration::from_nominal_sheets(&parts)?;
//! let condition = Condition {
//!     feed_temperature_c: Some(Estimate::new(20.0, 0.5)),
//!     feed_salinity_g_kg: Some(Estimate::new(35.0, 0.5)),
//!     ..Condition::default()
//! };
//! let expected = expect(&parts, &condition, &calibration)?;
//! assert!(60.0 < expected.output.product_flow_l_h && expected.output.product_flow_l_h < 80.0);
//!
//! let cold = Condition { feed_temperature_c: None, ..condition };
//! assert!(expect(&parts, &cold, &calibration).unwrap_err().to_string().contains("temperature"));
//! # Ok::<(), barrico_model::performance::NotComputable>(())
//! ```

pub mod calibration;
pub mod concentrate_valve;
pub mod condition;
mod control;
pub mod drive;
pub mod energy_recovery;
mod expect;
pub mod from_readings;
pub mod note;
pub mod output;
pub mod pump;
mod supply;
pub mod train_change;
mod uncertain_inputs;
pub mod valve_law;
mod working_point;

pub use calibration::{Calibration, CalibrationSource};
pub use concentrate_valve::ConcentrateValve;
pub use condition::{Condition, Estimate};
pub use expect::{Expected, expect, expect_central};
pub use note::Note;
pub use output::{ElementFigures, EnergyBoundary, Figures};
pub use train_change::TrainChange;
