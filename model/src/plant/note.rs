//! What a reader must know beside a figure. Information, never a finding.

/// Recovery of one element above which a note informs. Usual on small units: 15 to 25 % (common practice, no source).
pub const USUAL_ELEMENT_RECOVERY: f64 = 0.25;

/// Recovery of a train above which a note informs. Usual on small units: 25 to 40 % (common practice, no source).
pub const USUAL_TRAIN_RECOVERY: f64 = 0.40;

/// How good figures from the parts list alone are, in the same words wherever they stand. Half widths of 95 % intervals, own comparison with units and common
/// practice; "at best", since cold or salty water makes them wider.
pub const SHEETS_ALONE: &str =
    "the flow that a pressure gives is good to ±15 % at best, the salinity to ±40 % at best";

/// One note.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Note {
    /// Computed from sheets alone.
    SpecificationOnly,
    /// From a provisional baseline.
    ProvisionalBaseline,
    /// An element above its usual recovery.
    ElementRecoveryAboveUsual {
        /// Position in the train, from 1.
        position: usize,
        /// Its recovery, 0 to 1.
        recovery: f64,
    },
    /// The train above its usual recovery.
    TrainRecoveryAboveUsual {
        /// Its recovery, 0 to 1.
        recovery: f64,
    },
    /// The pressure would pass a limit of the sheets.
    PressureAboveLimit {
        /// The limit, bar.
        limit_bar: f64,
        /// Whose limit.
        part: &'static str,
    },
    /// The product of an element would pass its limit.
    ProductAboveElementLimit {
        /// Position in the train, from 1.
        position: usize,
        /// The limit, L/h.
        limit_l_h: f64,
    },
    /// The feed of an element would pass its limit.
    FeedAboveElementLimit {
        /// Position in the train, from 1.
        position: usize,
        /// The limit, L/h.
        limit_l_h: f64,
    },
    /// The water is warmer than an element's limit.
    TemperatureAboveElementLimit {
        /// The limit, °C.
        limit_c: f64,
    },
    /// No pressure limit was entered.
    PressureLimitMissing,
    /// The feed flow is the pump's, not measured.
    FeedFlowFromPump,
    /// The speed of the pump is its rated or usual one, not measured.
    SpeedAssumed,
    /// The pressure is the one that is set, not measured.
    PressureAsSet,
    /// The pressure is worked out from how the valve stands, not measured.
    PressureFromValve,
    /// Cold water: the temperature law of the trade is one-sided there.
    ColdWater,
    /// Water outside the range of the correlations.
    SalinityBeyondCorrelation,
    /// The pressure is hardly above the osmotic pressure.
    BelowOsmoticPressure,
    /// The motor would be overloaded.
    MotorOverloaded {
        /// Its rating, W.
        rating_w: f64,
    },
}

impl Note {
    /// A short name that does not change.
    pub const fn code(&self) -> &'static str {
        match self {
            Self::SpecificationOnly => "specification-only",
            Self::ProvisionalBaseline => "provisional-baseline",
            Self::ElementRecoveryAboveUsual { .. } => "element-recovery-above-usual",
            Self::TrainRecoveryAboveUsual { .. } => "train-recovery-above-usual",
            Self::PressureAboveLimit { .. } => "pressure-above-limit",
            Self::ProductAboveElementLimit { .. } => "product-above-element-limit",
            Self::FeedAboveElementLimit { .. } => "feed-above-element-limit",
            Self::TemperatureAboveElementLimit { .. } => "temperature-above-element-limit",
            Self::PressureLimitMissing => "pressure-limit-missing",
            Self::FeedFlowFromPump => "feed-flow-from-pump",
            Self::SpeedAssumed => "speed-assumed",
            Self::PressureAsSet => "pressure-as-set",
            Self::PressureFromValve => "pressure-from-valve",
            Self::ColdWater => "cold-water",
            Self::SalinityBeyondCorrelation => "salinity-beyond-correlation",
            Self::BelowOsmoticPressure => "below-osmotic-pressure",
            Self::MotorOverloaded { .. } => "motor-overloaded",
        }
    }

    /// The sentence for a person.
    pub fn text(&self) -> String {
        match *self {
            Self::SpecificationOnly => format!(
                "From the parts list alone: {SHEETS_ALONE}. A baseline of this unit makes both narrower."
            ),
            Self::ProvisionalBaseline => "The baseline is provisional: from one run, or from runs of an element that had not settled yet.".into(),
            Self::ElementRecoveryAboveUsual { position, recovery } => format!(
                "Element {position} takes {:.0} % of its feed; {:.0} % is usual at most on small units. In warm or fresh water a healthy unit does so too.",
                100.0 * recovery, 100.0 * USUAL_ELEMENT_RECOVERY
            ),
            Self::TrainRecoveryAboveUsual { recovery } => format!(
                "The unit takes {:.0} % of its feed; {:.0} % is usual at most. Scale becomes a matter when this lasts.",
                100.0 * recovery, 100.0 * USUAL_TRAIN_RECOVERY
            ),
            Self::PressureAboveLimit { limit_bar, part } => format!(
                "The pressure passes the limit of the {part}, {limit_bar:.1} bar: this unit must not be run so."
            ),
            Self::ProductAboveElementLimit { position, limit_l_h } => format!(
                "Element {position} passes its product limit, {limit_l_h:.0} L/h: in this water less pressure is needed. Follow its manual."
            ),
            Self::FeedAboveElementLimit { position, limit_l_h } => format!(
                "Element {position} passes its feed limit, {limit_l_h:.0} L/h."
            ),
            Self::TemperatureAboveElementLimit { limit_c } => format!(
                "The water is warmer than an element's limit, {limit_c:.0} °C."
            ),
            Self::PressureLimitMissing => "No pressure limit was entered for the unit or its elements, so none was checked.".into(),
            Self::FeedFlowFromPump => "The feed flow is worked out from the pump, not measured. A timed jug on the concentrate would settle it.".into(),
            Self::SpeedAssumed => "The pump's speed was not measured: its rated or usual speed was taken.".into(),
            Self::PressureAsSet => "The pressure is the one that is set, not a reading.".into(),
            Self::PressureFromValve => {
                "The pressure is worked out from how the valve stands, not read: it moves with water, speed and wear.".into()
            }
            Self::ColdWater => "In cold water the unit may make more than this, hardly less: the trade's temperature factors differ there.".into(),
            Self::SalinityBeyondCorrelation => "This salinity lies outside the range the water's properties were measured in.".into(),
            Self::BelowOsmoticPressure => "The pressure is hardly above the osmotic pressure of this water: product is a salty trickle.".into(),
            Self::MotorOverloaded { rating_w } => format!(
                "The pump takes more than the motor's rating, {rating_w:.0} W."
            ),
        }
    }
}
