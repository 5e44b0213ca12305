//! How far what a turn is worth may be off, from how well the car was measured.
//!
//! The profile with one number off by its standard deviation is another car; turned alike it answers differently. With `S` the
//! rates of the adjusters (columns) in the profile and `S_k` those of that car, a change that the model has as `m` is
//! `A_k m = S_k S^+ m` there. Each `A_k - 1`, for the 33 coordinates, is a column of the propagation to the covariance of the
//! rows of `A`.

use nalgebra::{DMatrix, DVector, Matrix2, Matrix2xX, Vector3};

use super::state::State;
use crate::car::{Measurand, Setup, Side};
use crate::geometry::{Angles, Wheel};
use crate::plan::adjusting::Adjuster;

/// Singular values smaller than this part of the largest are none.
const SINGULAR: f64 = 1e-6;

/// The covariances of the two rows of `A`, what a change of camber and of toe in the model is worth.
pub(super) fn slopes(state: &State<'_>, adjusters: &[Adjuster]) -> Angles<Matrix2<f64>> {
    if adjusters.is_empty() {
        return Angles::default();
    }
    let here = rates(state, adjusters);
    let most = here.singular_values().amax();
    let covariance = state.side.errors.covariance();
    let mut rows = Angles::of(|_| DMatrix::<f64>::zeros(2, Measurand::NUMBERS));
    let Ok(back) = here.clone().pseudo_inverse((SINGULAR * most).max(f64::MIN_POSITIVE)) else {
        return Angles::default();
    };
    for point in Measurand::points() {
        for (axis, k) in point.place().enumerate() {
            let sigma = covariance[(k, k)].max(0.0).sqrt();
            if sigma <= 0.0 {
                continue;
            }
            // A car so different that it cannot be put together tells nothing.
            let Some(there) = other_car(state, point, axis, sigma, adjusters) else { continue };
            let change = (there - &here) * &back / sigma;
            rows.camber.set_column(k, &DVector::from_fn(2, |j, _| change[(0, j)]));
            rows.toe.set_column(k, &DVector::from_fn(2, |j, _| change[(1, j)]));
        }
    }
    rows.map(|row| {
        let product = &row * covariance * row.transpose();
        Matrix2::from_fn(|i, j| product[(i, j)])
    })
}

fn rates(state: &State<'_>, adjusters: &[Adjuster]) -> Matrix2xX<f64> {
    Matrix2xX::from_columns(&adjusters.iter().map(|adjuster| state.rate_of(adjuster)).collect::<Vec<_>>())
}

/// The rates of a car with one coordinate off, its arms turned and its cams set alike.
fn other_car(
    state: &State<'_>,
    point: Measurand,
    axis: usize,
    by: f64,
    adjusters: &[Adjuster],
) -> Option<Matrix2xX<f64>> {
    let side = moved(state.side, point, axis, by);
    let setup = state.setup.carried(&Setup::as_found(state.side), &Setup::as_found(&side));
    let there = State::new(&side, state.ground, state.drop, setup).ok()?;
    Some(rates(&there, adjusters))
}

fn moved(side: &Side, point: Measurand, axis: usize, by: f64) -> Side {
    let mut side = side.clone();
    let shift = Vector3::ith(axis, by);
    match point {
        Measurand::Centre => {
            side.wheel = Wheel { centre: side.wheel.centre + shift, ..side.wheel };
        }
        Measurand::Subframe(link) => side.links[link].subframe += shift,
        Measurand::Knuckle(link) => side.links[link].knuckle += shift,
        Measurand::Camber | Measurand::Toe => {}
    }
    side
}
