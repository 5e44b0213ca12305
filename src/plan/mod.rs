//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

mod adjust;
mod aim;
mod allowed;
mod arms;
mod band;
mod bench;
mod bump;
mod calibration;
mod cams;
mod choice;
mod clearance;
mod correct;
mod damper;
mod describe;
mod drawn;
mod driveshaft;
mod fit;
mod handover;
mod joints;
pub(crate) mod keep;
mod lower;
pub(crate) mod missing;
mod outline;
mod plane;
mod planning;
mod position;
mod reach;
mod reading;
mod readings;
mod round;
mod sampled;
mod settle;
mod springs;
mod station;
pub(crate) mod sweep;
mod travel;
mod tune;

pub use allowed::{Allowed, SpecAnswer};
pub use arms::{
    ArmSetting, AxleResult, CamSetting, CamUse, Fitting, KeptArm, OtherCam, PitchResult, Plan, PlanSide,
    SmallerSet,
};
pub use band::{ArmBand, Band, Doubt};
pub use bench::{Bench, Matched, ThreadIn};
pub use bump::BumpSteer;
pub use cams::{CamVerdict, CamVerdictSide, cams, cams_turning};
pub use choice::{ArmChoice, ArmSet, ArmSetSide, NeededArm, choose_arms};
pub use clearance::{Clearance, ClearanceSide, Gap, Nearest, clearance};
pub use correct::{
    ArmTurn, CamTurn, Cause, CorrectedSide, Correction, Flag, Leave, NoCorrection, Origin, RoundSeen, correct,
};
pub use damper::DamperTravel;
pub use describe::{ArmDescription, CamDescription, Description, Effect, LinkDescription, Step, describe};
pub use driveshaft::{Plunge, ShaftAngles, ShaftJoint};
pub use fit::{FitAnswer, Predictions, fit_readings};
pub use handover::{ArmAdjuster, Handover, HandoverSide, handover};
pub use joints::{ArmEnd, Bush, JointAngles, JointSide, RodEnd, Worst, joint_angles};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use missing::Missing;
pub use outline::{LinkEnds, Outline, OutlineSide, Outlines, State, outline};
pub use planning::plan;
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};
pub use readings::{ArmRead, CamRead, Read, Readings, SideRead, StateRead, TotalTarget, Verdict, readings};
pub use sampled::{
    Interval, Sampled, SampledArm, SampledSide, Sampling, sample_cams, sample_lower, sample_plan,
};
pub use springs::{Collar, SpringAnswer, SpringSide, SpringState, Springs, springs};
pub use station::{LinkAngle, MotionFigures, Place, Station};
pub use sweep::{Travel, USUAL_TRAVEL};
pub use travel::{
    AS_FOUND, Curve, LinkLength, Omitted, PLANNED, TravelCurves, TravelEnd, TravelQuestion, TravelSide,
    Variant, travel,
};
pub use tune::{Aim, Bound, Holder, Trial, TuneQuestion, Tuning, TuningSide, tune};
