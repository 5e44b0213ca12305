//! The one further reading that tells several accounts of a network apart best.

use nalgebra::Point3;

use super::freedom::coordinates;
use super::{Adjusted, At, Network, ObservationKind};

/// A reading that tells accounts of a network apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Deciding {
    /// What to read.
    pub kind: ObservationKind,
    /// What it would read if each of the accounts were the true one, mm or rad.
    pub reads: Vec<f64>,
}

/// Two accounts are told apart when they are this many deviations of a reading apart; further is no better.
const TOLD: f64 = 4.0;
/// A reading that is harder to take must tell this many times as much.
const WORTH: f64 = 1.2;
/// Points nearer to each other in all accounts than this are in one place, mm.
const SAME: f64 = 1.0;

/// The reading of which the accounts foretell the most different numbers, in its deviations: a coordinate, one of those that
/// were read once more, or a tape. None if none tells any two apart. `usual` is the deviation of something not read yet.
pub fn deciding(
    network: &Network,
    cases: &[&Adjusted],
    usual: impl Fn(&ObservationKind) -> f64,
) -> Option<Deciding> {
    let first = cases.first()?;
    let is_read = |kind: &ObservationKind| network.observations.iter().any(|seen| seen.kind.is_as(kind));
    let again = network.observations.iter().map(|seen| (seen.kind, seen.sigma));
    let new = |kind: &ObservationKind| (!is_read(kind)).then(|| (*kind, usual(kind)));
    let coordinates = coordinates(&first.places).filter_map(|kind| new(&kind));
    let all = coordinates.chain(again).chain(tapes(network, cases).filter_map(|kind| new(&kind)));
    let mut best: Option<(f64, ObservationKind)> = None;
    for (kind, sigma) in all {
        let told = told(&kind, sigma, cases);
        if told > best.map_or(1.0, |(most, _)| most * WORTH) {
            best = Some((told, kind));
        }
    }
    best.map(|(_, kind)| Deciding {
        kind,
        reads: cases.iter().map(|case| kind.value(&case.points)).collect(),
    })
}

/// How far apart the accounts are by a reading, in its deviations and those of what they foretell, over all pairs of them.
fn told(kind: &ObservationKind, sigma: f64, cases: &[&Adjusted]) -> f64 {
    let foretold: Vec<[f64; 2]> =
        cases.iter().map(|case| [kind.value(&case.points), case.variance(kind)]).collect();
    let pairs = foretold.iter().enumerate().flat_map(|(i, a)| foretold[i + 1..].iter().map(move |b| (a, b)));
    pairs.map(|(a, b)| ((a[0] - b[0]).abs() / (sigma * sigma + a[1].max(b[1])).sqrt()).min(TOLD)).sum()
}

/// Tapes from a point that is not in one place to any other.
fn tapes<'a>(network: &'a Network, cases: &'a [&'a Adjusted]) -> impl Iterator<Item = ObservationKind> + 'a {
    let spots = 0..network.spots.len();
    let place = |case: &Adjusted, spot: usize| -> Point3<f64> { case.points[spot] };
    let moves =
        move |spot: usize| cases.iter().any(|case| (place(case, spot) - place(cases[0], spot)).norm() > SAME);
    let used = |spot: usize| network.observations.iter().any(|seen| seen.kind.spots().contains(&spot));
    let used: Vec<usize> = spots.filter(|&spot| used(spot)).collect();
    let pairs = used.clone().into_iter().flat_map(move |a| used.clone().into_iter().map(move |b| (a, b)));
    pairs
        .filter(move |&(a, b)| a < b && (moves(a) || moves(b)))
        .map(|(a, b)| ObservationKind::Distance { from: At::spot(a), to: At::spot(b) })
}
