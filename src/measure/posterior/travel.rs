//! What is known of every car, as rows that stand with the readings; see `roadworthy`.
//!
//! With points that are only guessed the car that fits some readings best may be one near a dead point. These rows keep steps from
//! going there. They are no readings, and nothing is judged by them. Where points were measured they say nothing that these do not
//! say far better, and are left out.

use nalgebra::DVector;

use super::model::{Model, Read};
use super::state::State;
use crate::car::{LINKS, PerSide};
use crate::measure::Round;
use crate::measure::roadworthy::{LONGER, OFF_IF_LONGER, OFF_IN_TRAVEL, TRAVEL};

/// What is known to this part of its deviation anyhow has no need of it.
const KNOWN: f64 = 0.3;

/// What is taken for granted of a car that is known no better; its states are put behind those of the model.
pub(super) fn travel(model: &mut Model<'_>) -> Vec<Read> {
    let z = DVector::zeros(model.count());
    let mut granted = Vec::new();
    let moved = [TRAVEL, -TRAVEL]
        .map(|drop| (Round { drops: PerSide::both(drop), ..Round::default() }, OFF_IN_TRAVEL));
    let set =
        (0..LINKS).flat_map(|link| [LONGER, -LONGER].map(|longer| (link, longer))).map(|(link, longer)| {
            let mut round = Round::default();
            for side in &model.car.sides {
                round.lengths[side.hand][link] = Some(side.links[link].stock_length() + longer);
            }
            (round, OFF_IF_LONGER)
        });
    for (round, off) in moved.into_iter().chain(set).collect::<Vec<_>>() {
        let Ok(state) = State::of(model.car, &round, 0) else { continue };
        // A car that is not thought to go so far says nothing of another one.
        let Some((figures, slopes)) = model.figures(model.car, &state, &z) else { continue };
        if (0..4).all(|i| slopes.row(i).norm() <= KNOWN * off[i % 2]) {
            continue;
        }
        let place = model.states.len();
        model.states.push(state);
        granted.extend((0..4).map(|i| Read::Figure {
            state: place,
            weights: std::array::from_fn(|k| f64::from(u8::from(k == i))),
            value: figures[i],
            sigma: off[i % 2],
        }));
    }
    granted
}
