//! Rows that need more numbers than a rod has. They are kept aside, so that the rows of four wheels at once stay as narrow as a rod's.

use nalgebra::{Matrix3, Point3, Vector3};
use std::convert::Infallible;

use super::{CHARACTERISTIC_LENGTH, Four, Motion, Number, Pose};

/// A number that rows are written in, and what its wide rows are.
pub trait InRows: Number {
    /// Rows that need more numbers than a rod has.
    type Wide: Wide<Self>;
}

/// What such a row is for a kind of number.
pub trait Wide<T: Number>: Copy + PartialEq + std::fmt::Debug {
    /// See `Row::seen_from`.
    fn seen_from(&self, pose: &Pose<T>) -> (T, [T; 6]);
}

impl InRows for f64 {
    type Wide = WideRow;
}

/// Of four wheels at once there are none: these are solved one by one.
impl InRows for Four {
    type Wide = Infallible;
}

impl Wide<Four> for Infallible {
    fn seen_from(&self, _: &Pose<Four>) -> (Four, [Four; 6]) {
        match *self {}
    }
}

/// A row that depends on more than one point of the knuckle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WideRow {
    /// A rod whose inner end stands on an arm.
    OnArm(OnArm),
    /// A line of the knuckle that meets a line of the car.
    Meets(Meets),
}

impl Wide<f64> for WideRow {
    fn seen_from(&self, pose: &Pose) -> (f64, [f64; 6]) {
        match self {
            Self::OnArm(row) => row.seen_from(pose),
            Self::Meets(row) => row.seen_from(pose),
        }
    }
}

impl WideRow {
    /// See `Row::rounding`, in sizes, mm.
    pub(super) fn size(&self, pose: &Pose) -> f64 {
        match self {
            Self::OnArm(row) => row.size(pose),
            Self::Meets(row) => row.size(pose),
        }
    }

    /// By what that is to be divided for the rounding of the gradient, mm.
    pub(super) fn slant_length(&self) -> f64 {
        match self {
            Self::OnArm(row) => row.length,
            Self::Meets(_) => CHARACTERISTIC_LENGTH,
        }
    }

    /// See `Row::curvature`.
    pub(super) fn curvature(&self, pose: &Pose, radius: f64) -> f64 {
        match self {
            Self::OnArm(row) => row.curvature(pose, radius),
            Self::Meets(row) => row.curvature(pose, radius),
        }
    }

    /// See `Row::bend`.
    pub(super) fn bend(&self, pose: &Pose, motion: &Motion) -> f64 {
        match self {
            Self::OnArm(row) => row.bend(pose, motion),
            Self::Meets(row) => row.bend(pose, motion),
        }
    }
}

/// A rod from a point of an arm to the knuckle, where the arm turns about two pivots of the subframe and carries the knuckle at a
/// joint: the upright link of an integral link axle.
///
/// The triangle of the arm's two pivots `A`, `B` and its joint `J` is rigid, and so a point `D` of the arm is had from where the
/// joint is, without the arm's angle as an unknown: with `a = B - A`
///
/// ```text
/// D = A + s a + t (J - A) + u a x (J - A)    =    base + t J + g x J,    g = u a
/// ```
///
/// where `s`, `t`, `u` are constants of the arm. `D` depends on the knuckle by one point, the rod's outer end by another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnArm {
    /// The part of `D` that stays.
    base: Vector3<f64>,
    /// `t`.
    share: f64,
    /// `g`.
    swing: Vector3<f64>,
    /// Arm of the joint from the wheel centre, at the reference, mm.
    joint: Vector3<f64>,
    /// Arm of the rod's outer end from the wheel centre, at the reference, mm.
    knuckle: Vector3<f64>,
    /// The rod's length, mm.
    length: f64,
}

/// Where a point stands in an arm: `s`, `t` and `u`, 1/mm, of [`OnArm`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InArm {
    along: f64,
    out: f64,
    off: f64,
}

impl InArm {
    /// A point in the arm of two pivots and a joint; `None` where the three are on one line and hold no arm.
    pub fn of(point: &Point3<f64>, pivots: [Point3<f64>; 2], joint: &Point3<f64>) -> Option<Self> {
        let (a, b) = (pivots[1] - pivots[0], joint - pivots[0]);
        let normal = a.cross(&b);
        let square = normal.norm_squared();
        let d = point - pivots[0];
        // Twice the area of the triangle, against lengths of the arm.
        (square.sqrt() > 1e-6 * a.norm() * b.norm()).then(|| Self {
            along: d.cross(&b).dot(&normal) / square,
            out: a.cross(&d).dot(&normal) / square,
            off: d.dot(&normal) / square,
        })
    }

