//! Adjusters of a side, and which settings of them meet a spec: one side exactly (`adjust`), with the adjusters that are used for it
//! (`aim`), as near as all of them come (`plane`, `reach`), both wheels together (`settle`), in whole steps (`round`); all of that for a car (`task`).

mod adjust;
mod aim;
mod bench;
mod cam;
mod fitting;
mod hold_reading;
mod plane;
mod reach;
mod settle;
mod task;
mod whole_steps;

pub use bench::{Bench, Matched, ThreadIn};
pub use cam::{AtMark, CamSetting, CamUse, OtherCam};
pub use fitting::Fitting;

pub(crate) use adjust::{
    AdjustedSide, Adjuster, AdjusterEnd, AdjusterPart, Means, SettingQuestion, adjusters_with,
};
pub(crate) use aim::{BOTH, in_play};
pub(crate) use cam::{cam_setting, cams_left, cams_turned};
pub(crate) use hold_reading::Keep;
pub(crate) use reach::Reach;
pub(crate) use settle::keeps;
pub(crate) use task::{Task, Worked, exact_pair, work_alone, work_out};
pub(crate) use whole_steps::{Rounded, stepped, to_steps};
