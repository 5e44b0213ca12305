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
//!
//! It is written once, for one wheel and for several at a time ([`Number`](super::Number)): several are followed with the same steps, and
//! what is asked of one is asked of all of them.

use nalgebra::Matrix6;
use std::cell::Cell;
use std::fmt;

use super::number::holds;
use super::slope::{Lines, Order, Rows, Slope, misses, norm};
use super::{CHARACTERISTIC_LENGTH, Certificate, Figure, Four, Ground, InRows, Pose, Row, Wheel};

/// A step must contract at least this much between its first two Newton corrections.
const CONTRACTION: f64 = 0.25;
/// The longest predicted motion in one step, mm (a tenth of it in rad): short enough to notice a change of the
/// determinant's sign on the way.
const LONGEST_STEP: f64 = 25.0;
/// Steps shorter than this part of the whole way mean that the way has ended.
const SHORTEST_STEP: f64 = 1e-7;
/// What may be left of a correction at the end of the way, mm.
const SETTLED: f64 = 1e-11;
/// The same at places on the way, which are only passed.
const PASSED: f64 = 1e-6;
/// Corrections below this, mm, that no longer shrink are rounding noise, amplified by the condition number.
const NOISE: f64 = 1e-7;
/// After a correction larger than this, mm, the Jacobian is worked out again; after a smaller one it is good enough.
const FRESH: f64 = 0.05;
/// The largest residual that may be returned, mm (and in rad after division by the characteristic length).
const RESIDUAL: f64 = 1e-9;
/// Condition number, with angles scaled by the characteristic length, past which a position is refused as undetermined.
const WORST_CONDITION: f64 = 1e7;
/// Past this condition number a position is near-singular: near a dead point.
const NEAR_SINGULAR: f64 = 100.0;
/// More steps than any path of a car needs; a guard against endless creeping.
const MOST_STEPS: usize = 500;
const MOST_CORRECTIONS: usize = 16;

thread_local! {
    static STEPS: Cell<u64> = const { Cell::new(0) };
}

/// How many steps this thread has followed so far, over all positions: what an answer costs, where a clock would measure the
/// neighbours as well.
pub fn steps_followed() -> u64 {
    STEPS.get()
}

/// A solved and checked position of the knuckle.
#[derive(Debug, Clone, Copy)]
pub struct Position {
    /// What it was solved for.
    pub(crate) rows: [Row; 6],
    /// Where the knuckle is.
    pub pose: Pose,
    /// Inverse of the Jacobian: column `i` is the motion `(mm, CHARACTERISTIC_LENGTH * rad)` per mm of row `i`'s right-hand side,
    /// for a rod the motion per mm of length.
    pub response: Matrix6<f64>,
    /// Condition number of the Jacobian (Frobenius norms, angles scaled by the characteristic length).
    pub condition: f64,
    /// Largest absolute residual of the six rows, mm.
    pub residual: f64,
}

/// Why no position was found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stuck {
    /// How far the way could be followed, 0 at the start to 1 at the end.
    pub(crate) reached: f64,
    /// The pose there.
    pub pose: Pose,
    /// How much each row takes part in the jam, largest 1: the left null vector of the Jacobian. In a
    /// linkage these are the loads of a state of self-stress, so the rods with large shares block each other.
    pub(crate) share: [f64; 6],
}

impl fmt::Display for Stuck {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "the rods let it come {:.0} percent of the way and no further", 100.0 * self.reached)
    }
}

impl std::error::Error for Stuck {}

/// Finds the pose that satisfies all rows and is joined to `start` by a continuous motion.
///
/// `start` need not satisfy any row; it must be a pose in which the rows' Jacobian is regular. Which of several assemblies
/// is found is the start's choice: the one on its own side of every dead point. The car's own is found from its reference.
///
/// # Errors
///
/// [`Stuck`] when the motion ends before the rows are met: a rod at its stretch, a linkage at its dead point.
pub fn solve(rows: &[Row; 6], start: &Pose) -> Result<Position, Box<Stuck>> {
    let stuck = |end: PathEnd<f64>| Stuck::at(end.reached, rows, end.pose);
    let (pose, order) = follow(rows, start).map_err(stuck)?;
    Position::accepted(rows, pose, &order).ok_or_else(|| Stuck::at(1.0, rows, pose))
}

/// The same from a pose that may be near, and where it cannot be followed from there, from the `reference`.
///
/// # Errors
///
/// [`Stuck`] when it cannot be followed from the reference either.
pub(crate) fn solve_near(rows: &[Row; 6], near: &Pose, reference: &Pose) -> Result<Position, Box<Stuck>> {
    solve(rows, near).or_else(|_| solve(rows, reference))
}

