//! The one solver: six rows, six unknowns, followed from a known pose.
//!
//! Newton's method alone would find *a* pose, perhaps a mirrored assembly of the same rods. So the solution is
//! followed instead, from a start that is known to be the car: the residuals `r0` that the start has in the new
//! rows are taken away little by little,
//!
//! ```text
//! r(x) = (1 - s) r0,    s from 0 to 1,
//! ```
//!
//! with a tangent predictor and a Newton corrector. A step counts only if Newton contracts strongly from its
//! very first correction and the Jacobian's determinant keeps its sign; otherwise it is halved. The contraction
//! test is the affine covariant one of P. Deuflhard, *Newton Methods for Nonlinear Problems*, Springer 2004,
//! chapter 5 (cited from memory).

use nalgebra::{LU, Matrix6, U6, Vector6};

use super::{Certificate, Figure, Ground, LEVER, Pose, Row, Wheel};

/// A step must contract at least this much between its first two Newton corrections.
const CONTRACTION: f64 = 0.25;
/// The longest predicted motion in one step, mm (a tenth of it in rad): short enough to notice a change of the
/// determinant's sign on the way.
const LONGEST_STEP: f64 = 25.0;
/// Steps shorter than this part of the whole way mean that the way has ended.
const SHORTEST_STEP: f64 = 1e-7;
/// Corrections below this, mm, need no further one.
const SETTLED: f64 = 1e-11;
/// Corrections below this, mm, that no longer shrink are rounding noise, amplified by the condition number.
const NOISE: f64 = 1e-7;
/// The largest residual that may be returned, mm (and in rad after division by the lever).
const RESIDUAL: f64 = 1e-9;
/// Condition number, with angles scaled by the lever, past which a position is refused as undetermined.
const WORST_CONDITION: f64 = 1e7;
/// Past this condition number a position is called touchy: near a dead point.
const TOUCHY: f64 = 100.0;
/// More steps than any path of a car needs; a guard against endless creeping.
const MOST_STEPS: usize = 500;
const MOST_CORRECTIONS: usize = 12;

/// A solved and checked position of the knuckle.
#[derive(Debug, Clone, Copy)]
pub struct Position {
    /// Where the knuckle is.
    pub pose: Pose,
    /// Inverse of the Jacobian: column `i` is the motion `(mm, LEVER * rad)` per mm of row `i`'s right-hand side,
    /// for a rod the motion per mm of length.
    pub response: Matrix6<f64>,
    /// Condition number of the Jacobian (Frobenius norms, angles scaled by the lever).
    pub condition: f64,
    /// Largest absolute residual of the six rows, mm.
    pub residual: f64,
    /// What is proven of the pose; `None` near a dead point, where nothing can be.
    pub certificate: Option<Certificate>,
}

/// Why no position was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stuck {
    /// How far the way could be followed, 0 at the start to 1 at the end.
    pub reached: f64,
    /// The pose there.
    pub pose: Pose,
    /// How much each row takes part in the jam, largest 1: the left null vector of the Jacobian. In a
    /// linkage these are the loads of a state of self-stress, so the rods with large shares block each other.
    pub share: [f64; 6],
}

/// Finds the pose that satisfies all rows and is joined to `start` by a continuous motion.
///
/// `start` need not satisfy any row; it must be a pose in which the rows' Jacobian is regular. Which of several assemblies
/// is found is the start's choice: the one on its own side of every dead point. The car's own is found from its reference.
///
/// # Errors
///
/// [`Stuck`] when the motion ends before the rows are met: a rod at its stretch, a linkage at its dead point.
pub fn solve(rows: &[Row; 6], start: &Pose) -> Result<Position, Box<Stuck>> {
    let r0 = residuals(rows, start);
    let mut pose = *start;
    let mut slope = gradients(rows, &pose).lu();
    let side = slope.determinant();
    let (mut reached, mut length) = (0.0, 1.0_f64);
    for _ in 0..MOST_STEPS {
        let Some(tangent) = slope.solve(&-r0).filter(|t| t.iter().all(|x| x.is_finite())) else {
            break;
        };
        length = length.min(1.0 - reached).min(LONGEST_STEP / tangent.norm().max(f64::MIN_POSITIVE));
        // The last step lands on 1 exactly, whatever rounding did to the sum.
        let last = length >= 1.0 - reached;
        let next = if last { 1.0 } else { reached + length };
        let corrected = correct(rows, &(r0 * (1.0 - next)), pose.nudged(&(tangent * (next - reached))));
        match corrected.filter(|(_, slope)| slope.determinant() * side > 0.0) {
            Some((there, slope_there)) => {
                (pose, slope, reached) = (there, slope_there, next);
                if last {
                    return accept(rows, pose).ok_or_else(|| Stuck::at(reached, rows, pose));
                }
                length *= 2.0;
            }
            None => length /= 2.0,
        }
        if length < SHORTEST_STEP {
            break;
        }
    }
    Err(Stuck::at(reached, rows, pose))
}

