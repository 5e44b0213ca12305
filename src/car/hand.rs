//! The two sides of a car.

use serde::Serialize;
use std::fmt;

/// Which side of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Hand {
    /// The left side, seen by the driver.
    Left,
    /// The right side.
    Right,
}

impl Hand {
    /// Both sides, the left one first.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];

    /// The one on the other side.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

impl fmt::Display for Hand {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Left => "left",
            Self::Right => "right",
        })
    }
}
