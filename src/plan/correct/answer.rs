//! The answer of `correct`: turns from where the arms stand now, and what is odd about the readings.
//!
//! `correct`: the last reading is of the car as it is now; readings further than three standard deviations of a height from its
//! height are not used; nearer ones are carried to it by the model, with both heights' errors. `now` is what all readings of
//! that state and those before it say together, with what was turned since. A figure that was never read is not corrected. A
//! total toe alone is split evenly in what it is off; `thrust_known` is then false. A wheel is left (`leave`) where it is
//! within spec and each figure nearer its target than one standard deviation of `now`, where no whole step is nearer, and where
//! all that can be turned would take it further from the spec. `turns` count from now, `turns_from_stock` from the stock
//! length. `round` of a flag counts from 1. A floor's slope is taken off the pair that told it and off readings with the same
//! `source`; without a source, off the pair alone. Left and right are taken as independent: what they share by a floor or by
//! strings (`Workings`) counts in `readings` only. A rim's run-out is in a level, a plumb line, a rim or plates without a half
//! turn, and in an angle of `strings` or `gauge` whose deviation is not said; never in a rack's (`Round::run_out`). A reading
//! more than 6 degrees of camber or 3 of toe off gives no turns (`leave: impossible`) and is not learnt. Whoever adds a reading
//! to a record without saying how the arms stand is taken to have done what the last correction said; the very same figures
//! again are refused without `--again`.

use serde::Serialize;
use std::fmt;

use super::flag::Flag;
use crate::car::{Hand, Limit, PerSide};
use crate::geometry::{Angles, Figure};
use crate::plan::{
    AxleResult, Band, Bench, CamSetting, Certainty, Effect, Judged, NoPosition, Reading, Step, Target,
    ThreadIn,
};

/// Why there is no correction.
#[derive(Debug, Clone, PartialEq)]
pub enum NoCorrection {
    /// No reading was given.
    NoReading,
    /// A front drop was given for a car without a wheelbase.
    NoWheelbase,
    /// The wheel cannot be where a reading says it was; readings are counted from 1.
    Impossible(usize, NoPosition),
    /// No setting gives what is wanted.
    OutOfReach(NoPosition),
    /// No car near the one of the profile gives these readings.
    Unsettled,
}

impl NoCorrection {
    /// The same with so many readings before those that were counted.
    pub(super) fn counted_from(self, before: usize) -> Self {
        if let Self::Impossible(round, error) = self { Self::Impossible(round + before, error) } else { self }
    }
}

impl fmt::Display for NoCorrection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoReading => f.write_str("there is no reading to correct from"),
            Self::NoWheelbase => {
                f.write_str("a front drop needs the wheelbase: add `wheelbase = ...` to [car] in the profile")
            }
            Self::Impossible(round, error) => write!(f, "reading {round}: {error}"),
            Self::OutOfReach(error) => error.fmt(f),
            Self::Unsettled => f.write_str(
                "no car near the one of the profile gives these readings: look for a wrong height, a mistaken sign, minutes read as \
                 decimals",
            ),
        }
    }
}

impl std::error::Error for NoCorrection {}

/// What to turn on both sides after a reading.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Correction {
    /// Left, then right.
    pub sides: PerSide<CorrectedSide>,
    /// Both wheels together as they read now.
    pub axle_now: AxleResult,
    /// Both wheels together after the turns.
    pub axle: AxleResult,
    /// False where only total toe was read: then the thrust angle is the model's.
    pub thrust_known: bool,
    /// What is odd about the readings.
    pub flags: Vec<Flag>,
    /// How many readings, the oldest of the record, are listed but were not learnt from.
    pub left_out: usize,
    /// The readings so far, in the order of the record.
    pub rounds: Vec<RoundSeen>,
}

/// One state of the car that was read.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct RoundSeen {
    /// What it was, in the user's words.
    pub title: Option<String>,
    /// When it was.
    pub date: Option<String>,
    /// Left, then right.
    pub sides: PerSide<WheelSeen>,
    /// Total toe, where it was read, degrees.
    pub total_toe_deg: Option<f64>,
}

/// One wheel in that state.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct WheelSeen {
    /// Which side.
    pub side: Hand,
    /// How far it stood below the reference, mm.
    pub drop_mm: f64,
    /// Camber as read, degrees.
    pub camber_deg: Option<f64>,
    /// Toe as read, degrees.
    pub toe_deg: Option<f64>,
    /// What was expected of it from the readings before, of the first from the profile; `None` where nothing could be.
    pub expected: Option<Reading>,
}

/// What to turn on one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CorrectedSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// What it reads now, all readings of it taken together.
    pub now: Judged,
    /// How good that is: half-widths that hold 95 of 100.
    pub now_band: Band,
    /// Where the camber of now comes from.
    pub camber_from: FigureOrigin,
    /// Where the toe of now comes from.
    pub toe_from: FigureOrigin,
    /// Why nothing is turned, where nothing is.
    pub leave: Option<Leave>,
    /// The link whose turns were answered with the other sign, where one was.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub other_way: Option<String>,
    /// The fitted arms.
    pub arms: Vec<ArmTurn>,
    /// The cams that set a figure.
    pub cams: Vec<CamTurn>,
    /// Figures that nothing on this side sets.
    pub unset: Vec<Figure>,
    /// What it would read with the exact lengths.
    pub exact: Judged,
    /// What it will read after whole steps.
    pub result: Judged,
    /// How good that is: the reading of now, what a turn is worth, and how exactly it is set.
    pub band: Band,
    /// The probability that the wheel is then within spec, 0 to 1.
    pub probability_within_spec: f64,
    /// In which part of all cases the wheel is further out of the way after the turns than now, 0 to 1.
    pub chance_of_worse: f64,
    /// What would be missing with one arm or cam alone, where more are turned.
    pub fewer: Option<Fewer>,
    /// How much of the way to the target the turns go: less than 1 where what a turn does on this car is not known well enough yet.
    pub part_of_the_way: f64,
    /// What would settle whether turning helps, where nothing is turned because it might make it worse.
    pub settles: Option<Settles>,
    /// How sure the position after the turns is.
    pub certainty: Certainty,
}

