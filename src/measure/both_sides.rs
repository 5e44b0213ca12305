//! The numbers of both sides of a car together, and how their errors go together.
//!
//! A profile describes the left side; the right one is its mirror image, as well as a car is one. So an error in a point is an
//! error on both sides, and beside it the right side differs from the mirror image by a little of its own.

use nalgebra::{DMatrix, DVector, RowDVector};

use crate::car::{Car, Hand, Measurand, PerSide};

/// The 35 numbers of the left side; behind them the two readings of the right one, and by how much each of its coordinates is
/// more than that of the mirror image: their errors.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct BothSides {
    /// `L` with `S = L L'`; a column for each way in which anything may be off.
    pub(crate) factor: DMatrix<f64>,
    /// `S`, mm and rad.
    pub(crate) covariance: DMatrix<f64>,
}

/// What one of the numbers of both sides is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Whose {
    /// A coordinate of the left side and, mirrored, of the right one.
    Both,
    /// A reading of one wheel.
    Wheel(Hand),
    /// By how much the right side differs from the mirror image of the left one.
    RightAlone,
}

impl BothSides {
    /// The place of the right wheel's own readings.
    const RIGHT_READINGS: usize = Measurand::NUMBERS;
    /// The place of what makes the right side differ.
    const RIGHT_ALONE: usize = Self::RIGHT_READINGS + 2;
    /// How many numbers they are.
    pub(crate) const NUMBERS: usize = Self::RIGHT_ALONE + Measurand::READINGS;

    /// The numbers of a car and their errors.
    pub(crate) fn of(car: &Car) -> Self {
        let PerSide { left, right } = car.sides.each(|side| side.errors.covariance());
        let own = Measurand::NUMBERS;
        let mut apart = DMatrix::zeros(2 * own, 2 * own);
        apart.view_mut((0, 0), (own, own)).copy_from(left);
        apart.view_mut((own, own), (own, own)).copy_from(right);
        apart.view_mut((0, own), (own, own)).copy_from(&car.between);
        apart.view_mut((own, 0), (own, own)).tr_copy_from(&car.between);
        let mut to = DMatrix::zeros(Self::NUMBERS, 2 * own);
        for number in 0..own {
            to[(number, number)] = 1.0;
            if number >= Measurand::READINGS {
                to[(number + 2, own + number)] = 1.0;
            } else {
                to[(Self::RIGHT_ALONE + number, own + number)] = 1.0;
                to[(Self::RIGHT_ALONE + number, number)] = -1.0;
            }
        }
        let covariance = &to * apart * to.transpose();
        let eigen = covariance.clone().symmetric_eigen();
        // Angles are a thousand times smaller than mm, and their variances a million times; what is fixed is far below.
        let least = 1e-16 * eigen.eigenvalues.amax();
        let kept: Vec<usize> = (0..Self::NUMBERS).filter(|&i| eigen.eigenvalues[i] > least).collect();
        let mut factor = DMatrix::zeros(Self::NUMBERS, kept.len());
        for (mut column, &i) in factor.column_iter_mut().zip(&kept) {
            column.copy_from(&(eigen.eigenvectors.column(i) * eigen.eigenvalues[i].sqrt()));
        }
        Self { factor, covariance }
    }

    /// The places, among those of both, of what makes up a number of one side: it is their sum.
    pub(super) fn places(hand: Hand, number: usize) -> impl Iterator<Item = usize> {
        let (first, second) = match hand {
            Hand::Left => (number, None),
            Hand::Right if number >= Measurand::READINGS => (number + 2, None),
            Hand::Right => (number, Some(Self::RIGHT_ALONE + number)),
        };
        [Some(first), second].into_iter().flatten()
    }

    /// How something changes with all of them that changes so with the numbers of one side.
    pub(super) fn slope(hand: Hand, of_side: impl Fn(usize) -> f64) -> RowDVector<f64> {
        let mut slope = RowDVector::zeros(Self::NUMBERS);
        for number in 0..Measurand::NUMBERS {
            Self::places(hand, number).for_each(|place| slope[place] += of_side(number));
        }
        slope
    }

    /// What one of the numbers is, and which of its coordinates, where it is one of three.
    pub(crate) fn measurand(number: usize) -> (Measurand, Option<usize>) {
        let own = match Self::whose(number) {
            Whose::RightAlone => number - Self::RIGHT_ALONE,
            Whose::Wheel(Hand::Right) => number - 2,
            _ => number,
        };
        let found = Measurand::all().find(|measurand| measurand.place().contains(&own));
        let measurand = found.unwrap_or(Measurand::Toe);
        let place = measurand.place();
        (measurand, (place.len() > 1).then(|| own - place.start))
    }

    /// Of which side one of the numbers is.
    pub(crate) fn whose(number: usize) -> Whose {
        match number {
            _ if number < Measurand::READINGS => Whose::Both,
            _ if number < Self::RIGHT_READINGS => Whose::Wheel(Hand::Left),
            _ if number < Self::RIGHT_ALONE => Whose::Wheel(Hand::Right),
            _ => Whose::RightAlone,
        }
    }

    /// The car with its numbers, mm and rad, moved by so much.
    #[must_use]
    pub(crate) fn moved(car: &Car, by: &DVector<f64>) -> Car {
        let mut moved = car.clone();
        for side in &mut moved.sides {
            let mut numbers = side.numbers();
            for (place, number) in numbers.iter_mut().enumerate() {
                *number += Self::places(side.hand, place).map(|place| by[place]).sum::<f64>();
            }
            *side = side.with_numbers(&numbers);
        }
        moved
    }

    /// The covariance of the numbers of one side with those of another, by that of all.
    pub(super) fn between(covariance: &DMatrix<f64>, [one, other]: [Hand; 2]) -> DMatrix<f64> {
        let picks = [one, other].map(|hand| {
            let mut pick = DMatrix::zeros(Measurand::NUMBERS, Self::NUMBERS);
            for number in 0..Measurand::NUMBERS {
                Self::places(hand, number).for_each(|place| pick[(number, place)] = 1.0);
            }
            pick
        });
        &picks[0] * covariance * picks[1].transpose()
    }
}
