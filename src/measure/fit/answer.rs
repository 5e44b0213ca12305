//! What comes of putting readings into a car, or why nothing does.

use serde::Serialize;
use std::fmt;

use crate::car::{Car, Hand, Measurand};
use crate::geometry::Figure;
use crate::measure::network::CRITICAL;

/// Why readings could not be put into a car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoFit {
    /// There is no reading to learn from.
    NoReading,
    /// All of them have gone into the car before.
    Learnt,
    /// The car as measured cannot be in the state of a round, by its place.
    NoPosition(usize),
    /// A round has a front drop, but the wheelbase is not known; by its place.
    NoWheelbase(usize),
    /// No car near the measured one gives these readings.
    Unsettled,
}

impl NoFit {
    /// Why, in words, with what a round is called by its place.
    pub(crate) fn told(&self, name: impl Fn(usize) -> String) -> String {
        match *self {
            Self::NoReading => "no camber or toe is in this record, so there is nothing to learn".to_owned(),
            Self::Learnt => "these readings have gone into this profile already; a second time they would only make it look better \
                             than it is. Give the profile as it was before, or a record with readings that are new"
                .to_owned(),
            Self::NoPosition(i) => format!(
                "the car of the profile cannot be at the height, with the arms, of {}: check its drop and its lengths",
                name(i)
            ),
            Self::NoWheelbase(i) => {
                format!("{} has a front drop: add `wheelbase = ...` to [car] in the profile", name(i))
            }
            Self::Unsettled => "no car near the measured one gives these readings: look for a wrong height, a mistaken sign, minutes \
                                read as decimals"
                .to_owned(),
        }
    }
}

impl fmt::Display for NoFit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.told(|i| format!("reading {}", i + 1)))
    }
}

impl std::error::Error for NoFit {}

/// A car into which readings were put.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Fitted {
    /// What moved, the most surprising first.
    pub moved: Vec<MovedNumber>,
    /// The readings.
    pub readings: Vec<FittedReading>,
    /// Stock arms as they were measured, where the points did not come from them already.
    pub lengths: Vec<FittedLength>,
    /// How many times as large as stated the misfits of readings and points together look.
    pub unit_weight: f64,
    /// How many times as wide as stated the errors of the points were taken, because the readings as a whole contradicted them.
    pub widened: f64,
    /// Fingerprints of the readings that went into it.
    #[serde(skip)]
    pub learnt: Vec<String>,
    /// The car as it is now taken to be, with its errors.
    #[serde(skip)]
    pub car: Car,
}

/// A number that moved.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct MovedNumber {
    /// Which side: the right one only for its own reading.
    pub side: Hand,
    /// What it belongs to.
    #[serde(skip)]
    pub measurand: Measurand,
    /// The same in words.
    pub what: String,
    /// The unit of all that follows: "mm" of x, y and z, "deg" of an angle.
    pub unit: &'static str,
    /// By how much.
    pub by: Vec<f64>,
    /// Standard deviations before.
    pub sigma_before: Vec<f64>,
    /// Standard deviations after.
    pub sigma_after: Vec<f64>,
    /// Half-widths before that hold 95 of 100 errors.
    pub good_to_before: Vec<f64>,
    /// Half-widths after that hold 95 of 100 errors.
    pub good_to_after: Vec<f64>,
    /// The largest move in standard deviations of before.
    pub sigmas: f64,
}

/// One figure of one round.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct FittedReading {
    /// The round it belongs to, counted from 1.
    pub round: usize,
    /// The side; none for the toe of both.
    pub side: Option<Hand>,
    /// Which figure.
    pub figure: Figure,
    /// The drop of the side, or the mean of both, mm.
    pub drop_mm: f64,
    /// What was read, degrees.
    pub read_deg: f64,
    /// Its deviation, with that of its height, degrees.
    pub sigma_deg: f64,
    /// Half-width that holds 95 of 100 such errors, degrees.
    pub good_to_deg: f64,
    /// What the car as measured would read, degrees.
    pub before_deg: f64,
    /// What the fitted car reads, degrees.
    pub after_deg: f64,
    /// The misfit over its own deviation, when the reading was set aside or at the end; past 3.29 the reading is suspect.
    pub standardized: f64,
}

impl FittedReading {
    /// Whether it is further off than a sound reading is once in a thousand times.
    pub fn is_suspect(&self) -> bool {
        self.standardized.abs() > CRITICAL
    }
}

/// The length of one stock arm.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct FittedLength {
    /// The link.
    pub link: String,
    /// The side whose arm was measured.
    pub side: Hand,
    /// What it measures, mm.
    pub read_mm: f64,
    /// Its deviation, mm.
    pub sigma_mm: f64,
    /// Half-width that holds 95 of 100 such errors, mm.
    pub good_to_mm: f64,
    /// How far its pivots are apart as measured, mm.
    pub before_mm: f64,
    /// How far they are apart in the fitted car, mm.
    pub after_mm: f64,
    /// The misfit over its own deviation, when the length was set aside or at the end; past 3.29 it is suspect.
    pub standardized: f64,
}

impl FittedLength {
    /// Whether it is further off than a sound length is once in a thousand times.
    pub fn is_suspect(&self) -> bool {
        self.standardized.abs() > CRITICAL
    }
}

impl Fitted {
    /// Whether something does not go with the rest and was set aside.
    pub fn has_suspects(&self) -> bool {
        self.readings.iter().any(FittedReading::is_suspect)
            || self.lengths.iter().any(FittedLength::is_suspect)
    }
}
