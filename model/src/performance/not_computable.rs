//! Why a number is not shown: every reason, in the user's words.

use crate::membrane::TrainError;
use crate::quantity::NotFinite;
use crate::seawater::practical_salinity::ScaleError;
use crate::solve::bracketed::SolveError;

/// Why a figure cannot be computed. The text is for the person aboard.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NotComputable {
    /// No feed temperature.
    #[error("the feed temperature is not known; output changes by about 2 % for each degree")]
    TemperatureUnknown,
    /// No feed salinity.
    #[error("the feed salinity is not known and none was assumed")]
    SalinityUnknown,
    /// No pressure reading, and the parts list does not say which pressure is set.
    #[error("the working pressure is not known: read a gauge, or enter the pressure that is set")]
    PressureUnknown,
    /// A valve that stays put, and no working point it was set at.
    #[error(
        "the pressure is not known: enter the pressure and concentrate flow at which the valve was set, or read a gauge"
    )]
    ValveSettingUnknown,
    /// Hand-set to a product flow, and the flow was not entered.
    #[error("the product flow to which the valve is set was not entered")]
    SetProductFlowUnknown,
    /// Pressure control by energy recovery without an energy-recovery pump.
    #[error("the pump's product share was not entered: fixed recovery needs an energy-recovery pump")]
    ProductShareUnknown,
    /// A plunger pump has no low side.
    #[error("the pump has no low side: only energy recovery has one")]
    NoLowSide,
    /// No pressure within the search gives this product.
    #[error("no pressure up to {maximum_bar} bar gives this product flow from this water")]
    ProductFlowNotReached {
        /// Highest pressure that was tried, bar.
        maximum_bar: f64,
    },
    /// The working point of valve and pump lies outside the search.
    #[error(
        "no working point of pump and valve below {maximum_bar} bar: check the pump's flow and the valve's setting"
    )]
    NoWorkingPoint {
        /// Highest pressure that was tried, bar.
        maximum_bar: f64,
    },
    /// No product flow reading.
    #[error("the product flow was not measured")]
    ProductFlowUnknown,
    /// No product salinity or conductivity reading.
    #[error("the salinity of the product was not measured")]
    ProductSalinityUnknown,
    /// Neither feed nor concentrate flow was measured.
    #[error("neither feed nor concentrate flow was measured: a timed jug on the concentrate would do")]
    FeedFlowUnknown,
    /// The product is more than the feed.
    #[error("more product than feed: one of the flow readings is wrong")]
    MoreProductThanFeed,
    /// The product is as salty as the feed, or saltier.
    #[error("the product is as salty as the feed: one of the salinity readings is wrong")]
    ProductAsSaltyAsFeed,
    /// No net driving pressure at a working point.
    #[error("the pressure is below the osmotic pressure: nothing can be compared there")]
    NoDrivingPressure,
    /// No membrane explains the readings.
    #[error("no membrane explains these readings together: one of them must be wrong")]
    NoMembraneFits,
    /// The flow along the elements, or the pressure lost there, is too small to mean anything.
    #[error("differential pressure below {minimum_bar} bar means nothing with ordinary gauges")]
    DifferentialPressureTooSmall {
        /// Limit, bar.
        minimum_bar: f64,
    },
    /// The points do not differ enough to separate two effects.
    #[error(
        "leak and salt permeability cannot be told apart: readings at two clearly different pressures are needed"
    )]
    PointsTooAlike,
    /// The drive has no electric supply.
    #[error("the pump has no electric motor")]
    NoElectricSupply,
    /// A speed is needed that is not known.
    #[error("the rated speed of the pump was not entered, so its speed says nothing about its flow")]
    RatedSpeedUnknown,
    /// The pump stands still, or the value that stands for its speed is zero.
    #[error("the pump does not turn")]
    PumpAtRest,
    /// A value of the parts list is impossible.
    #[error("the parts list says something impossible: {what}")]
    ImpossiblePart {
        /// Which.
        what: &'static str,
    },
    /// The element's sheet cannot be met by a membrane.
    #[error(
        "no membrane meets the test sheet of element {position}: check flow, rejection and test conditions"
    )]
    ImpossibleSheet {
        /// Position in the train, from 1.
        position: usize,
    },
    /// The train cannot be computed.
    #[error(transparent)]
    Train(#[from] TrainError),
    /// A conductivity is beyond the scale.
    #[error(transparent)]
    Scale(#[from] ScaleError),
    /// A value is not finite.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
    /// A search failed.
    #[error(transparent)]
    Solve(#[from] SolveError),
}
