//! How the links of a side are set: the one thing that adjusting changes.

use nalgebra::Point3;

use super::{Link, Side};
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
        Self {
            pivots: side.links.each_ref().map(|link| link.subframe),
            lengths: side.links.each_ref().map(Link::stock_length),
        }
    }

    /// A side set as another one of the same links is: from its own pivots and lengths as found, by as much.
    #[must_use]
    pub fn carried(&self, from: &Side, to: &Side) -> Self {
        let (before, after) = (Self::as_found(from), Self::as_found(to));
        Self {
            pivots: std::array::from_fn(|i| after.pivots[i] + (self.pivots[i] - before.pivots[i])),
            lengths: std::array::from_fn(|i| after.lengths[i] + (self.lengths[i] - before.lengths[i])),
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
        std::array::from_fn(|i| match self.lengths.get(i) {
            Some(&length) => Row::rod(self.pivots[i], side.knuckle_arm(i), length),
            None => Row::Height { z: side.wheel.centre.z + drop },
        })
    }
}
