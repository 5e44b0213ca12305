//! What was known of a car before its readings.

use nalgebra::{DMatrix, DVector};

use super::NUMBERS;
use crate::car::{Car, Measurand};

/// What was known before.
pub(super) struct Prior {
    /// `L` with `S = L L'`.
    pub(super) factor: DMatrix<f64>,
    pub(super) covariance: DMatrix<f64>,
}

impl Prior {
    pub(super) fn of(car: &Car) -> Self {
        let [left, right] = car.sides.each_ref().map(|side| side.errors.covariance());
        let own = Measurand::NUMBERS;
        let mut covariance = DMatrix::zeros(NUMBERS, NUMBERS);
        covariance.view_mut((0, 0), (own, own)).copy_from(left);
        // The right wheel's own readings go with the points as they do in its errors, and not with the left readings.
        let readings = Measurand::Camber.place().start;
        covariance.view_mut((own, own), (2, 2)).copy_from(&right.view((readings, readings), (2, 2)));
        covariance.view_mut((own, 0), (2, readings)).copy_from(&right.view((readings, 0), (2, readings)));
        covariance.view_mut((0, own), (readings, 2)).copy_from(&right.view((0, readings), (readings, 2)));
        let eigen = covariance.clone().symmetric_eigen();
        // Angles are a thousand times smaller than mm, and their variances a million times; what is fixed is far below.
        let least = 1e-16 * eigen.eigenvalues.amax();
        let kept: Vec<usize> = (0..NUMBERS).filter(|&i| eigen.eigenvalues[i] > least).collect();
        let columns: Vec<DVector<f64>> =
            kept.iter().map(|&i| eigen.eigenvectors.column(i) * eigen.eigenvalues[i].sqrt()).collect();
        Self { factor: DMatrix::from_columns(&columns), covariance }
    }

    /// The car moved by `L z`.
    pub(super) fn car(&self, car: &Car, z: &DVector<f64>) -> Car {
        let by = &self.factor * z;
        let mut moved = car.clone();
        for (i, side) in moved.sides.iter_mut().enumerate() {
            let mut numbers = side.numbers();
            for (place, number) in numbers.iter_mut().enumerate() {
                // The points of both sides move alike, as mirror images; each wheel has its own reading.
                let own = place >= Measurand::Camber.place().start && i == 1;
                *number += by[if own { place + 2 } else { place }];
            }
            *side = side.with_numbers(&numbers);
        }
        moved
    }
}
