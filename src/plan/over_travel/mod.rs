//! A wheel over its travel: its positions, what they read, how toe goes, and where something is least or most.

mod bump;
mod missing;
mod station;
mod sweep;

pub use bump::BumpSteer;
pub use missing::Missing;
pub use station::{LinkAngle, MotionFigures, Place, Station};
pub use sweep::Travel;
pub(crate) use sweep::USUAL_TRAVEL;

pub(crate) use bump::Bumps;
pub(crate) use missing::{Gaps, once};
pub(crate) use station::{Load, Track, angle};
pub(crate) use sweep::{At, Sweep, travel_ends};
