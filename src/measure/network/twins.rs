//! Places that fit as well: distances to points of one plane are met on both sides of it.

use nalgebra::{Matrix3, Point3, Vector3};

use super::{Adjusted, Kind, Network, Spot, adjust};

/// Another place of a point that fits the observations about as well.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Twin {
    /// Which point.
    pub spot: usize,
    /// The other place, mm.
    pub other: Point3<f64>,
}

/// Places nearer than this are one, mm.
const APART: f64 = 10.0;
/// A sum of squares larger by no more than this fits about as well: 3.29 squared.
const AS_WELL: f64 = 10.8;

/// Looks for the twin of each point whose start was only a guess.
pub fn twins(network: &Network, adjusted: &Adjusted) -> Vec<Twin> {
    (0..network.spots.len())
        .filter(|&spot| network.spots[spot].guessed)
        .filter_map(|spot| {
            let start = reflected(network, adjusted, spot)?;
            let mut other = network.clone();
            for (i, place) in other.spots.iter_mut().enumerate() {
                *place = Spot { start: if i == spot { start } else { adjusted.points[i] }, ..*place };
            }
            let there = adjust(&other).ok()?;
            let apart = (there.points[spot] - adjusted.points[spot]).norm() > APART;
            let fits = there.sum_of_squares <= adjusted.sum_of_squares + AS_WELL;
            (apart && fits).then_some(Twin { spot, other: there.points[spot] })
        })
        .collect()
}

/// The point mirrored in the plane that lies nearest the points it is measured to. Where a coordinate is held, as on the
/// floor, the plane stands along it and the coordinate stays.
fn reflected(network: &Network, adjusted: &Adjusted, spot: usize) -> Option<Point3<f64>> {
    let partners: Vec<Point3<f64>> = (network.observations.iter())
        .filter_map(|observation| match observation.kind {
            Kind::Distance { from, to } if from.spot == spot => Some(to),
            Kind::Distance { from, to } if to.spot == spot => Some(from),
            _ => None,
        })
        .map(|at| adjusted.points[at.spot])
        .collect();
    let point = adjusted.points[spot];
    let held = network.spots[spot].held;
    #[expect(clippy::cast_precision_loss, reason = "a count of observations")]
    let middle =
        partners.iter().fold(Vector3::zeros(), |sum, p| sum + p.coords) / partners.len().max(1) as f64;
    let scatter = (partners.iter())
        .map(|p| p.coords - middle)
        .map(|d| Vector3::from_fn(|axis, _| if held[axis] { 0.0 } else { d[axis] }))
        .fold(Matrix3::zeros(), |sum: Matrix3<f64>, d| sum + d * d.transpose());
    // No plane is square to a coordinate that is held.
    let upright = Matrix3::from_fn(|i, j| if i == j && held[i] { 1e15 } else { scatter[(i, j)] });
    let eigen = upright.symmetric_eigen();
    let normal = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
    (partners.len() >= 3).then(|| point - normal * (2.0 * normal.dot(&(point.coords - middle))))
}
