//! Whole steps: arms can be locked only at certain parts of a turn, and all arms of a side are rounded together.
//!
//! Rounding each arm by itself can be far from the best: a step of the upper arm may be worth a whole toe tolerance, and
//! a step of the toe arm can take it back. So the steps are a point of a lattice, and the one nearest the spec is
//! searched among all near the exact lengths. Nearest means least `sqrt(sum of squares)` in units of the tolerances. Where
//! the spec cannot be met, nearest to what the exact lengths give: no arm is spent on a figure that is out of reach.

use nalgebra::{DMatrix, DVector};

use super::adjust::{Adjusted, Means, Question};
use super::position::{NoPosition, forward};
use crate::car::{Arm, Setup};
use crate::geometry::{Figure, Position};

/// As far from the exact lengths as steps are tried, in steps; a guard, the search is usually bounded by less.
const FURTHEST: i32 = 12;
/// Candidates that the linear estimate ranks first and that are then solved exactly.
const SOLVED: usize = 24;

/// A side with its arms at whole steps.
#[derive(Debug, Clone)]
pub(super) struct Rounded {
    pub(super) position: Position,
    /// Steps from the stock length for each adjuster that is an arm; 0 for a cam.
    pub(super) steps: Vec<i32>,
}

const FIGURES: [Figure; 3] = [Figure::Camber, Figure::Toe, Figure::Pitch];

/// How much a figure counts: pitch only where an arm sets it.
fn weight(question: &Question<'_>, figure: Figure) -> f64 {
    let counts =
        figure != Figure::Pitch || question.adjusters.iter().any(|adjuster| adjuster.figure == figure);
    if counts { 1.0 / question.spec.tolerance(figure) } else { 0.0 }
}

fn figures(question: &Question<'_>, position: &Position) -> [f64; 3] {
    FIGURES.map(|figure| figure.value(&position.pose, &question.side.wheel, question.ground))
}

/// Root of the sum of squares of the differences, in tolerances.
fn distance(question: &Question<'_>, a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|i| ((a[i] - b[i]) * weight(question, FIGURES[i])).powi(2)).sum::<f64>().sqrt()
}

/// One arm on its way to whole steps.
struct Candidate<'a> {
    adjuster: usize,
    arm: &'a Arm,
    stock: f64,
    exact: f64,
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
        return Ok(Rounded { position, steps });
    }
    let aim = figures(question, &exact.position);
    let mut best: Option<(f64, Position, Vec<i32>)> = None;
    let mut failure = None;
    for choice in ranked(question, exact, &arms) {
        let mut setup: Setup = exact.setup;
        for (arm, &steps) in arms.iter().zip(&choice) {
            question.adjusters[arm.adjuster].apply(question.side, &mut setup, arm.length(steps));
        }
        match forward(question.side, &setup, question.drop) {
            Ok(position) => {
                let miss = distance(question, &aim, &figures(question, &position));
                if best.as_ref().is_none_or(|(least, ..)| miss < *least) {
                    best = Some((miss, position, choice));
                }
            }
            Err(error) => failure = Some(error),
        }
    }
    match (best, failure) {
        (Some((_, position, choice)), _) => {
            for (arm, chosen) in arms.iter().zip(choice) {
                steps[arm.adjuster] = chosen;
            }
            Ok(Rounded { position, steps })
        }
        (None, Some(error)) => Err(error),
        (None, None) => {
            forward(question.side, &exact.setup, question.drop).map(|position| Rounded { position, steps })
        }
    }
}

fn candidates<'a>(question: &Question<'a>, exact: &Adjusted) -> Vec<Candidate<'a>> {
    let of = |(adjuster, value): (usize, &f64)| {
        let chosen = &question.adjusters[adjuster];
        let Means::Arm(ends) = chosen.means else { return None };
        let link = &question.side.links[chosen.link];
        let (arm, stock) = (link.arm.as_ref()?, link.stock_length());
        let step = arm.step * arm.lead();
        let whole =
            |length: f64, round: fn(f64) -> f64, slack: f64| to_steps(round((length - stock) / step + slack));
        let allowed = [whole(ends[0], f64::ceil, -1e-9), whole(ends[1], f64::floor, 1e-9)];
        Some(Candidate { adjuster, arm, stock, exact: *value, allowed })
    };
    exact.values.iter().enumerate().filter_map(of).collect()
}

/// The step counts most likely to be nearest the spec, by a linear estimate from the exact position, the nearest first.
///
/// With `S` the change of the figures (in tolerances) per step, the nearest lattice point lies no further from the exact
/// lengths than `|S^-1|` times the miss of simple rounding; everything within that is ranked.
fn ranked(question: &Question<'_>, exact: &Adjusted, arms: &[Candidate<'_>]) -> Vec<Vec<i32>> {
    let (side, ground) = (question.side, question.ground);
    let position = Position::known(&exact.setup.rows(side, question.drop), exact.position.pose);
    let position = position.as_ref().unwrap_or(&exact.position);
    let slope = DMatrix::from_fn(FIGURES.len(), arms.len(), |row, column| {
        let arm = &arms[column];
        let link = question.adjusters[arm.adjuster].link;
        let rate = position.rate(FIGURES[row], &side.wheel, ground, link);
        rate * arm.arm.step * arm.arm.lead() * weight(question, FIGURES[row])
    });
    let at: Vec<f64> =
        arms.iter().map(|arm| (arm.exact - arm.stock) / (arm.arm.step * arm.arm.lead())).collect();
    let estimate = |choice: &[i32]| {
        let away =
            DVector::from_iterator(arms.len(), choice.iter().zip(&at).map(|(&c, at)| f64::from(c) - at));
        (&slope * away).norm()
    };
    let nearest: Vec<i32> = (arms.iter().zip(&at))
        .map(|(arm, at)| to_steps(at.round()).max(arm.allowed[0]).min(arm.allowed[1].max(arm.allowed[0])))
        .collect();
    let bound = estimate(&nearest);
    let inverse =
        slope.clone().pseudo_inverse(1e-12).unwrap_or_else(|_| DMatrix::zeros(arms.len(), FIGURES.len()));
    let windows: Vec<[i32; 2]> = (0..arms.len())
        .map(|i| {
            let reach = to_steps((inverse.row(i).norm() * bound).ceil()).clamp(1, FURTHEST);
            [nearest[i].saturating_sub(reach), nearest[i].saturating_add(reach)]
        })
        .zip(arms)
        .map(|([low, high], arm)| [low.max(arm.allowed[0]), high.min(arm.allowed[1].max(arm.allowed[0]))])
        .collect();
    let mut choices = vec![Vec::new()];
    for [low, high] in windows {
        choices = (choices.iter())
            .flat_map(|choice| (low..=high).map(move |step| choice.iter().copied().chain([step]).collect()))
            .collect();
    }
    choices.sort_by(|a, b| estimate(a).total_cmp(&estimate(b)));
    choices.truncate(SOLVED);
    choices
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to what an i32 holds")]
fn to_steps(value: f64) -> i32 {
    value.clamp(-1e9, 1e9) as i32
}
