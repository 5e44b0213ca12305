//! Where a wheel is, what it reads there, and how good that is.

mod axle;
mod band;
mod effect;
mod position;
mod reading;

pub use axle::AxleResult;
pub use band::{ArmBand, Band, Doubt};
pub use effect::{Effect, Step};
pub use position::{Certainty, NoPosition, Reason, forward};
pub use reading::{Judged, Reading, Target};

pub(crate) use band::{Bands, Corrector};
pub(crate) use position::forward_from;
pub(crate) use reading::{thrust, thrust_angle, total_toe};
