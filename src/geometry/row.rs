//! One equation for the knuckle: a rod's length, what a bush or a strut holds, the wheel's height, or a figure to be met.

use nalgebra::{Point3, Vector3, Vector6};

use super::wide::Wide;
use super::{CHARACTERISTIC_LENGTH, Figure, Four, Ground, InRows, Motion, Pose, Wheel, WideRow};

/// A scalar condition on the knuckle's pose; on the poses of several wheels at once with another [`Number`](super::Number).
///
/// To add a kind: give it a variant, its residual and gradient, rounding and curvature here, and the solver knows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Row<T: InRows = f64> {
    /// A rod of fixed length between a subframe pivot and a knuckle point. [`Row::rod`] makes it.
    Rod {
        /// Pivot on the subframe, car axes, mm.
        subframe: Point3<T>,
        /// Arm of the knuckle point from the wheel centre, at the reference, mm.
        knuckle: Vector3<T>,
        /// Distance between the two, mm.
        length: T,
        /// One over that, 1/mm.
        per_length: T,
    },
    /// A knuckle point that keeps its place along one direction of the car: a bush that gives way across it. [`Row::guided`] makes it.
    Guided {
        /// Arm of the knuckle point from the wheel centre, at the reference, mm.
        knuckle: Vector3<T>,
        /// Unit vector along the direction, car axes.
        normal: Vector3<T>,
        /// Where the point is along it, mm.
        place: T,
    },
    /// A point of the car that keeps its place along one direction of the knuckle: the top of a strut. [`Row::sliding`] makes it.
    Sliding {
        /// The point of the car, mm.
        subframe: Point3<T>,
        /// Along the direction, at the reference.
        normal: Vector3<T>,
        /// How far the wheel centre is beyond the point along it, mm.
        place: T,
    },
    /// A row that depends on more of the knuckle than one point or one way.
    Wide(T::Wide),
    /// The wheel centre's height in the car's axes, mm: the drop, seen from the body.
    Height {
        /// z of the wheel centre.
        z: T,
    },
    /// A line of the knuckle that leans out of a plane of the car: a figure of the wheel. [`Row::reads`] makes it.
    Leans {
        /// Unit vector along the line, at the reference.
        line: Vector3<T>,
        /// Unit normal of the plane, car axes.
        normal: Vector3<T>,
        /// Sine of the angle between the two.
        sine: T,
    },
}

impl<T: InRows> Row<T> {
    /// A rod of `length` mm from a pivot on the subframe to a knuckle point, given by its arm from the wheel centre.
    pub fn rod(subframe: Point3<T>, knuckle: Vector3<T>, length: T) -> Self {
        Self::Rod { subframe, knuckle, length, per_length: T::splat(1.0) / length }
    }

    /// A knuckle point, given by its arm from the wheel centre, that stays `off` mm beyond a point of the car along the unit `normal`
    /// of the car.
    pub fn guided(subframe: Point3<T>, knuckle: Vector3<T>, normal: Vector3<T>, off: T) -> Self {
        Self::Guided { knuckle, normal, place: normal.dot(&subframe.coords) + off }
    }

    /// The same along a `normal` of the knuckle, as it stands at the reference.
    pub fn sliding(subframe: Point3<T>, knuckle: Vector3<T>, normal: Vector3<T>, off: T) -> Self {
        Self::Sliding { subframe, normal, place: off - normal.dot(&knuckle) }
    }

