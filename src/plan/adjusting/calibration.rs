//! How what is read on the car follows from what the model says.

use nalgebra::{Matrix2, Vector2};

/// Camber and toe as they are read, from camber and toe of the model: `read + slope (model - at)`.
///
/// Before anything is read the model is all there is, and [`NONE`](Self::NONE) stands for that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Calibration {
    /// Camber and toe of the model in the state that was read, rad.
    pub(crate) at: Vector2<f64>,
    /// Camber and toe that were read in it, rad.
    pub(crate) read: Vector2<f64>,
    /// What a change in the model is worth on the car.
    pub(crate) slope: Matrix2<f64>,
}

impl Calibration {
    /// The model as it is.
    pub(crate) const NONE: Self = Self {
        at: Vector2::new(0.0, 0.0),
        read: Vector2::new(0.0, 0.0),
        slope: Matrix2::new(1.0, 0.0, 0.0, 1.0),
    };

    /// What is read where the model has `model`, rad.
    pub(super) fn reading(&self, model: [f64; 2]) -> [f64; 2] {
        (self.read + self.slope * (Vector2::from(model) - self.at)).into()
    }

    /// What is read where camber and toe of the model change by `rates`.
    pub(super) fn rates(&self, rates: [f64; 2]) -> [f64; 2] {
        (self.slope * Vector2::from(rates)).into()
    }

    /// What the model has where `reading` is read, rad; `None` where a change in the model is worth nothing.
    pub(super) fn model(&self, reading: [f64; 2]) -> Option<[f64; 2]> {
        let change = self.slope.try_inverse()? * (Vector2::from(reading) - self.read);
        Some((self.at + change).into())
    }
}
