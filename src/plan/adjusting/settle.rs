//! Both wheels together: settings, and whole steps, that keep the limits between the two wheels as well as each wheel's own spec.
//!
//! In the plane of camber and toe each wheel reaches a polygon within its tolerances. Of all pairs of points that keep the
//! limits the one nearest both targets is wanted, by the sum of squares in tolerances. A limit couples the two wheels by one figure
//! only, so with a multiplier for each limit (Lagrange's) the two wheels are apart again: each takes its point nearest to
//! a target that the multipliers shift. What a limit is exceeded by falls as its multiplier grows, so both are found by bisection, one
//! within the other (S. Boyd and L. Vandenberghe, *Convex Optimization*, Cambridge 2004, chapter 5; cited from memory).
//!
//! Both wheels: where each wheel's own best breaks a limit between them but other settings within both tolerances keep it, the
//! pair nearest both targets is taken (`plan/adjusting/settle.rs`), for `cams`, `arms`, `plan` and `correct` alike.

use nalgebra::Vector2;

use super::adjust::{AdjustedSide, AdjusterPart, SettingQuestion};
use super::plane::{Polygon, Reached};
use super::whole_steps::{Lattice, Rounded};
use crate::car::{AxleLimits, Hand, PerSide, Spec};
use crate::geometry::Figure;
use crate::geometry::search::{Until, last_to_hold};
use crate::plan::wheel::thrust;

/// How far inside a limit settings are aimed, rad: less than anything reads, more than a rounding.
const INSIDE: f64 = 1e-10;
/// Multipliers larger than this bring nothing more, in tolerances.
const LARGEST: f64 = 1e6;
/// Halvings that take the largest multiplier to less than a rounding.
const HALVINGS: usize = 80;
/// More rounds than slopes need that change as little as those of links.
const MOST_ROUNDS: usize = 20;
/// Pairs of steps whose cams are tried together where no pair keeps the limits as it is.
const MOST_PAIRS: usize = 200;

/// Whether camber and toe of both wheels, rad, keep the limits between them.
pub(crate) fn keeps(axle: &AxleLimits, figures: PerSide<[f64; 3]>) -> bool {
    let PerSide { left, right } = figures;
    axle.hold(left[0] - right[0], thrust(left[1], right[1]))
}

/// Exact settings of both wheels that keep the limits between them; as they were where they do already, where a wheel is out of its
/// own spec, which is not helped by pleasing the other one, and where there are none.
pub(super) fn settle(
    axle: &AxleLimits,
    questions: PerSide<SettingQuestion<'_>>,
    exact: PerSide<AdjustedSide>,
    stays: PerSide<bool>,
) -> PerSide<AdjustedSide> {
    let pairs = || questions.as_ref().zip(exact.as_ref()).into_iter();
    let in_spec = pairs().all(|(question, exact)| question.in_spec(&exact.position));
    let figures = PerSide::of(|hand| questions[hand].figures(&exact[hand].position));
    if !in_spec || keeps(axle, figures) {
        return exact;
    }
    let all = PerSide::of(|hand| {
        let adjusters = questions[hand].adjusters.iter();
        adjusters.map(|adjuster| !stays[hand] && !adjuster.is_for(Figure::Pitch)).collect::<Vec<bool>>()
    });
    let some = PerSide::of(|hand| {
        let may_move = questions[hand].may_move(&exact[hand]);
        all[hand].iter().zip(may_move).map(|(all, may)| *all && may).collect::<Vec<bool>>()
    });
    let both = Both { axle, questions };
    both.together(&exact, &some)
        .or_else(|| both.together(&exact, &all))
        .map_or(exact, |settled| both.with_few(settled, stays))
}

/// Both wheels and what binds them.
struct Both<'a> {
    axle: &'a AxleLimits,
    questions: PerSide<SettingQuestion<'a>>,
}

