//! Nonlinear least squares: Levenberg and Marquardt's method on the singular value decomposition.
//!
//! Each step minimises `|r + J s|^2 + m |D s|^2`, with `D` the largest column norms of the Jacobian so far, which makes it
//! indifferent to the units of the unknowns. The damping `m` follows how well the last step was predicted (K. Madsen, H. B.
//! Nielsen, O. Tingleff, *Methods for Non-Linear Least Squares Problems*, 2nd edition 2004, section 3.2, cited from memory).
//! Held against the certified values of the NIST Statistical Reference Datasets in `tests/reference`.

use nalgebra::{DMatrix, DVector};

const MOST_STEPS: usize = 1000;
/// The angle between the residuals and every column of the Jacobian is a right one to within this.
const SQUARE: f64 = 1e-9;
/// Scaled steps below this part of the unknowns are rounding.
const SETTLED: f64 = 1e-13;
/// Singular values below this part of the largest are none.
const RANK: f64 = 1e-12;

/// Residuals and their derivatives at a place, both divided by the standard deviations of the observations.
#[derive(Debug, Clone, PartialEq)]
pub struct Linearised {
    /// Computed less observed, one an observation.
    pub residuals: DVector<f64>,
    /// Their derivatives, a row an observation, a column an unknown.
    pub jacobian: DMatrix<f64>,
}

/// Where the sum of squares is least.
#[derive(Debug, Clone, PartialEq)]
pub struct Least {
    /// The unknowns.
    pub unknowns: DVector<f64>,
    /// Residuals and derivatives there.
    pub there: Linearised,
}

/// No least sum of squares was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unsettled;

impl Least {
    /// The sum of squares.
    pub fn sum_of_squares(&self) -> f64 {
        self.there.residuals.norm_squared()
    }

    /// Observations less unknowns.
    pub fn freedom(&self) -> usize {
        self.there.jacobian.nrows().saturating_sub(self.there.jacobian.ncols())
    }

    /// The covariance of the unknowns for observations whose deviations are those that were stated: `(J'J)^-1`, over the
    /// directions that the observations hold.
    pub fn covariance(&self) -> DMatrix<f64> {
        let svd = self.there.jacobian.clone().svd(false, true);
        let Some(v_t) = svd.v_t else { return DMatrix::zeros(0, 0) };
        let least = svd.singular_values.amax() * RANK;
        let inverse = svd.singular_values.map(|s| if s > least { 1.0 / (s * s) } else { 0.0 });
        v_t.transpose() * DMatrix::from_diagonal(&inverse) * v_t
    }
}

/// Finds the unknowns nearest `start` with the least sum of squared residuals.
///
/// `model` gives residuals and derivatives at a place, or `None` where it has none; the start must have some.
///
/// # Errors
///
/// [`Unsettled`] when the sum of squares still falls after many steps, or has no derivatives at the start.
pub fn least_squares(
    start: DVector<f64>,
    model: impl Fn(&DVector<f64>) -> Option<Linearised>,
) -> Result<Least, Unsettled> {
    let sound = |at: &Linearised| at.residuals.iter().chain(at.jacobian.iter()).all(|x| x.is_finite());
    let look = |x: &DVector<f64>| model(x).filter(sound);
    let mut unknowns = start;
    let mut there = look(&unknowns).ok_or(Unsettled)?;
    let mut scale = DVector::from_element(unknowns.len(), f64::MIN_POSITIVE.sqrt());
    let (mut damping, mut growth) = (1e-3, 2.0);
    for _ in 0..MOST_STEPS {
        for (scale, column) in scale.iter_mut().zip(there.jacobian.column_iter()) {
            *scale = scale.max(column.norm());
        }
        if is_square(&there) {
            return Ok(Least { unknowns, there });
        }
        let Some(step) = damped_step(&there, &scale, damping) else { break };
        let small = scale.component_mul(&step).norm() <= SETTLED * scale.component_mul(&unknowns).norm();
        let next = &unknowns + &step;
        let before = there.residuals.norm_squared();
        let predicted = before - (&there.residuals + &there.jacobian * &step).norm_squared();
        if let Some(at) = look(&next).filter(|at| at.residuals.norm_squared() <= before) {
            let ratio = (before - at.residuals.norm_squared()) / predicted.max(f64::MIN_POSITIVE);
            damping *= (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0);
            growth = 2.0;
            (unknowns, there) = (next, at);
        } else {
            damping *= growth;
            growth *= 2.0;
        }
        if small {
            // Nothing moves any more: settled where the slope is level as far as rounding lets one see.
            let level = predicted <= 1e-9 * before;
            return if level { Ok(Least { unknowns, there }) } else { Err(Unsettled) };
        }
    }
    Err(Unsettled)
}

/// Whether no column of the Jacobian can take anything off the residuals.
fn is_square(at: &Linearised) -> bool {
    let length = at.residuals.norm();
    at.jacobian.column_iter().all(|column| column.dot(&at.residuals).abs() <= SQUARE * column.norm() * length)
}

/// `s = -D^-1 V S (S^2 + m)^-1 U' r` with `U S V'` the decomposition of `J D^-1`.
fn damped_step(at: &Linearised, scale: &DVector<f64>, damping: f64) -> Option<DVector<f64>> {
    let mut scaled = at.jacobian.clone();
    for (mut column, scale) in scaled.column_iter_mut().zip(scale) {
        column /= *scale;
    }
    let svd = scaled.try_svd(true, true, f64::EPSILON, 0)?;
    let (u, v_t) = (svd.u?, svd.v_t?);
    let least = svd.singular_values.amax() * RANK;
    let along = u.transpose() * &at.residuals;
    let length =
        along.zip_map(&svd.singular_values, |r, s| if s > least { -r * s / (s * s + damping) } else { 0.0 });
    Some((v_t.transpose() * length).component_div(scale))
}
