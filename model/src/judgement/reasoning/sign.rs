//! What can be a sign of a cause: an observation by its code, or a fact that follows from readings, log and surroundings.
//!
//! Every fact says in words what it is and by which look it is had, so that the next measurement can be planned from the same list. How facts follow from what is
//! known is in `signs`.

use super::look::Look;
use crate::Quantity;
use crate::judgement::observation_list;
use crate::records::EventKind;

/// One sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Sign {
    /// A person's observation, by its code.
    Seen(&'static str),
    /// A fact.
    Fact(Fact),
    /// Two instruments on this quantity differ by more than their errors.
    Differs(Quantity),
    /// The instrument of this quantity shows what cannot be.
    Impossible(Quantity),
    /// This was done within days: see [`lately_days`].
    Lately(EventKind),
}

/// What counts as lately, days. A service shows in the runs after it (our choice: two or three runs for most).
pub const fn lately_days(kind: EventKind) -> f64 {
    match kind {
        EventKind::FilterChanged | EventKind::VesselOpened | EventKind::PumpServiced => 7.0,
        EventKind::HullCleaned => 3.0,
        EventKind::InstrumentReplaced => 120.0,
        _ => 10.0,
    }
}

macro_rules! facts {
    ($($(#[$doc:meta])* $name:ident: $words:literal, $look:expr;)*) => {
        /// A fact, by what it says.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Fact { $($(#[$doc])* $name,)* }

        impl Fact {
            /// Every fact.
            pub const ALL: &'static [Fact] = &[$(Fact::$name,)*];

            /// In words, without a stop.
            pub const fn words(self) -> &'static str {
                match self { $(Fact::$name => $words,)* }
            }

            /// The look that tells whether it is so.
            pub const fn look(self) -> Look {
                match self { $(Fact::$name => $look,)* }
            }
        }
    };
}

use Look::{ByElement, Inspection, Read};

facts! {
    // supply and drive
    /// Volts as they should be.
    SupplyThere: "the supply voltage is there", Read(Quantity::SupplyVoltage);
    /// Direct current, low.
    DcLow: "the direct-current voltage is low", Read(Quantity::SupplyVoltage);
    /// Flow and volts went down by the same share.
    FlowFollowsVolts: "flow and voltage have fallen by about the same share", Read(Quantity::SupplyVoltage);
    /// Alternating current, low.
    AcLow: "the alternating-current voltage is low", Read(Quantity::SupplyVoltage);
    /// Nothing flows.
    NoCurrent: "no current although it is switched on", Read(Quantity::SupplyCurrent);
    /// Far more than the motor's rated current.
    CurrentFarAbove: "the current is far above the motor's", Read(Quantity::SupplyCurrent);
    /// More current for the same work.
    MoreCurrentForWork: "more current for the same pressure", Read(Quantity::SupplyCurrent);
    /// The current belongs to the pressure.
    CurrentFitsPressure: "the current fits the pressure", Read(Quantity::SupplyCurrent);
    /// Less current for the same pressure, by one cylinder's share.
    CurrentDownByCylinder: "less current for the same pressure, by about one cylinder's share", Read(Quantity::SupplyCurrent);
    /// The motor idles.
    CurrentIdling: "the current is that of an idling motor", Read(Quantity::SupplyCurrent);
    /// Another mains.
    FrequencyOff: "the mains frequency is not the pump's", Read(Quantity::SupplyFrequency);
    /// Slower than the drive turns it.
    PumpBehindEngine: "the pump turns slower than its engine drives it", Read(Quantity::PumpSpeed);
    /// Slower than rated or before.
    SpeedDown: "the pump turns slower than it should", Read(Quantity::PumpSpeed);
    /// As always.
    SpeedAsAlways: "the pump turns as fast as always", Read(Quantity::PumpSpeed);
    /// Falls within the run at the same pressure.
    EngineSlowsInRun: "the speed falls within the run at the same pressure", Read(Quantity::PumpSpeed);
    /// On, and nothing moves.
    OnAndNothing: "switched on, and nothing happens", Inspection;
    // pressure
    /// None while on.
    NoPressure: "no pressure although it is switched on", Read(Quantity::FeedPressure);
    /// Swings within seconds.
    PressureHunts: "the pressure hunts within seconds", Read(Quantity::FeedPressure);
    /// Goes down within minutes.
    PressureFades: "the pressure fades within minutes of the run", Read(Quantity::FeedPressure);
    /// Above its limit, then none.
    CollapsedFromLimit: "the pressure rose to its limit and collapsed at once", Read(Quantity::FeedPressure);
    /// Collapsed within minutes, from a usual height.
    Collapsed: "the pressure collapsed within minutes", Read(Quantity::FeedPressure);
    /// Above its limit.
    OverLimit: "the pressure is above its limit", Read(Quantity::FeedPressure);
    /// Lower than the valve or regulator is set to.
    PressureBelowSet: "the pressure is lower than it was set", Read(Quantity::FeedPressure);
    /// Higher than before at the same water.
    PressureAboveSet: "more pressure than before at the same water", Read(Quantity::FeedPressure);
    /// There is some while nothing runs.
    PressureWhileOff: "the gauge shows pressure while the unit is off", Read(Quantity::FeedPressure);
    /// No product can come at so little.
    PressureTooLowForProduct: "product comes at a pressure at which none can", Look::Second(Quantity::FeedPressure);
    /// Off by the factor between psi and bar.
    PsiBarFactor: "the pressure is off by the factor between psi and bar", Look::Second(Quantity::FeedPressure);
    /// The valve's number has fallen at full delivery.
    ValveWider: "the pressure belongs to a wider way out for the concentrate", Read(Quantity::ConcentrateFlow);
    /// By more than vibration or wear turns it.
    ValveMuchWider: "the way out for the concentrate has become much wider at once", Read(Quantity::ConcentrateFlow);
    /// The valve's number has risen.
    ValveNarrower: "the pressure belongs to a narrower way out for the concentrate", Read(Quantity::ConcentrateFlow);
    // flows
    /// Product and concentrate together.
    DeliveryDown: "concentrate and product together are less than they were", Read(Quantity::ConcentrateFlow);
    /// The meter in the feed line.
    FeedMeterDown: "the meter in the feed line shows less than it did", Read(Quantity::FeedFlow);
    /// The same as ever.
    DeliveryFull: "concentrate and product together are as they were", Read(Quantity::ConcentrateFlow);
    /// One cylinder's share is missing.
    DeliveryDownByCylinder: "one cylinder's share of the delivery is missing", Read(Quantity::ConcentrateFlow);
    /// Hardly any water.
    NoConcentrate: "hardly any water from the concentrate hose", Read(Quantity::ConcentrateFlow);
    /// None is lost on the way.
    ConcentrateIsFeed: "all the feed leaves as concentrate", Read(Quantity::ConcentrateFlow);
    /// Feed less concentrate less product.
    WaterMissing: "water is missing between feed, concentrate and product", Read(Quantity::ConcentrateFlow);
    /// Less product of all the water than built for.
    ShareBelowBuilt: "product is a smaller share of all the water than the pump is built for", Read(Quantity::ConcentrateFlow);
    /// None at working pressure.
    NoProduct: "no product at working pressure", Read(Quantity::ProductFlow);
    /// Less than half.
    ProductCollapsed: "less than half of the usual product", Read(Quantity::ProductFlow);
    /// As in sound days, raw.
    ProductAsUsual: "the product is as usual", Read(Quantity::ProductFlow);
    /// Raw product falls from week to week.
    ProductSinks: "the product has sunk from week to week", Read(Quantity::ProductFlow);
    /// Flow shown while nothing runs.
    FlowWhileOff: "a flow is shown while the unit is off", Inspection;
    /// Elements side by side at a flow that would rather go through them in series.
    SideBySide: "the elements share the feed side by side", Read(Quantity::FeedFlow);
    // tank and product line
    /// The tank gains less.
    TankGainsLess: "the tank gains less than the product meter shows", Read(Quantity::TankLevel);
    /// By the factor of a gallon.
    GallonFactor: "flow and tank differ by the factor between gallon and litre", Read(Quantity::TankLevel);
    /// Falls, unit off.
    TankFallsWhileOff: "the tank falls while the unit is off", Read(Quantity::TankLevel);
    /// Full.
    TankFull: "the tank is full", Read(Quantity::TankLevel);
    /// Too little for a flush.
    TankBelowFlush: "the tank holds less than a flush needs", Read(Quantity::TankLevel);
    /// Gives water while the unit is flushed.
    TankGivesWater: "the tank gives water while the unit is on", Read(Quantity::TankLevel);
    /// Pressure where none should be.
    ProductLinePressure: "the pressure in the product line is up", Read(Quantity::ProductPressure);
    // salt
    /// Over the owner's limit.
    SaltOverLimit: "the product is saltier than the limit", Read(Quantity::ProductConductivity);
    /// Rose in a step.
    SaltStep: "the salt rose in one step", Read(Quantity::ProductConductivity);
    /// More than at the baseline, raw.
    SaltUp: "the product is saltier than at the baseline", Read(Quantity::ProductConductivity);
    /// Falls within the run.
    SaltFallsInRun: "the salt falls within the run", Read(Quantity::ProductConductivity);
    /// Nobody measures it.
    SaltNotMeasured: "nothing measures the product's salinity", Read(Quantity::ProductConductivity);
    /// One element much saltier.
    OneElementSaltier: "one element's product is far saltier than the others'", ByElement;
    /// The last one.
    LastElementSaltier: "the last element's product is the saltiest by far", ByElement;
    /// Alike.
    ElementsAlike: "all elements are about equally salty", ByElement;
    // water outside
    /// Fresh feed at low pressure.
    FeedFresh: "fresh water runs through at low pressure", Read(Quantity::FeedConductivity);
    /// Colder than at the baseline.
    Colder: "the feed is colder than at the baseline", Read(Quantity::FeedTemperature);
    /// Warmer than at the baseline.
    Warmer: "the feed is warmer than at the baseline", Read(Quantity::FeedTemperature);
    /// Saltier, as measured.
    Saltier: "the sea is saltier than at the baseline, as measured", Read(Quantity::FeedSalinity);
    /// Fresher, as measured.
    Fresher: "the sea is fresher than at the baseline, as measured", Read(Quantity::FeedSalinity);
    /// Hot.
    FeedHot: "the feed is as hot as is known to harm", Read(Quantity::FeedTemperature);
    /// Somebody measured it.
    SalinityMeasured: "the sea's salinity was measured", Read(Quantity::FeedSalinity);
    /// A river is near.
    RiverNear: "the boat lies at the mouth of a river", Read(Quantity::FeedSalinity);
    /// In harbour.
    InHarbour: "the boat lies in a harbour", Inspection;
    // suction
    /// At the change mark.
    FilterDropHigh: "the drop over the pre-filter is at its mark", Read(Quantity::PrefilterDifferentialPressure);
    /// Rising.
    FilterDropRises: "the drop over the pre-filter has grown from reading to reading", Read(Quantity::PrefilterDifferentialPressure);
    /// Jumped at once.
    FilterDropJumped: "the drop over the pre-filter jumped at once", Read(Quantity::PrefilterDifferentialPressure);
    /// Small.
    FilterDropSmall: "the drop over the pre-filter is small", Read(Quantity::PrefilterDifferentialPressure);
    /// Too little before the pump.
    InletLow: "the pump has too little pressure at its inlet", Read(Quantity::InletPressure);
    /// Enough before the pump.
    InletFine: "the pump has enough pressure at its inlet", Read(Quantity::InletPressure);
    /// More than a plastic housing takes.
    LowSideHigh: "the low side has more pressure than a plastic housing takes", Read(Quantity::InletPressure);
    // instruments and network
    /// The two scales of ppm.
    PpmScales: "two meters differ by the factor between two ppm scales", Look::Second(Quantity::ProductConductivity);
    /// Degrees.
    FahrenheitShift: "the temperature fits if its degrees are of the other scale", Look::Second(Quantity::FeedTemperature);
    /// Two devices, two values.
    SendersDiffer: "two devices send different values", Look::Second(Quantity::FeedTemperature);
    /// Running and stopped at the same time.
    SendersRunAndStop: "one sender tells of a running unit, the other of a stopped one", Inspection;
    /// Old, another alive.
    SenderGone: "the value is old while another device still sends", Look::Second(Quantity::FeedTemperature);
    /// To the last digit.
    Stuck: "the value has not moved by a digit although the unit did", Look::Second(Quantity::ProductFlow);
    /// Feed and concentrate do not fit, and nothing leaks.
    FlowsDoNotFit: "feed, concentrate and product do not add up", Look::Second(Quantity::ConcentrateFlow);
    // what happened
    /// First minutes.
    FirstMinutes: "the run is in its first minutes", Inspection;
    /// New element.
    NewElement: "the element is new", Inspection;
    /// Old element.
    OldElement: "the element has served for years", Inspection;
    /// Rest with preservative before this run.
    RestedInPreservative: "it rested in preservative before this run", Inspection;
    /// Months at rest.
    LaidUp: "it was laid up", Inspection;
    /// Months without preservative.
    RestedUnpreserved: "it rested for months without preservative", Inspection;
    /// More days than the interval.
    IdleTooLong: "more days without run or flush than the interval", Inspection;
    /// Chlorinated, not rinsed.
    TankChlorinated: "the tank was chlorinated and no rinse is logged", Inspection;
    /// Flushed with water of the shore.
    ShoreWater: "it was flushed with water of the shore or of a chlorinated tank", Inspection;
    /// Oil.
    OilOld: "the oil is old by date or hours", Inspection;
    /// Anode.
    AnodeOld: "the anode was not looked at for a year", Inspection;
    /// Carbon.
    CarbonOld: "the carbon cartridge is old", Inspection;
    /// Strength.
    StrengthUnmeasured: "nobody measured the strength of the anti-freeze", Inspection;
    /// Frost.
    FrostNear: "frost is near", Inspection;
    /// Bilge.
    BilgeRuns: "the bilge pump ran during the run", Inspection;
    /// Opened and not filled.
    HousingsOpened: "housings were opened within a day", Inspection;
    // against the baseline
    /// Over weeks.
    OutputDrifts: "output has drifted down for weeks", Read(Quantity::ProductFlow);
    /// Over weeks.
    SaltDrifts: "salt passage has drifted up for weeks", Read(Quantity::ProductConductivity);
    /// From one run to the next.
    OutputStepped: "output fell from one run to the next", Read(Quantity::ProductFlow);
    /// Rose after it was cleaned.
    RoseAfterCleaning: "output rose with the cleaning", Inspection;
    /// Vessel.
    VesselDropUp: "the pressure drop along the elements has grown", Read(Quantity::DifferentialPressure);
    /// Vessel.
    VesselDropDown: "the pressure drop along the elements has fallen", Read(Quantity::DifferentialPressure);
}

impl Sign {
    /// Found on many sound boats: it lends weight to a suspicion and raises none by itself.
    pub fn is_ordinary(self) -> bool {
        match self {
            Self::Lately(_) => true,
            Self::Seen(code) => ["strainer-clean", "pump-sounds-normal", "quality-light-on"].contains(&code),
            Self::Fact(fact) => matches!(
                fact,
                Fact::DeliveryFull
                    | Fact::SpeedAsAlways
                    | Fact::CurrentFitsPressure
                    | Fact::SupplyThere
                    | Fact::ProductAsUsual
                    | Fact::LaidUp
                    | Fact::FirstMinutes
                    | Fact::InHarbour
                    | Fact::RiverNear
                    | Fact::FilterDropSmall
                    | Fact::CarbonOld
                    | Fact::ElementsAlike
            ),
            Self::Differs(_) | Self::Impossible(_) => false,
        }
    }

    /// The look that tells.
    pub const fn look(self) -> Look {
        match self {
            Self::Fact(fact) => fact.look(),
            Self::Differs(quantity) | Self::Impossible(quantity) => Look::Second(quantity),
            Self::Seen(_) | Self::Lately(_) => Look::Inspection,
        }
    }

    /// In words, without a stop.
    pub fn words(self) -> String {
        match self {
            Self::Seen(code) => observation_list::of(code).map_or(code, |known| known.seen).to_owned(),
            Self::Fact(fact) => fact.words().to_owned(),
            Self::Differs(quantity) => format!("two instruments differ on the {}", quantity.label()),
            Self::Impossible(quantity) => format!("the {} shown cannot be", quantity.label()),
            Self::Lately(kind) => format!("a short time ago: {}", kind.name().replace('-', " ")),
        }
    }
}
