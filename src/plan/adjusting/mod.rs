//! Adjusters of a side, and which settings of them meet a spec: one side exactly (`adjust`), with the adjusters that are used for it
//! (`aim`), as near as all of them come (`plane`, `reach`), both wheels together (`settle`), in whole steps (`round`).

mod adjust;
mod aim;
mod bench;
mod calibration;
mod keep;
mod plane;
mod reach;
mod round;
mod settle;

pub use bench::Bench;

pub(crate) use adjust::{Adjusted, Adjuster, End, Means, Part, Question, adjusters, adjusters_with};
pub(crate) use aim::{BOTH, in_play};
pub(crate) use calibration::Calibration;
pub(crate) use keep::Keep;
pub(crate) use reach::Reach;
pub(crate) use round::{Lattice, Rounded, stepped, to_steps};
pub(crate) use settle::{best_pair, keeps, settle};