    /// Where it is now, with the arm's pivots and joint there.
    pub fn at(&self, pivots: [Point3<f64>; 2], joint: &Point3<f64>) -> Point3<f64> {
        let (a, b) = (pivots[1] - pivots[0], joint - pivots[0]);
        pivots[0] + a * self.along + b * self.out + a.cross(&b) * self.off
    }

    /// How it moves as the arm's pivots and joint do, by their own ways, mm.
    pub fn carried(
        &self,
        pivots: [Point3<f64>; 2],
        joint: &Point3<f64>,
        [first, second, outer]: [Vector3<f64>; 3],
    ) -> Vector3<f64> {
        let (a, b) = (pivots[1] - pivots[0], joint - pivots[0]);
        let (of_a, of_b) = (second - first, outer - first);
        first + of_a * self.along + of_b * self.out + (of_a.cross(&b) + a.cross(&of_b)) * self.off
    }

    /// What the joint feels of a force at the point, of what does not go into the arm's pivots: by the work of both.
    pub fn on_joint(&self, pivots: [Point3<f64>; 2], force: &Vector3<f64>) -> Vector3<f64> {
        force * self.out + force.cross(&(pivots[1] - pivots[0])) * self.off
    }

    /// The ways along which its three constants count: from pivot to pivot, to the joint, and across both.
    pub fn frame(pivots: [Point3<f64>; 2], joint: &Point3<f64>) -> Matrix3<f64> {
        let (a, b) = (pivots[1] - pivots[0], joint - pivots[0]);
        Matrix3::from_columns(&[a, b, a.cross(&b)])
    }
}

impl OnArm {
    /// A rod of `length` mm from a point in an arm, whose pivots are given, to a knuckle point; that and the arm's joint by their arms
    /// from the wheel centre.
    pub fn new(
        inner: InArm,
        pivots: [Point3<f64>; 2],
        [joint, knuckle]: [Vector3<f64>; 2],
        length: f64,
    ) -> Self {
        let a = pivots[1] - pivots[0];
        let (swing, from) = (a * inner.off, pivots[0].coords);
        let base = from * (1.0 - inner.out) + a * inner.along - swing.cross(&from);
        Self { base, share: inner.out, swing, joint, knuckle, length }
    }

    /// How the inner end moves as the joint does.
    fn carried(&self, joint: &Vector3<f64>) -> Vector3<f64> {
        joint * self.share + self.swing.cross(joint)
    }

    /// The most it moves per mm of the joint.
    fn most_carried(&self) -> f64 {
        self.share.hypot(self.swing.norm())
    }

    /// From the inner end to the outer one, and the arms of joint and outer end now.
    fn line(&self, pose: &Pose) -> [Vector3<f64>; 3] {
        let [joint, knuckle] = [self.joint, self.knuckle].map(|arm| pose.rotation * arm);
        let centre = pose.centre.coords;
        [centre + knuckle - self.base - self.carried(&(centre + joint)), joint, knuckle]
    }

    /// `f = (d.d - L^2) / (2 L)`, `df = u.dE - h.dJ` with `d` from `D` to `E`, `u = d / L` and `h = t u + u x g`.
    fn seen_from(&self, pose: &Pose) -> (f64, [f64; 6]) {
        let [line, joint, knuckle] = self.line(pose);
        let along = line / self.length;
        let held = along * self.share + along.cross(&self.swing);
        let shift = along - held;
        let moment = (knuckle.cross(&along) - joint.cross(&held)) / CHARACTERISTIC_LENGTH;
        let miss = (line.dot(&along) - self.length) / 2.0;
        (miss, [shift.x, shift.y, shift.z, moment.x, moment.y, moment.z])
    }

    fn size(&self, pose: &Pose) -> f64 {
        let [joint, knuckle] = [self.joint, self.knuckle].map(|arm| pose.centre.coords.norm() + arm.norm());
        knuckle + self.base.norm() + self.most_carried() * joint + self.length
    }

