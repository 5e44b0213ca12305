//! A network of points held together by rough measurements, adjusted by weighted least squares as geodesy does it.
//!
//! Every [`Observation`] is a number with a standard deviation and a [`Kind`] that says which points it measures. The adjusted
//! points are those with the least sum of squared residuals over deviations; where some cannot be told, [`adjust`] says which,
//! and what would tell them. [`suspects`] looks for slips.

mod adjustment;
mod freedom;
mod observation;
mod place;
mod suspects;
mod twins;

pub use adjustment::{Adjusted, Look, Unadjusted, adjust};
pub use freedom::Freedom;
pub use observation::{At, Kind, Observation};
pub use suspects::{CRITICAL, Suspect, suspects};
pub use twins::{Twin, twins};

use nalgebra::Point3;

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
}

impl Network {
    /// For each spot the places of its coordinates among the unknowns; none for a coordinate that is held.
    fn places(&self) -> (Vec<[Option<usize>; 3]>, usize) {
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
