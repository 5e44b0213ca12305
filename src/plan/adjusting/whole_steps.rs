//! Whole steps: arms can be locked only at certain parts of a turn, and all arms of a side are rounded together.
//!
//! Rounding each arm by itself can be far from the best: a step of the upper arm may be worth a whole toe tolerance, and
//! a step of the toe arm can take it back. So the steps are a point of a lattice, the one nearest the spec: least
//! `sqrt(sum of squares)` in units of the tolerances. Where the exact lengths are within spec, steps that are come before
//! steps that are not, however near. Cams stay where the exact answer has them.
//!
//! Steps are counted from the lengths in the question's setup: the stock lengths in a plan, those of now in a correction.
//!
//! An arm that is stopped stays at the last whole step before its limit, and one that is not needed where it is. The figure that
//! is not met does not count: no other arm is spent on what is out of reach. Only where no steps of the others are within
//! spec, though the exact lengths are, do these arms give way too.
//!
//! With `S` the change of the figures (in tolerances) per step and `x` the exact steps, the misses of steps `k` are
//! `f + S (k - x)` and what the links bend, at most `c |k - x|^2`. All `k` that may be within a distance are found by
//! factoring `S = Q R` and choosing one arm after the other (U. Fincke and M. Pohst, *Improved methods for calculating
//! vectors of short length in a lattice*, Mathematics of Computation 44, 1985; cited from memory). The bend `c` is measured on
//! neighbours two steps away and on every choice that is solved, and counted twice; a choice is solved exactly unless its
//! estimate less that is worse than the best.
//!
//! Rounding (`plan/adjusting/round.rs`): steps nearest the spec by the root of the sum of squares in tolerances, and within
//! spec before anything nearer that is not, where the exact lengths are; all choices that may be better are enumerated, with
//! how the figures bend measured and counted twice. A stopped arm stays at the last whole step before its limit and an arm that
//! is not needed where it is, unless no steps are within spec without them. A cam that is turned stays at its exact setting.

use nalgebra::{DMatrix, DVector, Vector3};
use std::cmp::Ordering;

use super::adjust::{AdjustedSide, Adjuster, AdjusterPart, Means, SettingQuestion};
use crate::car::{Arm, Setup, Spec};
use crate::geometry::{Figure, Position};
use crate::plan::wheel::{NoPosition, forward_from};

/// A length this close to a whole step is one, in steps.
const SLACK: f64 = 1e-9;
/// No more choices of steps than this are looked at for one side.
const MOST_CHOICES: usize = 200_000;
/// No more of them are solved, those first that are estimated the nearest.
const MOST_SOLVED: usize = 1_000;
/// How much more than what was seen the figures are taken to bend.
const CAUTION: f64 = 2.0;
/// Steps to the neighbours on which that is measured.
const NEIGHBOUR: f64 = 2.0;
/// An arm that changes what counts by less than this a step, in tolerances, does not change it.
const FLAT: f64 = 1e-9;
/// No more steps are gone through of arms around which the others are rounded.
const MOST_WALKS: usize = 2_000;

/// A side with its arms at whole steps.
#[derive(Debug, Clone)]
pub(crate) struct Rounded {
    pub(crate) setup: Setup,
    pub(crate) position: Position,
    /// Steps from the length in the question's setup for each adjuster that is an arm; 0 for a cam.
    pub(crate) steps: Vec<i32>,
    /// Length or shift of each adjuster, mm.
    pub(crate) values: Vec<f64>,
    /// Camber, toe and pitch, rad.
    pub(crate) figures: [f64; 3],
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
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    /// How much each figure counts: one in its tolerance, or nothing where no adjuster meets it.
    pub(super) weights: [f64; 3],
    /// Whether the spec can be kept at all.
    pub(super) spec_is_met: bool,
}

impl Scale {
    fn of(question: &SettingQuestion<'_>, exact: &AdjustedSide) -> Self {
        let counts = |figure: Figure| {
            let for_it = |part: &AdjusterPart| {
                part.meets() == Some(figure) || (*part == AdjusterPart::Within && figure != Figure::Pitch)
            };
            exact.parts.iter().any(for_it)
        };
        let weights = Figure::ALL
            .map(|figure| if counts(figure) { 1.0 / question.spec.tolerance(figure) } else { 0.0 });
        Self { weights, spec_is_met: question.in_spec(&exact.position) }
    }

