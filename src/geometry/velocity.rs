//! The velocity of the knuckle as a rigid body.

use nalgebra::{Point3, Vector3};

/// The velocity state of the knuckle, per unit of whatever moves it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// The wheel centre, mm.
    pub(crate) centre: Point3<f64>,
    /// Velocity of the wheel centre, mm per unit.
    pub shift: Vector3<f64>,
    /// Angular velocity of the knuckle, rad per unit.
    pub turn: Vector3<f64>,
}

impl Motion {
    /// The velocity of a point of the knuckle that is now at `point`: `v + w x (p - c)`.
    pub fn velocity(&self, point: &Point3<f64>) -> Vector3<f64> {
        self.shift + self.turn.cross(&(point - self.centre))
    }

    /// How the velocity of a knuckle-fixed vector changes if the knuckle keeps its turn: `w x (w x b)`.
    pub(super) fn whirl(&self, fixed: &Vector3<f64>) -> Vector3<f64> {
        self.turn.cross(&self.turn.cross(fixed))
    }

    /// How fast the distance from a fixed point to a point of the knuckle grows: 0 for a rod.
    ///
    /// For a spring or a damper between the body and the knuckle this is minus its motion ratio.
    pub fn lengthening(&self, fixed: &Point3<f64>, point: &Point3<f64>) -> f64 {
        (point - fixed).normalize().dot(&self.velocity(point))
    }
}
