//! Springs and dampers of both sides.
//!
//! Springs: motion ratio is mm of spring per mm of wheel centre. The force of the spring has one home (`Spring::holding` in
//! `car/spring.rs`) and is the same number in `springs` and, standing, in `loads`: as the wheel rises, what the road's upright
//! push does where the tyre stands, less what the unsprung weight does at the wheel centre, is what goes into the spring. Where
//! camber changes the contact rises by another amount than the wheel centre, so the sprung weight over the motion ratio is not
//! that force. Wheel rate is of the wheel centre, `k MR^2 + F dMR/dz`; collar turns from the lengths at both heights and the
//! change of the force. Both derivatives are analytic.

use serde::Serialize;

use super::damper::DamperTravel;
use crate::car::{Hand, PerSide};
use crate::plan::over_travel::{Missing, Travel};

/// Springs and dampers of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Springs {
    /// Left, then right.
    pub sides: PerSide<SpringSide>,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// Spring and damper of one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SpringSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// Travel left at the drop until the stop is squeezed, mm, where the profile gives bump; negative: lowered past it.
    pub bump_remaining_mm: Option<f64>,
    /// The travel that was looked at.
    pub travel: Travel,
    /// The spring.
    pub spring: Option<SpringAnswer>,
    /// The damper.
    pub damper: Option<DamperTravel>,
    /// Whether the car stands on its bump stop at the drop: then the spring does not carry it alone, and the collar's turns do not hold.
    pub on_stop: bool,
}

/// What a spring does at the reference and at the drop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SpringAnswer {
    /// As the car was measured, with the stock links.
    pub reference: SpringState,
    /// At the drop, with the planned links where there is a plan.
    pub at_drop: SpringState,
    /// How far the collar has to go.
    pub collar: Collar,
    /// The height of the wheel centre above the reference below which the spring has no load left, mm, with the collar as set
    /// for the drop; `None` where it keeps some down to full droop, or where rate or mass are not known.
    pub loose_below_mm: Option<f64>,
}

/// A spring at one height.
///
/// With `L` the distance between the two points of the spring and `z` the height of the wheel, the motion ratio is `-dL/dz`. The
/// force `F` is what holds the standing car up (`Spring::holding`), and the wheel rate is the derivative by `z` of what it comes
/// to at the wheel centre, `F MR`:
///
/// ```text
/// kw = k MR^2 + F dMR/dz
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SpringState {
    /// The distance between its two points, mm.
    pub length_mm: f64,
    /// How much the spring shortens per mm that the wheel rises, mm/mm.
    pub motion_ratio: f64,
    /// How the motion ratio changes as the wheel rises, 1/mm.
    pub motion_ratio_per_mm: f64,
    /// The force of the spring, N.
    pub force_n: Option<f64>,
    /// The rate at the wheel, N/mm; `None` too where the mass is known and no force of the spring would carry it.
    pub wheel_rate_n_per_mm: Option<f64>,
    /// Whether that is its first part only, because the mass on the wheel and with it the spring's force are not known.
    pub first_part_only: bool,
    /// How the body swings on the spring by itself, Hz.
    pub frequency_hz: Option<f64>,
    /// How it swings on spring and tyre, Hz, where the tyre's rate and the unsprung mass are known.
    pub with_tyre_hz: Option<f64>,
}

/// How far a collar goes down for the drop; negative: up.
///
/// The body comes down by the drop where the distance between the spring's points has shrunk by `dL` and the spring, now with
/// another motion ratio, holds the same weight with another force:
///
/// ```text
/// down = -dL - (F_drop - F_reference) / k
/// ```
///
/// A seat that is not on a collar has to come down as far, or the spring be as much shorter when loaded alike.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Collar {
    /// By how much, mm: the part that follows from the motion alone.
    pub motion_mm: f64,
    /// The part that follows from the change of the spring's force, mm, where rate and mass are known.
    pub force_mm: Option<f64>,
    /// All of it, as far as it is known, mm.
    pub down_mm: f64,
    /// Turns of the collar, where its travel per turn is known.
    pub down_turns: Option<f64>,
}

impl SpringState {
    /// Whether the spring does not shorten as the wheel rises there, so that no force of it carries the car.
    pub fn carries_nothing(&self) -> bool {
        self.motion_ratio <= 0.0
    }
}

impl Springs {
    /// Whether some travel is left to the squeezed stop on both sides, neither stands on its stop and no damper is closed before it, as far
    /// as it is known.
    pub fn succeeds(&self) -> bool {
        self.sides.iter().all(|side| {
            !side.on_stop
                && side.bump_remaining_mm.is_none_or(|left| left > 0.0)
                && side.damper.is_none_or(|damper| !damper.is_closed_early())
        })
    }
}
