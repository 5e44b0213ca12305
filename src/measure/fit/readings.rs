//! What was read, how the errors of it go together, and how each reading fares.

use nalgebra::DMatrix;

use super::FittedReading;
use super::state::{Seen, State};
use crate::car::Hand;
use crate::geometry::Figure;
use crate::measure::{Least, Round};

/// One figure of one wheel, or the toe of both, that a car is to read.
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
}

/// What makes the errors of readings independent and of unit size: one matrix a round, `W` with `W R W' = I`.
pub(super) struct Whitening {
    pub(super) rounds: Vec<(Vec<usize>, DMatrix<f64>)>,
    /// The deviation of each reading, with that of its height, rad.
    deviations: Vec<f64>,
}

impl Whitening {
    pub(super) fn of(wanted: &[Wanted], states: &[State], before: &[Seen]) -> Self {
        let mut deviations = vec![0.0; wanted.len()];
        let rounds = (0..states.len()).map(|round| {
            let rows: Vec<usize> = (0..wanted.len()).filter(|&row| wanted[row].round == round).collect();
            let weights = DMatrix::from_fn(rows.len(), 4, |i, k| wanted[rows[i]].weights[k]);
            let with_drops = weights * before[round].with_drops;
            let mut covariance = &with_drops * with_drops.transpose() * states[round].drop_sigma.powi(2);
            for (i, row) in rows.iter().enumerate() {
                covariance[(i, i)] += wanted[*row].variance;
            }
            for (i, row) in rows.iter().enumerate() {
                deviations[*row] = covariance[(i, i)].sqrt();
            }
            let factor = covariance.cholesky().and_then(|c| c.l().try_inverse());
            let whitening = factor.unwrap_or_else(|| DMatrix::identity(rows.len(), rows.len()));
            (rows, whitening)
        });
        let rounds = rounds.collect();
        Self { rounds, deviations }
    }
}

/// All that is needed to tell how each reading fares.
pub(super) struct Looks<'a> {
    pub(super) wanted: &'a [Wanted],
    pub(super) states: &'a [State],
    pub(super) before: &'a [Seen],
    pub(super) after: &'a [Seen],
    pub(super) whitening: &'a Whitening,
}

impl Looks<'_> {
    pub(super) fn readings(&self, least: &Least) -> Vec<FittedReading> {
        let unknowns = least.there.jacobian.ncols();
        let covariance = least.covariance();
        (self.wanted.iter().enumerate())
            .map(|(row, wanted)| {
                let at = |seen: &[Seen]| -> f64 {
                    seen[wanted.round]
                        .figures
                        .iter()
                        .zip(wanted.weights)
                        .map(|(figure, weight)| figure * weight)
                        .sum()
                };
                let slope = least.there.jacobian.row(unknowns + row);
                let redundancy = 1.0 - (slope * &covariance * slope.transpose())[(0, 0)];
                let state = &self.states[wanted.round];
                let first = wanted.weights.iter().position(|weight| *weight != 0.0).unwrap_or(0);
                let both = wanted.weights.iter().filter(|weight| **weight != 0.0).count() > 1;
                let hand = Hand::BOTH[first / 2];
                FittedReading {
                    round: wanted.round,
                    side: (!both).then_some(hand),
                    figure: if first % 2 == 0 { Figure::Camber } else { Figure::Toe },
                    drop_mm: if both {
                        f64::midpoint(state.drops[0], state.drops[1])
                    } else {
                        state.drops[hand.index()]
                    },
                    read_deg: wanted.value.to_degrees(),
                    sigma_deg: self.whitening.deviations[row].to_degrees(),
                    before_deg: at(self.before).to_degrees(),
                    after_deg: at(self.after).to_degrees(),
                    standardized: least.there.residuals[unknowns + row] / redundancy.max(1e-6).sqrt(),
                }
            })
            .collect()
    }
}
