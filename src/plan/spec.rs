//! What a figure may be, as it is written on a job card.
//!
//! `spec`: a total is halved before it is an angle, a length too. Least and most of a length are taken across the diameter each
//! by itself, so that the target need not lie exactly between them.

use serde::Serialize;

use super::wheel::Target;
use crate::geometry::Figure;

/// The least, the target and the most of a figure, degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Allowed {
    /// The least.
    pub least_deg: f64,
    /// What to aim for.
    pub target_deg: f64,
    /// The most.
    pub most_deg: f64,
}

/// A printed spec, the same for one wheel and for both together.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub(crate) struct SpecAnswer {
    /// What it is the spec of.
    pub figure: Figure,
    /// Whether what was printed counts both wheels together.
    pub printed_as_total: bool,
    /// Each wheel.
    pub each: Allowed,
    /// Both wheels together, for toe.
    pub total: Option<Allowed>,
    /// Half of what lies between the least and the most of each wheel, degrees; none where no tolerance was given.
    pub tolerance_deg: Option<f64>,
    /// The diameter that toe as a length is taken across, mm, where it was given.
    pub diameter_mm: Option<f64>,
    /// Slips that it may be.
    pub slips: Vec<String>,
}

impl Allowed {
    /// From the least, the target and the most, rad.
    pub(crate) fn from_radians(ends: [f64; 3]) -> Self {
        let [least_deg, target_deg, most_deg] = ends.map(f64::to_degrees);
        Self { least_deg, target_deg, most_deg }
    }

    /// A target and what it may be off either way, degrees.
    fn around(target_deg: f64, tolerance_deg: f64) -> Self {
        Self { least_deg: target_deg - tolerance_deg, target_deg, most_deg: target_deg + tolerance_deg }
    }

    /// What the camber and the toe of a wheel may be.
    pub(crate) fn of(target: &Target) -> [Self; 2] {
        [
            Self::around(target.camber_deg, target.camber_tolerance_deg),
            Self::around(target.toe_deg, target.toe_tolerance_deg),
        ]
    }

    /// Both wheels together: each may use up its whole tolerance.
    pub(crate) fn total(left: Self, right: Self) -> Self {
        Self {
            least_deg: left.least_deg + right.least_deg,
            target_deg: left.target_deg + right.target_deg,
            most_deg: left.most_deg + right.most_deg,
        }
    }

    /// Half of what lies between the least and the most, degrees.
    pub(crate) fn tolerance_deg(&self) -> f64 {
        (self.most_deg - self.least_deg) / 2.0
    }
}