/// The same for four wheels at once, checked in the same way; `None` where one of them cannot be followed with the steps of the
/// others, or at all. Ask [`solve()`] for each of them then.
pub fn solve_four(rows: &[Row<Four>; 6], start: &Pose<Four>) -> Option<Pose<Four>> {
    let (pose, order) = follow(rows, start).ok()?;
    let pose = pose.squared();
    Check::of(&rows.each_ref(), &pose, &order).holds().then_some(pose)
}

/// Where a way ended before its goal.
struct PathEnd<T: InRows> {
    reached: f64,
    pose: Pose<T>,
}

/// The pose in which the rows are met, and an order in which they may be eliminated there.
#[inline]
fn follow<T: InRows>(rows: &[Row<T>; 6], start: &Pose<T>) -> Result<(Pose<T>, Order), PathEnd<T>> {
    let listed = rows.each_ref();
    let mut slope = Slope::blank();
    let r0 = slope.fill(&listed, start);
    let mut order = slope.pivot();
    let mut pose = *start;
    let (mut reached, mut length) = (0.0, 1.0_f64);
    for _ in 0..MOST_STEPS {
        STEPS.set(STEPS.get() + 1);
        let missed = order.map(|row| r0[row]);
        let tangent = slope.solve(&missed.map(|r| -r));
        let speed = norm(&tangent);
        if !holds(speed.simd_lt(T::splat(f64::INFINITY))) {
            break;
        }
        let longest = LONGEST_STEP / speed.simd_horizontal_max().max(f64::MIN_POSITIVE);
        length = length.min(1.0 - reached).min(longest);
        // The last step lands on 1 exactly, whatever rounding did to the sum.
        let last = length >= 1.0 - reached;
        let next = if last { 1.0 } else { reached + length };
        let way = PathStep {
            rows: order.map(|row| listed[row]),
            goal: missed.map(|r| r * T::splat(1.0 - next)),
            settled: if last { SETTLED } else { PASSED },
            sense: slope.sense(),
        };
        let ahead = pose.stepped(&tangent.map(|x| x * T::splat(next - reached)));
        match way.correct(ahead) {
            Some(there) if last => return Ok((there, order)),
            Some(there) => {
                (pose, reached) = (there, next);
                slope.fill(&listed, &pose);
                order = slope.pivot();
                length *= 2.0;
            }
            None => length /= 2.0,
        }
        if length < SHORTEST_STEP {
            break;
        }
    }
    Err(PathEnd { reached, pose })
}

/// One step on the way.
struct PathStep<'a, T: InRows> {
    /// In the order in which they are eliminated.
    rows: Rows<'a, T>,
    /// By how much they are to be missed.
    goal: [T; 6],
    /// What may be left of a correction, mm.
    settled: f64,
    /// That of the determinant where the step began.
    sense: T,
}

impl<T: InRows> PathStep<'_, T> {
    /// Newton's method on `r(x) = goal`, given up as soon as it does not contract strongly, or where it ends beyond a dead
    /// point.
    #[inline]
    fn correct(&self, mut pose: Pose<T>) -> Option<Pose<T>> {
        let mut slope = Slope::blank();
        let mut missed = slope.fill(&self.rows, &pose);
        slope.factor();
        let mut before: Option<T> = None;
        for _ in 0..MOST_CORRECTIONS {
            let step = slope.solve(&std::array::from_fn(|i| self.goal[i] - missed[i]));
            let size = norm(&step);
            let mut settles = size.simd_lt(T::splat(self.settled));
            let mut contracts = size.simd_le(T::splat(LONGEST_STEP));
            if let Some(before) = before {
                let shrinks = size.simd_le(before * T::splat(CONTRACTION));
                let noise = size.simd_max(before).simd_lt(T::splat(NOISE));
                // What is left shrinks at least as much as the step did, even by the same Jacobian.
                let left = size * size / before;
                settles = settles | left.simd_lt(T::splat(self.settled)) | (noise & !shrinks);
                contracts = contracts & (shrinks | noise);
            }
            if !holds(contracts) {
                return None;
            }
            pose = pose.stepped(&step);
            if holds(settles) {
                let same_side = (slope.sense() * self.sense).simd_gt(T::splat(0.0));
                return holds(same_side).then_some(pose);
            }
            if holds(size.simd_lt(T::splat(FRESH))) {
                missed = misses(&self.rows, &pose);
            } else {
                missed = slope.fill(&self.rows, &pose);
                slope.factor();
            }
            before = Some(size);
        }
        None
    }
}

