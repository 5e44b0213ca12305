//! What is asked of `tune`, and its answer.
//!
//! `tune`: for every length the arms or cams of camber and toe are set again exactly. A length makes sense where the arm takes
//! it, camber and toe hold the spec, and the knuckle is turned by no more than `pitch_limit_deg` (1.5; common practice, no
//! source); what stock length does not keep may be as far off as at stock length, no further. `best` is the best of those: a
//! gradient of zero at ride height, of several the nearest to stock; where there is none, and for the span, the least of a scan
//! by 1 mm, narrowed down; `sensible_mm` are the ends of the lengths around it, narrowed down too, and `best_stopped_by` says
//! which of them keeps it from going on. `locked` is the best in whole steps from stock, `worth_it` whether it takes 0.03
//! degrees or more off the span of toe. The `pitch_deg` of a trial, as `[spec] pitch`, gives its length in `plan`.

use serde::Serialize;

use crate::car::{Hand, PerSide, Spec};
use crate::geometry::Figure;
use crate::plan::Asked;
use crate::plan::adjusting::Fitting;
use crate::plan::over_travel::BumpSteer;
use crate::plan::wheel::{Judged, Target};

/// What is made as small as it gets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum TuneAim {
    /// The toe gradient at ride height: zero where that can be.
    Gradient,
    /// The span of toe over the window of travel.
    Span,
}

/// What is asked of `tune`.
#[derive(Debug, Clone, Copy)]
pub struct TuneQuestion<'a> {
    /// The link that is tuned.
    pub link: &'a str,
    /// Which arms set camber and toe.
    pub fitting: &'a Fitting,
    /// The specs of the left and the right wheel.
    pub specs: &'a PerSide<Spec>,
    /// What is made least.
    pub aim: TuneAim,
    /// Travel downward and upward from ride height over which toe is followed, mm.
    pub window: [f64; 2],
    /// How far either side of stock lengths are shown, whole mm.
    pub shown: u32,
    /// What of the answer is asked for.
    pub asked: Asked<'a>,
}

/// What another length of one link would do, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Tuning {
    /// The link.
    pub link: String,
    /// What was made least.
    pub aim: TuneAim,
    /// Travel downward and upward from ride height over which toe was followed, mm.
    pub window_mm: [f64; 2],
    /// Left, then right.
    pub sides: PerSide<TuningSide>,
}

/// What another length does for one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TuningSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// At stock length.
    pub stock: TunedLength,
    /// Whether toe keeps its tolerance over the whole window at stock length.
    pub stock_keeps_toe: bool,
    /// At the best length of those that make sense.
    pub best: TunedLength,
    /// What keeps the best length from going further; null where none further would be better.
    pub best_stopped_by: Option<Bound>,
    /// At the best length that can be locked: whole steps of its arm, else as `best`.
    pub locked: TunedLength,
    /// What that saves of the span of toe over the window against stock length, degrees.
    pub saves_toe_deg: f64,
    /// Whether that is enough to leave stock length for it.
    pub worth_it: bool,
    /// The shortest and the longest length that were looked at, mm.
    pub range_mm: [f64; 2],
    /// Whether that range is that of an arm in the profile.
    pub range_known: bool,
    /// The lengths around the best one that make sense, from the shortest to the longest, mm; null where there are none.
    pub sensible_mm: Option<[f64; 2]>,
    /// What ends them there.
    pub sensible_ends: Option<[Bound; 2]>,
    /// The most that the knuckle may turn from where it was measured, degrees; at stock length it turns no further.
    pub pitch_limit_deg: f64,
    /// At lengths some whole mm from stock, the shortest first.
    pub trials: Vec<TunedLength>,
}

/// One length, with camber and toe held.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TunedLength {
    /// Length of the link, mm.
    pub length_mm: f64,
    /// Longer than stock, mm.
    pub longer_mm: f64,
    /// The same in turns of its arm, where the profile gives one.
    pub turns: Option<f64>,
    /// The knuckle's pitch since the reference, degrees; as `[spec] pitch` it gives this length in `plan`.
    pub pitch_deg: f64,
    /// What the wheel reads at ride height.
    pub result: Judged,
    /// How toe goes over the window.
    pub bump_steer: BumpSteer,
    /// What holds camber and toe.
    pub held_by: Vec<TuneHolder>,
}

/// An arm or a cam that holds camber or toe.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct TuneHolder {
    /// Its link.
    pub link: String,
    /// What it holds.
    pub sets: Figure,
    /// Whether it is a stock cam.
    pub is_cam: bool,
    /// Longer than stock, mm; for a cam the shift of the pivot from the middle of its slot.
    pub by_mm: f64,
    /// Whether it goes so far.
    pub in_reach: bool,
}

/// What ends the lengths that make sense.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Bound {
    /// The arm is as short as it goes.
    Shortest,
    /// The arm is as long as it goes.
    Longest,
    /// Any further and too little thread would be left in the body.
    Thread,
    /// Any further and the knuckle would turn too far.
    Pitch,
    /// Any further and camber or toe would leave the spec, or be further off than at stock length.
    Spec,
    /// Any further and the links do not go together.
    Position,
    /// No further length was looked at.
    Looked,
}