    /// By how much the pose misses the condition, mm (angles times [`CHARACTERISTIC_LENGTH`]), and the derivative of that along the six
    /// motions of [`Pose::nudged`].
    ///
    /// With `d` from the subframe to the knuckle point, `r` that point's arm now, `b` the line now, `n` the normal and `c` the
    /// characteristic length:
    ///
    /// ```text
    /// rod      f = (d.d - L^2) / (2 L)    df = u.dp + (r x u).dw    u = d / L
    /// guided   f = n.(p + r) - place      df = n.dp + (r x n).dw
    /// sliding  f = b.(p - s) - place      df = b.dp + (b x (p - s)).dw
    /// height   f = p.z - z                df = dp.z
    /// leans    f = c (b.n - sine)         df = c (b x n).dw
    /// ```
    ///
    /// Where it is met, a rod's `f` is what is too much of its length and its gradient the unit line in Pluecker coordinates,
    /// direction and moment about the wheel centre; written so, it needs no root.
    #[inline]
    pub(super) fn seen_from(&self, pose: &Pose<T>) -> (T, [T; 6]) {
        let zero = T::splat(0.0);
        match self {
            Self::Rod { subframe, knuckle, length, per_length } => {
                let arm = pose.rotation * knuckle;
                let line = pose.centre + arm - subframe;
                let along = line * *per_length;
                let moment = arm.cross(&along) * T::splat(1.0 / CHARACTERISTIC_LENGTH);
                let miss = (line.dot(&along) - *length) * T::splat(0.5);
                (miss, [along.x, along.y, along.z, moment.x, moment.y, moment.z])
            }
            Self::Guided { knuckle, normal, place } => {
                let arm = pose.rotation * knuckle;
                let moment = arm.cross(normal) * T::splat(1.0 / CHARACTERISTIC_LENGTH);
                let miss = normal.dot(&(pose.centre + arm).coords) - *place;
                (miss, [normal.x, normal.y, normal.z, moment.x, moment.y, moment.z])
            }
            Self::Sliding { subframe, normal, place } => {
                let normal = pose.rotation * normal;
                let way = pose.centre - subframe;
                let moment = normal.cross(&way) * T::splat(1.0 / CHARACTERISTIC_LENGTH);
                (normal.dot(&way) - *place, [normal.x, normal.y, normal.z, moment.x, moment.y, moment.z])
            }
            Self::Wide(row) => row.seen_from(pose),
            Self::Height { z } => (pose.centre.z - *z, [zero, zero, T::splat(1.0), zero, zero, zero]),
            Self::Leans { line, normal, sine } => {
                let line = pose.rotation * line;
                let moment = line.cross(normal);
                let miss = (line.dot(normal) - *sine) * T::splat(CHARACTERISTIC_LENGTH);
                (miss, [zero, zero, zero, moment.x, moment.y, moment.z])
            }
        }
    }

    /// By how much the pose misses the condition, mm (angles times [`CHARACTERISTIC_LENGTH`]); of a rod near its length, what is too much of it.
    #[inline]
    pub fn residual(&self, pose: &Pose<T>) -> T {
        self.seen_from(pose).0
    }
}

impl Row<Four> {
    /// The rows of four wheels as one; `None` where they are not of one kind, or wide.
    pub fn together(of: [&Row; 4]) -> Option<Self> {
        fn all<T>(of: [Option<T>; 4]) -> Option<[T; 4]> {
            let [a, b, c, d] = of;
            Some([a?, b?, c?, d?])
        }
        /// The fields of four rows of a kind, each as one.
        macro_rules! fields {
            ($kind:ident: $($field:ident),+) => {
                ($(all(of.map(|row| if let Row::$kind { $field, .. } = row { Some(*$field) } else { None }))?.into(),)+)
            };
        }
        Some(match of[0] {
            Row::Rod { .. } => {
                let (subframe, knuckle, length) = fields!(Rod: subframe, knuckle, length);
                Self::rod(subframe, knuckle, length)
            }
            Row::Guided { .. } => {
                let (knuckle, normal, place) = fields!(Guided: knuckle, normal, place);
                Self::Guided { knuckle, normal, place }
            }
            Row::Sliding { .. } => {
                let (subframe, normal, place) = fields!(Sliding: subframe, normal, place);
                Self::Sliding { subframe, normal, place }
            }
            Row::Wide(_) => return None,
            Row::Height { .. } => {
                let (z,) = fields!(Height: z);
                Self::Height { z }
            }
            Row::Leans { .. } => {
                let (line, normal, sine) = fields!(Leans: line, normal, sine);
                Self::Leans { line, normal, sine }
            }
        })
    }
}

