//! Sets of arms side by side.
//!
//! `arms`: a set's best is the exact answer of its arms and of the cams that stay, by the same rule as everywhere; where
//! several links are used for a figure there is a row for the arm of each and one for all of them. `least` is the first set in
//! the order of the trade, fewer arms first, that brings both wheels within spec and keeps the limits between them. A link that
//! sets something but has no `[link.arm]` counts as one that could be bought, of any length within 30 percent of stock.

use serde::Serialize;

use crate::car::{Hand, PerSide};
use crate::geometry::Figure;
use crate::plan::adjusting::{CamSetting, OtherCam};
use crate::plan::over_travel::BumpSteer;
use crate::plan::wheel::{AxleResult, Certainty, Judged, Reading, Target};

/// Sets of arms, side by side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmChoice {
    /// Left, then right.
    pub sides: PerSide<LoweredWheel>,
    /// The sets, those with fewer arms first.
    pub sets: Vec<ArmSet>,
    /// The place of the least set that meets the spec; `None` if none does.
    pub least: Option<usize>,
    /// Travel either way over which toe was followed, mm.
    pub window_mm: f64,
}

/// One wheel as the sets find it.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct LoweredWheel {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// What it reads when it is only lowered.
    pub lowered: Reading,
}

/// One set of arms.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmSet {
    /// What the arms of this set set.
    pub figures: Vec<Figure>,
    /// The links they replace.
    pub links: Vec<String>,
    /// Left, then right.
    pub sides: PerSide<ArmSetSide>,
    /// Whether both wheels come within spec.
    pub within_spec: bool,
    /// Whether the limits between the two wheels hold.
    pub within_limits: bool,
    /// Both wheels together.
    pub axle: AxleResult,
}

/// What a set of arms does for one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct ArmSetSide {
    /// Which side.
    pub side: Hand,
    /// The best reading; out of spec, that of adjusters which stay at their ends while the others meet their figures.
    pub best: Judged,
    /// By how much camber is outside its tolerance, degrees, with its sign; `None` inside.
    pub camber_outside_deg: Option<f64>,
    /// By how much toe is outside its tolerance, degrees, with its sign; `None` inside.
    pub toe_outside_deg: Option<f64>,
    /// The arms.
    pub arms: Vec<NeededArm>,
    /// The cams that are turned, as they are to stand.
    pub cams: Vec<CamSetting>,
    /// All other cams.
    pub other_cams: Vec<OtherCam>,
    /// Bump steer with these lengths.
    pub bump_steer: BumpSteer,
    /// The smallest drop, counted up from 0, at which the set does, mm; `None` if never.
    pub reach_from_drop_mm: Option<f64>,
    /// The largest drop, counted up from there, at which it still does, mm; `None` if it does to full bump, 0 if never.
    pub run_out_drop_mm: Option<f64>,
    /// The drop up to which that was looked for, mm.
    pub bump_mm: f64,
    /// How sure the position is.
    pub certainty: Certainty,
}

/// An arm of a set.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct NeededArm {
    /// The link it replaces.
    pub link: String,
    /// What it sets.
    pub sets: Figure,
    /// Stock length, mm.
    pub stock_mm: f64,
    /// The length it must take, before rounding to steps, mm.
    pub length_mm: f64,
    /// How much longer that is than stock, mm; negative: shorter.
    pub longer_mm: f64,
    /// Whether the arm of the profile goes so far; `None` where the profile has no `[link.arm]` for it.
    pub in_reach: Option<bool>,
}

impl ArmSet {
    /// Whether it meets all that is asked.
    pub fn succeeds(&self) -> bool {
        self.within_spec && self.within_limits
    }
}

impl ArmChoice {
    /// The set that comes nearest the spec, by the larger of its misses in tolerances; of equals the one with fewer arms.
    pub(crate) fn nearest(&self) -> Option<&ArmSet> {
        let miss = |set: &ArmSet| {
            let sides = set.sides.iter().zip(&self.sides).flat_map(|(side, LoweredWheel { spec, .. })| {
                let part =
                    |outside: Option<f64>, tolerance: f64| outside.map_or(0.0, |off| off.abs() / tolerance);
                [
                    part(side.camber_outside_deg, spec.camber_tolerance_deg),
                    part(side.toe_outside_deg, spec.toe_tolerance_deg),
                ]
            });
            sides.fold(0.0, f64::max)
        };
        self.sets.iter().min_by(|a, b| miss(a).total_cmp(&miss(b)))
    }

    /// Whether some set meets the spec.
    pub fn succeeds(&self) -> bool {
        self.least.is_some()
    }
}
