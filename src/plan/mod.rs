//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

mod adjust;
mod arms;
mod band;
mod calibration;
mod cams;
mod correct;
mod describe;
mod fit;
mod lower;
mod planning;
mod position;
mod reading;
mod readings;
mod round;
mod sampled;

pub use arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
pub use band::{ArmBand, Band, Doubt};
pub use cams::{CamVerdict, CamVerdictSide, cams};
pub use correct::{
    ArmTurn, CamTurn, Cause, CorrectedSide, Correction, Flag, Leave, NoCorrection, Origin, RoundSeen, correct,
};
pub use describe::{ArmDescription, CamDescription, Description, Effect, LinkDescription, describe};
pub use fit::{FitAnswer, Predictions, fit_readings};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use planning::plan;
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};
pub use readings::{ArmRead, CamRead, Read, Readings, SideRead, StateRead, TotalTarget, Verdict, readings};
pub use sampled::{
    Interval, Sampled, SampledArm, SampledSide, Sampling, sample_cams, sample_lower, sample_plan,
};
