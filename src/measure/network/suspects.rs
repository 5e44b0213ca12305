//! Slips among the observations, by data snooping: the observation with the largest standardized residual past the critical
//! value is set aside, and the rest is adjusted again, until none is past it (W. Baarda, *A Testing Procedure for Use in
//! Geodetic Networks*, 1968, cited from memory).
//!
//! Where slips are large the residuals of the bent network say less than what is left without an observation, so the few
//! largest are each left out on trial, and the one without which the rest fits best is set aside.

use super::place::placed;
use super::{Adjusted, Look, Network, Spot, Unadjusted, adjust};

/// Standardized residuals past this are suspect: one sound observation of a thousand goes beyond it.
pub const CRITICAL: f64 = 3.29;
/// How many are left out on trial.
pub(super) const TRIALS: usize = 4;
/// Leaving either of two out explains the rest about as well when the sums of squares differ by less than this.
pub(super) const ALIKE: f64 = CRITICAL * CRITICAL;

/// An observation that does not go with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which one.
    pub observation: usize,
    /// Its standardized residual when it was set aside.
    pub standardized: f64,
    /// What it would have to read to go with the others, mm or rad.
    pub should_read: f64,
    /// Others that could as well have been the slip: the rest fits about as well without them.
    pub alike: Vec<usize>,
}

/// Sets suspect observations aside one by one. Returns the network adjusted without them, and them, the worst first.
///
/// In the result every observation has its look, also those that were set aside: theirs is how far off they are.
///
/// # Errors
///
/// [`Unadjusted`] where the network cannot be adjusted at all.
pub fn suspects(network: &Network) -> Result<(Adjusted, Vec<Suspect>), Unadjusted> {
    let placed = placed(network);
    let mut kept: Vec<usize> = (0..network.observations.len()).collect();
    let mut suspects: Vec<Suspect> = Vec::new();
    let mut adjusted = adjust(&placed)?;
    loop {
        let standardized = |i: usize| adjusted.looks[i].standardized.abs();
        let mut worst: Vec<usize> = (0..kept.len()).filter(|&i| standardized(i) > CRITICAL).collect();
        worst.sort_by(|&a, &b| standardized(b).total_cmp(&standardized(a)));
        worst.truncate(TRIALS);
        let trials = worst.iter().map(|&i| (i, without(&placed, &adjusted, &kept, kept[i])));
        let mut trials: Vec<(usize, Adjusted)> =
            trials.filter_map(|(i, there)| Some((i, there.ok()?))).collect();
        trials.sort_by(|(_, a), (_, b)| a.sum_of_squares.total_cmp(&b.sum_of_squares));
        if trials.is_empty() {
            // Left out, any of them would leave a point loose: what can be said is that they do not go together.
            if let Some(&first) = worst.first() {
                let alike = worst[1..].iter().map(|&i| kept[i]).collect();
                let signed = adjusted.looks[first].standardized;
                let should_read = adjusted.looks[first].adjusted;
                suspects.push(Suspect { observation: kept[first], standardized: signed, should_read, alike });
            }
            break;
        }
        let (first, there) = trials.remove(0);
        let near = trials.iter().filter(|(_, other)| other.sum_of_squares < there.sum_of_squares + ALIKE);
        suspects.push(Suspect {
            observation: kept[first],
            standardized: adjusted.looks[first].standardized,
            should_read: network.observations[kept[first]].kind.value(&there.points),
            alike: near.map(|(i, _)| kept[*i]).collect(),
        });
        kept.remove(first);
        adjusted = there;
    }
    adjusted.looks = all_looks(network, &adjusted, &kept, &mut suspects);
    Ok((adjusted, suspects))
}

/// The rest without one observation: begun where it was bent to, and where it was placed; the better of both.
pub(super) fn without(
    placed: &Network,
    adjusted: &Adjusted,
    kept: &[usize],
    out: usize,
) -> Result<Adjusted, Unadjusted> {
    let rest: Vec<usize> = kept.iter().copied().filter(|&i| i != out).collect();
    let fresh = kept_of(placed, &rest);
    let bent =
        (placed.spots.iter().zip(&adjusted.points)).map(|(spot, point)| Spot { start: *point, ..*spot });
    let bent = adjust(&Network { spots: bent.collect(), ..fresh.clone() });
    match (bent, adjust(&fresh)) {
        (Ok(a), Ok(b)) => Ok(if b.sum_of_squares < a.sum_of_squares { b } else { a }),
        (Ok(one), Err(_)) | (Err(_), Ok(one)) => Ok(one),
        (Err(error), Err(_)) => Err(error),
    }
}

/// The network with some of its observations only.
pub(super) fn kept_of(network: &Network, kept: &[usize]) -> Network {
    Network {
        spots: network.spots.clone(),
        observations: kept.iter().map(|&i| network.observations[i]).collect(),
        prior: network.prior.clone(),
    }
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
