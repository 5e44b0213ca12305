//! One equation for the knuckle: a rod's length, the wheel's height, or a figure to be met.

use nalgebra::{Point3, Vector3, Vector6};

use super::{Figure, Ground, LEVER, Pose, Wheel};

/// A scalar condition on the knuckle's pose.
///
/// To add a kind: give it a variant, its residual and its gradient here, and the solver knows it.
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
}
