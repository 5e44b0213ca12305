//! Slips among the observations, by data snooping: the observation with the largest standardized residual past the critical
//! value is set aside, and the rest is adjusted again, until none is past it (W. Baarda, *A Testing Procedure for Use in
//! Geodetic Networks*, 1968, cited from memory).

use super::{Adjusted, Network, Unadjusted, adjust};

/// Standardized residuals past this are suspect: one sound observation of a thousand goes beyond it.
pub const CRITICAL: f64 = 3.29;
/// Residuals that look alike to this part cannot be told apart.
const ALIKE: f64 = 1e-3;

/// An observation that does not go with the others.
#[derive(Debug, Clone, PartialEq)]
pub struct Suspect {
    /// Which one.
    pub observation: usize,
    /// Its standardized residual when it was set aside.
    pub standardized: f64,
    /// What it would have to read to go with the others, mm or rad.
    pub should_read: f64,
    /// Others that could as well have been the slip: nothing tells them apart.
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
    let mut kept: Vec<usize> = (0..network.observations.len()).collect();
    let mut suspects: Vec<Suspect> = Vec::new();
    let mut adjusted = adjust(network)?;
    loop {
        let standardized = |i: usize| adjusted.looks[i].standardized.abs();
        let worst = (0..kept.len()).max_by(|&a, &b| standardized(a).total_cmp(&standardized(b)));
        let Some(worst) = worst.filter(|&worst| standardized(worst) > CRITICAL) else { break };
        let most = standardized(worst);
        let alike = (0..kept.len()).filter(|&i| i != worst && standardized(i) > most * (1.0 - ALIKE));
        let alike = alike.map(|i| kept[i]).collect();
        let without: Vec<usize> = kept.iter().copied().filter(|&i| i != kept[worst]).collect();
        let rest = Network {
            // The next one starts where this one ended.
            spots: (network.spots.iter().zip(&adjusted.points))
                .map(|(spot, point)| super::Spot { start: *point, ..*spot })
                .collect(),
            observations: without.iter().map(|&i| network.observations[i]).collect(),
        };
        let signed = adjusted.looks[worst].standardized;
        suspects.push(Suspect { observation: kept[worst], standardized: signed, should_read: 0.0, alike });
        adjusted = adjust(&rest)?;
        kept = without;
    }
    for suspect in &mut suspects {
        suspect.should_read = network.observations[suspect.observation].kind.value(&adjusted.points);
    }
    let mut looks = vec![None; network.observations.len()];
    for (look, i) in adjusted.looks.drain(..).zip(&kept) {
        looks[*i] = Some(look);
    }
    let aside = |suspect: &Suspect| super::Look {
        adjusted: suspect.should_read,
        residual: suspect.should_read - network.observations[suspect.observation].reads,
        redundancy: 1.0,
        standardized: suspect.standardized,
        noticed_from: 0.0,
    };
    for suspect in &suspects {
        looks[suspect.observation] = Some(aside(suspect));
    }
    adjusted.looks = looks.into_iter().flatten().collect();
    Ok((adjusted, suspects))
}
