//! What cannot be in a reading, or hardly.

use std::fmt;

use super::Corner;
use crate::car::Hand;
use crate::geometry::DEGREE;
use crate::measure::MOST_DEG;

/// A reading of an angle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AngleEntry {
    /// The camber of a wheel.
    Camber(Hand),
    /// The camber of a wheel with the car turned round.
    CamberTurnedRound(Hand),
    /// The toe of a wheel.
    Toe(Hand),
    /// The toe of both.
    TotalToe,
}

impl AngleEntry {
    /// What it goes by among what is ordinary.
    pub(crate) fn ordinarily(self) -> &'static str {
        match self {
            Self::Camber(_) | Self::CamberTurnedRound(_) => "camber",
            Self::Toe(_) => "toe",
            Self::TotalToe => "total toe",
        }
    }
}

/// Something in a reading that cannot be, or hardly. Lengths in mm, angles in rad.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Flaw {
    /// A gap now, and none before.
    NoGapBefore(Corner),
    /// A drop that no car has.
    Drop(Corner, f64),
    /// A drop that hardly a car has.
    Odd(Corner, f64),
    /// Drops of the left and the right rear that are far apart.
    Uneven([f64; 2]),
    /// Toe of the left and the right wheel that is far apart.
    ToesApart([f64; 2]),
    /// A front height of a car without a wheelbase.
    NoWheelbase,
    /// A drop beyond the wheel's travel.
    PastTravel(Hand, f64),
    /// Left lower than right, in front and at the rear, by amounts that no body twists to.
    Twisted([f64; 2]),
    /// A link that the car does not have.
    NoLink(Hand, usize),
    /// Turns of an arm whose thread is not known.
    NoThread(Hand, usize),
    /// More turns than any arm has.
    Turns(Hand, usize, f64),
    /// A length that does not go in the place of the link, between the pivots.
    Length(Hand, usize, f64),
    /// A length that the fitted arm does not have, between the pivots.
    PastArm(Hand, usize, f64),
    /// Distances to the rim, and nobody knows how far apart its edges are.
    NoRim(AngleEntry),
    /// Distances that differ by more than the edges are apart.
    NoAngle(AngleEntry),
    /// More of an angle than wheels have.
    Much(AngleEntry, f64),
    /// A run-out that no rim has, and how far apart the edges are, where that is known.
    RunOut(AngleEntry, f64, Option<f64>),
    /// Measured from a string that runs nobody knows where.
    NoString(Hand),
    /// Nobody knows how far apart the front and the rear place of the strings are.
    NoDistance,
    /// A string so far off the centreline's direction.
    Askew(Hand, f64),
    /// A floor that slopes like no floor.
    Steep(f64),
    /// A floor under a rack, which is level by itself.
    FloorUnderRack,
    /// Turned round, but no wheel was read both ways.
    NoPair,
    /// The slopes that the left and the right wheel find differ.
    TwoFloors([f64; 2]),
    /// Neither camber nor toe.
    NothingRead,
    /// Left and right camber hardly belong to one car.
    CambersApart([f64; 2]),
    /// The total toe, which is not that of the two wheels.
    TotalDiffers {
        /// As it was read.
        total: f64,
        /// Both wheels together.
        sum: f64,
        /// Whether each wheel reads the total.
        each: bool,
    },
    /// Each wheel reads, to the digit, what the spec has for both together.
    EachReadsTotal(f64),
}

impl Flaw {
    /// Whether nothing can come of the reading, rather than that it only looks like a slip.
    pub(crate) fn is_fatal(&self) -> bool {
        match self {
            Self::Much(_, angle) => angle.abs() > MOST_DEG * DEGREE,
            Self::PastTravel(..)
            | Self::Odd(..)
            | Self::Uneven(_)
            | Self::ToesApart(_)
            | Self::Twisted(_)
            | Self::PastArm(..)
            | Self::RunOut(..)
            | Self::TwoFloors(_)
            | Self::CambersApart(_)
            | Self::TotalDiffers { .. }
            | Self::EachReadsTotal(_) => false,
            _ => true,
        }
    }
}

impl fmt::Display for Flaw {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NoGapBefore(_) => "what was the gap before?",
            Self::Drop(_, drop) => return write!(f, "no car is lowered by {drop:.1} mm"),
            Self::Odd(_, drop) => return write!(f, "hardly a car is lowered by {drop:.1} mm"),
            Self::Uneven(_) => "left and right are lowered by amounts that are far apart",
            Self::ToesApart(_) => "left and right toe are far apart",
            Self::NoWheelbase => "a front height needs the wheelbase",
            Self::PastTravel(..) => "a wheel is past its travel",
            Self::Twisted(_) => "front and rear do not lean the same way",
            Self::NoLink(hand, link) => return write!(f, "the {hand} side has no link {link}"),
            Self::NoThread(..) => "turns do not say how long an arm is whose thread is not known",
            Self::Turns(_, _, turns) => return write!(f, "no arm is turned {turns} times"),
            Self::Length(_, _, length) => {
                return write!(f, "no arm of {length:.1} mm goes in the place of this link");
            }
            Self::PastArm(..) => "the arm does not go that far",
            Self::NoRim(_) => "how far apart are the two edges of the rim?",
            Self::NoAngle(_) => "these two distances differ by more than there is between them",
            Self::Much(..) if self.is_fatal() => "no wheel has that much of an angle",
            Self::Much(..) => "that is a lot of an angle",
            Self::RunOut(..) => "no sound rim runs out that much",
            Self::NoString(hand) => return write!(f, "where does the {hand} string run?"),
            Self::NoDistance => "how far apart are the front and the rear place?",
            Self::Askew(..) => "this string does not run along the car",
            Self::Steep(_) => "no garage floor slopes like that",
            Self::FloorUnderRack => "a rack is level by itself",
            Self::NoPair => "no wheel was read both ways",
            Self::TwoFloors(_) => "the two wheels do not find the same floor",
            Self::NothingRead => "nothing was read here",
            Self::CambersApart(_) => "left and right camber are far apart",
            Self::TotalDiffers { .. } => "the total toe is not that of the two wheels",
            Self::EachReadsTotal(_) => "each wheel reads the total of the spec",
        })
    }
}

impl std::error::Error for Flaw {}
