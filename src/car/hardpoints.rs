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
            Hold::OnArm(_) => {
                let Some((inner, [first, second])) = self.in_arm(link) else { return rod() };
                let pivots = [setup.pivots[first], setup.pivots[second]];
                let row = OnArm::new(inner, pivots, [arm(first), arm(link)], setup.lengths[link]);
                WideRow::OnArm(row).into()
            }
            // From the bush to the wheel, so that its force counts as a rod's: plus, it is pulled.
            Hold::BushAhead => {
                let normal = Vector3::x() * -self.ahead(link);
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

    /// Whether a bush lies ahead of the wheel centre, 1, or behind it, -1.
    fn ahead(&self, link: usize) -> f64 {
        (self.knuckle[link] - self.wheel.centre).x.signum()
    }

    /// Where the foot of a rod sits in the arm that it stands on, and the legs of that arm.
    fn in_arm(&self, link: usize) -> Option<(InArm, [usize; 2])> {
        let Hold::OnArm(legs) = self.holds[link] else { return None };
        let legs = legs.map(usize::from);
        let pivots = legs.map(|leg| self.subframe[leg]);
        Some((InArm::of(&self.subframe[link], pivots, &self.knuckle[legs[0]])?, legs))
    }

    /// Ways of a strut at the reference: outward across it, forward across it, up along it.
    pub(super) fn of_strut(&self, link: usize) -> [Vector3<f64>; 3] {
        let line = (self.subframe[link] - self.knuckle[link]).normalize();
        let forward = (Vector3::x() - line * line.x).normalize();
        [line.cross(&forward), forward, line]
    }

    /// How what a row misses changes as one of these points, or the wheel centre, is measured elsewhere by `by` mm, with what was turned
    /// since left as it is; in a pose in which the row holds.
    ///
    /// With `d` for what a change of the measured points does to what stands behind it, `E` the outer end and `D` the inner one now,
    /// `u` their line now and `v` at the reference:
    ///
    /// ```text
    /// rod        dr = u.(dE - dD) - v.(dk - ds)     dE = R (dk - dc0)
    /// on an arm  the same, with dD = F F0^-1 (ds - carried at the reference) + carried now    F, F0: the arm's frame now and then
    /// bush       dr = n.dE - n.ds
    /// strut      dr = R dn.(E - D) + R n.(dE - ds)
    /// ```
    pub fn slope(&self, link: usize, setup: &Setup, pose: &Pose, of: Measurand, by: &Vector3<f64>) -> f64 {
        let moved = |point: Measurand| {
            if Hold::own(&self.holds, point) == of { *by } else { Vector3::zeros() }
        };
        let [inner, outer] = self.ends(link, setup, pose);
        let (subframe, knuckle) = (moved(Measurand::Subframe(link)), moved(Measurand::Knuckle(link)));
        let arm = |knuckle: Vector3<f64>| pose.rotation * (knuckle - moved(Measurand::Centre));
        let swung = arm(knuckle);
        match self.holds[link] {
            Hold::Rod | Hold::Leg(_) | Hold::OnArm(_) => {
                let (now, before) =
                    ((outer - inner).normalize(), (self.knuckle[link] - self.subframe[link]).normalize());
                let foot = self.foot(link, setup, pose, subframe, &moved, &arm);
                now.dot(&(swung - foot)) - before.dot(&(knuckle - subframe))
            }
            Hold::BushAhead => -(swung - subframe).x * self.ahead(link),
            Hold::BushUp(_) => (swung - subframe).z,
            Hold::Top | Hold::Bolt(..) => {
                let [across, forward, line] = self.of_strut(link);
                let length = (self.subframe[link] - self.knuckle[link]).norm();
                let off = subframe - knuckle;
                let of_line = (off - line * line.dot(&off)) / length;
                let steep = (Vector3::x() - line * line.x).norm();
                let of_forward = -(of_line * line.x + line * of_line.x);
                let of_forward = (of_forward - forward * forward.dot(&of_forward)) / steep;
                let of_across = of_line.cross(&forward) + line.cross(&of_forward);
                let (normal, of_normal) = match self.holds[link] {
                    Hold::Bolt(_, lever) => {
                        let lean = setup.lengths[link] / lever;
                        (across + line * lean, of_across + of_line * lean)
                    }
                    _ => (forward, of_forward),
                };
                let turned = |way: Vector3<f64>| pose.rotation * way;
                turned(of_normal).dot(&(outer - inner)) + turned(normal).dot(&(swung - subframe))
            }
        }
    }

    /// How the inner end of a rod moves as points are measured elsewhere; `arm` is how an outer end moves.
    fn foot(
        &self,
        link: usize,
        setup: &Setup,
        pose: &Pose,
        subframe: Vector3<f64>,
        moved: &impl Fn(Measurand) -> Vector3<f64>,
        arm: &impl Fn(Vector3<f64>) -> Vector3<f64>,
    ) -> Vector3<f64> {
        let Some((inner, [first, second])) = self.in_arm(link) else { return subframe };
        let of_pivots = [first, second].map(|leg| moved(Measurand::Subframe(leg)));
        let of_joint = moved(Measurand::Knuckle(first));
        let then = ([self.subframe[first], self.subframe[second]], self.knuckle[first]);
        let joint = pose.point(&(self.knuckle[first] - self.wheel.centre));
        let now = ([setup.pivots[first], setup.pivots[second]], joint);
        let [a, b] = of_pivots;
        let off = subframe - inner.carried(then.0, &then.1, [a, b, of_joint]);
        let constants = InArm::frame(then.0, &then.1).lu().solve(&off).unwrap_or_default();
        InArm::frame(now.0, &now.1) * constants + inner.carried(now.0, &now.1, [a, b, arm(of_joint)])
    }

    /// How the foot of a rod that stands on an arm moves as the pivot of a leg does by `by` mm, in a pose.
    pub(super) fn carried(
        &self,
        link: usize,
        leg: usize,
        setup: &Setup,
        pose: &Pose,
        by: &Vector3<f64>,
    ) -> Vector3<f64> {
        let Some((inner, [first, second])) = self.in_arm(link) else { return Vector3::zeros() };
        let of = |pivot: usize| if pivot == leg { *by } else { Vector3::zeros() };
        let joint = pose.point(&(self.knuckle[first] - self.wheel.centre));
        let pivots = [setup.pivots[first], setup.pivots[second]];
        inner.carried(pivots, &joint, [of(first), of(second), Vector3::zeros()])
    }

    /// The two ends of what holds a place, subframe's first, in a pose.
    pub(crate) fn ends(&self, link: usize, setup: &Setup, pose: &Pose) -> [Point3<f64>; 2] {
        let point = |link: usize| pose.point(&(self.knuckle[link] - self.wheel.centre));
        let inner = match self.holds[link] {
            Hold::OnArm(_) => {
                let inner = self.in_arm(link);
                inner.map(|(inner, legs)| inner.at(legs.map(|leg| setup.pivots[leg]), &point(legs[0])))
            }
            Hold::BushUp(first) | Hold::Bolt(first, _) => Some(setup.pivots[usize::from(first)]),
            _ => None,
        };
        [inner.unwrap_or(setup.pivots[link]), point(link)]
    }
}
