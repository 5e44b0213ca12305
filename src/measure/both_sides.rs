//! The numbers of both sides of a car together, and how their errors go together.
//!
//! A profile describes the left side; the right one is its mirror image. So an error in a point is an error on both sides, and
//! only the readings of the two wheels have errors of their own. A point that `[right]` gives by itself moves with its
//! counterpart too.

use nalgebra::{DMatrix, DVector};

use crate::car::{Car, Hand, Measurand, PerSide};

/// The 35 numbers of the left side, and the two readings of the right one behind them: their errors.
#[derive(Debug, Clone, PartialEq)]
pub struct BothSides {
    /// `L` with `S = L L'`; a column for each way in which anything may be off.
    pub factor: DMatrix<f64>,
    /// `S`, mm and rad.
    pub covariance: DMatrix<f64>,
}

impl BothSides {
    /// How many numbers they are.
    pub const NUMBERS: usize = Measurand::NUMBERS + 2;

    /// The numbers of a car and their errors.
    pub fn of(car: &Car) -> Self {
        let PerSide { left, right } = car.sides.each(|side| side.errors.covariance());
        let (own, count) = (Measurand::NUMBERS, Self::NUMBERS);
        let mut covariance = DMatrix::zeros(count, count);
        covariance.view_mut((0, 0), (own, own)).copy_from(left);
        // The right wheel's own readings go with the points as they do in its errors, and not with the left readings.
        let readings = Measurand::Camber.place().start;
        covariance.view_mut((own, own), (2, 2)).copy_from(&right.view((readings, readings), (2, 2)));
        covariance.view_mut((own, 0), (2, readings)).copy_from(&right.view((readings, 0), (2, readings)));
        covariance.view_mut((0, own), (readings, 2)).copy_from(&right.view((0, readings), (readings, 2)));
        let eigen = covariance.clone().symmetric_eigen();
        // Angles are a thousand times smaller than mm, and their variances a million times; what is fixed is far below.
        let least = 1e-16 * eigen.eigenvalues.amax();
        let kept: Vec<usize> = (0..count).filter(|&i| eigen.eigenvalues[i] > least).collect();
        let columns: Vec<DVector<f64>> =
            kept.iter().map(|&i| eigen.eigenvectors.column(i) * eigen.eigenvalues[i].sqrt()).collect();
        Self { factor: DMatrix::from_columns(&columns), covariance }
    }

    /// The place of a number of one side among those of both.
    pub(super) fn place(hand: Hand, number: usize) -> usize {
        let own = hand == Hand::Right && number >= Measurand::Camber.place().start;
        if own { number + 2 } else { number }
    }

    /// What one of the numbers is, and which of its coordinates, where it is one of three.
    pub fn measurand(number: usize) -> (Measurand, Option<usize>) {
        let own = if number < Measurand::NUMBERS { number } else { number - 2 };
        let found = Measurand::all().find(|measurand| measurand.place().contains(&own));
        let measurand = found.unwrap_or(Measurand::Toe);
        let place = measurand.place();
        (measurand, (place.len() > 1).then(|| own - place.start))
    }

    /// The side whose reading one of the last four numbers is; points are of both sides.
    pub fn hand(number: usize) -> Hand {
        if number < Measurand::NUMBERS { Hand::Left } else { Hand::Right }
    }

    /// The car moved by `L z`.
    pub(super) fn car(&self, car: &Car, z: &DVector<f64>) -> Car {
        Self::moved(car, &(&self.factor * z))
    }

    /// The car with its numbers, mm and rad, moved by so much.
    #[must_use]
    pub fn moved(car: &Car, by: &DVector<f64>) -> Car {
        let mut moved = car.clone();
        for side in &mut moved.sides {
            let mut numbers = side.numbers();
            for (place, number) in numbers.iter_mut().enumerate() {
                *number += by[Self::place(side.hand, place)];
            }
            *side = side.with_numbers(&numbers);
        }
        moved
    }
}
