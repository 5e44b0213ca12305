//! What is known of every car, as rows that stand with the readings; see `roadworthy`.
//!
//! With points that are only guessed the car that fits some readings best may be one near a dead point. These rows keep steps from
//! going there. They are no readings, and nothing is judged by them. Where points were measured they say nothing that these do not
//! say far better, and are left out.

use crate::car::{Car, LINKS, PerSide};
use crate::measure::Round;
use crate::measure::roadworthy::{LONGER, OFF_IF_LONGER, OFF_IN_TRAVEL, TRAVEL};

/// The states of which something is known of every car, and how far camber and toe may there be off what is thought of them,
/// standard deviation, rad.
pub(super) fn travel(car: &Car) -> Vec<(Round, [f64; 2])> {
    let moved = [TRAVEL, -TRAVEL].map(|drop| {
        let round = Round { drops: PerSide::both(drop), ..Round::default() };
        (round, OFF_IN_TRAVEL)
    });
    let set = (0..LINKS).flat_map(|link| [LONGER, -LONGER].map(|longer| (link, longer)));
    let set = set.map(|(link, longer)| {
        let mut round = Round::default();
        for side in &car.sides {
            round.lengths[side.hand][link] = Some(side.links[link].stock_length() + longer);
        }
        (round, OFF_IF_LONGER)
    });
    moved.into_iter().chain(set).collect()
}