    fn misses(&self, question: &SettingQuestion<'_>, figures: &[f64; 3]) -> Vector3<f64> {
        let miss = |i: usize, _| (figures[i] - question.spec.target(Figure::ALL[i])) * self.weights[i];
        Vector3::from_fn(miss)
    }

    fn rank(&self, question: &SettingQuestion<'_>, figures: &[f64; 3]) -> Rank {
        Rank {
            outside_spec: self.spec_is_met && !question.spec.holds(figures[0], figures[1]),
            miss: self.misses(question, figures).norm(),
        }
    }
}

/// One arm on its way to whole steps.
#[derive(Debug, Clone, Copy)]
struct SteppedArm<'a> {
    adjuster: usize,
    arm: &'a Arm,
    /// Its length in the question's setup, from which steps are counted, mm.
    start: f64,
    /// Steps from there to the exact length.
    at: f64,
    /// The fewest and the most steps that its limits allow.
    allowed: [i32; 2],
    /// The steps at which it stays unless it has to give way.
    stays: Option<i32>,
}

impl SteppedArm<'_> {
    fn length(&self, steps: i32) -> f64 {
        stepped(self.arm, self.start, steps)
    }
}

/// Length of an arm so many steps from a length, mm.
pub(crate) fn stepped(arm: &Arm, start: f64, steps: i32) -> f64 {
    start + f64::from(steps) * arm.step * arm.lead()
}

/// The arms of a side about to be set to whole steps.
pub(super) struct Lattice<'a> {
    question: SettingQuestion<'a>,
    exact: &'a AdjustedSide,
    /// The spec with what the exact lengths give as its target.
    aimed: Spec,
    scale: Scale,
    arms: Vec<SteppedArm<'a>>,
    /// Camber, toe and pitch at the exact lengths, rad, and their change per step of each arm.
    figures: [f64; 3],
    rates: Vec<Vector3<f64>>,
    /// How far the misses bend, in tolerances per square of a step.
    bend: f64,
}

impl<'a> Lattice<'a> {
    /// The arms of a side with an exact answer.
    pub(crate) fn new(question: SettingQuestion<'a>, exact: &'a AdjustedSide) -> Result<Self, NoPosition> {
        Self::measured_by(question, exact, Scale::of(&question, exact))
    }

    /// The same, measured otherwise.
    pub(super) fn measured_by(
        question: SettingQuestion<'a>,
        exact: &'a AdjustedSide,
        scale: Scale,
    ) -> Result<Self, NoPosition> {
        let arms = candidates(&question, exact);
        let position = forward_from(&exact.position, question.side, &exact.setup, question.drop)?;
        let rates = (arms.iter())
            .map(|SteppedArm { adjuster, arm, .. }| {
                let rates = question.rates(&question.adjusters[*adjuster], &exact.setup, &position);
                Vector3::from(rates) * arm.step * arm.lead()
            })
            .collect();
        let figures = question.figures(&position);
        let [camber, toe, pitch] = figures;
        let aimed = Spec { camber, toe, pitch, ..*question.spec };
        Ok(Self { question, exact, aimed, scale, arms, figures, rates, bend: 0.0 })
    }

