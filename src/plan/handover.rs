//! What an alignment shop needs to know: the targets, and what can be adjusted where.
//!
//! `shop`: least and most are the target less and plus its tolerance; of total toe they are the sums, since each wheel may use
//! up all of its own. Turns that are left count whole steps to where thread or the arm's own length ends.

use serde::Serialize;

use super::adjusting::CamSetting;
use super::planning::{ArmSetting, Plan, PlanSide};
use super::spec::Allowed;
use super::wheel::{Reading, Step};
use crate::car::{Car, Hand, PerSide, Side};
use crate::geometry::Figure;

/// Targets and adjusters of both wheels.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Handover {
    /// Left, then right.
    pub sides: PerSide<HandoverSide>,
    /// Total toe: each wheel may use up its whole tolerance.
    pub total_toe: Allowed,
    /// The most that left minus right camber may be, either way, degrees.
    pub cross_camber_limit_deg: Option<f64>,
    /// The most that the thrust angle may be, either way, degrees.
    pub thrust_angle_limit_deg: Option<f64>,
}

/// Targets and adjusters of one wheel.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct HandoverSide {
    /// Which side.
    pub side: Hand,
    /// Camber.
    pub camber: Allowed,
    /// Toe of this wheel.
    pub toe: Allowed,
    /// What it should read as it comes to the shop.
    pub expected: Reading,
    /// Hub centre to arch lip as it should stand, mm, where the profile gives it.
    pub arch_gap_mm: Option<f64>,
    /// Arms that can be turned.
    pub arms: Vec<ArmAdjuster>,
    /// Cams that can be turned, as they should stand.
    pub cams: Vec<CamSetting>,
    /// Figures that nothing sets.
    pub unset: Vec<Figure>,
}

/// An arm that can be turned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmAdjuster {
    /// Its link.
    pub link: String,
    /// What it is used to set.
    pub sets: Figure,
    /// Its end at the wheel, as the car was measured, ahead of the wheel centre, mm; negative: behind.
    pub ahead_mm: f64,
    /// Its end at the wheel above the wheel centre, mm; negative: below.
    pub above_mm: f64,
    /// The least that it can be locked at.
    #[serde(flatten)]
    pub step: Step,
    /// Whole steps that are left to its longest, in turns.
    pub longer_turns: f64,
    /// Whole steps that are left to its shortest, in turns.
    pub shorter_turns: f64,
}

/// Draws targets and adjusters out of a plan.
pub fn handover(car: &Car, plan: &Plan) -> Handover {
    let sides = plan.sides.each(|planned| of_side(&car.sides[planned.side], planned));
    Handover {
        total_toe: Allowed::total(sides.left.toe, sides.right.toe),
        cross_camber_limit_deg: car.axle.cross_camber.map(f64::to_degrees),
        thrust_angle_limit_deg: car.axle.thrust_angle.map(f64::to_degrees),
        sides,
    }
}

fn of_side(side: &Side, planned: &PlanSide) -> HandoverSide {
    let [camber, toe] = Allowed::of(&planned.spec);
    HandoverSide {
        side: planned.side,
        camber,
        toe,
        expected: planned.result.reading,
        arch_gap_mm: planned.arch_gap_mm,
        arms: planned.arms.iter().filter_map(|arm| adjuster(side, arm)).collect(),
        cams: planned.cams.clone(),
        unset: planned.unset.clone(),
    }
}

fn adjuster(side: &Side, arm: &ArmSetting) -> Option<ArmAdjuster> {
    let link = side.link(&arm.link)?;
    let [shortest, longest] = link.arm.as_ref()?.range().ends;
    let outer = link.knuckle - side.wheel.centre;
    let step = arm.step.turns;
    // A length within rounding of the end is at the end.
    let whole = |by_mm: f64| (by_mm / arm.lead_mm / step + 1e-9).floor().max(0.0) * step;
    Some(ArmAdjuster {
        link: arm.link.clone(),
        sets: arm.sets,
        ahead_mm: outer.x,
        above_mm: outer.z,
        step: arm.step,
        longer_turns: whole(longest - arm.set_mm),
        shorter_turns: whole(arm.set_mm - shortest),
    })
}
