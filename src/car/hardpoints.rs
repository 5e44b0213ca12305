//! Where the points of a side are and how its links are set, without anything else that is known of it.

use nalgebra::{Point3, Vector3};

use super::{Hold, Measurand, PerLink};
use crate::geometry::{InArm, OnArm, Pose, Row, Wheel, WideRow};

/// The pivots of the five links and the wheel of a side at the reference: enough to solve it, and quick to copy.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardpoints {
    /// Pivots on the subframe, cams as they were found, mm.
    pub(crate) subframe: PerLink<Point3<f64>>,
    /// Pivots on the knuckle, mm.
    pub(crate) knuckle: PerLink<Point3<f64>>,
    pub(crate) wheel: Wheel,
    /// What holds the knuckle in each place.
    pub(crate) holds: PerLink<Hold>,
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
    pub(crate) fn differing(&self, other: &Self) -> Vec<usize> {
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
    pub(crate) fn measured(numbers: &[f64; Measurand::NUMBERS], holds: PerLink<Hold>) -> Self {
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
            lengths: PerLink::of(|link| {
                if self.holds[link].is_rod() {
                    (self.knuckle[link] - self.subframe[link]).norm()
                } else {
                    0.0
                }
            }),
        }
    }

    /// The forward question: the five rods of a setup, or what holds their places, and the wheel centre raised by `drop` mm.
    pub(crate) fn rows(&self, setup: &Setup, drop: f64) -> [Row; 6] {
        std::array::from_fn(|i| match (setup.lengths.get(i), self.holds.get(i)) {
            (Some(&length), Some(Hold::Rod)) => {
                Row::rod(setup.pivots[i], self.knuckle[i] - self.wheel.centre, length)
            }
            (Some(_), _) => self.other_row(i, setup),
            (None, _) => Row::Height { z: self.wheel.centre.z + drop },
        })
    }
}

impl Hardpoints {
    /// Makes points that are one lie at one place.
    fn joined(mut self) -> Self {
        for (link, hold) in self.holds.into_iter().enumerate().filter(|(_, hold)| *hold != Hold::Rod) {
            let at = |of: Measurand| match hold.home(of) {
                Measurand::Knuckle(link) => self.knuckle[link],
                Measurand::Subframe(link) => self.subframe[link],
                _ => self.wheel.centre,
            };
            let ends = [at(Measurand::Subframe(link)), at(Measurand::Knuckle(link))];
            [self.subframe[link], self.knuckle[link]] = ends;
        }
        self
    }

    /// The row of a place whose rod is not from the subframe, or which is none.
    fn other_row(&self, link: usize, setup: &Setup) -> Row {
        let arm = |link: usize| self.knuckle[link] - self.wheel.centre;
        let rod = || Row::rod(setup.pivots[link], arm(link), setup.lengths[link]);
        match self.holds[link] {
            Hold::Rod | Hold::Leg(_) => rod(),
            Hold::OnArm(legs) => {
                let (Some(inner), [first, second]) = (self.in_arm(link, legs), legs.map(usize::from)) else {
                    return rod();
                };
                let pivots = [setup.pivots[first], setup.pivots[second]];
                let row = OnArm::new(inner, pivots, [arm(first), arm(link)], setup.lengths[link]);
                WideRow::OnArm(row).into()
            }
            // From the bush to the wheel, so that its force counts as a rod's: plus, it is pulled.
            Hold::BushAhead => {
                let normal = Vector3::x() * -arm(link).x.signum();
                Row::guided(setup.pivots[link], arm(link), normal, setup.lengths[link])
            }
            Hold::BushUp(first) => {
                Row::guided(setup.pivots[usize::from(first)], arm(link), Vector3::z(), setup.lengths[link])
            }
            Hold::Top => {
                Row::sliding(setup.pivots[link], arm(link), self.of_strut(link)[1], setup.lengths[link])
            }
            Hold::Bolt(top, lever) => {
                let [across, _, line] = self.of_strut(link);
                let normal = across + line * (setup.lengths[link] / lever);
                Row::sliding(setup.pivots[usize::from(top)], arm(link), normal, 0.0)
            }
        }
    }

    fn in_arm(&self, link: usize, [first, second]: [u8; 2]) -> Option<InArm> {
        let (first, second) = (usize::from(first), usize::from(second));
        InArm::of(&self.subframe[link], [self.subframe[first], self.subframe[second]], &self.knuckle[first])
    }

    /// Ways of a strut at the reference: outward across it, forward across it, up along it.
    pub(super) fn of_strut(&self, link: usize) -> [Vector3<f64>; 3] {
        let line = (self.subframe[link] - self.knuckle[link]).normalize();
        let forward = (Vector3::x() - line * line.x).normalize();
        [line.cross(&forward), forward, line]
    }

    /// The two ends of what holds a place, subframe's first, in a pose.
    pub(crate) fn ends(&self, link: usize, setup: &Setup, pose: &Pose) -> [Point3<f64>; 2] {
        let point = |link: usize| pose.point(&(self.knuckle[link] - self.wheel.centre));
        let inner = match self.holds[link] {
            Hold::OnArm(legs) => {
                let [first, second] = legs.map(usize::from);
                let inner = self.in_arm(link, legs);
                inner.map(|inner| inner.at([setup.pivots[first], setup.pivots[second]], &point(first)))
            }
            Hold::BushUp(first) | Hold::Bolt(first, _) => Some(setup.pivots[usize::from(first)]),
            _ => None,
        };
        [inner.unwrap_or(setup.pivots[link]), point(link)]
    }
}
