//! Points, and what was measured between them.

use nalgebra::Point3;

use super::{Observation, Prior};

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
    pub prior: Option<Prior>,
}

impl Network {
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
