//! What was read, how the errors of it go together, and how each reading fares.

use nalgebra::{DMatrix, DVector, RowVector3, RowVector4};

use super::FittedReading;
use super::state::{Seen, State};
use crate::car::Hand;
use crate::geometry::Figure;
use crate::measure::{Least, Round, SIGMAS_OF_95};

/// One figure of one wheel, or the toe of both, that a car is to read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wanted {
    pub(super) round: usize,
    /// Weights of left camber, left toe, right camber, right toe.
    pub(super) weights: [f64; 4],
    pub(super) value: f64,
    variance: f64,
}

impl Wanted {
    /// The figures of a round.
    pub(super) fn of(round: usize, of: &Round) -> Vec<Self> {
        let mut wanted = Vec::new();
        for (i, wheel) in of.wheels.iter().enumerate() {
            for (k, measured) in [wheel.camber, wheel.toe].into_iter().enumerate() {
                let mut weights = [0.0; 4];
                weights[2 * i + k] = 1.0;
                wanted.extend(measured.map(|m| Self {
                    round,
                    weights,
                    value: m.value,
                    variance: m.sigma.powi(2),
                }));
            }
        }
        let total = of.total_toe.map(|m| Self {
            round,
            weights: [0.0, 1.0, 0.0, 1.0],
            value: m.value,
            variance: m.sigma.powi(2),
        });
        wanted.extend(total);
        wanted
    }

    /// How it changes with the drops of left, right and front, rad/mm.
    fn with_drops(&self, seen: &Seen) -> RowVector3<f64> {
        RowVector4::from(self.weights) * seen.with_drops
    }

    /// What it reads, rad.
    fn figure(&self, seen: &Seen) -> f64 {
        seen.figures.iter().zip(self.weights).map(|(figure, weight)| figure * weight).sum()
    }

    /// How it fares, in numbers to print.
    pub(super) fn reading(
        &self,
        state: &State,
        before: &Seen,
        after: &Seen,
        standardized: f64,
    ) -> FittedReading {
        let first = self.weights.iter().position(|weight| *weight != 0.0).unwrap_or(0);
        let both = self.weights.iter().filter(|weight| **weight != 0.0).count() > 1;
        let hand = Hand::BOTH[first / 2];
        let height = self.with_drops(before).norm() * state.drop_sigma;
        let sigma_deg = self.variance.sqrt().hypot(height).to_degrees();
        FittedReading {
            round: self.round,
            side: (!both).then_some(hand),
            figure: if first % 2 == 0 { Figure::Camber } else { Figure::Toe },
            drop_mm: if both {
                f64::midpoint(state.drops.left, state.drops.right)
            } else {
                state.drops[hand]
            },
            read_deg: self.value.to_degrees(),
            sigma_deg,
            good_to_deg: SIGMAS_OF_95 * sigma_deg,
            before_deg: self.figure(before).to_degrees(),
            after_deg: self.figure(after).to_degrees(),
            standardized,
        }
    }
}

/// What makes the errors of readings independent and of unit size: one matrix a round, `W` with `W R W' = I`.
pub(super) struct Whitening {
    /// The rows of each round among the readings, and its `W`.
    pub(super) rounds: Vec<(Vec<usize>, DMatrix<f64>)>,
}

impl Whitening {
    /// `None` where the errors of a round are no errors.
    pub(super) fn of(wanted: &[Wanted], states: &[State], before: &[Seen]) -> Option<Self> {
        let rounds = (0..states.len()).map(|round| {
            let rows: Vec<usize> = (0..wanted.len()).filter(|&row| wanted[row].round == round).collect();
            let with_drops: Vec<RowVector3<f64>> =
                rows.iter().map(|&row| wanted[row].with_drops(&before[round])).collect();
            let height = states[round].drop_sigma.powi(2);
            let covariance = DMatrix::from_fn(rows.len(), rows.len(), |i, j| {
                let own = if i == j { wanted[rows[i]].variance } else { 0.0 };
                own + height * with_drops[i].dot(&with_drops[j])
            });
            let whitening = covariance.cholesky()?.l().try_inverse()?;
            Some((rows, whitening))
        });
        Some(Self { rounds: rounds.collect::<Option<_>>()? })
    }

    /// The misfit of each reading over its own deviation, for readings of a round whose errors go together through the height.
    ///
    /// With `P = R^-1 = W'W`, `v` the misfits and `Q` their cofactors, `w_j = (P v)_j / sqrt((P Q P)_jj)` (W. Baarda 1968, as in
    /// `network`); in whitened misfits `u = W v` with cofactors `I - J C J'` that is `(W'u)_j / sqrt((W'(I - J C J')W)_jj)`.
    ///
    /// Behind the readings stand `lengths` rows that are independent already: for them `W` is 1.
    pub(super) fn standardized(&self, least: &Least, lengths: usize) -> Vec<f64> {
        /// Less than this part of a reading's weight in its own check is rounding.
        const NONE: f64 = 1e-6;
        let unknowns = least.there.jacobian.ncols();
        let covariance = least.covariance();
        let mut standardized = vec![0.0; least.there.residuals.len() - unknowns];
        let alone = standardized.len() - lengths..standardized.len();
        let alone = alone.map(|row| (vec![row], DMatrix::identity(1, 1)));
        for (rows, whitening) in self.rounds.iter().cloned().chain(alone) {
            let slopes =
                DMatrix::from_fn(rows.len(), unknowns, |i, j| least.there.jacobian[(unknowns + rows[i], j)]);
            let misfits = DVector::from_fn(rows.len(), |i, _| least.there.residuals[unknowns + rows[i]]);
            let cofactors =
                DMatrix::identity(rows.len(), rows.len()) - &slopes * &covariance * slopes.transpose();
            let weighed = whitening.tr_mul(&misfits);
            let spread = whitening.tr_mul(&cofactors) * &whitening;
            let whole = whitening.tr_mul(&whitening);
            for (i, row) in rows.iter().enumerate() {
                if spread[(i, i)] > NONE * whole[(i, i)] {
                    standardized[*row] = weighed[i] / spread[(i, i)].sqrt();
                }
            }
        }
        standardized
    }
}
