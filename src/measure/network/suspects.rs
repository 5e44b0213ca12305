//! Slips among the observations, by data snooping: the observation with the largest standardized residual past the critical
//! value is set aside, and the rest is adjusted again, until none is past it (W. Baarda, *A Testing Procedure for Use in
//! Geodetic Networks*, 1968, cited from memory).
//!
//! Where slips are large the residuals of the bent network say less than what is left without an observation, so those past
//! the critical value are each left out on trial, and the one without which the rest fits best is set aside. Others without
//! which it fits as well, like all that close one loop, cannot be told from it: then none is.

use nalgebra::Point3;

use super::place::placed;
use super::twins::{AS_WELL, elsewhere};
use super::{Adjusted, CRITICAL, Look, Network, Unadjusted, adjust};

/// How many are left out on trial from where they bend the others, the furthest off first; the rest from where the best of
/// those puts the others.
pub(super) const TRIALS: usize = 4;
/// Leaving either of two out explains the rest about as well when the sums of squares differ by less than this.
pub(super) const ALIKE: f64 = CRITICAL * CRITICAL;
/// An observation of which less than this part of a slip shows leaves a point all but loose where it is.
const WEAK: f64 = 0.01;
/// How far off an observation is looked for: the first step in its deviations, how much longer each is, and how many.
const STEPS: (f64, f64, i32) = (2.0, 1.3, 25);
/// How often the stretch in which it lies is cut by a third.
const FINER: usize = 30;
/// A sum of squares that falls by this part of what a residual foretells has found its lowest place.
const FORETOLD: f64 = 0.9;

/// An observation that does not go with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which one.
    pub observation: usize,
    /// Its standardized residual when it was looked at.
    pub standardized: f64,
    /// What it would have to read to go with the others, mm or rad.
    pub(crate) should_read: f64,
    /// All that could as well have been the slip, itself the first: the rest fits about as well without any of them. None where
    /// it is told apart from all others.
    pub cases: Vec<Case>,
}

/// One account of what went wrong: that this observation did.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Which one.
    pub(crate) observation: usize,
    /// What it would have to read, mm or rad.
    pub(crate) should_read: f64,
    /// The rest, adjusted without it; where that leaves a point loose, in one of its places.
    pub(crate) rest: Adjusted,
}

/// Sets suspect observations aside one by one. Returns the network adjusted without those that are told apart from all others,
/// and all that are suspect, the worst first. Where nothing tells which of several is the slip, all of them stay in.
///
/// In the result every observation has its look, also those that were set aside: theirs is how far off they are.
///
/// # Errors
///
/// [`Unadjusted`] where the network cannot be adjusted at all.
pub fn suspects(network: &Network) -> Result<(Adjusted, Vec<Suspect>), Unadjusted> {
    let mut placed = placed(network);
    let mut kept: Vec<usize> = (0..network.observations.len()).collect();
    let mut suspects: Vec<Suspect> = Vec::new();
    let mut adjusted = adjust(&placed)?;
    if adjusted.looks.iter().any(|look| look.standardized.abs() > CRITICAL) {
        // What does not fit here may fit elsewhere.
        let lower = elsewhere(&placed, &adjusted).into_iter();
        let lower = lower.filter(|there| there.sum_of_squares + AS_WELL < adjusted.sum_of_squares);
        if let Some(lowest) = lower.min_by(|a, b| a.sum_of_squares.total_cmp(&b.sum_of_squares)) {
            placed = placed.begun_at(&lowest.points);
            adjusted = lowest;
        }
    }
    while let Some((suspect, rest)) = worst(&placed, &adjusted, &kept) {
        kept.retain(|&i| rest.is_none() || i != suspect.observation);
        suspects.push(suspect);
        match rest {
            Some(rest) => adjusted = rest,
            None => break,
        }
    }
    let tied = |suspect: &&Suspect| !suspect.cases.is_empty() && !kept.contains(&suspect.observation);
    let back: Vec<usize> = suspects.iter().filter(tied).map(|suspect| suspect.observation).collect();
    if !back.is_empty() {
        kept.extend(back);
        kept.sort_unstable();
        let all = placed.only(&kept);
        adjusted = adjust(&all).or_else(|_| adjust(&all.begun_at(&adjusted.points)))?;
    }
    adjusted.looks = all_looks(network, &adjusted, &kept, &mut suspects);
    Ok((adjusted, suspects))
}

/// One observation given up on trial.
struct GivenUp {
    /// Its place among those that are kept.
    place: usize,
    /// The rest without it.
    rest: Adjusted,
}

