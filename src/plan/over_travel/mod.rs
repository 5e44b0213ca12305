//! A wheel over its travel: its positions, what they read, how toe goes, and where something is least or most.

mod at_height;
mod bump;
mod missing;
mod sweep;

pub use at_height::{LinkAngle, MotionFigures, Place, Station};
pub use bump::BumpSteer;
pub use missing::Missing;
pub use sweep::Travel;

pub(crate) use at_height::{Load, Track, angle};
pub(crate) use bump::Bumps;
pub(crate) use missing::{Gaps, once};
pub(crate) use sweep::{AtHeight, Sweep, USUAL_TRAVEL, travel_ends};