impl Both<'_> {
    fn keep(&self, adjusted: &PerSide<AdjustedSide>) -> bool {
        let in_spec = |hand: Hand| self.questions[hand].in_spec(&adjusted[hand].position);
        let figures = PerSide::of(|hand| self.questions[hand].figures(&adjusted[hand].position));
        Hand::BOTH.into_iter().all(in_spec) && keeps(self.axle, figures)
    }

    /// Settings of the adjusters that may move that keep everything, from a start; each round aims by the slopes at hand.
    fn together(
        &self,
        start: &PerSide<AdjustedSide>,
        moving: &PerSide<Vec<bool>>,
    ) -> Option<PerSide<AdjustedSide>> {
        let mut here = start.clone();
        for _ in 0..MOST_ROUNDS {
            let reach = |hand| self.questions[hand].reached(&here[hand], &moving[hand], f64::INFINITY);
            let reach = PerSide::of(reach).all()?.map(|reached| reached.within_tolerance());
            let aims = self.nearest(&reach)?;
            here = PerSide::of(|hand| self.questions[hand].moved(&here[hand], &aims[hand].by)).all()?;
            if self.keep(&here) {
                return Some(here);
            }
        }
        None
    }

    /// The same readings with as few adjusters as a target takes.
    fn with_few(&self, settled: PerSide<AdjustedSide>, stays: PerSide<bool>) -> PerSide<AdjustedSide> {
        let few = PerSide::of(|hand| {
            let question = self.questions[hand];
            let [camber, toe, _] = question.figures(&settled[hand].position);
            let spec = Spec { camber, toe, ..*question.spec };
            let aimed = SettingQuestion { spec: &spec, ..question };
            let few = if stays[hand] { None } else { aimed.on_target() };
            few.unwrap_or_else(|| settled[hand].clone())
        });
        if self.keep(&few) { few } else { settled }
    }

    /// The limits as couplings of the two planes.
    fn couplings(&self) -> [Coupling; 2] {
        let of = |figure: Figure, limit: Option<f64>| {
            let PerSide { left, right } = self.questions.map(|question| question.spec);
            let unit = left.tolerance(figure);
            Coupling {
                right: right.tolerance(figure) / unit,
                apart: (left.target(figure) - right.target(figure)) / unit,
                limit: limit.map_or(f64::INFINITY, |limit| (limit - INSIDE).max(0.0) / unit),
            }
        };
        // Half of the difference of the toes is the thrust angle.
        [
            of(Figure::Camber, self.axle.cross_camber),
            of(Figure::Toe, self.axle.thrust_angle.map(|limit| 2.0 * limit)),
        ]
    }

    /// The pair of points nearest to both targets that keeps the limits.
    fn nearest(&self, reach: &PerSide<Polygon>) -> Option<PerSide<Reached>> {
        let [camber, toe] = self.couplings();
        let at = |multipliers: Vector2<f64>| {
            let right = Vector2::new(multipliers.x * camber.right, multipliers.y * toe.right);
            Some(PerSide { left: reach.left.nearest(-multipliers)?, right: reach.right.nearest(right)? })
        };
        let with_camber = |toe: f64| camber.settled(0, |multiplier| at(Vector2::new(multiplier, toe)));
        toe.settled(1, with_camber)
    }
}

/// A limit on `left - right + apart` of one figure, all in tolerances of the left wheel.
struct Coupling {
    /// The right wheel's tolerance.
    right: f64,
    apart: f64,
    limit: f64,
}

impl Coupling {
    /// The pair at the least multiplier with which the limit holds; `None` where none does.
    fn settled(
        &self,
        figure: usize,
        at: impl Fn(f64) -> Option<PerSide<Reached>>,
    ) -> Option<PerSide<Reached>> {
        /// Rounding of what is far from the target.
        const ROUNDING: f64 = 1e-9;
        let value =
            |pair: &PerSide<Reached>| pair.left.at[figure] - pair.right.at[figure] * self.right + self.apart;
        let free = at(0.0)?;
        let over = value(&free);
        if over.abs() <= self.limit {
            return Some(free);
        }
        let sign = over.signum();
        let holds = |pair: &PerSide<Reached>| sign * value(pair) <= self.limit + ROUNDING;
        let mut best = at(sign * LARGEST).filter(holds)?;
        last_to_hold(LARGEST, 0.0, Until::Halved(HALVINGS), |multiplier| match at(sign * multiplier) {
            Some(pair) if sign * value(&pair) <= self.limit => {
                best = pair;
                true
            }
            _ => false,
        });
        Some(best)
    }
}

