//! What a finding is: data, not prose in code.

use crate::Quantity;
use crate::judgement::action_list::Action;

/// Every finding, with the number it keeps for ever: alert numbers on the bus are made from it, so a number is never used again.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(u8)]
pub enum FindingCode {
    /// Less product than this water allows.
    OutputLow = 1,
    /// More salt passes than at the baseline.
    SaltPassageUp = 2,
    /// Product salinity over the owner's limit.
    ProductSalinityOverLimit = 3,
    /// Pressure above the limit of a part.
    OverPressure = 4,
    /// More product than the element's sheet allows: brackish or warm water.
    OutputAboveElementLimit = 5,
    /// A reading is stale, stuck, impossible or contradicted.
    ReadingUnreliable = 6,
    /// Sea water stands in the vessel longer than it should.
    IdleWithoutFlush = 7,
}

/// How urgent it is. One list, mapped once to each network.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// Worth knowing.
    Notice,
    /// Do something in the coming days.
    Advice,
    /// Do something today.
    Alert,
    /// Do something now: it can break or hurt.
    Alarm,
}

impl Severity {
    /// The word for it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Notice => "notice",
            Self::Advice => "advice",
            Self::Alert => "alert",
            Self::Alarm => "alarm",
        }
    }
}

/// One piece of evidence: what was seen against what was expected.
#[derive(Clone, Debug, PartialEq)]
pub struct Evidence {
    /// What is compared, such as "product flow".
    pub what: String,
    /// What was seen, with unit and 95 % interval where there is one.
    pub seen: String,
    /// What it is compared with.
    pub against: String,
}

/// Something that could be behind a finding, with its probability.
#[derive(Clone, Debug, PartialEq)]
pub struct RankedCause {
    /// Short code such as `pump-worn`.
    pub code: &'static str,
    /// In words.
    pub title: &'static str,
    /// 0 to 1.
    pub probability: f64,
}

/// The one measurement that would tell the causes apart best.
#[derive(Clone, Debug, PartialEq)]
pub struct NextMeasurement {
    /// What to measure.
    pub quantity: Option<Quantity>,
    /// What to do, in the owner's words.
    pub how: String,
    /// What each outcome would mean.
    pub meaning: String,
}

/// A finding with everything a person needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Finding {
    /// Which one.
    pub code: FindingCode,
    /// What within the unit it is about, such as the quantity of an unreliable reading; `None` where the code says it all.
    pub about: Option<Quantity>,
    /// How urgent.
    pub severity: Severity,
    /// One line without running numbers.
    pub title: String,
    /// Evidence, strongest first.
    pub evidence: Vec<Evidence>,
    /// Causes, most probable first; probabilities add up to 1 or less.
    pub causes: Vec<RankedCause>,
    /// The next measurement, where one would help.
    pub next_measurement: Option<NextMeasurement>,
}

/// The texts and rules of a finding that do not depend on the moment. `explain` and the documents are printed from it.
#[derive(Clone, Copy, Debug)]
pub struct Registration {
    /// Which one.
    pub code: FindingCode,
    /// The name people type, such as `output-low`.
    pub name: &'static str,
    /// One line.
    pub title: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// When it is raised.
    pub condition: &'static str,
    /// How long the condition must hold first.
    pub hold: &'static str,
    /// When it clears.
    pub clears: &'static str,
    /// Stays until a person has looked.
    pub latched: bool,
    /// What it needs to be judged.
    pub needs: &'static [Quantity],
    /// What else could look like it.
    pub other_explanations: &'static str,
    /// What to do, in this order.
    pub act: &'static [Action],
    /// What not to do.
    pub act_not: &'static [&'static str],
    /// Where it touches safety.
    pub caution: &'static str,
    /// Where the limits come from.
    pub sources: &'static [&'static str],
}
