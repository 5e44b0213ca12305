//! The answer of `plan`: arm lengths and turns that bring a lowered car back to its spec.

use serde::Serialize;

use super::adjust::{Adjuster, adjusters};
use super::band::{ArmBand, Band};
use super::bench::{Bench, Matched, ThreadIn};
use super::cams::CamVerdict;
use super::describe::{Effect, Step};
use super::position::Certainty;
use super::reading::{Judged, Reading, Target, thrust_angle, total_toe};
use crate::car::{Car, Hand, Limit, Link, PerSide, Setup, Side};
use crate::geometry::Figure;

/// Which arms are fitted and what becomes of the cams under them.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Fitting {
    /// Names of the links whose arms are fitted; `None`: every link with an arm and a role, but not one that sets pitch.
    pub arms: Option<Vec<String>>,
    /// Leave cams under fitted arms as they are set, instead of locked out at the middle of the slot.
    pub keep_cams: bool,
    /// Names of the links on the left and on the right whose cams may be turned; `None`: any.
    pub turnable: Option<PerSide<Vec<String>>>,
}

impl Fitting {
    /// Whether the arm of each link is fitted.
    pub fn fitted(&self, side: &Side) -> [bool; 5] {
        side.links.each_ref().map(|link| self.fits(link))
    }

    /// The links before anything is turned: stock lengths, and the cams under fitted arms locked out or kept.
    pub fn found(&self, side: &Side) -> Setup {
        Setup::locked_out(side, |link| self.fits(link) && !self.keep_cams)
    }

    /// The same, with no other cams turned than a plan turns: so a changed car is asked about the same work.
    #[must_use]
    pub fn turning_as(&self, plan: &Plan) -> Self {
        let turned = |side: &PlanSide| side.cams.iter().map(|cam| cam.link.clone()).collect();
        Self { turnable: Some(plan.sides.each(turned)), ..self.clone() }
    }

    /// The adjusters of a side: its fitted arms, and its cams.
    pub(super) fn adjusters(&self, side: &Side) -> Vec<Adjuster> {
        let mut adjusters = adjusters(side, |link| self.fits(link));
        if let Some(turnable) = &self.turnable {
            let turns = |link: usize| turnable[side.hand].contains(&side.links[link].name);
            adjusters.retain(|adjuster| !adjuster.is_cam() || turns(adjuster.link));
        }
        adjusters
    }

    /// Whether the arm of a link is fitted.
    pub fn fits(&self, link: &Link) -> bool {
        link.arm.is_some()
            && match &self.arms {
                Some(names) => link.sets.is_some() && names.contains(&link.name),
                None => matches!(link.sets, Some(Figure::Camber | Figure::Toe)),
            }
    }
}

/// Arm lengths and turns for both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
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
pub struct SmallerSet {
    /// The links whose arms it has.
    pub links: Vec<String>,
    /// What the left and the right wheel read with it, in whole steps.
    pub readings: PerSide<Reading>,
    /// Both wheels together.
    pub axle: AxleResult,
}

/// Figures of the whole axle, after rounding, degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct AxleResult {
    /// Left plus right toe.
    pub total_toe_deg: f64,
    /// Half of right minus left toe; positive: the rear axle steers to the left.
    pub thrust_angle_deg: f64,
    /// Left minus right camber.
    pub cross_camber_deg: f64,
    /// Whether cross camber and thrust angle keep the limits of the spec, where it has any.
    pub within_limits: bool,
}

/// Arm lengths and turns for one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct PlanSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// Bump travel that is left at this drop, mm, where the profile gives it; negative: lowered past it.
    pub bump_left_mm: Option<f64>,
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

/// A stock cam that is not turned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct OtherCam {
    /// The link at whose subframe pivot it sits.
    pub link: String,
    /// What becomes of it.
    #[serde(rename = "use")]
    pub stands: CamUse,
    /// Turn from the middle, degrees; positive: pivot moved along the slot's direction.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of the slot, mm.
    pub shift_mm: f64,
    /// Turn in marks from the middle, where the cam has marks.
    pub marks: Option<f64>,
    /// Whether the pivot stands towards the wheel from the middle, rather than away from it.
    pub towards_wheel: bool,
}

/// What becomes of a stock cam that is not turned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CamUse {
    /// It stays as it was found.
    AsFound,
    /// It is locked out at the middle of its slot, because an arm takes its place.
    Locked,
}

/// A cam that is turned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct CamSetting {
    /// The link at whose subframe pivot it sits.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Turn from the middle, degrees; positive: pivot moved along the slot's direction.
    pub setting_deg: f64,
    /// Shift of the pivot from the middle of the slot, mm.
    pub shift_mm: f64,
    /// What is left of the pivot's movement towards the end it is turned to, mm.
    pub reserve_mm: f64,
    /// Whether the pivot moves towards the wheel from the middle, rather than away from it.
    pub towards_wheel: bool,
    /// The turn as it was found, degrees.
    pub found_deg: f64,
    /// Turn in marks from the middle, where the cam has marks.
    pub marks: Option<f64>,
    /// What the next mark outward would still move the pivot, mm.
    pub next_mark_mm: Option<f64>,
    /// What it would change the figure that the cam sets, degrees.
    pub next_mark_deg: Option<f64>,
    /// False where the cam stands at its end and the figure is not met.
    pub in_reach: bool,
}

impl AxleResult {
    /// Both wheels together, from what each reads.
    pub(super) fn of(car: &Car, readings: PerSide<Reading>) -> Self {
        let cross_camber = readings.left.camber_deg - readings.right.camber_deg;
        let thrust_angle = thrust_angle(readings);
        Self {
            total_toe_deg: total_toe(readings),
            thrust_angle_deg: thrust_angle,
            cross_camber_deg: cross_camber,
            within_limits: car.axle.hold(cross_camber.to_radians(), thrust_angle.to_radians()),
        }
    }
}

impl PlanSide {
    /// The links as the plan sets them: arms at whole steps from the stock lengths of the side, cams locked out, turned or as
    /// they were found. The side may be another one than was planned, such as one drawn from the errors.
    pub fn setup(&self, side: &Side, fitting: &Fitting) -> Setup {
        let mut setup = fitting.found(side);
        for (i, link) in side.links.iter().enumerate() {
            if let Some(arm) = self.arms.iter().find(|arm| arm.link == link.name) {
                setup.lengths[i] += arm.set_mm - arm.stock_mm;
            }
            if let Some(cam) = self.cams.iter().find(|cam| cam.link == link.name) {
                setup.pivots[i] = link.pivot(cam.shift_mm);
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
    pub fn succeeds(&self) -> bool {
        self.result.within_spec && !self.refuses_an_arm()
    }

    /// Whether a fitted arm ends at its thread: short of the length wanted where no cam does the rest, or even at the length it is
    /// set to.
    ///
    /// An arm that is merely kept at stock length does not count; pages refuse it by itself.
    pub fn refuses_an_arm(&self) -> bool {
        self.arms.iter().any(|arm| arm.limit == Limit::Thread && (arm.thread.short || !arm.helped))
    }
}
