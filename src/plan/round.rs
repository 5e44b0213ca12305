//! Whole steps: arms can be locked only at certain parts of a turn, and all arms of a side are rounded together.
//!
//! Rounding each arm by itself can be far from the best: a step of the upper arm may be worth a whole toe tolerance, and
//! a step of the toe arm can take it back. So the steps are a point of a lattice, searched near the exact lengths for the
//! one nearest the spec: least `sqrt(sum of squares)` in units of the tolerances. Where the exact lengths are within spec,
//! steps that are come before steps that are not, however near.
//!
//! Steps are counted from the lengths in the question's setup: the stock lengths in a plan, those of now in a correction.
//!
//! An arm that is stopped stays at the last whole step before its limit. The figure it fails, and one that nothing sets, do
//! not count: no other arm is spent on what is out of reach.

use nalgebra::{DMatrix, Vector2};
use std::cmp::Ordering;

use super::adjust::{Adjusted, Adjuster, End, Means, Question};
use super::position::{NoPosition, forward, forward_from};
use crate::car::{Arm, Setup};
use crate::geometry::{Figure, Position};

/// More choices of steps than this are not looked at: the widest windows are narrowed until they are fewer.
const MOST_CHOICES: i64 = 20_000;
/// The best so many are kept, for the limits that compare the two sides.
const KEPT: usize = 20;
/// Candidates are solved exactly in the order of their linear estimates, at most so many.
const MOST_SOLVED: usize = 400;
/// A candidate estimated to miss by more than this many times the best one solved, and half a tolerance, is not worth solving:
/// coarse steps bend the estimate, but not by more.
const HOPELESS: f64 = 2.0;

/// A side with its arms at whole steps.
#[derive(Debug, Clone)]
pub(super) struct Rounded {
    pub(super) setup: Setup,
    pub(super) position: Position,
    /// Steps from the length in the question's setup for each adjuster that is an arm; 0 for a cam.
    pub(super) steps: Vec<i32>,
    /// Camber, toe and pitch, rad.
    pub(super) figures: [f64; 3],
    pub(super) rank: Rank,
}

/// How good a choice of steps is; less is better.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub(super) struct Rank {
    /// Outside a spec that the exact lengths keep.
    pub(super) outside_spec: bool,
    /// Root of the sum of squares of the misses, in tolerances.
    pub(super) miss: f64,
}

/// What choices are measured with.
pub(super) struct Scale {
    /// How much each figure counts: one in its tolerance, or nothing where no adjuster meets it.
    pub(super) weights: [f64; 3],
    /// Whether the spec can be kept at all.
    pub(super) spec_is_met: bool,
}

impl Scale {
    fn of(question: &Question<'_>, exact: &Adjusted) -> Self {
        let weights = Figure::ALL.map(|figure| {
            let met =
                |(adjuster, stop): (&Adjuster, &Option<End>)| adjuster.figure == figure && stop.is_none();
            let counts = question.adjusters.iter().zip(&exact.stops).any(met);
            if counts { 1.0 / question.spec.tolerance(figure) } else { 0.0 }
        });
        let [camber, toe, _] = question.figures(&exact.position);
        Self { weights, spec_is_met: question.spec.holds(camber, toe) }
    }

    fn rank(&self, question: &Question<'_>, figures: &[f64; 3]) -> Rank {
        let miss = |i: usize| (figures[i] - question.spec.target(Figure::ALL[i])) * self.weights[i];
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
    /// Its length in the question's setup, from which steps are counted, mm.
    start: f64,
    /// Steps from there to the exact length.
    at: f64,
    /// The fewest and the most steps that its limits allow.
    allowed: [i32; 2],
}

impl Candidate<'_> {
    fn length(&self, steps: i32) -> f64 {
        stepped(self.arm, self.start, steps)
    }
}

/// Length of an arm so many steps from a length, mm.
pub(super) fn stepped(arm: &Arm, start: f64, steps: i32) -> f64 {
    start + f64::from(steps) * arm.step * arm.lead()
}

/// The best choices of steps for all arms of a side, the best first; cams stay where the exact answer has them.
pub(super) fn round(question: &Question<'_>, exact: &Adjusted) -> Result<Vec<Rounded>, NoPosition> {
    round_by(question, exact, &Scale::of(question, exact))
}

/// The same, measured otherwise.
pub(super) fn round_by(
    question: &Question<'_>,
    exact: &Adjusted,
    scale: &Scale,
) -> Result<Vec<Rounded>, NoPosition> {
    let arms = candidates(question, exact);
    let mut rounded: Vec<Rounded> = Vec::new();
    let mut best = f64::INFINITY;
    let mut failure = None;
    for (estimate, choice) in ranked(question, exact, &arms, scale)?.into_iter().take(MOST_SOLVED) {
        if rounded.len() >= KEPT && estimate.miss > HOPELESS * best + 0.5 {
            break;
        }
        match at_steps(question, exact, &arms, scale, &choice) {
            Ok(solved) => {
                best = best.min(solved.rank.miss);
                rounded.push(solved);
            }
            Err(error) => failure = Some(error),
        }
    }
    rounded.sort_by(|a, b| a.rank.partial_cmp(&b.rank).unwrap_or(Ordering::Equal));
    rounded.truncate(KEPT);
    match failure {
        Some(failure) if rounded.is_empty() => Err(failure),
        _ => Ok(rounded),
    }
}

