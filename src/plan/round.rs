//! Whole steps: arms can be locked only at certain parts of a turn, and all arms of a side are rounded together.
//!
//! Rounding each arm by itself can be far from the best: a step of the upper arm may be worth a whole toe tolerance, and
//! a step of the toe arm can take it back. So the steps are a point of a lattice, searched near the exact lengths for the
//! one nearest the spec: least `sqrt(sum of squares)` in units of the tolerances. Where the exact lengths are within spec,
//! steps that are come before steps that are not, however near.
//!
//! An arm that is stopped stays at the last whole step before its limit. The figure it fails, and one that nothing sets, do
//! not count: no other arm is spent on what is out of reach.

use nalgebra::{DMatrix, DVector};
use std::cmp::Ordering;

use super::adjust::{Adjusted, Adjuster, End, Means, Question};
use super::position::{NoPosition, forward};
use crate::car::{Arm, Setup};
use crate::geometry::{Figure, Position};

/// As far from the exact lengths as steps are tried, for one, two and three arms: a guard for steps far coarser than the
/// tolerances; the search is usually bounded to a few.
const FURTHEST: [i32; 3] = [1000, 60, 8];
/// Candidates are solved exactly in the order of their linear estimates, at most so many.
const MOST_SOLVED: usize = 400;
/// A candidate estimated to miss by this much more than the best one solved is not worth solving: coarse steps bend the
/// estimate, but not by more.
const HOPELESS: f64 = 2.0;

/// A side with its arms at whole steps.
#[derive(Debug, Clone)]
pub(super) struct Rounded {
    pub(super) setup: Setup,
    pub(super) position: Position,
    /// Steps from the stock length for each adjuster that is an arm; 0 for a cam.
    pub(super) steps: Vec<i32>,
}

const FIGURES: [Figure; 3] = [Figure::Camber, Figure::Toe, Figure::Pitch];

fn figures(question: &Question<'_>, position: &Position) -> [f64; 3] {
    FIGURES.map(|figure| figure.value(&position.pose, &question.side.wheel, question.ground))
}

/// How good a choice of steps is; less is better.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
struct Rank {
    outside_spec: bool,
    miss: f64,
}

/// What choices are measured with.
struct Scale {
    /// How much each figure counts: one in its tolerance, or nothing where no adjuster meets it.
    weights: [f64; 3],
    /// Whether the spec can be kept at all.
    spec_is_met: bool,
}

impl Scale {
    fn of(question: &Question<'_>, exact: &Adjusted) -> Self {
        let weights = FIGURES.map(|figure| {
            let met =
                |(adjuster, stop): (&Adjuster, &Option<End>)| adjuster.figure == figure && stop.is_none();
            let counts = question.adjusters.iter().zip(&exact.stops).any(met);
            if counts { 1.0 / question.spec.tolerance(figure) } else { 0.0 }
        });
        let [camber, toe, _] = figures(question, &exact.position);
        Self { weights, spec_is_met: question.spec.holds(camber, toe) }
    }

    fn rank(&self, question: &Question<'_>, figures: &[f64; 3]) -> Rank {
        let miss = |i: usize| (figures[i] - question.spec.target(FIGURES[i])) * self.weights[i];
        Rank {
            outside_spec: self.spec_is_met && !question.spec.holds(figures[0], figures[1]),
            miss: (0..3).map(|i| miss(i).powi(2)).sum::<f64>().sqrt(),
        }
    }
}

/// A length this close to a whole step is one, in steps.
const SLACK: f64 = 1e-9;

/// One arm on its way to whole steps.
struct Candidate<'a> {
    adjuster: usize,
    arm: &'a Arm,
    stock: f64,
    /// Steps from stock to the exact length.
    at: f64,
    /// The fewest and the most steps that its limits allow.
    allowed: [i32; 2],
}

impl Candidate<'_> {
    fn length(&self, steps: i32) -> f64 {
        stepped(self.arm, self.stock, steps)
    }
}

/// Length of an arm so many steps from stock, mm.
pub(super) fn stepped(arm: &Arm, stock: f64, steps: i32) -> f64 {
    stock + f64::from(steps) * arm.step * arm.lead()
}