impl Row {
    /// A figure of the wheel that must have a given value, rad.
    ///
    /// `camber = c` is `a.up = -sin c`; `atan2(p, q) = t` is `p cos t = q sin t`, on its own side of the circle.
    pub fn reads(figure: Figure, wheel: &Wheel, ground: &Ground, target: f64) -> Self {
        let (sin, cos) = target.sin_cos();
        match figure {
            Figure::Camber => Self::Leans { line: wheel.spindle, normal: -ground.up(), sine: sin },
            Figure::Toe => {
                let normal = ground.forward() * cos - ground.left() * sin;
                Self::Leans { line: wheel.spindle, normal, sine: 0.0 }
            }
            Figure::Pitch => {
                let normal = Vector3::x() * cos - Vector3::z() * sin;
                Self::Leans { line: Vector3::z(), normal, sine: 0.0 }
            }
        }
    }

    /// The derivative of the residual along the six motions of [`Pose::nudged`].
    pub fn gradient(&self, pose: &Pose) -> Vector6<f64> {
        Vector6::from(self.seen_from(pose).1)
    }

    /// Relative rounding of everything computed from a pose: some dozen operations, and the rounding that a rotation
    /// collects over the steps that led to it.
    pub(super) const ROUNDING: f64 = 64.0 * f64::EPSILON;

    /// A bound on the rounding error of [`residual`](Self::residual), mm.
    pub(super) fn rounding(&self, pose: &Pose) -> f64 {
        let size = match self {
            Self::Rod { subframe, knuckle, length, .. } => {
                pose.centre.coords.norm() + subframe.coords.norm() + knuckle.norm() + length
            }
            Self::Guided { knuckle, place, .. } => pose.centre.coords.norm() + knuckle.norm() + place.abs(),
            Self::Sliding { subframe, normal, place } => {
                normal.norm() * (pose.centre.coords.norm() + subframe.coords.norm()) + place.abs()
            }
            Self::Wide(row) => row.size(pose),
            Self::Height { z } => pose.centre.coords.norm() + z.abs(),
            Self::Leans { .. } => CHARACTERISTIC_LENGTH,
        };
        Self::ROUNDING * size
    }

    /// A bound on the relative rounding error of [`gradient`](Self::gradient): a rod's direction is the difference of
    /// coordinates over its length, a strut's moment one over the characteristic length.
    pub(super) fn slant_rounding(&self, pose: &Pose) -> f64 {
        match self {
            Self::Rod { per_length, .. } => self.rounding(pose) * per_length,
            Self::Sliding { .. } => self.rounding(pose) / CHARACTERISTIC_LENGTH,
            Self::Wide(row) => self.rounding(pose) / row.slant_length(),
            _ => Self::ROUNDING,
        }
    }

    /// A bound on the second derivative of the residual along unit motions, anywhere within `radius` of the pose, 1/mm.
    ///
    /// Along a motion `v = (v_p, c v_w)`, `c` the characteristic length, a knuckle-fixed vector `b` changes by `|b'| <= |b| |v_w|` and
    /// `|b''| <= |b| |v_w|^2`, wherever on the rotation group, because the second derivative of the exponential map is
    /// `2 e^{..} V e^{..} V e^{..}` integrated over a triangle of area one half. With `q` the knuckle point, `d` from
    /// the subframe to it and `k = |arm| / c`:
    ///
    /// ```text
    /// rod      |f''| <= (|q'|^2 + |d| |q''|) / L     <= (1 + k^2 + |d| k / c) / L,   |d| <= |d now| + sqrt(1 + k^2) radius
    /// guided   |f''| <= |q''|                        <= k / c
    /// sliding  |f''| <= |b''| |p - s| + 2 |b'| |p'|  <= |b| (|p - s| / c + 1) / c,   as 2 |v_w| |v_p| <= 1 / c
    /// leans    |f''| <= c |b''|                      <= 1 / c
    /// ```
    pub(super) fn curvature(&self, pose: &Pose, radius: f64) -> f64 {
        match self {
            Self::Rod { subframe, knuckle, per_length, .. } => {
                let k = knuckle.norm() / CHARACTERISTIC_LENGTH;
                let furthest = (pose.point(knuckle) - subframe).norm() + (1.0 + k * k).sqrt() * radius;
                (1.0 + k * k + furthest * k / CHARACTERISTIC_LENGTH) * per_length
            }
            Self::Guided { knuckle, .. } => knuckle.norm() / CHARACTERISTIC_LENGTH / CHARACTERISTIC_LENGTH,
            Self::Sliding { subframe, normal, .. } => {
                let furthest = (pose.centre - subframe).norm() + radius;
                normal.norm() * (furthest / CHARACTERISTIC_LENGTH + 1.0) / CHARACTERISTIC_LENGTH
            }
            Self::Wide(row) => row.curvature(pose, radius),
            Self::Height { .. } => 0.0,
            Self::Leans { .. } => 1.0 / CHARACTERISTIC_LENGTH,
        }
    }

