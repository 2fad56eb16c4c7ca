//! What makes readings no acceptance, and what a reader must know beside one.

use super::{Circumstances, SETS, SPACING_MIN};
use crate::Quantity;
use crate::performance::{NotComputable, Readings};

/// Feed salinity below which readings are no acceptance of a seawater unit, g/kg. The open sea has 33 to 39; below, the driving pressure lies so far above that of the
/// sheets' test that errors of gauge and model grow, and an element may pass its product limit. Our choice.
pub const BRACKISH_G_KG: f64 = 25.0;

/// Running hours before which an element still settles: compaction, as before a baseline is confirmed. Our choice.
pub const SETTLING_H: f64 = 20.0;

/// Minutes after the start before which nothing is steady. Sheets are read after 20 minutes to 24 hours (trade data sheets, from memory).
pub const EARLY_MIN: f64 = 20.0;

/// One reason.
#[derive(Clone, Debug, PartialEq)]
pub enum Obstacle {
    /// Nobody wrote down that the unit was rinsed.
    NotRinsed,
    /// A reading is missing.
    Missing {
        /// Which, the usual one where another would do.
        quantity: Quantity,
        /// In which set, from 1; `None`: in all of them.
        set: Option<usize>,
    },
    /// Fresh or brackish water.
    Brackish {
        /// Its salinity, g/kg.
        g_kg: f64,
    },
    /// The product went elsewhere than where its flow was read.
    ProductElsewhere,
    /// The unit was not running.
    NotRunning,
    /// The model cannot compute this.
    NotComputable(NotComputable),
    /// Fewer than three sets.
    TooFewSets {
        /// How many.
        count: usize,
    },
    /// A set or the one after it has no time.
    NoTime {
        /// Which, from 1.
        set: usize,
    },
    /// Two sets are too near or too far from each other.
    NotApart {
        /// The first of the two, from 1.
        after: usize,
        /// Minutes between them.
        minutes: f64,
    },
    /// Readings differ by more than their errors.
    NotAgreeing {
        /// Of what.
        quantity: Quantity,
        /// Lowest.
        low: f64,
        /// Highest.
        high: f64,
    },
}

impl Obstacle {
    /// Does it make the readings unsteady, not invalid?
    pub const fn is_unsteadiness(&self) -> bool {
        matches!(
            self,
            Self::TooFewSets { .. } | Self::NoTime { .. } | Self::NotApart { .. } | Self::NotAgreeing { .. }
        )
    }

    /// A short name that does not change.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NotRinsed => "not-rinsed",
            Self::Missing { .. } => "reading-missing",
            Self::Brackish { .. } => "brackish",
            Self::ProductElsewhere => "product-elsewhere",
            Self::NotRunning => "not-running",
            Self::NotComputable(_) => "not-computable",
            Self::TooFewSets { .. } => "too-few-sets",
            Self::NoTime { .. } => "no-time",
            Self::NotApart { .. } => "not-apart",
            Self::NotAgreeing { .. } => "not-agreeing",
        }
    }

    /// The sentence for a person.
    pub fn text(&self) -> String {
        match self {
            Self::NotRinsed => "Nobody wrote down that the unit was rinsed before the readings.".into(),
            Self::Missing { quantity, set: Some(set) } => {
                format!("Set {set} has no reading of the {}.", quantity.label())
            }
            Self::Missing { quantity, set: None } => {
                format!("There is no reading of the {}.", quantity.label())
            }
            Self::Brackish { g_kg } => format!(
                "The water has {g_kg:.1} g/kg: fresh or brackish, below {BRACKISH_G_KG:.0} g/kg. A seawater unit shows nothing of its worth there."
            ),
            Self::ProductElsewhere => {
                "The product went elsewhere than where its flow was read, overboard or to the test outlet."
                    .into()
            }
            Self::NotRunning => "The unit was not running in every set.".into(),
            Self::NotComputable(why) => format!("It cannot be computed: {why}."),
            Self::TooFewSets { count } => format!("{count} of the {SETS} sets of readings that are needed."),
            Self::NoTime { set } => format!("Set {set} or the one after it has no time."),
            Self::NotApart { after, minutes } => format!(
                "{minutes:.0} minutes lie between sets {after} and {}; ten are asked, {:.0} to {:.0} are taken.",
                after + 1,
                SPACING_MIN.0,
                SPACING_MIN.1
            ),
            Self::NotAgreeing { quantity, low, high } => format!(
                "Not steady: the {} lies between {} and {} {}, more than its readings scatter.",
                quantity.label(),
                short(*low),
                short(*high),
                quantity.unit()
            ),
        }
    }
}

fn short(value: f64) -> String {
    if value.abs() < 100.0 { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// What is not asked of the readings themselves.
pub(super) fn of_circumstances(circumstances: &Circumstances) -> Vec<Obstacle> {
    let mut found = Vec::new();
    if !circumstances.rinsed {
        found.push(Obstacle::NotRinsed);
    }
    if circumstances.product_elsewhere {
        found.push(Obstacle::ProductElsewhere);
    }
    found
}

/// Is it sea water at all?
pub(super) fn of_water(readings: &Readings) -> Option<Obstacle> {
    let g_kg = readings.feed_salinity_g_kg?.value;
    (g_kg < BRACKISH_G_KG).then_some(Obstacle::Brackish { g_kg })
}

/// One remark.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remark {
    /// The element still settles.
    NewElement {
        /// Its running hours.
        hours: f64,
    },
    /// Nobody knows how long the element has run.
    HoursUnknown,
    /// Read soon after the start.
    Early {
        /// Minutes after it.
        minutes: f64,
    },
    /// Neither feed nor concentrate flow was read.
    FlowNotMeasured,
    /// Better than the minimum, worse than the nominal value: as single elements may be.
    Between(Quantity),
}

impl Remark {
    /// The sentence for a person.
    pub fn text(&self) -> String {
        match self {
            Self::NewElement { hours } => format!(
                "The youngest element has run {hours:.0} hours; until {SETTLING_H:.0} it settles, and its flow still falls."
            ),
            Self::HoursUnknown => {
                format!("It is not known how long the elements have run; in their first {SETTLING_H:.0} hours the flow still falls.")
            }
            Self::Early { minutes } => format!(
                "The last set was read {minutes:.0} minutes after the start; the sheets' values hold after {EARLY_MIN:.0} minutes at least."
            ),
            Self::FlowNotMeasured => "Neither feed nor concentrate flow was read: a weak pump and weak elements look the same, so no shortfall is \
                                      laid on the elements."
                .into(),
            Self::Between(Quantity::ProductFlow) => {
                "The flow lies between minimum and nominal of the sheets, as that of a single sound element may.".into()
            }
            Self::Between(_) => {
                "The salinity lies between that of the nominal and of the minimum rejection of the sheets, as that of a single sound element may.".into()
            }
        }
    }
}

/// The remarks that do not depend on the figures.
pub(super) fn remarks(circumstances: &Circumstances, flow_measured: bool) -> Vec<Remark> {
    let mut remarks = Vec::new();
    match circumstances.element_hours {
        Some(hours) if hours < SETTLING_H => remarks.push(Remark::NewElement { hours }),
        Some(_) => {}
        None => remarks.push(Remark::HoursUnknown),
    }
    if let Some(minutes) = circumstances.minutes_since_start.filter(|minutes| *minutes < EARLY_MIN) {
        remarks.push(Remark::Early { minutes });
    }
    if !flow_measured {
        remarks.push(Remark::FlowNotMeasured);
    }
    remarks
}