/// Where a figure of now comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum FigureOrigin {
    /// It was read.
    Read,
    /// Its part of the total toe that was read.
    Total,
    /// It was read before, and what was turned since is added.
    Before,
    /// It was never read; the profile says so.
    Profile,
}

/// Why a wheel is left as it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Leave {
    /// What is missing is less than a step that can be locked.
    Step,
    /// What is missing is less than the readings are good for.
    Noise,
    /// Nothing on this side can be turned.
    Nothing,
    /// What was read last cannot be right, so that no turns follow from it.
    Impossible,
    /// Its last turns were answered with the other sign, on a car whose points are only assumed.
    OtherWay,
    /// Nothing was ever read on this side.
    Unread,
    /// It is not within spec, but nothing that can be turned brings it nearer.
    Worse,
    /// Turning would make it worse in more than one of ten cases.
    Unsure,
}

/// What one arm or cam alone would leave.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Fewer {
    /// The link that would be turned alone.
    pub link: String,
    /// How far off their targets camber and toe would then be, degrees.
    pub off_deg: Angles,
}

/// What would settle whether turning helps.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[serde(tag = "by", rename_all = "snake_case")]
pub enum Settles {
    /// A figure read once more.
    ReadAgain {
        /// Which.
        figure: Figure,
    },
    /// A link turned by a known amount, and a reading after it.
    TurnOnce {
        /// Which.
        link: String,
    },
}

/// One arm: how far to turn it from where it is.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmTurn {
    /// The link it replaces.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Its length now, mm.
    pub now_mm: f64,
    /// Length that meets the spec exactly (at a limit: the limit), mm.
    pub exact_mm: f64,
    /// Length after whole steps, mm.
    pub set_mm: f64,
    /// How much longer that makes it, mm; negative: shorter.
    pub longer_mm: f64,
    /// Turns from now to the exact length; positive: longer.
    pub turns_exact: f64,
    /// Turns from now, in whole steps; positive: longer.
    pub turns: f64,
    /// Turns from the stock length to the length after that; positive: longer.
    pub turns_from_stock: f64,
    /// Length per turn, mm.
    pub lead_mm: f64,
    /// The least that it can be locked at.
    #[serde(flatten)]
    pub step: Step,
    /// What stops the arm.
    pub limit: Limit,
    /// What holds it after the turns.
    #[serde(flatten)]
    pub thread: ThreadIn,
    /// What a further turn longer does to the wheel.
    pub per_turn: Effect,
    /// What it measures on the bench after the turns.
    #[serde(flatten)]
    pub bench: Bench,
    /// What it measures on the bench now, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bench_now_mm: Option<f64>,
}

/// One cam: how far to turn it from where it stands.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct CamTurn {
    /// Where it should stand.
    #[serde(flatten)]
    pub setting: CamSetting,
    /// Where it stands now, from the middle, degrees.
    pub now_deg: f64,
    /// By how much to turn it from there, degrees; positive: the pivot moves along the slot's direction.
    pub turn_deg: f64,
    /// The same in marks, where it has marks.
    pub turn_marks: Option<f64>,
    /// How far that moves the pivot, mm.
    pub turn_mm: f64,
    /// Whether the pivot moves towards the wheel by it.
    pub turns_towards_wheel: bool,
}

impl Correction {
    /// Whether every wheel is within its spec after the turns, the axle's limits hold and no thread is short.
    pub fn succeeds(&self) -> bool {
        self.axle.within_limits && self.sides.iter().all(CorrectedSide::succeeds)
    }

    /// Whether what the last reading says of a wheel cannot be right, or not go with its turns.
    pub fn cannot_be_right(&self) -> bool {
        self.sides.iter().any(|side| matches!(side.leave, Some(Leave::Impossible | Leave::OtherWay)))
    }

    /// Whether something is odd about the last reading, so that its turns may be wrong.
    pub(crate) fn doubts_the_last_reading(&self) -> bool {
        self.flags.iter().any(|flag| match flag {
            Flag::Change { round, .. } => *round == self.rounds.len(),
            Flag::UnevenGround { known, .. } => !known,
            Flag::Noise { .. } => false,
        })
    }
}

impl CorrectedSide {
    /// Whether this wheel is within its spec after the turns and no arm is refused.
    pub(crate) fn succeeds(&self) -> bool {
        self.result.within_spec && !self.refuses_an_arm()
    }

    /// Whether a fitted arm ends at its thread.
    pub(crate) fn refuses_an_arm(&self) -> bool {
        self.arms.iter().any(|arm| arm.limit == Limit::Thread)
    }
}
