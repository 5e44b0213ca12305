//! A load on the knuckle, and the work it does as the knuckle moves.

use nalgebra::{Point3, Vector3, Vector6};

use super::{CHARACTERISTIC_LENGTH, Position};

/// A load on the knuckle: a force, N, and its moment about the wheel centre, N mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wrench {
    /// The force.
    pub force: Vector3<f64>,
    /// Its moment about the wheel centre.
    pub moment: Vector3<f64>,
}

impl Wrench {
    /// A force at a point.
    pub fn at(force: Vector3<f64>, point: &Point3<f64>, centre: &Point3<f64>) -> Self {
        Self { force, moment: (point - centre).cross(&force) }
    }

    /// Both together.
    #[must_use]
    pub(crate) fn and(&self, other: &Self) -> Self {
        Self { force: self.force + other.force, moment: self.moment + other.moment }
    }

    /// What is left of it without another.
    #[must_use]
    pub(crate) fn without(&self, other: &Self) -> Self {
        Self { force: self.force - other.force, moment: self.moment - other.moment }
    }

    /// As the rows count: moments by the characteristic length.
    pub(crate) fn vector(&self) -> Vector6<f64> {
        let (f, m) = (self.force, self.moment / CHARACTERISTIC_LENGTH);
        Vector6::new(f.x, f.y, f.z, m.x, m.y, m.z)
    }

    /// The work it does per unit that a row's right-hand side grows while the other rows hold, N mm.
    pub(crate) fn work(&self, position: &Position, row: usize) -> f64 {
        self.vector().dot(&position.response.column(row))
    }
}