/// The side with its arms at given steps.
fn at_steps(
    question: &Question<'_>,
    exact: &Adjusted,
    arms: &[Candidate<'_>],
    scale: &Scale,
    choice: &Choice,
) -> Result<Rounded, NoPosition> {
    let mut setup = exact.setup;
    let mut steps = vec![0; question.adjusters.len()];
    for (arm, &chosen) in arms.iter().zip(choice) {
        steps[arm.adjuster] = chosen;
        question.adjusters[arm.adjuster].apply(question.side, &mut setup, arm.length(chosen));
    }
    let position = forward_from(&exact.position, question.side, &setup, question.drop)?;
    let figures = question.figures(&position);
    Ok(Rounded { setup, position, steps, figures, rank: scale.rank(question, &figures) })
}

fn candidates<'a>(question: &Question<'a>, exact: &Adjusted) -> Vec<Candidate<'a>> {
    let of = |(adjuster, value): (usize, &f64)| {
        let chosen = &question.adjusters[adjuster];
        let Means::Arm(ends) = chosen.means else { return None };
        let link = &question.side.links[chosen.link];
        let (arm, start) = (link.arm.as_ref()?, question.setup.lengths[chosen.link]);
        let at = |length: f64| (length - start) / (arm.step * arm.lead());
        let low = to_steps((at(ends[0]) - SLACK).ceil());
        let high = to_steps((at(ends[1]) + SLACK).floor()).max(low);
        let allowed = match exact.stops[adjuster] {
            None => [low, high],
            Some(End::Low) => [low, low],
            Some(End::High) => [high, high],
        };
        Some(Candidate { adjuster, arm, start, at: at(*value), allowed })
    };
    exact.values.iter().enumerate().filter_map(of).collect()
}

/// Steps of up to three arms.
type Choice = [i32; 3];

/// The step counts most likely to be best, by a linear estimate from the exact position, the best first.
///
/// With `S` the change of the figures (in tolerances) per step, a choice within `b` of the exact figures lies within
/// `|S^-1| b` steps of the exact lengths. The nearest has at most the miss of simple rounding, and one within spec at most
/// the square root of the number of figures; everything within that is ranked, up to [`MOST_CHOICES`].
fn ranked(
    question: &Question<'_>,
    exact: &Adjusted,
    arms: &[Candidate<'_>],
    scale: &Scale,
) -> Result<Vec<(Rank, Choice)>, NoPosition> {
    let (side, ground) = (question.side, question.ground);
    let position = forward(side, &exact.setup, question.drop)?;
    let here = question.figures(&position);
    if arms.is_empty() {
        return Ok(vec![(scale.rank(question, &here), [0; 3])]);
    }
    let rates: Vec<[f64; 3]> = (arms.iter())
        .map(|Candidate { adjuster, arm, .. }| {
            let link = question.adjusters[*adjuster].link;
            let by = arm.step * arm.lead();
            let [camber, toe, pitch] =
                Figure::ALL.map(|figure| position.rate(figure, &side.wheel, ground, link) * by);
            let read = question.calibration.slope * Vector2::new(camber, toe);
            [read.x, read.y, pitch]
        })
        .collect();
    let estimate = |choice: &Choice| {
        let mut estimate = here;
        for ((arm, rates), steps) in arms.iter().zip(&rates).zip(choice) {
            for (figure, rate) in estimate.iter_mut().zip(rates) {
                *figure += rate * (f64::from(*steps) - arm.at);
            }
        }
        scale.rank(question, &estimate)
    };
    let mut nearest = [0; 3];
    for (nearest, arm) in nearest.iter_mut().zip(arms) {
        *nearest = to_steps(arm.at.round()).clamp(arm.allowed[0], arm.allowed[1]);
    }
    let simple = estimate(&nearest).miss;
    let bound = simple.max(3.0_f64.sqrt());
    let slope = DMatrix::from_fn(Figure::ALL.len(), arms.len(), |row, column| {
        rates[column][row] * scale.weights[row]
    });
    let inverse =
        slope.pseudo_inverse(1e-12).unwrap_or_else(|_| DMatrix::zeros(arms.len(), Figure::ALL.len()));
    let mut reach = [0; 3];
    for (i, reach) in reach.iter_mut().take(arms.len()).enumerate() {
        *reach = to_steps((inverse.row(i).norm() * bound).ceil()).clamp(1, 10_000);
    }
    while reach.iter().map(|reach| i64::from(2 * reach + 1)).product::<i64>() > MOST_CHOICES {
        let Some(widest) = reach.iter_mut().max() else { break };
        *widest -= (*widest / 8).max(1);
    }
    let window = |i: usize| {
        let [low, high] = arms.get(i).map_or([0, 0], |arm| arm.allowed);
        nearest[i].saturating_sub(reach[i]).max(low)..=nearest[i].saturating_add(reach[i]).min(high)
    };
    let mut choices = Vec::new();
    for first in window(0) {
        for second in window(1) {
            for third in window(2) {
                let choice = [first, second, third];
                let rank = estimate(&choice);
                if rank.miss <= bound.max(HOPELESS * simple + 0.5) {
                    choices.push((rank, choice));
                }
            }
        }
    }
    choices.sort_unstable_by(|(a, _), (b, _)| a.partial_cmp(b).unwrap_or(Ordering::Equal));
    Ok(choices)
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to what an i32 holds")]
pub(super) fn to_steps(value: f64) -> i32 {
    value.clamp(-1e9, 1e9) as i32
}