/// The last look at a solved pose.
struct Check<T> {
    /// Inverse of the Jacobian, a line a motion, its columns in the order of elimination.
    inverse: Lines<T>,
    condition: T,
    residual: T,
}

impl<T: InRows> Check<T> {
    #[inline]
    fn of(rows: &Rows<'_, T>, pose: &Pose<T>, order: &Order) -> Self {
        let mut slope = Slope::blank();
        let missed = slope.fill(&order.map(|row| rows[row]), pose);
        let size = slope.norm();
        slope.factor();
        let inverse = slope.inverse();
        let condition = size * norm(inverse.as_flattened());
        let residual = missed.into_iter().fold(T::splat(0.0), |most, miss| most.simd_max(miss.simd_abs()));
        Self { inverse, condition, residual }
    }

    /// Residual small, Jacobian well enough conditioned.
    #[inline]
    fn holds(&self) -> bool {
        let met = self.residual.simd_le(T::splat(RESIDUAL));
        holds(met & self.condition.simd_le(T::splat(WORST_CONDITION)))
    }
}

impl Position {
    /// The position of a pose that needs no solving because it satisfies the rows already, such as the reference.
    ///
    /// # Errors
    ///
    /// [`Stuck`] where the rows do not determine it.
    pub fn known(rows: &[Row; 6], pose: Pose) -> Result<Self, Box<Stuck>> {
        let mut slope = Slope::blank();
        slope.fill(&rows.each_ref(), &pose);
        let order = slope.pivot();
        Self::accepted(rows, pose, &order).ok_or_else(|| Stuck::at(1.0, rows, pose))
    }

    #[inline]
    fn accepted(rows: &[Row; 6], pose: Pose, order: &Order) -> Option<Self> {
        // Turns multiplied many times over drift off the rotations; what is returned is one.
        let pose = pose.squared();
        let check = Check::of(&rows.each_ref(), &pose, order);
        let mut response = Matrix6::zeros();
        for (place, &row) in order.iter().enumerate() {
            for (i, line) in check.inverse.iter().enumerate() {
                response[(i, row)] = line[place];
            }
        }
        let Check { condition, residual, .. } = check;
        check.holds().then_some(Self { rows: *rows, pose, response, condition, residual })
    }

    /// The largest motion per mm of any row's right-hand side, mm/mm (angles times the characteristic length).
    pub(crate) fn worst_rate(&self) -> f64 {
        self.response.column_iter().map(|column| column.norm()).fold(0.0, f64::max)
    }

    /// Whether the rows are so near a dead point that small errors in them count many times.
    pub fn is_near_singular(&self) -> bool {
        self.condition > NEAR_SINGULAR || self.certificate().is_none()
    }

    /// What is proven of the pose; `None` near a dead point, where nothing can be.
    pub fn certificate(&self) -> Option<Certificate> {
        Certificate::of(&self.rows, &self.pose, &self.response)
    }

    /// How much each row would take part in a jam; see [`Stuck::share`].
    pub(crate) fn share(&self) -> [f64; 6] {
        share(&self.rows, &self.pose)
    }

    /// How a figure changes per mm of a row's right-hand side, rad/mm: for a rod, per mm of length.
    pub fn rate(&self, figure: Figure, wheel: &Wheel, ground: &Ground, row: usize) -> f64 {
        let motion = self.response.column(row);
        figure.gradient(&self.pose, wheel, ground).dot(&motion.fixed_rows::<3>(3)) / CHARACTERISTIC_LENGTH
    }
}

impl Stuck {
    fn at(reached: f64, rows: &[Row; 6], pose: Pose) -> Box<Self> {
        Box::new(Self { reached, pose, share: share(rows, &pose) })
    }
}

/// The left null vector of the Jacobian in a pose, largest entry 1; zero where it has none to speak of.
fn share(rows: &[Row; 6], pose: &Pose) -> [f64; 6] {
    // Loads along rods are those of their unit lines, which a rod's gradient is only where its length is met.
    let lines = rows.each_ref().map(|row| {
        let gradient = row.gradient(pose);
        let along = gradient.fixed_rows::<3>(0).norm();
        (if along > 0.0 { gradient / along } else { gradient }).transpose()
    });
    let jacobian = Matrix6::from_rows(&lines);
    if !jacobian.iter().all(|x| x.is_finite()) {
        return [0.0; 6];
    }
    let svd = jacobian.svd(true, false);
    let Some(u) = svd.u else { return [0.0; 6] };
    let column = u.column(svd.singular_values.imin());
    let most = column.amax().max(f64::MIN_POSITIVE);
    std::array::from_fn(|i| column[i].abs() / most)
}