    /// As a rod's, with `|d'| <= |E'| + m |J'|`, `|d''| <= |E''| + m |J''|` and `m` the most that the inner end moves per mm of the joint.
    fn curvature(&self, pose: &Pose, radius: f64) -> f64 {
        let [line, ..] = self.line(pose);
        let [joint, knuckle] = [self.joint, self.knuckle].map(|arm| arm.norm() / CHARACTERISTIC_LENGTH);
        let most = self.most_carried();
        let speed = 1.0_f64.hypot(knuckle) + most * 1.0_f64.hypot(joint);
        let furthest = line.norm() + speed * radius;
        (speed * speed + furthest * (knuckle + most * joint) / CHARACTERISTIC_LENGTH) / self.length
    }

    fn bend(&self, pose: &Pose, motion: &Motion) -> f64 {
        let [line, joint, knuckle] = self.line(pose);
        let of = |arm: &Vector3<f64>| [motion.shift + motion.turn.cross(arm), motion.whirl(arm)];
        let ([v, a], [vj, aj]) = (of(&knuckle), of(&joint));
        let (velocity, whirl) = (v - self.carried(&vj), a - self.carried(&aj));
        (line.dot(&whirl) + velocity.norm_squared()) / self.length
    }
}

/// A line of the knuckle that meets a line of the car: a strut whose top mount stands anywhere along its slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meets {
    /// A point of the car's line, mm.
    point: Point3<f64>,
    /// Along it, so long that the row counts mm at the reference.
    slot: Vector3<f64>,
    /// Arm of a point of the knuckle's line from the wheel centre, at the reference, mm.
    knuckle: Vector3<f64>,
    /// Unit vector along that line, at the reference.
    line: Vector3<f64>,
}

impl Meets {
    /// The line through a knuckle point, by its arm, along the unit `line`, and that of the car through `point` along the unit `slot`;
    /// the two must not be parallel at the reference.
    pub(crate) fn new(
        point: Point3<f64>,
        slot: &Vector3<f64>,
        knuckle: Vector3<f64>,
        line: Vector3<f64>,
    ) -> Self {
        let slot = slot / slot.cross(&line).norm().max(f64::MIN_POSITIVE);
        Self { point, slot, knuckle, line }
    }

    fn now(&self, pose: &Pose) -> [Vector3<f64>; 3] {
        let [knuckle, line] = [self.knuckle, self.line].map(|fixed| pose.rotation * fixed);
        [knuckle, line, self.point - pose.centre - knuckle]
    }

    /// `f = (s x b).w`, with `s` along the slot, `b` along the line and `w` from the knuckle's point to the slot's.
    fn seen_from(&self, pose: &Pose) -> (f64, [f64; 6]) {
        let [knuckle, line, way] = self.now(pose);
        let normal = self.slot.cross(&line);
        let moment = (line.cross(&way.cross(&self.slot)) - knuckle.cross(&normal)) / CHARACTERISTIC_LENGTH;
        (normal.dot(&way), [-normal.x, -normal.y, -normal.z, moment.x, moment.y, moment.z])
    }

    fn size(&self, pose: &Pose) -> f64 {
        self.slot.norm() * (self.point.coords.norm() + pose.centre.coords.norm() + self.knuckle.norm())
    }

    /// `|f''| <= |s| (|b''| |w| + 2 |b'| |w'| + |w''|)`, with `|w'| <= sqrt(1 + k^2)` and `|w''| <= k / CHARACTERISTIC_LENGTH`.
    fn curvature(&self, pose: &Pose, radius: f64) -> f64 {
        let [.., way] = self.now(pose);
        let k = self.knuckle.norm() / CHARACTERISTIC_LENGTH;
        let speed = 1.0_f64.hypot(k);
        let furthest = way.norm() + speed * radius;
        self.slot.norm() * (furthest / CHARACTERISTIC_LENGTH + 2.0 * speed + k) / CHARACTERISTIC_LENGTH
    }

    fn bend(&self, pose: &Pose, motion: &Motion) -> f64 {
        let [knuckle, line, way] = self.now(pose);
        let of = |v: &Vector3<f64>| self.slot.cross(v);
        let velocity = motion.shift + motion.turn.cross(&knuckle);
        of(&motion.whirl(&line)).dot(&way)
            - 2.0 * of(&motion.turn.cross(&line)).dot(&velocity)
            - of(&line).dot(&motion.whirl(&knuckle))
    }
}
