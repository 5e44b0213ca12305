//! Where the knuckle is.

use nalgebra::{Point3, Rotation3, Vector3, Vector6};

/// A radian, in millimetres: the typical distance of the knuckle's pivots from the wheel centre.
///
/// Unknowns and residuals mix millimetres and radians. Multiplying every angle by this lever makes one
/// millimetre and one unit of angle move the pivots by about as much, so that norms and condition numbers
/// mean something. It scales the equations only, never an answer.
pub const LEVER: f64 = 100.0;

/// Position and attitude of the knuckle in car axes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Turns knuckle-fixed vectors, as they were at the reference, into the present ones.
    pub rotation: Rotation3<f64>,
    /// The wheel centre, mm.
    pub centre: Point3<f64>,
}

impl Pose {
    /// The pose in which the car was measured.
    pub fn reference(centre: Point3<f64>) -> Self {
        Self { rotation: Rotation3::identity(), centre }
    }

    /// Where a knuckle point is now, from its arm at the reference.
    pub fn point(&self, arm: &Vector3<f64>) -> Point3<f64> {
        self.centre + self.rotation * arm
    }

    /// The pose after a small motion `(dp, LEVER * dw)`: a shift of the wheel centre by `dp` and a turn of the
    /// knuckle about it by the rotation vector `dw`, both in car axes and in mm.
    ///
    /// The turn is applied on the rotation group itself, so no angle of the three is special.
    #[must_use]
    pub fn nudged(&self, step: &Vector6<f64>) -> Self {
        let shift = Vector3::new(step[0], step[1], step[2]);
        let turn = Vector3::new(step[3], step[4], step[5]) / LEVER;
        Self { rotation: Rotation3::new(turn) * self.rotation, centre: self.centre + shift }
    }
}
