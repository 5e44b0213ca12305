//! What is assumed of points before anything is measured: typical places, and how far a car may be off them.
//!
//! A car that begins from `[typical]`: places and deviations of its pivots (`data/typical.toml`) are whitened rows in the
//! survey's network (`measure/network/prior.rs`). Readings further off it than in one of a thousand cars widen it, unless one
//! of them being a slip is likelier (`judged.rs`); `assumed` names points of which a coordinate is still known no better than
//! half of what was assumed. Where these are pivots of the subframe, it may sit 2 mm beside the centreline
//! (`Errors::beside_the_centreline`). The CLI makes the profile in memory wherever it reads one (`cli/worked_out.rs`).

use nalgebra::{DMatrix, DVector, Point3};

/// Variances below this part of the largest are none: what has none is held, not assumed.
const NONE: f64 = 1e-12;

/// Places that points are assumed to have, with errors that go together.
///
/// Places along the car count from the first of the points, the wheel centre, wherever that stands.
#[derive(Debug, Clone, PartialEq)]
pub struct PointPrior {
    /// The spot of each point.
    spots: Vec<usize>,
    /// Where they are assumed to be, three numbers a point, mm.
    places: DVector<f64>,
    /// Deviations of those, mm.
    sigmas: DVector<f64>,
    /// What is off in independent parts of deviation 1: a row a part, a column a number.
    parts: DMatrix<f64>,
    /// The logarithm of the determinant of the covariance.
    size: f64,
    /// How many times as wide as it was said the errors are taken.
    pub(crate) wider: f64,
}

impl PointPrior {
    /// Points, by their spots, that are assumed to be at places (mm), with a covariance of all their coordinates (mm2).
    pub(crate) fn new(spots: &[usize], places: &[[f64; 3]], covariance: DMatrix<f64>) -> Self {
        let sigmas = covariance.diagonal().map(|variance| variance.max(0.0).sqrt());
        let eigen = covariance.symmetric_eigen();
        let most = eigen.eigenvalues.amax();
        let held = |i: &usize| eigen.eigenvalues[*i] > NONE * most;
        let assumed: Vec<usize> = (0..eigen.eigenvalues.len()).filter(held).collect();
        let mut parts = DMatrix::zeros(assumed.len(), 3 * spots.len());
        for (row, &i) in assumed.iter().enumerate() {
            parts
                .row_mut(row)
                .copy_from(&(eigen.eigenvectors.column(i).transpose() / eigen.eigenvalues[i].sqrt()));
            // Forward counts from the wheel centre, whose own place forward says nothing.
            let forward: f64 = (1..spots.len()).map(|point| parts[(row, 3 * point)]).sum();
            parts[(row, 0)] = -forward;
        }
        Self {
            spots: spots.to_vec(),
            places: DVector::from_iterator(3 * places.len(), places.iter().flatten().copied()),
            sigmas,
            parts,
            size: assumed.iter().map(|&i| eigen.eigenvalues[i].ln()).sum(),
            wider: 1.0,
        }
    }

    /// How many independent parts there are.
    pub(super) fn count(&self) -> usize {
        self.parts.nrows()
    }

    /// How far points are off in each part, in deviations.
    pub(super) fn off(&self, points: &[Point3<f64>]) -> DVector<f64> {
        let at = self.spots.iter().flat_map(|&spot| points[spot].coords.iter().copied().collect::<Vec<_>>());
        &self.parts * (DVector::from_iterator(self.places.len(), at) - &self.places) / self.wider
    }

    /// How that changes with the coordinates of the spots: the part, the spot, the axis, and by how much.
    pub(super) fn slopes(&self) -> impl Iterator<Item = (usize, usize, usize, f64)> {
        (0..self.parts.nrows()).flat_map(move |row| {
            (0..self.parts.ncols()).map(move |number| {
                (row, self.spots[number / 3], number % 3, self.parts[(row, number)] / self.wider)
            })
        })
    }

    /// The logarithm of the determinant of the covariance, as wide as it is taken.
    #[expect(clippy::cast_precision_loss, reason = "a count of coordinates")]
    pub(super) fn size(&self) -> f64 {
        self.size + 2.0 * self.count() as f64 * self.wider.ln()
    }

    /// Deviations of the coordinates of a point, by its place among them, as wide as they are taken, mm.
    pub(crate) fn sigma(&self, point: usize) -> [f64; 3] {
        [0, 1, 2].map(|axis| self.sigmas[3 * point + axis] * self.wider)
    }
}
