//! What a link's length does to a wheel.

use serde::Serialize;

use crate::car::Side;
use crate::geometry::{Figure, Ground, Position};

/// What more of a link's length does to the wheel's figures, degrees per mm or per turn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Effect {
    /// Camber.
    pub camber_deg: f64,
    /// Toe.
    pub toe_deg: f64,
    /// Pitch.
    pub pitch_deg: f64,
}

impl Effect {
    /// The effect of `by` mm of a link's length in a position.
    pub(crate) fn of(position: &Position, side: &Side, ground: &Ground, link: usize, by: f64) -> Self {
        let rate = |figure| position.rate(figure, &side.wheel, ground, link).to_degrees() * by;
        Self { camber_deg: rate(Figure::Camber), toe_deg: rate(Figure::Toe), pitch_deg: rate(Figure::Pitch) }
    }
}
