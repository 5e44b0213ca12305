//! Where a wheel is, what it reads there, and how good that is.

mod band;
mod position;
mod reading;

pub use band::{ArmBand, Band, Doubt};
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};

pub(crate) use band::Bands;
pub(crate) use position::forward_from;
pub(crate) use reading::{thrust, thrust_angle, total_toe};
