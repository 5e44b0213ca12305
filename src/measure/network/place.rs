//! Where to begin: points of which nobody said where they are, each placed by what it was measured to.
//!
//! A tape that begins at a wrong place may lead to one that fits badly, and sound readings would bear the blame. So a guessed
//! point is first placed by itself, with the points it is measured to held where they are thought to be: from the corners of a
//! wide box round its guess, with slips hardly counted, the best of all.

use nalgebra::{DMatrix, DVector, Point3, Vector3};

use super::{Network, Observation};
use crate::measure::{Linearised, least_squares};

/// Half the box in which a point is looked for, mm.
const ROUND: f64 = 600.0;
/// Rounds over all guessed points: one may have to wait for another.
const ROUNDS: usize = 3;
/// Misfits are counted up to about this many deviations, so that one slip does not lead the point away.
const DEVIATIONS: f64 = 20.0;

/// The network with its guessed points put where what was measured puts them.
pub(super) fn placed(network: &Network) -> Network {
    let mut network = network.clone();
    let guessed: Vec<usize> = (0..network.spots.len()).filter(|&spot| network.spots[spot].guessed).collect();
    for _ in 0..ROUNDS {
        for &spot in &guessed {
            let start = place(&network, spot);
            network.spots[spot].start = start;
        }
    }
    network
}

/// The best place of one point among the others as they stand.
fn place(network: &Network, spot: usize) -> Point3<f64> {
    let seen: Vec<&Observation> =
        network.observations.iter().filter(|seen| seen.kind.spots().contains(&spot)).collect();
    let free: Vec<usize> = (0..3).filter(|&axis| !network.spots[spot].held[axis]).collect();
    let home = network.spots[spot].start;
    if seen.len() < free.len() || free.is_empty() {
        return home;
    }
    let mut points: Vec<Point3<f64>> = network.spots.iter().map(|spot| spot.start).collect();
    let cost = |points: &[Point3<f64>]| -> f64 {
        seen.iter().map(|seen| tamed((seen.kind.value(points) - seen.reads) / seen.sigma).powi(2)).sum()
    };
    let mut best = (cost(&points), home);
    for start in starts(&home, &free) {
        let model = |x: &DVector<f64>| {
            let mut there = points.clone();
            there[spot] = with(&start, &free, x);
            Some(linearised(&seen, &there, spot, &free))
        };
        let begin = DVector::from_iterator(free.len(), free.iter().map(|&axis| start[axis]));
        let Ok(least) = least_squares(begin, model) else { continue };
        let at = with(&start, &free, &least.unknowns);
        points[spot] = at;
        let here = cost(&points);
        // A place far outside the car is none, however well it fits.
        if here < best.0 && (at - home).norm() < 4.0 * ROUND {
            best = (here, at);
        }
    }
    best.1
}

/// A misfit that grows ever more slowly: `d asinh(w / d)`.
fn tamed(misfit: f64) -> f64 {
    DEVIATIONS * (misfit / DEVIATIONS).asinh()
}

/// The guess, and the corners of the box round it along the coordinates that are free.
fn starts(home: &Point3<f64>, free: &[usize]) -> Vec<Point3<f64>> {
    let corners = (0..1_usize << free.len()).map(|corner| {
        let mut start = *home;
        for (bit, axis) in free.iter().enumerate() {
            start[*axis] += if corner >> bit & 1 == 1 { ROUND } else { -ROUND };
        }
        start
    });
    [*home].into_iter().chain(corners).collect()
}

fn with(home: &Point3<f64>, free: &[usize], x: &DVector<f64>) -> Point3<f64> {
    let mut point = *home;
    for (value, axis) in x.iter().zip(free) {
        point[*axis] = *value;
    }
    point
}

fn linearised(seen: &[&Observation], points: &[Point3<f64>], spot: usize, free: &[usize]) -> Linearised {
    let mut residuals = DVector::zeros(seen.len());
    let mut jacobian = DMatrix::zeros(seen.len(), free.len());
    for (row, seen) in seen.iter().enumerate() {
        let misfit = (seen.kind.value(points) - seen.reads) / seen.sigma;
        residuals[row] = tamed(misfit);
        let own = seen.kind.gradient(points).into_iter().filter(|(of, _)| *of == spot);
        let slope: Vector3<f64> = own.map(|(_, slope)| slope).sum();
        // d tamed = dw / sqrt(1 + (w / d)^2)
        let tame = (misfit / DEVIATIONS).hypot(1.0) * seen.sigma;
        for (column, axis) in free.iter().enumerate() {
            jacobian[(row, column)] = slope[*axis] / tame;
        }
    }
    Linearised { residuals, jacobian }
}
