//! Where the knuckle is.

use nalgebra::{Matrix3, Point3, Rotation3, SimdValue, Vector3, Vector6};

use super::{Four, Number};

/// A radian, in millimetres: the typical distance of the knuckle's pivots from the wheel centre.
///
/// Unknowns and residuals mix millimetres and radians. Multiplying every angle by this length makes one
/// millimetre and one unit of angle move the pivots by about as much, so that norms and condition numbers
/// mean something. It scales the equations only, never an answer.
pub const CHARACTERISTIC_LENGTH: f64 = 100.0;

/// Position and attitude of the knuckle in car axes; of several wheels at once with another [`Number`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose<T: Number = f64> {
    /// Turns knuckle-fixed vectors, as they were at the reference, into the present ones.
    pub rotation: Rotation3<T>,
    /// The wheel centre, mm.
    pub centre: Point3<T>,
}

impl Pose {
    /// The pose in which the car was measured.
    pub fn reference(centre: Point3<f64>) -> Self {
        Self { rotation: Rotation3::identity(), centre }
    }

    /// The same motion of another wheel, whose centre was at `to` where that of this one was at `from`.
    #[must_use]
    pub(crate) fn carried(&self, from: &Point3<f64>, to: &Point3<f64>) -> Self {
        Self { centre: to + (self.centre - from), ..*self }
    }

    /// The pose after a small motion `(dp, CHARACTERISTIC_LENGTH * dw)`: a shift of the wheel centre by `dp` and a turn of the
    /// knuckle about it by the rotation vector `dw`, both in car axes and in mm.
    ///
    /// The turn is applied on the rotation group itself, so no angle of the three is special.
    #[must_use]
    pub fn nudged(&self, step: &Vector6<f64>) -> Self {
        let shift = Vector3::new(step[0], step[1], step[2]);
        let turn = Vector3::new(step[3], step[4], step[5]) / CHARACTERISTIC_LENGTH;
        Self { rotation: Rotation3::new(turn) * self.rotation, centre: self.centre + shift }
    }
}

impl Pose<Four> {
    /// The poses of four wheels as one.
    pub fn together(of: [&Pose; 4]) -> Self {
        Self { rotation: of.map(|pose| pose.rotation).into(), centre: of.map(|pose| pose.centre).into() }
    }

    /// The pose of one of them.
    pub fn one(&self, wheel: usize) -> Pose {
        Pose { rotation: self.rotation.extract(wheel), centre: self.centre.extract(wheel) }
    }
}

impl<T: Number> Pose<T> {
    /// Where a knuckle point is now, from its arm at the reference.
    pub fn point(&self, arm: &Vector3<T>) -> Point3<T> {
        self.centre + self.rotation * arm
    }

    /// The pose after a step of the solver: as [`nudged`](Pose::nudged) up to the second order, but without a sine.
    ///
    /// The turn is Cayley's: with `t` half the rotation vector, `I + 2 / (1 + t.t) ([t] + [t]^2)`, a rotation for every `t`.
    pub(super) fn stepped(&self, step: &[T; 6]) -> Self {
        let half = T::splat(0.5 / CHARACTERISTIC_LENGTH);
        let [x, y, z] = [step[3] * half, step[4] * half, step[5] * half];
        let (xx, yy, zz) = (x * x, y * y, z * z);
        let two = T::splat(2.0) / (T::splat(1.0) + xx + yy + zz);
        let one = T::splat(1.0);
        let turn = Matrix3::new(
            one - two * (yy + zz),
            two * (x * y - z),
            two * (x * z + y),
            two * (x * y + z),
            one - two * (xx + zz),
            two * (y * z - x),
            two * (x * z - y),
            two * (y * z + x),
            one - two * (xx + yy),
        );
        Self {
            rotation: Rotation3::from_matrix_unchecked(turn * self.rotation.matrix()),
            centre: self.centre + Vector3::new(step[0], step[1], step[2]),
        }
    }

    /// The same pose with a rotation that is square again after many products: `R (3 - R'R) / 2`, Newton's step to the
    /// nearest one.
    pub(super) fn squared(&self) -> Self {
        let turn = self.rotation.matrix();
        let three = Matrix3::from_diagonal_element(T::splat(3.0));
        let square = (turn * (three - turn.tr_mul(turn))) * T::splat(0.5);
        Self { rotation: Rotation3::from_matrix_unchecked(square), ..*self }
    }
}
