//! What every rear axle does: its wheels go through their travel, and neither there nor where a link is set a little longer do they
//! turn about wildly.
//!
//! Where points are only guessed, the car that fits some readings best may be one that is near a dead point. No car on the road
//! is, and so this is a part of what was known before. It stands with the readings, so that no step is taken to a car that
//! cannot be there; but it is none, and nothing is judged by it. Where points were measured it says nothing that they do not say
//! far better, and is left out.

use nalgebra::DVector;

use super::model::{Model, Read};
use super::state::State;
use crate::car::{LINKS, PerSide};
use crate::geometry::DEGREE;
use crate::measure::Round;

/// Every wheel goes so far up and down from where it stands, mm: common practice, no source.
const TRAVEL: f64 = 60.0;
/// So far camber and toe may then be off what is thought of them, standard deviation, rad: common practice, no source.
const OFF_IN_TRAVEL: [f64; 2] = [4.0 * DEGREE, 2.5 * DEGREE];
/// Every link can be set so much longer and shorter, mm: common practice, no source.
const LONGER: f64 = 6.0;
/// So far camber and toe may then be off what is thought of them, standard deviation, rad: common practice, no source.
const OFF_IF_LONGER: [f64; 2] = [2.2 * DEGREE, 3.5 * DEGREE];
/// What is known to this part of that anyhow has no need of it.
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
