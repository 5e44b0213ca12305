//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

mod adjust;
mod arms;
mod band;
mod calibration;
mod cams;
mod clearance;
mod correct;
mod damper;
mod describe;
mod driveshaft;
mod fit;
mod joints;
mod lower;
mod missing;
mod planning;
mod position;
mod reading;
mod readings;
mod round;
mod sampled;
mod springs;
mod sweep;

pub use arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
pub use band::{ArmBand, Band, Doubt};
pub use cams::{CamVerdict, CamVerdictSide, cams};
pub use clearance::{Clearance, ClearanceSide, Gap, Nearest, clearance};
pub use correct::{
    ArmTurn, CamTurn, Cause, CorrectedSide, Correction, Flag, Leave, NoCorrection, Origin, RoundSeen, correct,
};
pub use damper::DamperTravel;
pub use describe::{ArmDescription, CamDescription, Description, Effect, LinkDescription, describe};
pub use driveshaft::{Plunge, ShaftAngles, ShaftJoint};
pub use fit::{FitAnswer, Predictions, fit_readings};
pub use joints::{ArmEnd, Bush, JointAngles, JointSide, RodEnd, Worst, joint_angles};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use missing::Missing;
pub use planning::plan;
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};
pub use readings::{ArmRead, CamRead, Read, Readings, SideRead, StateRead, TotalTarget, Verdict, readings};
pub use sampled::{
    Interval, Sampled, SampledArm, SampledSide, Sampling, sample_cams, sample_lower, sample_plan,
};
pub use springs::{Collar, SpringAnswer, SpringSide, SpringState, Springs, springs};
pub use sweep::Travel;