    pub(super) fn question(&self) -> SettingQuestion<'a> {
        self.question
    }

    /// Whether figures are within spec, rad.
    pub(super) fn holds(&self, figures: &[f64; 3]) -> bool {
        self.question.spec.holds(figures[0], figures[1])
    }

    /// Which adjusters are cams that the exact answer turns.
    pub(super) fn cams_in_use(&self) -> Vec<bool> {
        let in_use =
            |(adjuster, part): (&Adjuster, &AdjusterPart)| adjuster.is_cam() && *part != AdjusterPart::Home;
        self.question.adjusters.iter().zip(&self.exact.parts).map(in_use).collect()
    }

    /// A setting that has its arms at whole steps.
    pub(super) fn rounded(&self, at: &AdjustedSide, steps: &[i32]) -> Rounded {
        let figures = self.question.figures(&at.position);
        Rounded {
            setup: at.setup,
            position: at.position,
            steps: steps.to_vec(),
            values: at.values.clone(),
            figures,
            rank: self.scale.rank(&self.question, &figures),
        }
    }

    /// The best choice of steps for all arms.
    pub(crate) fn best(&mut self) -> Result<Rounded, NoPosition> {
        let nearest = self.nearest()?;
        if !nearest.rank.outside_spec {
            return Ok(nearest);
        }
        let within = self.within(f64::INFINITY).into_iter().next();
        let giving_way = || self.around(&self.all_but_two(), f64::INFINITY).into_iter().next();
        Ok(within.or_else(giving_way).unwrap_or(nearest))
    }

    /// The choice nearest the spec, whether within it or not.
    fn nearest(&mut self) -> Result<Rounded, NoPosition> {
        let free: Vec<usize> = (0..self.arms.len()).filter(|i| self.arms[*i].stays.is_none()).collect();
        let mut best = self.solve(&self.simple())?;
        self.measure_bend(&free);
        // Twice, since what is solved may show a larger bend.
        for _ in 0..2 {
            for (estimate, choice) in self.choices(&free, &self.scale, best.rank.miss) {
                if estimate - self.bend * self.away(&choice) > best.rank.miss {
                    continue;
                }
                let Ok(solved) = self.solve(&choice) else { continue };
                if solved.rank.miss < best.rank.miss {
                    best = solved;
                }
            }
        }
        Ok(best)
    }

    /// The choices within spec that miss the target by no more than `most`, the best first, arms that stay staying.
    ///
    /// Pitch has no tolerance to keep, so its arms may be anywhere: the others are rounded anew around each of their steps.
    pub(super) fn within(&mut self, most: f64) -> Vec<Rounded> {
        let of_pitch = |i: &usize| {
            let arm = &self.arms[*i];
            arm.stays.is_none() && self.question.adjusters[arm.adjuster].is_for(Figure::Pitch)
        };
        let outer: Vec<usize> = (0..self.arms.len()).filter(of_pitch).collect();
        if outer.is_empty() { self.within_inner(most) } else { self.around(&outer, most) }
    }

    /// All arms but those that meet camber and toe, or of more than two the first that are used for them.
    fn all_but_two(&self) -> Vec<usize> {
        let rounds = |figure: Figure| {
            let adjuster = |i: usize| self.arms[i].adjuster;
            let meets = |i: &usize| self.exact.parts[adjuster(*i)].meets() == Some(figure);
            let used = |i: &usize| self.question.adjusters[adjuster(*i)].is_for(figure);
            (0..self.arms.len()).find(meets).or_else(|| (0..self.arms.len()).find(used))
        };
        let inner = [rounds(Figure::Camber), rounds(Figure::Toe)];
        (0..self.arms.len()).filter(|i| !inner.contains(&Some(*i))).collect()
    }

    /// The choices within spec where some arms go through all their steps and the others are rounded around each.
    fn around(&self, outer: &[usize], most: f64) -> Vec<Rounded> {
        let mut within: Vec<Rounded> = Vec::new();
        for steps in self.walks(outer) {
            // Cams stay where the exact answer has them.
            let mut setup = self.exact.setup;
            let cam = |(adjuster, part): (&Adjuster, &AdjusterPart)| {
                if adjuster.is_cam() { AdjusterPart::Home } else { *part }
            };
            let adjusters = self.question.adjusters.iter();
            let mut parts: Vec<AdjusterPart> = adjusters.zip(&self.exact.parts).map(cam).collect();
            for arm in &self.arms {
                setup.lengths[self.question.adjusters[arm.adjuster].link] = arm.start;
            }
            for (i, steps) in outer.iter().zip(&steps) {
                let arm = &self.arms[*i];
                setup.lengths[self.question.adjusters[arm.adjuster].link] = arm.length(*steps);
                parts[arm.adjuster] = AdjusterPart::Home;
            }
            // An arm that had to stop may be needed now.
            for arm in self.arms.iter().enumerate().filter(|(i, _)| !outer.contains(i)).map(|(_, arm)| arm) {
                let figure = self.question.adjusters[arm.adjuster].sets;
                let Some(figure) = figure.filter(|_| parts[arm.adjuster].stop().is_some()) else { continue };
                if parts.iter().all(|part| part.meets() != Some(figure)) {
                    parts[arm.adjuster] = AdjusterPart::Meets(figure);
                }
            }
            let question = SettingQuestion { setup: &setup, ..self.question };
            let Ok(exact) = SettingQuestion { spec: &self.aimed, ..question }.within_ends(parts) else {
                continue;
            };
            let pitch = self.scale.misses(&question, &question.figures(&exact.position)).z.abs();
            if pitch > most + 1.0 {
                continue;
            }
            let scale = Scale { spec_is_met: true, ..self.scale };
            let Ok(mut lattice) = Lattice::measured_by(question, &exact, scale) else { continue };
            for mut rounded in lattice.within_inner(most) {
                for (i, steps) in outer.iter().zip(&steps) {
                    rounded.steps[self.arms[*i].adjuster] = *steps;
                }
                within.push(rounded);
            }
        }
        within.sort_by(|a, b| a.rank.partial_cmp(&b.rank).unwrap_or(Ordering::Equal));
        within
    }

    /// All steps of some arms, the nearest to the exact lengths first.
    fn walks(&self, arms: &[usize]) -> Vec<Vec<i32>> {
        let mut walks: Vec<Vec<i32>> = vec![Vec::new()];
        for i in arms {
            let arm = &self.arms[*i];
            let [low, high] = arm.allowed;
            let near = to_steps(arm.at.round()).clamp(low, high);
            // The budget is shared between the arms that are still to be walked.
            let most = (MOST_WALKS / walks.len()).max(1);
            let out = (0..=MOST_WALKS).filter_map(|k| i32::try_from(k).ok());
            let steps: Vec<i32> = out
                .flat_map(|k| [near.saturating_sub(k), near.saturating_add(k)])
                .take_while(|steps| near.abs_diff(*steps) <= low.abs_diff(near).max(high.abs_diff(near)))
                .filter(|steps| (low..=high).contains(steps))
                .skip(1)
                .take(most)
                .collect();
            let grown = |walk: &Vec<i32>| {
                steps
                    .iter()
                    .map(|steps| walk.iter().copied().chain([*steps]).collect())
                    .collect::<Vec<Vec<i32>>>()
            };
            walks = walks.iter().flat_map(grown).collect();
        }
        let away = |walk: &Vec<i32>| -> f64 {
            arms.iter().zip(walk).map(|(i, steps)| (f64::from(*steps) - self.arms[*i].at).powi(2)).sum()
        };
        walks.sort_by(|a, b| away(a).total_cmp(&away(b)));
        walks
    }

    /// The choices within spec of the arms that meet camber and toe, the best first.
    fn within_inner(&mut self, most: f64) -> Vec<Rounded> {
        let free: Vec<usize> = (0..self.arms.len()).filter(|i| self.arms[*i].stays.is_none()).collect();
        self.measure_bend(&free);
        let [camber, toe] =
            [Figure::Camber, Figure::Toe].map(|figure| 1.0 / self.question.spec.tolerance(figure));
        let both = Scale { weights: [camber, toe, 0.0], spec_is_met: true };
        // No point within tolerance is further from the target than a corner.
        let furthest = 2.0_f64.sqrt().min(most);
        let mut within: Vec<Rounded> = Vec::new();
        for (_, choice) in self.choices(&free, &both, furthest) {
            let Ok(solved) = self.solve(&choice) else { continue };
            if self.question.spec.holds(solved.figures[0], solved.figures[1]) && solved.rank.miss <= most {
                within.push(solved);
            }
        }
        within.sort_by(|a, b| a.rank.partial_cmp(&b.rank).unwrap_or(Ordering::Equal));
        within
    }

    /// Every arm at its own nearest step.
    fn simple(&self) -> Vec<i32> {
        let of = |arm: &SteppedArm<'_>| {
            arm.stays.unwrap_or_else(|| to_steps(arm.at.round()).clamp(arm.allowed[0], arm.allowed[1]))
        };
        self.arms.iter().map(of).collect()
    }

    /// The square of the steps between a choice and the exact lengths.
    fn away(&self, choice: &[i32]) -> f64 {
        self.arms.iter().zip(choice).map(|(arm, steps)| (f64::from(*steps) - arm.at).powi(2)).sum()
    }

    /// Measures how the figures bend on the neighbours along each arm.
    fn measure_bend(&mut self, arms: &[usize]) {
        let exact: Vec<f64> = self.arms.iter().map(|arm| arm.at).collect();
        for &i in arms {
            for by in [-NEIGHBOUR, NEIGHBOUR] {
                let mut at = exact.clone();
                at[i] += by;
                if let Ok(solved) = self.solve_at(&at) {
                    self.learn(&solved, &at);
                }
            }
        }
    }

    /// Learns from an exact solution how far the figures bend.
    fn learn(&mut self, solved: &Rounded, at: &[f64]) {
        let mut straight = self.figures;
        let mut away = 0.0;
        for ((arm, rates), at) in self.arms.iter().zip(&self.rates).zip(at) {
            for (figure, rate) in straight.iter_mut().zip(rates.iter()) {
                *figure += rate * (at - arm.at);
            }
            away += (at - arm.at).powi(2);
        }
        let [seen, straight] =
            [solved.figures, straight].map(|figures| self.scale.misses(&self.question, &figures));
        let off = (seen - straight).norm();
        if away > 1e-6 && off.is_finite() {
            self.bend = self.bend.max(CAUTION * off / away);
        }
    }

    /// The choices of some arms' steps that may miss by no more than `miss` on a scale, the nearest by their estimates first; the
    /// other arms stay at their nearest steps.
    fn choices(&self, arms: &[usize], scale: &Scale, miss: f64) -> Vec<(f64, Vec<i32>)> {
        let simple = self.simple();
        let slope = |i: usize| self.rates[i].component_mul(&Vector3::from(scale.weights));
        let mut here = scale.misses(&self.question, &self.figures);
        for (i, arm) in self.arms.iter().enumerate().filter(|(i, _)| !arms.contains(i)) {
            here += slope(i) * (f64::from(simple[i]) - arm.at);
        }
        if arms.is_empty() {
            return vec![(here.norm(), simple)];
        }
        let slopes = DMatrix::from_fn(3, arms.len(), |row, column| slope(arms[column])[row]);
        let (q, r) = slopes.clone().qr().unpack();
        let constant = q.tr_mul(&DVector::from_column_slice(here.as_slice()));
        let rest = (here.norm_squared() - constant.norm_squared()).max(0.0);
        let radius = miss + self.bend * self.furthest(&slopes, miss + here.norm()).powi(2);
        let mut walk = StepWalk {
            arms: arms.iter().map(|i| self.arms[*i]).collect(),
            r,
            constant,
            most: radius * radius - rest,
            chosen: vec![0; arms.len()],
            found: Vec::new(),
        };
        walk.choose(arms.len(), 0.0);
        let placed = |(off, chosen): (f64, Vec<i32>)| {
            let mut choice = simple.clone();
            for (i, steps) in arms.iter().zip(chosen) {
                choice[*i] = steps;
            }
            ((off + rest).sqrt(), choice)
        };
        let mut found: Vec<(f64, Vec<i32>)> = walk.found.into_iter().map(placed).collect();
        found.sort_unstable_by(|(a, _), (b, _)| a.total_cmp(b));
        found.truncate(MOST_SOLVED);
        found
    }

    /// How many steps away a choice can be whose misses come to no more than `reach` together with those of the exact lengths.
    ///
    /// With the least stretch `s` of the slopes, one `r` steps away is estimated at `s r` or more and bends by `c r^2` at the
    /// most: `s r - c r^2 <= reach`.
    fn furthest(&self, slopes: &DMatrix<f64>, reach: f64) -> f64 {
        let values = slopes.singular_values();
        let stretch = values.iter().copied().filter(|s| *s > 1e-9).fold(f64::INFINITY, f64::min);
        let discriminant = stretch * stretch - 4.0 * self.bend * reach;
        if discriminant > 0.0 {
            2.0 * reach / (stretch + discriminant.sqrt())
        } else {
            // So bent that the bound says nothing; twice what a straight line would say.
            2.0 * reach / stretch
        }
    }

    /// The side with its arms at whole steps, solved exactly.
    fn solve(&mut self, choice: &[i32]) -> Result<Rounded, NoPosition> {
        let at: Vec<f64> = choice.iter().map(|steps| f64::from(*steps)).collect();
        let mut solved = self.solve_at(&at)?;
        for (arm, steps) in self.arms.iter().zip(choice) {
            solved.steps[arm.adjuster] = *steps;
        }
        self.learn(&solved, &at);
        Ok(solved)
    }

    /// The side with its arms so many steps from where they are counted.
    fn solve_at(&self, steps: &[f64]) -> Result<Rounded, NoPosition> {
        let Self { question, exact, .. } = self;
        let mut setup = exact.setup;
        let mut values = exact.values.clone();
        for (arm, steps) in self.arms.iter().zip(steps) {
            values[arm.adjuster] = arm.start + steps * (arm.arm.step * arm.arm.lead());
            question.adjusters[arm.adjuster].apply(question.side, &mut setup, values[arm.adjuster]);
        }
        let position = forward_from(&exact.position, question.side, &setup, question.drop)?;
        let figures = question.figures(&position);
        let rank = self.scale.rank(question, &figures);
        Ok(Rounded { setup, position, steps: vec![0; values.len()], values, figures, rank })
    }
}