/// The likeliest slip among the observations that are kept, and the rest adjusted without it; no rest where that leaves a
/// point loose: what can be said then is that they do not go together.
fn worst(placed: &Network, adjusted: &Adjusted, kept: &[usize]) -> Option<(Suspect, Option<Adjusted>)> {
    let look = |place: usize| &adjusted.looks[place];
    let mut worst: Vec<usize> = (0..kept.len()).filter(|&i| look(i).standardized.abs() > CRITICAL).collect();
    worst.sort_by(|&a, &b| look(b).standardized.abs().total_cmp(&look(a).standardized.abs()));
    let first = *worst.first()?;
    let suspect = |place: usize, should_read: f64, cases: Vec<Case>| Suspect {
        observation: kept[place],
        standardized: look(place).standardized,
        should_read,
        cases: if cases.len() > 1 { cases } else { Vec::new() },
    };
    let firm: Vec<usize> =
        worst.iter().copied().filter(|&i| look(i).redundancy > WEAK).take(TRIALS).collect();
    let mut trials: Vec<GivenUp> = firm.iter().filter_map(|&i| without(placed, adjusted, kept, i)).collect();
    let lowest = trials.iter().min_by(|a, b| a.rest.sum_of_squares.total_cmp(&b.rest.sum_of_squares));
    let Some(lowest) = lowest else {
        let case = |&place: &usize| Case {
            observation: kept[place],
            // A misfit is that part of a slip which is the redundancy.
            should_read: placed.observations[kept[place]].reads
                + look(place).residual / look(place).redundancy,
            rest: adjusted.clone(),
        };
        return Some((suspect(first, look(first).adjusted, worst.iter().map(case).collect()), None));
    };
    let others = worst.iter().filter(|place| !firm.contains(place));
    let others: Vec<GivenUp> = others.filter_map(|&place| instead_of(lowest, placed, kept, place)).collect();
    trials.extend(others);
    trials.sort_by(|a, b| a.rest.sum_of_squares.total_cmp(&b.rest.sum_of_squares));
    let best = trials.remove(0);
    trials.retain(|GivenUp { place, rest }| {
        // Two slips that have nothing to do with each other may be equally far off.
        let clears = best.rest.looks[after(&best, *place)].standardized.abs() <= CRITICAL;
        clears && rest.sum_of_squares < best.rest.sum_of_squares + ALIKE
    });
    let case = |place: usize, rest: Adjusted| {
        let observation = kept[place];
        Case { observation, should_read: placed.observations[observation].kind.value(&rest.points), rest }
    };
    let itself = case(best.place, best.rest.clone());
    let should_read = itself.should_read;
    let others = trials.into_iter().map(|trial| case(trial.place, trial.rest));
    let cases = [itself].into_iter().chain(others).collect();
    Some((suspect(best.place, should_read, cases), Some(best.rest)))
}

/// Where an observation stands when another was left out.
fn after(out: &GivenUp, place: usize) -> usize {
    place - usize::from(place > out.place)
}

fn but(kept: &[usize], place: usize) -> Vec<usize> {
    kept.iter().copied().filter(|&of| of != kept[place]).collect()
}

/// The rest without one observation: begun where it was bent to, and, where that is not as low as its residual foretells,
/// where it was placed; the better of both.
fn without(placed: &Network, adjusted: &Adjusted, kept: &[usize], place: usize) -> Option<GivenUp> {
    let rest = placed.only(&but(kept, place));
    let bent = adjust(&rest.begun_at(&adjusted.points)).ok();
    let foretold = adjusted.sum_of_squares - FORETOLD * adjusted.looks[place].standardized.powi(2);
    let low = bent.as_ref().is_some_and(|bent| bent.sum_of_squares <= foretold);
    let fresh = if low { None } else { adjust(&rest).ok() };
    let lower = |a: &Adjusted, b: &Adjusted| a.sum_of_squares.total_cmp(&b.sum_of_squares);
    let rest = bent.into_iter().chain(fresh).min_by(lower)?;
    Some(GivenUp { place, rest })
}

/// The rest without one observation in place of another: from where the rest without that other is, its points are moved as
/// far as it takes to fit that other too. None if nothing fits.
fn instead_of(other: &GivenUp, placed: &Network, kept: &[usize], place: usize) -> Option<GivenUp> {
    let rest = placed.only(&but(kept, place));
    let seen = &placed.observations[kept[place]];
    let way = other.rest.moved_by(&seen.kind);
    let moved = |by: f64| -> Vec<Point3<f64>> {
        other.rest.points.iter().zip(&way).map(|(point, way)| point + way * by).collect()
    };
    let misfit = |by: f64| rest.sum_of_squares(&moved(by));
    let (first, longer, count) = STEPS;
    let steps =
        (0..count).flat_map(|step| [first, -first].map(|first| first * seen.sigma * longer.powi(step)));
    let by = steps.min_by(|a, b| misfit(*a).total_cmp(&misfit(*b)))?;
    let (mut near, mut far) = (by / longer, by * longer);
    for _ in 0..FINER {
        let [a, b] = [2.0 * near + far, near + 2.0 * far].map(|three| three / 3.0);
        if misfit(a) < misfit(b) {
            far = b;
        } else {
            near = a;
        }
    }
    let start = rest.begun_at(&moved(near));
    let rest = adjust(&start).ok().or_else(|| {
        // It leaves a point loose there: then the place is as good as any on the way.
        let sum_of_squares = misfit(near);
        let points = moved(near);
        (sum_of_squares.is_finite()).then(|| Adjusted { points, sum_of_squares, ..other.rest.clone() })
    })?;
    Some(GivenUp { place, rest })
}

/// The looks of all observations; those that were set aside are held against the final points.
pub(super) fn all_looks(
    network: &Network,
    adjusted: &Adjusted,
    kept: &[usize],
    suspects: &mut [Suspect],
) -> Vec<Look> {
    let aside = |i: usize| {
        let should_read = network.observations[i].kind.value(&adjusted.points);
        let residual = should_read - network.observations[i].reads;
        Look { adjusted: should_read, residual, redundancy: 1.0, standardized: 0.0, noticed_from: 0.0 }
    };
    let mut looks: Vec<Look> = (0..network.observations.len()).map(aside).collect();
    for (look, &i) in adjusted.looks.iter().zip(kept) {
        looks[i] = *look;
    }
    for suspect in suspects.iter_mut().filter(|suspect| !kept.contains(&suspect.observation)) {
        suspect.should_read = looks[suspect.observation].adjusted;
        looks[suspect.observation].standardized = suspect.standardized;
    }
    looks
}
