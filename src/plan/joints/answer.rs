//! The joints of both sides over the travel.
//!
//! Joints: a rod end is locked square to its bolt at the drop asked for; from there it tilts by how far the arm leans out of
//! the bolt's plane and by its share of the twist between the two bolts (half, or all of it beside a bush). A bush is wound by
//! the turn of the arm about its bolt, on the knuckle in the knuckle's axes; `not_loosened` counts from the car as it was
//! measured.

use serde::Serialize;

use super::driveshaft::ShaftAngles;
use super::worst::Worst;
use crate::car::{Hand, PerSide};
use crate::plan::over_travel::{Missing, Travel};

/// The joints of both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct JointAngles {
    /// Left, then right.
    pub sides: PerSide<JointSide>,
    /// What the profile would have to say for the rest.
    pub missing: Vec<Missing>,
}

/// The joints of one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct JointSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// Hub centre to arch lip at that drop, mm, where the profile gives it for the reference.
    pub arch_gap_mm: Option<f64>,
    /// The travel that was looked at.
    pub travel: Travel,
    /// The rod ends of the arms that are fitted, and of stock links that have some.
    pub rod_ends: Vec<RodEnd>,
    /// The rubber bushes.
    pub bushes: Vec<Bush>,
    /// The driveshaft.
    pub driveshaft: Option<ShaftAngles>,
}

/// Which end of an arm.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum ArmEnd {
    /// On the subframe.
    Subframe,
    /// On the knuckle; its bolt moves with that.
    Knuckle,
}

/// The tilt of a rod end.
///
/// Both ends are taken to be locked square to their bolts at the drop that was asked for. From there on the two bolts may twist
/// against each other, looking along the arm: two rod ends share that, one that has a bush for its fellow takes it all.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct RodEnd {
    /// The link.
    pub link: String,
    /// Which of its ends.
    pub end: ArmEnd,
    /// The tilt at the drop, degrees.
    pub at_drop_deg: f64,
    /// The most over the travel.
    pub worst: Worst,
    /// How far it may tilt, degrees, where the profile says so.
    pub limit_deg: Option<f64>,
    /// What is left of that at the worst, degrees; negative: it binds.
    pub remaining_deg: Option<f64>,
    /// The stretches of heights of the wheel centre above the reference over which it tilts as far as it may or further, the
    /// lowest first, each from its first height to its last, mm.
    pub binds_mm: Vec<[f64; 2]>,
    /// Whether the bolt at the other end is known too; without it the twist between the two is left out.
    pub both_bolts_known: bool,
}

/// How far a rubber bush is wound about its bolt, degrees without their sign.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Bush {
    /// The link.
    pub link: String,
    /// Which of its ends.
    pub end: ArmEnd,
    /// Standing at the drop, if it stays clamped as it was when the car was measured; nothing of a new arm.
    pub not_loosened_deg: Option<f64>,
    /// The most over the travel in that case.
    pub not_loosened_worst: Option<Worst>,
    /// Standing at the drop, if it is clamped with the wheel hanging at full droop.
    pub clamped_hanging_deg: f64,
    /// The most over the travel, if it is clamped at the drop, as it should be.
    pub clamped_at_drop_worst: Worst,
    /// How far the arm leans out of its bush's plane at the most, from where it stood at the drop, degrees.
    pub lean_worst_deg: f64,
}

impl JointAngles {
    /// The bush that would stand wound the most if it stayed clamped as it was when the car was measured, its side, and by
    /// how much, degrees.
    pub fn most_wound(&self) -> Option<(Hand, &Bush, f64)> {
        let bushes = self.sides.iter().flat_map(|side| side.bushes.iter().map(move |bush| (side.side, bush)));
        bushes
            .filter_map(|(hand, bush)| Some((hand, bush, bush.not_loosened_deg?)))
            .max_by(|a, b| a.2.total_cmp(&b.2))
    }

    /// Whether no rod end binds and the driveshaft keeps its limits, as far as the profile gives any.
    pub fn succeeds(&self) -> bool {
        self.sides.iter().all(|side| {
            side.rod_ends.iter().all(|end| end.remaining_deg.is_none_or(|left| left >= 0.0))
                && side.driveshaft.as_ref().is_none_or(ShaftAngles::succeeds)
        })
    }
}
