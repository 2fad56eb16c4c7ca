//! The shape of a row in the tables of causes.

use super::effect::Effect;
use super::grade::{Grade, Prior};
use super::look::Look;
use super::sign::Sign;
use crate::Quantity;
use crate::judgement::action_list::Action;
use crate::parts::{DriveKind, Parts, PressureControl, PumpKind};

/// How fast a cause comes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// From one moment or one run to the next.
    Step,
    /// Within days.
    Days,
    /// Over weeks to years.
    Weeks,
    /// With the place, the season or a date; no pace of its own.
    Any,
}

/// Causes of which one follows from the other, or that are one trouble under two names: what to do is the same, so their probabilities add up when it is asked whether
/// it is decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// The unit is sound; a name says what it may have looked like.
    Sound,
    /// The concentrate has no way out, and the relief lifts of it.
    ConcentrateOut,
    /// The product has no way out.
    ProductOut,
    /// Oil that is due, with or without water in it.
    Oil,
    /// Hot feed, and what it does.
    Heat,
    /// A slow pump, and the mains that makes it so.
    Slow,
    /// No salinity of the product that counts.
    ProductMeter,
    /// A value that does not live.
    DeadValue,
}

/// Where a cause can be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Only {
    /// Plunger pumps.
    Plunger,
    /// Energy-recovery pumps.
    EnergyRecovery,
    /// Belt drives.
    Belt,
    /// Direct-current motors.
    DirectCurrent,
    /// Motors on alternating current.
    AlternatingCurrent,
    /// Motors that turn with the mains: not behind an inverter.
    OnMains,
    /// Electric motors.
    Electric,
    /// A pump with its by-pass or relief on a high side that a valve makes: not a fixed share.
    ValveMakesPressure,
    /// Plunger pumps with a pump in front.
    BoostedPlunger,
    /// Trains side by side.
    SideBySide,
}

impl Only {
    fn holds(self, parts: &Parts) -> bool {
        let drive = parts.drive.kind;
        let alternating = matches!(drive, DriveKind::AcSinglePhase { .. } | DriveKind::AcThreePhase { .. });
        let inverter = matches!(drive, DriveKind::Inverter { .. });
        let direct = matches!(drive, DriveKind::Dc { .. });
        let control = parts.pressure_control;
        match self {
            Self::Plunger => parts.pump.kind == PumpKind::Plunger,
            Self::EnergyRecovery => parts.pump.kind != PumpKind::Plunger,
            Self::Belt => matches!(drive, DriveKind::Belt { .. }),
            Self::DirectCurrent => direct,
            Self::AlternatingCurrent => alternating || inverter,
            Self::OnMains => alternating,
            Self::Electric => alternating || inverter || direct,
            Self::ValveMakesPressure => control != PressureControl::FixedRecovery,
            Self::BoostedPlunger => parts.boost_pump && parts.pump.kind == PumpKind::Plunger,
            Self::SideBySide => 1 < parts.parallel_trains,
        }
    }
}

/// One cause with all that is known of it.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Its code in the list of causes.
    pub code: &'static str,
    /// How often it is at work.
    pub prior: Prior,
    /// How fast it comes.
    pub pace: Pace,
    /// Where it can be; all must hold.
    pub only: &'static [Only],
    /// What it does to the figures of membrane and pump.
    pub effect: Effect,
    /// What speaks for it.
    pub fits: &'static [(Sign, Grade)],
    /// What speaks against it.
    pub against: &'static [(Sign, Grade)],
    /// What speaks against it when somebody looked and it was not so.
    pub missed: &'static [(Sign, Grade)],
    /// Readings without which it is never called decided, one of each list, unless a decisive sign was seen.
    pub needs: &'static [&'static [Quantity]],
    /// It needs readings of the sound unit too.
    pub needs_baseline: bool,
    /// One of these must be told or seen for it to be more than a thought: it does not come from nothing.
    pub told_of: &'static [Sign],
    /// Looks that tell it from its neighbours where no reading does.
    pub told_by: &'static [Look],
    /// What goes with it.
    pub family: Option<Family>,
    /// What to do if it leads, in this order.
    pub act: &'static [Action],
    /// What must not be advised while it may be so.
    pub veto: &'static [Action],
    /// Where it comes from.
    pub source: &'static str,
}

impl Row {
    /// A row with nothing but name, prior, pace and source.
    pub const fn new(code: &'static str, prior: Prior, pace: Pace, source: &'static str) -> Self {
        Self {
            code,
            prior,
            pace,
            only: &[],
            effect: Effect::None,
            fits: &[],
            against: &[],
            missed: &[],
            needs: &[],
            needs_baseline: false,
            told_of: &[],
            told_by: &[],
            family: None,
            act: &[],
            veto: &[],
            source,
        }
    }

    /// Where it can be.
    pub const fn only(mut self, only: &'static [Only]) -> Self {
        self.only = only;
        self
    }

    /// What it does to the figures.
    pub const fn effect(mut self, effect: Effect) -> Self {
        self.effect = effect;
        self
    }

    /// What speaks for it.
    pub const fn fits(mut self, fits: &'static [(Sign, Grade)]) -> Self {
        self.fits = fits;
        self
    }

    /// What speaks against it.
    pub const fn against(mut self, against: &'static [(Sign, Grade)]) -> Self {
        self.against = against;
        self
    }

    /// What speaks against it when it was looked for.
    pub const fn missed(mut self, missed: &'static [(Sign, Grade)]) -> Self {
        self.missed = missed;
        self
    }

    /// Readings without which it is not decided.
    pub const fn needs(mut self, needs: &'static [&'static [Quantity]]) -> Self {
        self.needs = needs;
        self
    }

    /// Not decided without a baseline.
    pub const fn needs_baseline(mut self) -> Self {
        self.needs_baseline = true;
        self
    }

    /// What must be told of.
    pub const fn told_of(mut self, signs: &'static [Sign]) -> Self {
        self.told_of = signs;
        self
    }

    /// Looks that tell it from its neighbours.
    pub const fn told_by(mut self, looks: &'static [Look]) -> Self {
        self.told_by = looks;
        self
    }

    /// What goes with it.
    pub const fn family(mut self, family: Family) -> Self {
        self.family = Some(family);
        self
    }

    /// What to do.
    pub const fn act(mut self, act: &'static [Action]) -> Self {
        self.act = act;
        self
    }

    /// What not to advise.
    pub const fn veto(mut self, veto: &'static [Action]) -> Self {
        self.veto = veto;
        self
    }

    /// Can it be on this unit at all?
    pub fn is_possible(&self, parts: &Parts) -> bool {
        self.only.iter().all(|only| only.holds(parts))
    }
}
