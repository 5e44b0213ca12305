//! What is known of every car before anything is measured: its wheels go through their travel, and neither there nor where a link
//! is set a little longer do they turn about wildly. A car of which that is not true is on no road.
//!
//! Where points are only guessed this says more than they do. All of it is common practice, no source.

use crate::car::{LINKS, Side};
use crate::geometry::{DEGREE, Figure, Ground, Position, Wheel};

/// Points of which no coordinate is known worse than this, mm, say all of it far better.
const ROUGH: f64 = 5.0;

/// Whether the points of a side are only guessed, so that what is known of every car says more than they do.
pub(super) fn is_rough(side: &Side) -> bool {
    side.errors.of_points()[1] > ROUGH
}

/// Every wheel goes so far up and down from where it stands, mm.
pub(super) const TRAVEL: f64 = 60.0;
/// So far camber and toe may then be off what is thought of them, standard deviation, rad.
pub(super) const OFF_IN_TRAVEL: [f64; 2] = [4.0 * DEGREE, 2.5 * DEGREE];
/// Every link can be set so much longer and shorter, mm.
pub(super) const LONGER: f64 = 6.0;
/// So far camber and toe may then be off what is thought of them, standard deviation, rad.
pub(super) const OFF_IF_LONGER: [f64; 2] = [2.2 * DEGREE, 3.5 * DEGREE];

/// What a wheel does in a position for each mm of each link and of its height: camber and toe, rad.
pub(super) type Rates = [[f64; 2]; LINKS + 1];

pub(super) fn rates(position: &Position, wheel: &Wheel, ground: &Ground) -> Rates {
    std::array::from_fn(|row| {
        [Figure::Camber, Figure::Toe].map(|figure| position.rate(figure, wheel, ground, row))
    })
}

/// How likely a car is whose wheel does `there` where `here` is thought of it: 1 where both are the same.
pub(super) fn likely(here: &Rates, there: &Rates) -> f64 {
    let off = |row: usize, figure: usize| {
        let (by, off) = if row < LINKS { (LONGER, OFF_IF_LONGER) } else { (TRAVEL, OFF_IN_TRAVEL) };
        // Up as well as down, longer as well as shorter.
        2.0 * ((there[row][figure] - here[row][figure]) * by / off[figure]).powi(2)
    };
    let sum: f64 = (0..=LINKS).flat_map(|row| [off(row, 0), off(row, 1)]).sum();
    (-0.5 * sum).exp()
}