    /// The second derivative of the residual along a motion of the knuckle that keeps its velocity and its turn, per mm^2 of what the
    /// motion counts.
    pub(super) fn bend(&self, pose: &Pose, motion: &Motion) -> f64 {
        match self {
            Self::Rod { knuckle, subframe, per_length, .. } => {
                let arm = pose.rotation * knuckle;
                let line = pose.centre + arm - subframe;
                let velocity = motion.shift + motion.turn.cross(&arm);
                (line.dot(&motion.whirl(&arm)) + velocity.norm_squared()) * per_length
            }
            Self::Guided { knuckle, normal, .. } => motion.whirl(&(pose.rotation * knuckle)).dot(normal),
            Self::Sliding { subframe, normal, .. } => {
                let normal = pose.rotation * normal;
                motion.whirl(&normal).dot(&(pose.centre - subframe))
                    + 2.0 * motion.turn.cross(&normal).dot(&motion.shift)
            }
            Self::Wide(row) => row.bend(pose, motion),
            Self::Height { .. } => 0.0,
            Self::Leans { line, normal, .. } => {
                CHARACTERISTIC_LENGTH * motion.whirl(&(pose.rotation * line)).dot(normal)
            }
        }
    }
}

impl From<WideRow> for Row {
    fn from(row: WideRow) -> Self {
        Self::Wide(row)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{InArm, Meets, OnArm};
    use approx::assert_relative_eq;
    use nalgebra::Rotation3;

    /// What a blade's bush, a strut, a link on an arm and a strut in a slot hold.
    fn of_other_axles() -> [Row; 5] {
        let pivots = [Point3::new(110.0, 350.0, 200.0), Point3::new(-190.0, 340.0, 210.0)];
        let joint = Vector3::new(60.0, -50.0, -125.0);
        let inner = Point3::new(-100.0, 640.0, 195.0);
        let centre = Point3::new(0.0, 750.0, 300.0);
        let inner = InArm::of(&inner, pivots, &(centre + joint)).expect("an arm");
        let knuckle = Vector3::new(-85.0, -100.0, 60.0);
        let (top, foot) = (Point3::new(-30.0, 590.0, 780.0), Vector3::new(5.0, -95.0, 20.0));
        let line = (top - (centre + foot)).normalize();
        [
            Row::guided(
                Point3::new(450.0, 350.0, 280.0),
                Vector3::new(450.0, -400.0, -20.0),
                Vector3::x(),
                0.0,
            ),
            Row::sliding(top, foot, line.cross(&Vector3::x()), 2.0),
            Row::sliding(top, foot, line.cross(&Vector3::x()) - line * 0.3, 0.0),
            WideRow::OnArm(OnArm::new(inner, pivots, [joint, knuckle], 166.0)).into(),
            WideRow::Meets(Meets::new(top, &Vector3::new(0.1, 0.9, 0.2).normalize(), foot, line)).into(),
        ]
    }

    /// Central differences on the group, for every kind of row, at a pose far from the reference.
    #[test]
    fn gradients_are_the_slopes_of_the_residuals() {
        let wheel = Wheel::reading(Point3::new(3.0, 750.0, 300.0), -0.02, 0.005);
        let ground = Ground::tilted(0.02, -0.03);
        let pose = Pose {
            rotation: Rotation3::from_scaled_axis(Vector3::new(0.3, -0.2, 0.25)),
            centre: Point3::new(-5.0, 742.0, 351.0),
        };
        let reads = |figure| Row::reads(figure, &wheel, &ground, 0.01);
        let rows = [
            Row::rod(Point3::new(-40.0, 430.0, 440.0), Vector3::new(-20.0, -95.0, 160.0), 230.0),
            Row::Height { z: 320.0 },
            reads(Figure::Camber),
            reads(Figure::Toe),
            reads(Figure::Pitch),
        ];
        for row in rows.into_iter().chain(of_other_axles()) {
            for axis in 0..6 {
                let step = Vector6::ith(axis, 1e-3);
                let rise = row.residual(&pose.nudged(&step)) - row.residual(&pose.nudged(&-step));
                assert_relative_eq!(row.gradient(&pose)[axis], rise / 2e-3, epsilon = 1e-9);
            }
        }
    }

    /// Second differences along random motions, at the pose and at the rim of the neighbourhood.
    #[test]
    fn no_row_bends_more_than_its_bound() {
        let wheel = Wheel::reading(Point3::new(3.0, 750.0, 300.0), -0.05, 0.005);
        let ground = Ground::tilted(0.02, -0.03);
        let pose = Pose {
            rotation: Rotation3::from_scaled_axis(Vector3::new(0.1, -0.05, 0.08)),
            centre: Point3::new(-5.0, 742.0, 351.0),
        };
        let reads = |figure| Row::reads(figure, &wheel, &ground, 0.01);
        let (subframe, length) = (Point3::new(-40.0, 430.0, 440.0), 230.0);
        let rows = [
            Row::rod(subframe, Vector3::new(-20.0, -95.0, 160.0), length),
            Row::rod(subframe, Vector3::new(5.0, -300.0, 90.0), 40.0),
            reads(Figure::Camber),
            reads(Figure::Toe),
            reads(Figure::Pitch),
        ];
        let radius = 20.0;
        let step = 0.05;
        let mut state = 1_u64;
        let mut random = || {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            #[expect(clippy::cast_precision_loss, reason = "any number will do")]
            let value = (state >> 11) as f64 / (1_u64 << 53) as f64;
            value - 0.5
        };
        for row in rows.into_iter().chain(of_other_axles()) {
            let bound = row.curvature(&pose, radius);
            for _ in 0..500 {
                let there = Vector6::from_fn(|_, _| random()).normalize() * radius * 0.99;
                let v = Vector6::from_fn(|_, _| random()).normalize();
                // Both derivatives in the chart of the pose, as the certificate uses it.
                let at = |t: f64| row.residual(&pose.nudged(&(there + v * t)));
                let second = (at(step) - 2.0 * at(0.0) + at(-step)) / (step * step);
                assert!(second.abs() <= bound * (1.0 + 1e-6), "{row:?}: {second} exceeds {bound}");
            }
        }
    }

    /// What a row holds is where it was made; how it bends along a motion is its second difference.
    #[test]
    fn every_row_bends_as_its_second_difference_says() {
        let centre = Point3::new(0.0, 750.0, 300.0);
        let motion =
            Motion { centre, shift: Vector3::new(0.1, -0.3, 1.0), turn: Vector3::new(3e-3, 2e-3, -4e-3) };
        let rod = Row::rod(Point3::new(-40.0, 430.0, 440.0), Vector3::new(-20.0, -95.0, 160.0), 230.0);
        let line = Row::reads(Figure::Toe, &Wheel::reading(centre, -0.05, 0.005), &Ground::level(), 0.01);
        let pose = Pose { rotation: Rotation3::from_scaled_axis(Vector3::new(0.1, -0.05, 0.08)), centre };
        let step = 0.05;
        for row in [rod, line].into_iter().chain(of_other_axles()) {
            let turn = motion.turn * CHARACTERISTIC_LENGTH;
            let way = Vector6::new(0.1, -0.3, 1.0, turn.x, turn.y, turn.z);
            let at = |t: f64| row.residual(&pose.nudged(&(way * t)));
            let second = (at(step) - 2.0 * at(0.0) + at(-step)) / (step * step);
            assert_relative_eq!(row.bend(&pose, &motion), second, epsilon = 1e-7);
        }
    }

    /// Four wheels at once are as wide as four rods.
    #[test]
    fn rows_of_four_wheels_are_no_wider_than_a_rod() {
        assert!(size_of::<Row<Four>>() <= 9 * size_of::<Four>());
    }
}
