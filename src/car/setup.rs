//! How the links of a side are set: the one thing that adjusting changes.

use nalgebra::Point3;

use super::{Hardpoints, Link, Side};
use crate::geometry::Row;

/// Subframe pivots and lengths of the five links.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// Where each subframe pivot is, mm.
    pub pivots: [Point3<f64>; 5],
    /// Pivot to pivot, mm.
    pub lengths: [f64; 5],
}

impl Setup {
    /// The place of the wheel's height among the six rows; the links come before it.
    pub const HEIGHT_ROW: usize = 5;

    /// Every link at its stock length, every cam as it was found.
    pub fn as_found(side: &Side) -> Self {
        Hardpoints::of(side).as_found()
    }

    /// These links moved by what lies between two others: by what was changed since `from`, put into `to`.
    #[must_use]
    pub fn carried(&self, from: &Self, to: &Self) -> Self {
        Self {
            pivots: std::array::from_fn(|i| to.pivots[i] + (self.pivots[i] - from.pivots[i])),
            lengths: std::array::from_fn(|i| to.lengths[i] + (self.lengths[i] - from.lengths[i])),
        }
    }

    /// The same, but with the cams of some links locked out at the middle of their slots.
    pub fn locked_out(side: &Side, locked: impl Fn(&Link) -> bool) -> Self {
        let mut setup = Self::as_found(side);
        for (pivot, link) in setup.pivots.iter_mut().zip(&side.links) {
            if locked(link) {
                *pivot = link.pivot(0.0);
            }
        }
        setup
    }

    /// The forward question: these five rods, and the wheel centre raised by `drop` mm.
    pub fn rows(&self, side: &Side, drop: f64) -> [Row; 6] {
        Hardpoints::of(side).rows(self, drop)
    }
}
