//! One equation for the knuckle: a rod's length, the wheel's height, or a figure to be met.

use nalgebra::{Point3, Vector3, Vector6};

use super::{Figure, Ground, LEVER, Pose, Wheel};

/// A scalar condition on the knuckle's pose.
///
/// To add a kind: give it a variant, its residual, gradient, rounding and curvature here, and the solver knows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Row {
    /// A rod of fixed length between a subframe pivot and a knuckle point.
    Rod {
        /// Pivot on the subframe, car axes, mm.
        subframe: Point3<f64>,
        /// Arm of the knuckle point from the wheel centre, at the reference, mm.
        knuckle: Vector3<f64>,
        /// Distance between the two, mm.
        length: f64,
    },
    /// The wheel centre's height in the car's axes, mm: the drop, seen from the body.
    Height {
        /// z of the wheel centre.
        z: f64,
    },
    /// A figure of the wheel that must have a given value.
    Reads {
        /// Which figure.
        figure: Figure,
        /// The wheel it is read on.
        wheel: Wheel,
        /// The ground it is read against.
        ground: Ground,
        /// The value asked for, rad.
        target: f64,
    },
}

impl Row {
    /// By how much the pose misses the condition, mm (angles times [`LEVER`]).
    pub fn residual(&self, pose: &Pose) -> f64 {
        match self {
            // f = |q - s| - L
            Self::Rod { subframe, knuckle, length } => (pose.point(knuckle) - subframe).norm() - length,
            Self::Height { z } => pose.centre.z - z,
            Self::Reads { figure, wheel, ground, target } => {
                LEVER * (figure.value(pose, wheel, ground) - target)
            }
        }
    }

    /// Derivative of the residual along the six motions of [`Pose::nudged`].
    ///
    /// For a rod this is its unit line in Pluecker coordinates, direction and moment about the wheel centre:
    /// with `u` the unit vector from subframe to knuckle and `r` the knuckle point's arm now,
    /// `df = u . dp + (r x u) . dw`.
    pub fn gradient(&self, pose: &Pose) -> Vector6<f64> {
        let (force, moment) = match self {
            Self::Rod { subframe, knuckle, .. } => {
                let arm = pose.rotation * knuckle;
                let u = (pose.centre + arm - subframe).normalize();
                (u, arm.cross(&u) / LEVER)
            }
            Self::Height { .. } => (Vector3::z(), Vector3::zeros()),
            Self::Reads { figure, wheel, ground, .. } => {
                (Vector3::zeros(), figure.gradient(pose, wheel, ground))
            }
        };
        Vector6::new(force.x, force.y, force.z, moment.x, moment.y, moment.z)
    }

    /// Relative rounding of everything computed from a pose: some dozen operations, and the rounding that a rotation
    /// collects over the steps that led to it.
    pub(super) const ROUNDING: f64 = 64.0 * f64::EPSILON;

    /// A bound on the rounding error of [`residual`](Self::residual), mm.
    pub(super) fn rounding(&self, pose: &Pose) -> f64 {
        let size = match self {
            Self::Rod { subframe, knuckle, length } => {
                pose.centre.coords.norm() + subframe.coords.norm() + knuckle.norm() + length
            }
            Self::Height { z } => pose.centre.coords.norm() + z.abs(),
            Self::Reads { .. } => LEVER,
        };
        Self::ROUNDING * size
    }

    /// A bound on the relative rounding error of [`gradient`](Self::gradient): a rod's direction is the difference of
    /// coordinates over its length.
    pub(super) fn slant_rounding(&self, pose: &Pose) -> f64 {
        match self {
            Self::Rod { subframe, knuckle, .. } => {
                self.rounding(pose) / (pose.point(knuckle) - subframe).norm().max(f64::MIN_POSITIVE)
            }
            _ => Self::ROUNDING,
        }
    }

    /// A bound on the second derivative of the residual along unit motions, anywhere within `radius` of the pose, 1/mm;
    /// infinite where none holds.
    ///
    /// Along a motion `v = (v_p, LEVER v_w)` a knuckle-fixed vector `b` changes by `|b'| <= |b| |v_w|` and
    /// `|b''| <= |b| |v_w|^2`, wherever on the rotation group, because the second derivative of the exponential map is
    /// `2 e^{..} V e^{..} V e^{..}` integrated over a triangle of area one half. With `q` the knuckle point, `l` the
    /// least distance of its rod and `k = |arm| / LEVER`:
    ///
    /// ```text
    /// rod     |f''| <= |q'|^2 / l + |q''|         <= (1 + k^2) / l + k / LEVER
    /// camber  |f''| <= |s''| / c + |s| s'^2 / c^3    s the sine, c the cosine of camber
    /// toe     |f''| <= |b''| / h + 2 |b'|^2 / h^2    h the length of b in the plane of the angle; pitch likewise
    /// ```
    pub(super) fn curvature(&self, pose: &Pose, radius: f64) -> f64 {
        let turn = radius / LEVER;
        let bound = |least: f64, bend: f64| if least > 0.0 { bend } else { f64::INFINITY };
        match self {
            Self::Rod { subframe, knuckle, .. } => {
                let k = knuckle.norm() / LEVER;
                let least = (pose.point(knuckle) - subframe).norm() - (1.0 + k * k).sqrt() * radius;
                bound(least, (1.0 + k * k) / least + k / LEVER)
            }
            Self::Height { .. } => 0.0,
            Self::Reads { figure, wheel, ground, .. } => {
                // How much of the figure's vector lies in the plane in which its angle is taken.
                let a = pose.rotation * wheel.spindle;
                let across = match figure {
                    Figure::Camber | Figure::Toe => a.dot(&ground.up()),
                    Figure::Pitch => (pose.rotation * Vector3::z()).y,
                };
                let least = (1.0 - across * across).max(0.0).sqrt() - turn;
                let bend = match figure {
                    Figure::Camber => 1.0 / least + 1.0 / least.powi(3),
                    Figure::Toe | Figure::Pitch => 1.0 / least + 2.0 / (least * least),
                };
                bound(least, bend / LEVER)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::Rotation3;

    /// Central differences on the group, for every kind of row, at a pose far from the reference.
    #[test]
    fn gradients_are_the_slopes_of_the_residuals() {
        let wheel = Wheel::reading(Point3::new(3.0, 750.0, 300.0), -0.02, 0.005);
        let ground = Ground::tilted(0.02, -0.03);
        let pose = Pose {
            rotation: Rotation3::from_scaled_axis(Vector3::new(0.3, -0.2, 0.25)),
            centre: Point3::new(-5.0, 742.0, 351.0),
        };
        let reads = |figure| Row::Reads { figure, wheel, ground, target: 0.01 };
        let rows = [
            Row::Rod {
                subframe: Point3::new(-40.0, 430.0, 440.0),
                knuckle: Vector3::new(-20.0, -95.0, 160.0),
                length: 230.0,
            },
            Row::Height { z: 320.0 },
            reads(Figure::Camber),
            reads(Figure::Toe),
            reads(Figure::Pitch),
        ];
        for row in rows {
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
        let reads = |figure| Row::Reads { figure, wheel, ground, target: 0.01 };
        let (subframe, length) = (Point3::new(-40.0, 430.0, 440.0), 230.0);
        let rows = [
            Row::Rod { subframe, knuckle: Vector3::new(-20.0, -95.0, 160.0), length },
            Row::Rod { subframe, knuckle: Vector3::new(5.0, -300.0, 90.0), length: 40.0 },
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
        for row in rows {
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
}
