//! Points, and what was measured between them.

use nalgebra::Point3;

use super::{Observation, PointPrior, Shared};

/// A point of a network.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spot {
    /// Where it is, or roughly is, mm.
    pub start: Point3<f64>,
    /// Which coordinates are not to move.
    pub held: [bool; 3],
    /// Whether the start is only a guess, so that a mirrored place may be meant.
    pub guessed: bool,
}

/// Points and what was measured between them.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Network {
    /// The points.
    pub spots: Vec<Spot>,
    /// What was measured.
    pub observations: Vec<Observation>,
    /// Where points are assumed to be before anything is measured.
    pub prior: Option<PointPrior>,
    /// Errors that its readings share.
    pub shared: Shared,
}

impl Network {
    /// The squares of all misfits over their deviations, added up, with the points at some places.
    pub(super) fn sum_of_squares(&self, points: &[Point3<f64>]) -> f64 {
        self.observations
            .iter()
            .map(|seen| ((seen.kind.value(points) - seen.reads) / seen.sigma).powi(2))
            .sum()
    }

    /// The same with some of the observations only.
    pub(super) fn only(&self, kept: &[usize]) -> Self {
        let observations = kept.iter().filter_map(|&i| self.observations.get(i).copied());
        Self {
            spots: self.spots.clone(),
            observations: observations.collect(),
            prior: self.prior.clone(),
            shared: self.shared,
        }
    }

    /// The same, begun from other places.
    pub(super) fn begun_at(&self, points: &[Point3<f64>]) -> Self {
        let spots = self.spots.iter().zip(points).map(|(spot, point)| Spot { start: *point, ..*spot });
        Self { spots: spots.collect(), ..self.clone() }
    }

    /// For each spot the places of its coordinates among the unknowns; none for a coordinate that is held.
    pub(super) fn places(&self) -> (Vec<[Option<usize>; 3]>, usize) {
        let mut count = 0;
        let places = (self.spots.iter())
            .map(|spot| {
                spot.held.map(|held| {
                    (!held).then(|| {
                        count += 1;
                        count - 1
                    })
                })
            })
            .collect();
        (places, count)
    }
}
