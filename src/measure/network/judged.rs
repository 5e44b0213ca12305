//! Which of what was read and what was assumed to believe, where they do not go together.
//!
//! A reading that is a slip and an assumption that is too narrow are one free number each, so the likelier one is taken: a reading
//! is blamed only where its being a slip explains all that was read plainly better than a car less like the typical one does.

use super::place::placed;
use super::suspects::{ALIKE, TRIALS, all_looks, suspects};
use super::{Adjusted, CRITICAL, Case, Network, ObservationKind, Suspect, Unadjusted, adjust};
use crate::geometry::search::least;
use crate::measure::{WIDEST, rarely};

/// How closely the factor is looked for.
const WITHIN: f64 = 0.05;
/// How far off a slip is, standard deviation, mm: common practice, no source.
const SLIP: f64 = 100.0;
/// The same of a slope, rad.
const SLIP_OF_SLOPE: f64 = 0.2;
/// Readings that check each other less than one that is over would say nothing of how well they were read.
const CHECKED: f64 = 1.0;

/// Adjusts a network; suspect observations are set aside. Where its points are assumed, what is assumed is widened if the
/// observations as a whole say so, and the deviations of the observations are widened as they check each other.
///
/// # Errors
///
/// [`Unadjusted`] where the network cannot be adjusted at all.
pub(crate) fn judged(network: &Network) -> Result<(Adjusted, Vec<Suspect>), Unadjusted> {
    if network.prior.is_none() {
        return suspects(network);
    }
    let stated = placed(network);
    let mut placed = stated.clone();
    let mut kept: Vec<usize> = (0..network.observations.len()).collect();
    let mut suspects: Vec<Suspect> = Vec::new();
    let mut adjusted = adjust(&placed)?;
    loop {
        let standardized = |i: usize| adjusted.looks[i].standardized.abs();
        let mut worst: Vec<usize> = (0..kept.len()).filter(|&i| standardized(i) > CRITICAL).collect();
        worst.sort_by(|&a, &b| standardized(b).total_cmp(&standardized(a)));
        worst.truncate(TRIALS);
        let trials = worst.iter().filter_map(|&i| {
            let rest: Vec<usize> = kept.iter().copied().filter(|of| *of != kept[i]).collect();
            let there = adjust(&placed.only(&rest).begun_at(&adjusted.points)).ok()?;
            Some((i, there.unlikely + slip(&network.observations[kept[i]].kind), there))
        });
        let mut trials: Vec<(usize, f64, Adjusted)> =
            trials.filter(|(_, unlikely, _)| *unlikely < adjusted.unlikely - ALIKE).collect();
        trials.sort_by(|(_, a, _), (_, b, _)| a.total_cmp(b));
        let wider = wider(&placed, &kept, &adjusted);
        if let Some((network, there)) = wider
            && trials.first().is_none_or(|(_, unlikely, _)| there.unlikely <= *unlikely + ALIKE)
        {
            (placed, adjusted) = (network, there);
            continue;
        }
        if trials.is_empty() {
            break;
        }
        let (first, unlikely, _) = trials[0];
        trials.retain(|(_, other, _)| *other < unlikely + ALIKE);
        let case = |(i, _, rest): (usize, f64, Adjusted)| Case {
            observation: kept[i],
            should_read: network.observations[kept[i]].kind.value(&rest.points),
            rest,
        };
        let cases: Vec<Case> = trials.into_iter().map(case).collect();
        suspects.push(Suspect {
            observation: kept[first],
            standardized: adjusted.looks[first].standardized,
            should_read: cases[0].should_read,
            cases: if cases.len() > 1 { cases } else { Vec::new() },
        });
        kept.remove(first);
        // What seemed odd of the car may have been the slip.
        placed.prior.clone_from(&stated.prior);
        adjusted = adjust(&placed.only(&kept).begun_at(&adjusted.points))?;
    }
    // Where nothing tells which of several is the slip, all of them stay in.
    kept.extend(
        suspects.iter().filter(|suspect| !suspect.cases.is_empty()).map(|suspect| suspect.observation),
    );
    kept.sort_unstable();
    if suspects.iter().any(|suspect| !suspect.cases.is_empty()) {
        adjusted = adjust(&placed.only(&kept).begun_at(&adjusted.points))?;
    }
    let unit_weight = unit_weight(&adjusted);
    if unit_weight > 1.0 {
        let mut weighed = placed.only(&kept).begun_at(&adjusted.points);
        weighed.observations.iter_mut().for_each(|seen| seen.sigma *= unit_weight);
        adjusted = adjust(&weighed)?;
    }
    adjusted.weighed = Some(unit_weight);
    adjusted.looks = all_looks(network, &adjusted, &kept, &mut suspects);
    Ok((adjusted, suspects))
}

/// The deviation of an observation of unit weight by what checks the observations (W. Foerstner 1979, cited from memory): the part
/// of their squares over the part of them that shows in their residuals. What is assumed has its own weight.
fn unit_weight(adjusted: &Adjusted) -> f64 {
    let checked: f64 = adjusted.looks.iter().map(|look| look.redundancy).sum();
    // A residual over its own deviation, times the part of it that shows, is the residual over that of its reading.
    let squares: f64 = adjusted.looks.iter().map(|look| look.standardized.powi(2) * look.redundancy).sum();
    if checked < CHECKED { 1.0 } else { (squares / checked).sqrt() }
}

/// The network with what is assumed taken as wide as makes the observations likeliest, where they are further off than in one of a
/// thousand cases; once only.
fn wider(placed: &Network, kept: &[usize], adjusted: &Adjusted) -> Option<(Network, Adjusted)> {
    #[expect(clippy::cast_precision_loss, reason = "a count of observations")]
    let freedom = adjusted.freedom as f64;
    let stated = placed.prior.as_ref()?.wider <= 1.0;
    if !stated || adjusted.freedom == 0 || adjusted.sum_of_squares <= freedom * rarely(freedom) {
        return None;
    }
    let as_wide = |times: f64| {
        let mut network = placed.clone();
        network.prior.iter_mut().for_each(|prior| prior.wider = times);
        network
    };
    let there = |network: &Network| adjust(&network.only(kept).begun_at(&adjusted.points)).ok();
    let unlikely = |times: f64| there(&as_wide(times)).map_or(f64::INFINITY, |there| there.unlikely);
    let network = as_wide(least([1.0, WIDEST], WITHIN, unlikely).1.0);
    let there = there(&network)?;
    (there.unlikely < adjusted.unlikely - 1.0).then_some((network, there))
}

/// What a reading that is a slip adds to minus twice the logarithm of the likelihood.
fn slip(kind: &ObservationKind) -> f64 {
    let off = if matches!(kind, ObservationKind::Slope { .. }) { SLIP_OF_SLOPE } else { SLIP };
    2.0 * off.ln()
}
