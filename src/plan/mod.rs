//! What to do to a car: what lowering does, which arm lengths and turns bring it back, whether the cams would do.
//!
//! Every answer is plain data, complete, with units in its field names: it is the JSON output and the source of
//! every page.

mod adjust;
mod arms;
mod band;
mod cams;
mod clearance;
mod damper;
mod describe;
mod driveshaft;
mod joints;
mod lower;
mod missing;
mod planning;
mod position;
mod reading;
mod round;
mod springs;
mod sweep;

pub use arms::{ArmSetting, AxleResult, CamSetting, Fitting, KeptArm, PitchResult, Plan, PlanSide};
pub use band::{ArmBand, Band, Doubt};
pub use cams::{CamVerdict, CamVerdictSide, cams};
pub use clearance::{Clearance, ClearanceSide, Gap, Nearest, clearance};
pub use damper::DamperTravel;
pub use describe::{ArmDescription, CamDescription, Description, Effect, LinkDescription, describe};
pub use driveshaft::{Plunge, ShaftAngles, ShaftJoint};
pub use joints::{ArmEnd, Bush, JointAngles, JointSide, RodEnd, Worst, joint_angles};
pub use lower::{Lowered, LoweredSide, Lowering, Swing, lower};
pub use missing::Missing;
pub use planning::plan;
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};
pub use springs::{Collar, SpringAnswer, SpringSide, SpringState, Springs, springs};
pub use sweep::Travel;