/// A walk through the steps of one arm after the other, the last first.
struct StepWalk<'a> {
    arms: Vec<SteppedArm<'a>>,
    r: DMatrix<f64>,
    constant: DVector<f64>,
    /// The most that the sum of squares may come to.
    most: f64,
    chosen: Vec<i32>,
    found: Vec<(f64, Vec<i32>)>,
}

impl StepWalk<'_> {
    /// Chooses the steps of the arms before `next`, with the sum of squares so far.
    fn choose(&mut self, next: usize, so_far: f64) {
        if self.found.len() >= MOST_CHOICES {
            return;
        }
        let Some(i) = next.checked_sub(1) else {
            // What no arm changes.
            let others: f64 = self.constant.iter().skip(self.chosen.len()).map(|left| left * left).sum();
            if so_far + others <= self.most {
                self.found.push((so_far + others, self.chosen.clone()));
            }
            return;
        };
        let (arm, [low, high]) = (self.arms[i], self.arms[i].allowed);
        let row = (i < self.r.nrows()).then_some(i);
        let slope = row.map_or(0.0, |row| self.r[(row, i)]);
        let offset = row.map_or(0.0, |row| {
            let later = (next..self.chosen.len())
                .map(|j| self.r[(row, j)] * (f64::from(self.chosen[j]) - self.arms[j].at));
            self.constant[row] + later.sum::<f64>()
        });
        let left = (self.most - so_far).max(0.0).sqrt();
        let (from, to) = if slope.abs() > FLAT {
            let [a, b] = [(-left - offset) / slope, (left - offset) / slope];
            (to_steps((arm.at + a.min(b) - SLACK).ceil()), to_steps((arm.at + a.max(b) + SLACK).floor()))
        } else {
            // Nothing that counts is changed by it: it takes its own nearest step.
            let near = to_steps(arm.at.round()).clamp(low, high);
            (near, near)
        };
        for chosen in from.max(low)..=to.min(high) {
            self.chosen[i] = chosen;
            let part = slope * (f64::from(chosen) - arm.at) + offset;
            self.choose(i, so_far + part * part);
        }
    }
}

