//! The answer of `plan`: arm lengths and turns that bring a lowered car back to its spec.
//!
//! `stock_mm` is the distance with the cam as it was found; under a fitted arm the cam is locked at the slot's middle unless
//! `--cams keep`. `shift_mm` counts from the middle of the slot.
//!
//! `limit` is `thread` when the arm would need more thread than may leave the body; the plan then does not succeed (exit 3),
//! even where the shorter length happens to read within spec, unless a cam does the rest (`helped`).
//!
//! `corrects`: for which figure an arm is turned after a reading; `smaller_set`: the first set of fewer arms, in the order of
//! the trade, that keeps everything and misses both targets no more.
//!
//! A fitted arm that sets pitch restores the knuckle's pitch of the reference (`[spec] pitch`, default 0). Pitch is the
//! side-view angle of the knuckle line that was vertical at the reference.

use serde::Serialize;

use crate::car::{Hand, Limit, PerSide, Setup, Side};
use crate::geometry::Figure;
use crate::plan::adjusting::{Bench, CamSetting, Fitting, Matched, OtherCam, ThreadIn};
use crate::plan::cams::CamVerdict;
use crate::plan::wheel::{ArmBand, AxleResult, Band, Certainty, Effect, Judged, Reading, Step, Target};

/// Arm lengths and turns for both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Plan {
    /// Left, then right.
    pub sides: PerSide<PlanSide>,
    /// Both wheels together, after rounding.
    pub axle: AxleResult,
    /// Whether the stock cams alone would have done; `None` where they could not be followed so far.
    pub stock_cams: Option<CamVerdict>,
    /// The smallest set of these arms that comes as near to both targets or nearer, where not all are needed for that.
    pub smaller_set: Option<SmallerSet>,
}

/// A smaller set of arms than is fitted.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct SmallerSet {
    /// The links whose arms it has.
    pub links: Vec<String>,
    /// What the left and the right wheel read with it, in whole steps.
    pub readings: PerSide<Reading>,
    /// Both wheels together.
    pub axle: AxleResult,
}

/// Arm lengths and turns for one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct PlanSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// Bump travel that is left at this drop, mm, where the profile gives it; negative: lowered past it.
    pub bump_remaining_mm: Option<f64>,
    /// Hub centre to arch lip as it should stand, mm, where the profile gives it.
    pub arch_gap_mm: Option<f64>,
    /// What it reads when it is only lowered.
    pub lowered: Reading,
    /// The knuckle's pitch, where an arm sets it.
    pub pitch: Option<PitchResult>,
    /// The fitted arms.
    pub arms: Vec<ArmSetting>,
    /// Arms that stay at stock length: those that set pitch, unless they were asked for.
    pub kept_arms: Vec<KeptArm>,
    /// The stock cams that are turned.
    pub cams: Vec<CamSetting>,
    /// All other stock cams.
    pub other_cams: Vec<OtherCam>,
    /// Figures that nothing on this side sets.
    pub unset: Vec<Figure>,
    /// What it reads with the exact lengths.
    pub exact: Judged,
    /// What it reads with whole steps.
    pub result: Judged,
    /// How good that is before anything is corrected.
    pub band: Band,
    /// The probability that it is within spec before anything is corrected, 0 to 1.
    pub probability_within_spec: f64,
    /// How sure the position with whole steps is.
    pub certainty: Certainty,
}

/// The knuckle's pitch since the reference, degrees; positive: top forward.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct PitchResult {
    /// When the car is only lowered.
    pub lowered_deg: f64,
    /// What the arm aims for.
    pub wanted_deg: f64,
    /// With whole steps.
    pub result_deg: f64,
}

/// One arm: how long, how many turns.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmSetting {
    /// The link it replaces.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Stock length, to which it is set first, mm.
    pub stock_mm: f64,
    /// Length that meets the spec exactly (at a limit: the limit), mm.
    pub exact_mm: f64,
    /// Length at whole steps, mm.
    pub set_mm: f64,
    /// How much longer that is than stock, mm; negative: shorter.
    pub longer_mm: f64,
    /// Turns from stock to the exact length; positive: longer.
    pub turns_exact: f64,
    /// Turns from stock to the set length, in whole steps; positive: longer.
    pub turns: f64,
    /// Length per turn, mm.
    pub lead_mm: f64,
    /// The least that it can be locked at.
    #[serde(flatten)]
    pub step: Step,
    /// What stops the arm.
    pub limit: Limit,
    /// Whether it ends, and a cam does the rest, so that its figure is on target all the same.
    pub helped: bool,
    /// For which figure it is turned after the first reading; `None` where another arm is.
    pub corrects: Option<Figure>,
    /// What holds it at the set length.
    #[serde(flatten)]
    pub thread: ThreadIn,
    /// What a further turn longer does to the wheel.
    pub per_turn: Effect,
    /// How far it may have to be corrected after the first reading.
    pub band: ArmBand,
    /// What it measures on the bench.
    #[serde(flatten)]
    pub bench: Bench,
    /// How far it is screwed out when it is matched.
    #[serde(flatten)]
    pub matched: Matched,
}

/// An arm that stays at stock length.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct KeptArm {
    /// The link it replaces.
    pub link: String,
    /// Stock length, mm.
    pub stock_mm: f64,
    /// Whether enough thread is in the body at that length.
    pub limit: Limit,
    /// What holds it at that length.
    #[serde(flatten)]
    pub thread: ThreadIn,
    /// What it measures on the bench.
    #[serde(flatten)]
    pub bench: Bench,
    /// How far it is screwed out when it is matched.
    #[serde(flatten)]
    pub matched: Matched,
}

impl Fitting {
    /// The same arms, with no other cams turned than a plan turns: so a changed car is asked about the same work.
    #[must_use]
    pub(crate) fn turning_as(&self, plan: &Plan) -> Self {
        let turned = |side: &PlanSide| side.cams.iter().map(|cam| cam.link.clone()).collect();
        Self { turnable: Some(plan.sides.each(turned)), ..self.clone() }
    }
}

impl PlanSide {
    /// The links as the plan sets them: arms at whole steps from the stock lengths of the side, cams locked out, turned or as
    /// they were found. The side may be another one than was planned, such as one drawn from the errors.
    pub fn setup(&self, side: &Side, fitting: &Fitting) -> Setup {
        let mut setup = fitting.found(side);
        for (i, link) in side.links.iter().enumerate() {
            if let Some(arm) = self.arms.iter().find(|arm| arm.link == link.name) {
                setup.lengths[i] += arm.longer_mm;
            }
            if let Some(cam) = self.cams.iter().find(|cam| cam.link == link.name) {
                setup.put_cam(i, link, cam.shift_mm);
            }
        }
        setup
    }
}

impl Plan {
    /// Whether every wheel is within its spec after rounding, the axle's limits hold and no thread is short.
    pub fn succeeds(&self) -> bool {
        self.axle.within_limits && self.sides.iter().all(PlanSide::succeeds)
    }
}

impl PlanSide {
    /// Whether this wheel is within its spec after rounding and no arm is refused.
    pub(crate) fn succeeds(&self) -> bool {
        self.result.within_spec && !self.refuses_an_arm()
    }

    /// Whether a fitted arm ends at its thread: short of the length wanted where no cam does the rest, or even at the length it is
    /// set to.
    ///
    /// An arm that is merely kept at stock length does not count; pages refuse it by itself.
    pub(crate) fn refuses_an_arm(&self) -> bool {
        self.arms.iter().any(|arm| arm.limit == Limit::Thread && (arm.thread.short || !arm.helped))
    }
}
