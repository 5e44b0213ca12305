//! Nonlinear least squares: Levenberg and Marquardt's method on the singular value decomposition.
//!
//! Each step minimises `|r + J s|^2 + m |D s|^2`, with `D` the largest column norms of the Jacobian so far, which makes it
//! indifferent to the units of the unknowns. The damping `m` follows how well the last step was predicted (K. Madsen, H. B.
//! Nielsen, O. Tingleff, *Methods for Non-Linear Least Squares Problems*, 2nd edition 2004, section 3.2, cited from memory).
//! Held against the certified values of the NIST Statistical Reference Datasets in `tests/reference`.

use nalgebra::{DMatrix, DVector};

const MOST_STEPS: usize = 300;
/// The angle between the residuals and every column of the Jacobian is a right one to within this.
const SQUARE: f64 = 1e-12;
/// Steps below this part of the unknowns are rounding,
const SETTLED: f64 = 1e-13;
/// and so are steps that change no observation by this part of its deviation.
const UNSEEN: f64 = 1e-10;
/// Changes of the sum of squares below this part of it are rounding.
const NOISE: f64 = 1e-13;
/// What an undamped step may still take off the sum of squares, as a part of it.
const LEVEL: f64 = 1e-9;
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
    pub(crate) there: Linearised,
}

/// No least sum of squares was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unsettled;

impl std::fmt::Display for Unsettled {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("no least sum of squares was found")
    }
}

impl std::error::Error for Unsettled {}

impl Linearised {
    /// Whether all of it is numbers; the decomposition of what is none never ends.
    pub(crate) fn is_finite(&self) -> bool {
        self.residuals.iter().chain(self.jacobian.iter()).all(|x| x.is_finite())
    }

    /// How steeply the sum of squares falls, by unknowns in units of `1/scale`.
    fn slope(&self, scale: &DVector<f64>) -> f64 {
        self.jacobian.tr_mul(&self.residuals).component_div(scale).norm()
    }

    /// The sum of squares that is foretold for a step.
    fn after(&self, step: &DVector<f64>) -> f64 {
        (&self.residuals + &self.jacobian * step).norm_squared()
    }
}

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
        let count = self.unknowns.len();
        if self.there.jacobian.is_empty() {
            return DMatrix::zeros(count, count);
        }
        let scale = DVector::from_fn(count, |i, _| unit(self.there.jacobian.column(i).norm()));
        let scaled = divided(&self.there.jacobian, &scale);
        let normal = scaled.tr_mul(&scaled);
        let svd = scaled.svd(false, true);
        let Some(v_t) = svd.v_t else { return DMatrix::zeros(count, count) };
        let least = svd.singular_values.amax() * RANK;
        let inverse = svd.singular_values.map(|s| if s > least { 1.0 / (s * s) } else { 0.0 });
        let rough = v_t.tr_mul(&DMatrix::from_diagonal(&inverse)) * &v_t;
        // The decomposition now and then has eight digits only: Schulz's iteration `C (2 - N C)` doubles them.
        let inverse = &rough * 2.0 - &rough * normal * &rough;
        divided(&divided(&inverse, &scale).transpose(), &scale)
    }
}

/// A scale for an unknown; one that nothing depends on needs none.
fn unit(longest: f64) -> f64 {
    if longest > 0.0 { longest } else { 1.0 }
}

fn divided(matrix: &DMatrix<f64>, scale: &DVector<f64>) -> DMatrix<f64> {
    let mut divided = matrix.clone();
    for (mut column, scale) in divided.column_iter_mut().zip(scale) {
        column /= *scale;
    }
    divided
}

/// Finds the unknowns nearest `start` with the least sum of squared residuals.
///
/// `model` gives residuals and derivatives at a place, or `None` where it has none; the start must have some.
///
/// # Errors
///
/// [`Unsettled`] when the sum of squares still falls after many steps or where the model ends, or has no derivatives at the
/// start.
pub fn least_squares(
    start: DVector<f64>,
    model: impl Fn(&DVector<f64>) -> Option<Linearised>,
) -> Result<Least, Unsettled> {
    match descent(start, model) {
        Some(Descent { lowest, settled: true }) => Ok(lowest),
        _ => Err(Unsettled),
    }
}

/// How far the sum of squares was brought down.
pub(super) struct Descent {
    /// The lowest place.
    pub(super) lowest: Least,
    /// Whether it is the bottom.
    pub(super) settled: bool,
}

