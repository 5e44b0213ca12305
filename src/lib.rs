//! Rods.
pub mod car;
pub mod geometry;
pub mod plan;
pub mod profile;
pub mod report;
pub use nalgebra;
