//! Solids that must keep clear of each other: what moves with the wheel, and what is fixed to the car.
//!
//! A moving [`Solid`] is a core with a rounding about it: a bar about its centreline, a drum with rounded shoulders. A
//! fixed [`Obstacle`] is a box, a cylinder, a ball or a half-space. Their [`gap`] comes from a geometry library, which
//! only that file knows.

mod gap;
mod obstacle;
mod solid;

pub use gap::gap;
pub use obstacle::Obstacle;
pub use solid::{Core, Solid};