/// As [`least_squares`], with the lowest place also where it is not the bottom; `None` without derivatives at the start.
pub(super) fn descent(
    start: DVector<f64>,
    model: impl Fn(&DVector<f64>) -> Option<Linearised>,
) -> Option<Descent> {
    let look = |x: &DVector<f64>| model(x).filter(Linearised::is_finite);
    let there = look(&start)?;
    let mut lowest = Least { unknowns: start, there };
    let mut longest: DVector<f64> = DVector::zeros(lowest.unknowns.len());
    let (mut damping, mut growth) = (1e-3, 2.0);
    for _ in 0..MOST_STEPS {
        let Least { unknowns, there } = &lowest;
        for (longest, column) in longest.iter_mut().zip(there.jacobian.column_iter()) {
            *longest = longest.max(column.norm());
        }
        if is_square(there) {
            return Some(Descent { lowest, settled: true });
        }
        let scale = longest.map(unit);
        let Some(step) = damped_step(there, &scale, damping) else { break };
        let rounding = SETTLED * scale.component_mul(unknowns).norm() + UNSEEN;
        let small = scale.component_mul(&step).norm() <= rounding;
        let next = unknowns + &step;
        let before = there.residuals.norm_squared();
        let predicted = before - there.after(&step);
        let found = look(&next).map(|at| {
            let fall = before - at.residuals.norm_squared();
            // Near the bottom the sum of squares is level to its last digit long before the unknowns are right to theirs;
            // there the slope tells.
            let ratio = if predicted.max(fall.abs()) <= NOISE * before {
                1.0 - at.slope(&scale) / there.slope(&scale)
            } else {
                fall / predicted.max(f64::MIN_POSITIVE)
            };
            (ratio, at)
        });
        if let Some((ratio, there)) = found.filter(|(ratio, _)| *ratio >= 0.0) {
            damping *= (1.0 - (2.0 * ratio - 1.0).powi(3)).max(1.0 / 3.0);
            growth = 2.0;
            lowest = Least { unknowns: next, there };
        } else {
            damping *= growth;
            growth *= 2.0;
        }
        if small {
            // Nothing moves any more: because it is the bottom, not because of the damping?
            let settled = is_bottom(&lowest.there, &scale, rounding);
            return Some(Descent { lowest, settled });
        }
    }
    Some(Descent { lowest, settled: false })
}

/// Whether no column of the Jacobian can take anything off the residuals.
fn is_square(at: &Linearised) -> bool {
    let length = at.residuals.norm();
    at.jacobian.column_iter().all(|column| column.dot(&at.residuals).abs() <= SQUARE * column.norm() * length)
}

/// Whether a step without damping would take nothing off the sum of squares that can be seen.
fn is_bottom(at: &Linearised, scale: &DVector<f64>, rounding: f64) -> bool {
    let before = at.residuals.norm_squared();
    damped_step(at, scale, 0.0)
        .is_some_and(|step| before - at.after(&step) <= LEVEL * before + rounding.powi(2))
}

/// `s = -D^-1 V S (S^2 + m)^-1 U' r` with `U S V'` the decomposition of `J D^-1`.
fn damped_step(at: &Linearised, scale: &DVector<f64>, damping: f64) -> Option<DVector<f64>> {
    let svd = divided(&at.jacobian, scale).try_svd(true, true, f64::EPSILON, 0)?;
    let (u, v_t) = (svd.u?, svd.v_t?);
    let least = svd.singular_values.amax() * RANK;
    let along = u.transpose() * &at.residuals;
    let length =
        along.zip_map(&svd.singular_values, |r, s| if s > least { -r * s / (s * s + damping) } else { 0.0 });
    Some((v_t.transpose() * length).component_div(scale))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// One unknown `x` and the two observations `x = 2` and `x = 2 + over`.
    fn two(x: f64, over: f64) -> Linearised {
        Linearised {
            residuals: DVector::from_vec(vec![x - 2.0, x - 2.0 - over]),
            jacobian: DMatrix::from_element(2, 1, 1.0),
        }
    }

    fn start(x: f64) -> DVector<f64> {
        DVector::from_element(1, x)
    }

    #[test]
    fn the_least_sum_of_squares_of_two_readings_is_at_their_mean() {
        let least = least_squares(start(-40.0), |x| Some(two(x[0], 1.0))).expect("it has one");
        assert_relative_eq!(least.unknowns[0], 2.5, epsilon = 1e-12);
        assert_relative_eq!(least.sum_of_squares(), 0.5, epsilon = 1e-12);
        assert_relative_eq!(least.covariance()[(0, 0)], 0.5, epsilon = 1e-12);
        assert_eq!(least.freedom(), 1);
    }

    #[test]
    fn a_place_where_only_the_model_ends_is_not_the_least() {
        for wall in [0.5, 1.0, 1.9, 1.999] {
            let found = least_squares(start(0.0), |x| (x[0] < wall).then(|| two(x[0], 0.0)));
            assert_eq!(found, Err(Unsettled), "a wall at {wall}");
        }
    }

    #[test]
    fn an_unknown_that_nothing_depends_on_stays_where_it_is() {
        let least = least_squares(DVector::from_vec(vec![7.0, 0.0]), |x| {
            let Linearised { residuals, jacobian } = two(x[1], 1.0);
            Some(Linearised { residuals, jacobian: jacobian.insert_column(0, 0.0) })
        });
        let least = least.expect("the other one has its least");
        assert_relative_eq!(least.unknowns, DVector::from_vec(vec![7.0, 2.5]), epsilon = 1e-9);
        assert_relative_eq!(least.covariance()[(0, 0)], 0.0);
    }

    #[test]
    fn nothing_to_find_and_nothing_to_find_it_from_are_no_mistake() {
        let model = |rows, columns| {
            move |_: &DVector<f64>| {
                Some(Linearised { residuals: DVector::zeros(rows), jacobian: DMatrix::zeros(rows, columns) })
            }
        };
        let nothing = least_squares(DVector::zeros(0), model(2, 0)).expect("all is known");
        assert_eq!(nothing.covariance().len(), 0);
        let unread = least_squares(start(1.0), model(0, 1)).expect("nothing is asked of it");
        assert_eq!(unread.freedom(), 0);
        assert_eq!(unread.unknowns, start(1.0));
    }
}
