//! The answer of `next`: which reading narrows a plan most for the time it takes.

use serde::Serialize;

use crate::car::PerSide;

/// Which readings to make next.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Next {
    /// What is known now.
    pub now: Outlook,
    /// The readings, each chosen with those before it made.
    pub readings: Vec<NextReading>,
    /// How many of them are worth their time; after these a reading gains less a minute than fitting the arms, reading the wheels and
    /// correcting once.
    pub enough_after: usize,
    /// Minutes that these take, with what they need set up.
    pub enough_minutes: f64,
}

impl Next {
    /// The readings that are worth their time.
    pub(crate) fn worth_it(&self) -> &[NextReading] {
        self.readings.get(..self.enough_after).unwrap_or(&self.readings)
    }

    /// Nothing is asked of it that could fail.
    pub fn succeeds(&self) -> bool {
        true
    }
}

/// How good a plan is once its arms are set as it says.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Outlook {
    /// Half-width that holds 95 of 100 errors of camber, of the worse wheel, degrees.
    pub camber_deg: f64,
    /// The same of toe.
    pub toe_deg: f64,
    /// How far each arm may then have to be turned.
    pub arms: Vec<NextArm>,
    /// The probability that each wheel is within spec before anything is corrected, 0 to 1.
    pub probability_within_spec: PerSide<f64>,
}

/// How far an arm may have to be turned after it was set.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct NextArm {
    /// Its link.
    pub link: String,
    /// Half-width that holds 95 of 100, of the worse side, turns.
    pub turns: f64,
}

/// One reading.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct NextReading {
    /// What to read.
    pub what: String,
    /// Its key in a survey, where it belongs into one, as `rodset set` takes it.
    pub key: Option<String>,
    /// How.
    pub way: NextWay,
    /// Standard deviation that it is taken to have.
    pub sigma: f64,
    /// Its unit: "mm" or "deg".
    pub unit: &'static str,
    /// Minutes that it takes.
    pub minutes: f64,
    /// Minutes to set up for it, where nothing before it was set up for the same.
    pub set_up_minutes: f64,
    /// What is known after it.
    pub after: Outlook,
}

/// How something is read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum NextWay {
    /// Camber and toe of both wheels at another height.
    OtherHeight,
    /// Camber and toe of both wheels with a cam turned by a known amount.
    TurnedCam,
    /// Camber and toe of both wheels at the height that is planned for, an arm turned once by a known amount beyond the plan.
    TurnedArm,
    /// Camber and toe of both wheels once more where the car was measured.
    Again,
    /// A tape between two pivots on the knuckle, which needs no lift.
    TapeAtWheel,
    /// A tape between two other pivots.
    Tape,
    /// A level on a link.
    Slope,
    /// The height of a pivot above the floor.
    Height,
    /// How far ahead of the wheel centre a pivot is.
    Forward,
    /// How far out from the centreline a pivot is.
    Across,
    /// The length of a stock arm.
    Arm,
}

impl NextWay {
    /// Minutes to set up for readings of this way, and for each of them: common practice, no source.
    pub(crate) fn minutes(self) -> [f64; 2] {
        match self {
            Self::OtherHeight | Self::Arm | Self::TurnedArm => [10.0, 20.0],
            Self::TurnedCam => [10.0, 15.0],
            Self::Again => [10.0, 10.0],
            Self::TapeAtWheel | Self::Slope => [3.0, 2.0],
            Self::Tape => [10.0, 3.0],
            Self::Height => [10.0, 2.0],
            Self::Forward | Self::Across => [20.0, 3.0],
        }
    }
}
