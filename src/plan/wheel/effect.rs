//! What a link's length does to a wheel.

use serde::Serialize;

use crate::car::{Arm, Setup, Side};
use crate::geometry::{Figure, Ground, Position};

/// What more of a link's length does to the wheel's figures, degrees per mm or per turn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
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

impl Effect {
    /// The effect of one mm of the cam of a place on level ground.
    pub(crate) fn of_cam(position: &Position, side: &Side, setup: &Setup, link: usize) -> Self {
        let per = |(row, push)| Self::of(position, side, &Ground::level(), row, push);
        let [one, other] = side.pushes(link, setup, &position.pose).map(per);
        Self {
            camber_deg: one.camber_deg + other.camber_deg,
            toe_deg: one.toe_deg + other.toe_deg,
            pitch_deg: one.pitch_deg + other.pitch_deg,
        }
    }
}

/// The least that an arm can be locked at, and what that much longer does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Step {
    /// The least part of a turn that can be locked.
    #[serde(rename = "step_turns")]
    pub turns: f64,
    /// What that makes it longer, mm.
    #[serde(rename = "step_mm")]
    pub length_mm: f64,
    /// What one such step longer does to the wheel.
    #[serde(rename = "per_step")]
    pub effect: Effect,
}

impl Step {
    /// Of an arm of which a whole turn does so much.
    pub(crate) fn of(arm: &Arm, per_turn: Effect) -> Self {
        let turns = arm.step;
        let [camber_deg, toe_deg, pitch_deg] =
            [per_turn.camber_deg, per_turn.toe_deg, per_turn.pitch_deg].map(|of_a_turn| of_a_turn * turns);
        let effect = Effect { camber_deg, toe_deg, pitch_deg };
        Self { turns, length_mm: arm.lead() * turns, effect }
    }
}
