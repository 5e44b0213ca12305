//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

pub(crate) mod adjusting;
mod asked;
mod cams;
mod check;
mod choice;
mod clearance;
mod correct;
mod draw;
mod fit;
mod handover;
mod joints;
mod lower;
mod next;
pub(crate) mod over_travel;
mod planning;
mod readings;
mod sampling;
mod spec;
mod springs;
mod travel;
mod tune;
mod wheel;

pub use adjusting::{AtMark, Bench, CamSetting, CamUse, Fitting, Matched, OtherCam, ThreadIn};
pub use asked::Asked;
pub use cams::{CamVerdict, CamVerdictSide, cams};
pub use check::{
    ArmDescription, CamDescription, Description, LinkDescription, MemberDescription, MemberKind, check,
};
pub use choice::{ArmChoice, ArmSet, ArmSetSide, LoweredWheel, NeededArm, choose_arms};
pub use clearance::{Clearance, ClearanceSide, Gap, Nearest, clearance};
pub use correct::{
    ArmTurn, CamTurn, Cause, CorrectedSide, Correction, Fewer, FigureOrigin, Flag, Leave, Mistyping,
    NoCorrection, RoundSeen, Settles, WheelSeen, correct,
};
pub use draw::{LinkEnds, Outline, OutlineSide, OutlineState, Outlines, TyreCorners, outline};
pub use fit::{FitAnswer, Predictions, fit_readings};
pub use handover::{ArmAdjuster, Handover, HandoverSide, handover};
pub use joints::{
    ArmEnd, Bush, JointAngles, JointSide, Plunge, RodEnd, ShaftAngles, ShaftJoint, Worst, joint_angles,
};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use next::{Next, NextArm, NextReading, NextWay, Outlook, next};
pub use over_travel::{BumpSteer, LinkAngle, Missing, MotionFigures, Place, Station, Travel};
pub use planning::{ArmSetting, KeptArm, PitchResult, Plan, PlanSide, SmallerSet, plan};
pub use readings::{ArmRead, CamRead, Read, Readings, SideRead, StateRead, TotalTarget, Verdict, readings};
pub use sampling::{
    Interval, Sampled, SampledArm, SampledSide, Sampling, sample_cams, sample_lower, sample_plan,
};
pub use spec::Allowed;
pub use springs::{Collar, DamperTravel, SpringAnswer, SpringSide, SpringState, Springs, springs};
pub use travel::{
    AS_FOUND, CamMoved, Curve, LinkLength, Omitted, OnlyStation, PLANNED, TravelCurves, TravelEnd,
    TravelQuestion, TravelSide, Variant, travel,
};
pub use tune::{Bound, TuneAim, TuneHolder, TuneQuestion, TunedLength, Tuning, TuningSide, tune};
pub use wheel::{
    ArmBand, AxleResult, Band, Certainty, Doubt, Effect, Judged, NoPosition, Reading, Reason, Step, Target,
    forward,
};

pub(crate) use cams::cams_turning;
pub(crate) use choice::choose_arms_asked;
pub(crate) use lower::lower_asked;
pub(crate) use over_travel::USUAL_TRAVEL;
pub(crate) use planning::plan_asked;
pub(crate) use spec::SpecAnswer;