fn candidates<'a>(question: &SettingQuestion<'a>, exact: &AdjustedSide) -> Vec<SteppedArm<'a>> {
    let of = |(adjuster, value): (usize, &f64)| {
        let chosen = &question.adjusters[adjuster];
        let Means::Arm(ends) = chosen.means else { return None };
        let link = &question.side.links[chosen.link];
        let (arm, start) = (link.arm.as_ref()?, question.setup.lengths[chosen.link]);
        let at = |length: f64| (length - start) / (arm.step * arm.lead());
        let low = to_steps((at(ends[0]) - SLACK).ceil());
        let high = to_steps((at(ends[1]) + SLACK).floor()).max(low);
        let stays = match exact.parts[adjuster] {
            AdjusterPart::Home => Some(0),
            // Where something else meets its figure, it is rounded with the others.
            AdjusterPart::Stopped(end) => {
                let met = |figure| exact.parts.iter().any(|part| part.meets() == Some(figure));
                (!chosen.sets.is_some_and(met)).then_some([low, high][end as usize])
            }
            AdjusterPart::Meets(_) | AdjusterPart::Within => None,
        };
        Some(SteppedArm { adjuster, arm, start, at: at(*value), allowed: [low, high], stays })
    };
    exact.values.iter().enumerate().filter_map(of).collect()
}

#[expect(clippy::cast_possible_truncation, reason = "clamped to what an i32 holds")]
pub(crate) fn to_steps(value: f64) -> i32 {
    value.clamp(-1e9, 1e9) as i32
}
