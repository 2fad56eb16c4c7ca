//! The outcome of judging one finding at one moment.

use super::Finding;

/// True, false, or cannot be judged and why.
#[derive(Clone, Debug, PartialEq)]
pub enum Assessment {
    /// The condition is true.
    True(Box<Finding>),
    /// The condition is false.
    False,
    /// Cannot be judged; the text says what is missing, in the owner's words.
    CannotTell(String),
    /// Between the limit and the clear limit: whatever was, stays.
    Between,
}

impl Assessment {
    /// A true condition.
    pub fn yes(finding: Finding) -> Self {
        Self::True(Box::new(finding))
    }

    /// Cannot be judged.
    pub fn cannot(why: impl Into<String>) -> Self {
        Self::CannotTell(why.into())
    }
}