/// Whole steps of both sides: each its best, or, where those break the limits between the wheels, the best pair that keeps them.
///
/// The pair wanted misses least by the root of the sum of the squares of both. Neither side of it can miss by more than the pair does,
/// so all pairs of choices up to a distance are looked at, and the distance grown until it holds the pair that was found.
pub(super) fn best_pair(
    axle: &AxleLimits,
    lattices: &mut PerSide<Lattice<'_>>,
    best: PerSide<Rounded>,
) -> PerSide<Rounded> {
    let figures = best.each(|rounded| rounded.figures);
    let in_spec = Hand::BOTH.into_iter().all(|hand| lattices[hand].holds(&figures[hand]));
    if keeps(axle, figures) || !in_spec {
        return best;
    }
    let mut most = best.left.rank.miss.hypot(best.right.rank.miss).max(0.5);
    loop {
        let choices = PerSide::of(|hand| lattices[hand].within(most));
        if let Some((miss, pair)) = least_pair(axle, &choices)
            && (miss <= most || most.is_infinite())
        {
            return pair;
        }
        if most.is_infinite() {
            return with_cams(axle, lattices, &choices).unwrap_or(best);
        }
        // Past a corner of the tolerances there is nothing more of camber and toe.
        most = if most < 4.0 { 2.0 * most } else { f64::INFINITY };
    }
}

/// The pair of choices, each side's the best first, that misses least and keeps the limits.
fn least_pair(axle: &AxleLimits, choices: &PerSide<Vec<Rounded>>) -> Option<(f64, PerSide<Rounded>)> {
    let mut best: Option<(f64, PerSide<&Rounded>)> = None;
    for left in &choices.left {
        for right in &choices.right {
            let miss = left.rank.miss.hypot(right.rank.miss);
            if best.is_some_and(|(least, _)| miss >= least) {
                break;
            }
            if keeps(axle, PerSide { left: left.figures, right: right.figures }) {
                best = Some((miss, PerSide { left, right }));
            }
        }
    }
    best.map(|(miss, pair)| (miss, pair.map(Rounded::clone)))
}

/// Steps whose cams, set anew for both wheels together, keep the limits: of the nearest pairs the first.
fn with_cams(
    axle: &AxleLimits,
    lattices: &PerSide<Lattice<'_>>,
    choices: &PerSide<Vec<Rounded>>,
) -> Option<PerSide<Rounded>> {
    let mut pairs: Vec<(f64, PerSide<&Rounded>)> = Vec::new();
    for left in choices.left.iter().take(MOST_PAIRS) {
        let rights = choices.right.iter().take(MOST_PAIRS);
        pairs.extend(rights.map(|right| (left.rank.miss.hypot(right.rank.miss), PerSide { left, right })));
    }
    pairs.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    pairs.into_iter().take(MOST_PAIRS).find_map(|(_, pair)| {
        let questions = lattices.each(Lattice::question);
        let standing = pair.map(|rounded| AdjustedSide {
            setup: rounded.setup,
            position: rounded.position,
            values: rounded.values.clone(),
            parts: vec![AdjusterPart::Within; rounded.values.len()],
        });
        let moving = lattices.each(Lattice::cams_in_use);
        let settled = Both { axle, questions }.together(&standing, &moving)?;
        Some(PerSide::of(|hand| lattices[hand].rounded(&settled[hand], &pair[hand].steps)))
    })
}
