//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

mod adjust;
mod arms;
mod band;
mod bump;
mod cams;
mod choice;
mod describe;
mod lower;
mod outline;
mod planning;
mod position;
mod reach;
mod reading;
mod round;
mod station;
mod travel;
mod tune;

pub use arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
pub use band::{ArmBand, Band, Doubt};
pub use bump::BumpSteer;
pub use cams::{CamVerdict, CamVerdictSide, cams};
pub use choice::{ArmChoice, ArmSet, ArmSetSide, NeededArm, choose_arms};
pub use describe::{ArmDescription, CamDescription, Description, Effect, LinkDescription, describe};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use outline::{LinkEnds, Outline, OutlineSide, Outlines, State, outline};
pub use planning::plan;
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};
pub use station::{LinkAngle, MotionFigures, Place, Station};
pub use travel::{
    AS_FOUND, Curve, LinkLength, Omitted, PLANNED, TravelCurves, TravelEnd, TravelQuestion, TravelSide,
    Variant, travel,
};
pub use tune::{Aim, Holder, Trial, TuneQuestion, Tuning, TuningSide, tune};