/// A factorised Jacobian.
type Slope = LU<f64, U6, U6>;

/// Newton's method on `r(x) = wanted`, given up as soon as it does not contract strongly. Returns the pose and the Jacobian
/// of the last correction, which hardly moved it.
fn correct(rows: &[Row; 6], wanted: &Vector6<f64>, mut pose: Pose) -> Option<(Pose, Slope)> {
    let mut before = f64::INFINITY;
    for _ in 0..MOST_CORRECTIONS {
        let slope = gradients(rows, &pose).lu();
        let step = slope.solve(&(wanted - residuals(rows, &pose)))?;
        let size = step.norm();
        let shrinks = size <= CONTRACTION * before;
        if !(shrinks || before.max(size) < NOISE) || size > LONGEST_STEP {
            return None;
        }
        pose = pose.nudged(&step);
        if size < SETTLED || !shrinks {
            return Some((pose, slope));
        }
        before = size;
    }
    None
}

/// The last look at a solved pose: residual small, Jacobian well enough conditioned.
fn accept(rows: &[Row; 6], mut pose: Pose) -> Option<Position> {
    // Turns multiplied many times over drift off the rotations; what is returned is one.
    pose.rotation.renormalize();
    let jacobian = gradients(rows, &pose);
    let response = jacobian.try_inverse()?;
    let condition = jacobian.norm() * response.norm();
    let residual = residuals(rows, &pose).amax();
    if !(residual <= RESIDUAL && condition <= WORST_CONDITION) {
        return None;
    }
    let certificate = Certificate::of(rows, &pose, &jacobian, &response);
    Some(Position { pose, response, condition, residual, certificate })
}

fn residuals(rows: &[Row; 6], pose: &Pose) -> Vector6<f64> {
    Vector6::from_fn(|i, _| rows[i].residual(pose))
}

fn gradients(rows: &[Row; 6], pose: &Pose) -> Matrix6<f64> {
    Matrix6::from_rows(&rows.each_ref().map(|row| row.gradient(pose).transpose()))
}

impl Position {
    /// The position of a pose that needs no solving because it satisfies the rows already, such as the reference.
    ///
    /// # Errors
    ///
    /// [`Stuck`] where the rows do not determine it.
    pub fn known(rows: &[Row; 6], pose: Pose) -> Result<Self, Box<Stuck>> {
        accept(rows, pose).ok_or_else(|| Stuck::at(1.0, rows, pose))
    }

    /// The largest motion per mm of any row's right-hand side, mm/mm (angles times the lever).
    pub fn worst_rate(&self) -> f64 {
        self.response.column_iter().map(|column| column.norm()).fold(0.0, f64::max)
    }

    /// Whether the rows are so near a dead point that small errors in them count many times.
    pub fn is_touchy(&self) -> bool {
        self.condition > TOUCHY || self.certificate.is_none()
    }

    /// How much each row would take part in a jam; see [`Stuck::share`].
    pub fn share(&self, rows: &[Row; 6]) -> [f64; 6] {
        share(&gradients(rows, &self.pose))
    }

    /// How a figure changes per mm of a row's right-hand side, rad/mm: for a rod, per mm of length.
    pub fn rate(&self, figure: Figure, wheel: &Wheel, ground: &Ground, row: usize) -> f64 {
        let motion = self.response.column(row);
        figure.gradient(&self.pose, wheel, ground).dot(&motion.fixed_rows::<3>(3)) / LEVER
    }
}

impl Stuck {
    fn at(reached: f64, rows: &[Row; 6], pose: Pose) -> Box<Self> {
        Box::new(Self { reached, pose, share: share(&gradients(rows, &pose)) })
    }
}

/// The left null vector of a Jacobian, largest entry 1; zero where it has none to speak of.
fn share(jacobian: &Matrix6<f64>) -> [f64; 6] {
    if !jacobian.iter().all(|x| x.is_finite()) {
        return [0.0; 6];
    }
    let svd = jacobian.svd(true, false);
    let Some(u) = svd.u else { return [0.0; 6] };
    let column = u.column(svd.singular_values.imin());
    let most = column.amax().max(f64::MIN_POSITIVE);
    std::array::from_fn(|i| column[i].abs() / most)
}
