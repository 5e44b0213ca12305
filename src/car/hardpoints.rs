//! Where the points of a side are and how its links are set, without anything else that is known of it.

use nalgebra::Point3;

use super::{Hold, Measurand, PerLink};
use crate::geometry::{Row, Wheel};

/// The pivots of the five links and the wheel of a side at the reference: enough to solve it, and quick to copy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardpoints {
    /// Pivots on the subframe, cams as they were found, mm.
    pub subframe: PerLink<Point3<f64>>,
    /// Pivots on the knuckle, mm.
    pub knuckle: PerLink<Point3<f64>>,
    /// The wheel.
    pub wheel: Wheel,
    /// What holds the knuckle in each place.
    pub holds: PerLink<Hold>,
}

/// Subframe pivots and lengths of the five links: the one thing that adjusting changes. Of a bush or a strut the length is how far it
/// was moved since it was found, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// Where each subframe pivot is, mm.
    pub pivots: PerLink<Point3<f64>>,
    /// Pivot to pivot, mm.
    pub lengths: PerLink<f64>,
}

impl Setup {
    /// The links that stand otherwise in another setup: by more than a rounding.
    pub fn differing(&self, other: &Self) -> Vec<usize> {
        const SAME: f64 = 1e-6;
        let differs = |i: &usize| {
            (self.lengths[*i] - other.lengths[*i]).abs() > SAME
                || (self.pivots[*i] - other.pivots[*i]).norm() > SAME
        };
        (0..self.lengths.len()).filter(differs).collect()
    }

    /// The place of the wheel's height among the six rows; the links come before it.
    pub const HEIGHT_ROW: usize = 5;

    /// These links moved by what lies between two others: by what was changed since `from`, put into `to`.
    #[must_use]
    pub fn carried(&self, from: &Self, to: &Self) -> Self {
        Self {
            pivots: PerLink::of(|i| to.pivots[i] + (self.pivots[i] - from.pivots[i])),
            lengths: PerLink::of(|i| to.lengths[i] + (self.lengths[i] - from.lengths[i])),
        }
    }
}

impl Hardpoints {
    /// Those that were measured so, in the order of [`Measurand::all`], mm and rad.
    pub fn measured(numbers: &[f64; Measurand::NUMBERS], holds: PerLink<Hold>) -> Self {
        let at = |of: Measurand| Point3::from_slice(&numbers[of.place()]);
        let reading = Measurand::READINGS;
        Self {
            subframe: PerLink::of(|link| at(Measurand::Subframe(link))),
            knuckle: PerLink::of(|link| at(Measurand::Knuckle(link))),
            wheel: Wheel::reading(at(Measurand::Centre), numbers[reading], numbers[reading + 1]),
            holds,
        }
        .joined()
    }

    /// Every link at its stock length, every cam as it was found.
    pub fn as_found(&self) -> Setup {
        Setup {
            pivots: self.subframe,
            lengths: PerLink::of(|link| match self.holds[link].is_rod() {
                true => (self.knuckle[link] - self.subframe[link]).norm(),
                false => 0.0,
            }),
        }
    }

    /// The forward question: the five rods of a setup, or what holds their places, and the wheel centre raised by `drop` mm.
    pub fn rows(&self, setup: &Setup, drop: f64) -> [Row; 6] {
        std::array::from_fn(|i| match (setup.lengths.get(i), self.holds.get(i)) {
            (Some(&length), Some(Hold::Rod)) => {
                Row::rod(setup.pivots[i], self.knuckle[i] - self.wheel.centre, length)
            }
            (Some(_), _) => self.other_row(i, setup),
            (None, _) => Row::Height { z: self.wheel.centre.z + drop },
        })
    }
}