/// Chooses the steps of all arms of a side; cams stay where the exact answer has them.
pub(super) fn round(question: &Question<'_>, exact: &Adjusted) -> Result<Rounded, NoPosition> {
    let arms = candidates(question, exact);
    let mut steps = vec![0; question.adjusters.len()];
    if arms.is_empty() {
        let position = forward(question.side, &exact.setup, question.drop)?;
        return Ok(Rounded { setup: exact.setup, position, steps });
    }
    let scale = Scale::of(question, exact);
    let mut best: Option<(Rank, Setup, Position, Vec<i32>)> = None;
    let mut failure = None;
    for (estimate, choice) in ranked(question, exact, &arms, &scale).into_iter().take(MOST_SOLVED) {
        if best.as_ref().is_some_and(|(best, ..)| estimate.miss > HOPELESS * best.miss + 1.0) {
            break;
        }
        let mut setup: Setup = exact.setup;
        for (arm, &steps) in arms.iter().zip(&choice) {
            question.adjusters[arm.adjuster].apply(question.side, &mut setup, arm.length(steps));
        }
        match forward(question.side, &setup, question.drop) {
            Ok(position) => {
                let rank = scale.rank(question, &figures(question, &position));
                if best.as_ref().is_none_or(|(least, ..)| rank < *least) {
                    best = Some((rank, setup, position, choice));
                }
            }
            Err(error) => failure = Some(error),
        }
    }
    match (best, failure) {
        (Some((_, setup, position, choice)), _) => {
            for (arm, chosen) in arms.iter().zip(choice) {
                steps[arm.adjuster] = chosen;
            }
            Ok(Rounded { setup, position, steps })
        }
        (None, Some(error)) => Err(error),
        (None, None) => forward(question.side, &exact.setup, question.drop).map(|position| Rounded {
            setup: exact.setup,
            position,
            steps,
        }),
    }
}

fn candidates<'a>(question: &Question<'a>, exact: &Adjusted) -> Vec<Candidate<'a>> {
    let of = |(adjuster, value): (usize, &f64)| {
        let chosen = &question.adjusters[adjuster];
        let Means::Arm(ends) = chosen.means else { return None };
        let link = &question.side.links[chosen.link];
        let (arm, stock) = (link.arm.as_ref()?, link.stock_length());
        let at = |length: f64| (length - stock) / (arm.step * arm.lead());
        let low = to_steps((at(ends[0]) - SLACK).ceil());
        let high = to_steps((at(ends[1]) + SLACK).floor()).max(low);
        let allowed = match exact.stops[adjuster] {
            None => [low, high],
            Some(End::Low) => [low, low],
            Some(End::High) => [high, high],
        };
        Some(Candidate { adjuster, arm, stock, at: at(*value), allowed })
    };
    exact.values.iter().enumerate().filter_map(of).collect()
}

/// The step counts most likely to be best, by a linear estimate from the exact position, the best first.
///
/// With `S` the change of the figures (in tolerances) per step, a choice within `b` of the exact figures lies within
/// `|S^-1| b` steps of the exact lengths. The nearest has at most the miss of simple rounding, and one within spec at most
/// the square root of the number of figures; everything within that is ranked, up to [`FURTHEST`].
fn ranked(
    question: &Question<'_>,
    exact: &Adjusted,
    arms: &[Candidate<'_>],
    scale: &Scale,
) -> Vec<(Rank, Vec<i32>)> {
    let (side, ground) = (question.side, question.ground);
    let position = Position::known(&exact.setup.rows(side, question.drop), exact.position.pose);
    let position = position.as_ref().unwrap_or(&exact.position);
    let rates = DMatrix::from_fn(FIGURES.len(), arms.len(), |row, column| {
        let Candidate { adjuster, arm, .. } = arms[column];
        position.rate(FIGURES[row], &side.wheel, ground, question.adjusters[adjuster].link)
            * arm.step
            * arm.lead()
    });
    let here = figures(question, position);
    let estimate = |choice: &[i32]| {
        let away = arms.iter().zip(choice).map(|(arm, &steps)| f64::from(steps) - arm.at);
        let change = &rates * DVector::from_iterator(arms.len(), away);
        scale.rank(question, &std::array::from_fn(|i| here[i] + change[i]))
    };
    let nearest: Vec<i32> =
        arms.iter().map(|arm| to_steps(arm.at.round()).clamp(arm.allowed[0], arm.allowed[1])).collect();
    let bound = estimate(&nearest).miss.max(3.0_f64.sqrt());
    let slope =
        DMatrix::from_fn(FIGURES.len(), arms.len(), |row, column| rates[(row, column)] * scale.weights[row]);
    let inverse = slope.pseudo_inverse(1e-12).unwrap_or_else(|_| DMatrix::zeros(arms.len(), FIGURES.len()));
    let mut choices = vec![Vec::new()];
    for (i, arm) in arms.iter().enumerate() {
        let reach =
            to_steps((inverse.row(i).norm() * bound).ceil()).clamp(1, FURTHEST[arms.len().clamp(1, 3) - 1]);
        let low = nearest[i].saturating_sub(reach).max(arm.allowed[0]);
        let high = nearest[i].saturating_add(reach).min(arm.allowed[1]);
        choices = (choices.iter())
            .flat_map(|choice| (low..=high).map(move |step| choice.iter().copied().chain([step]).collect()))
            .collect();
    }
    let mut choices: Vec<(Rank, Vec<i32>)> =
        choices.into_iter().map(|choice| (estimate(&choice), choice)).collect();
    choices.sort_by(|(a, _), (b, _)| a.partial_cmp(b).unwrap_or(Ordering::Equal));
    choices
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to what an i32 holds")]
fn to_steps(value: f64) -> i32 {
    value.clamp(-1e9, 1e9) as i32
}
