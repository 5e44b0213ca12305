//! What moves: the arms, the tyre and the rim.

use nalgebra::{Point3, Vector3};

/// A solid with a rounding: every point within `round` of its core.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    /// The core.
    pub core: Core,
    /// How far the surface stands off the core, mm; 0 or more.
    pub round: f64,
}

/// The core of a solid.
#[derive(Debug, Clone, PartialEq)]
pub enum Core {
    /// A line from point to point, mm: two points or more.
    Line(Vec<Point3<f64>>),
    /// A drum, filled.
    Drum {
        /// Its middle, mm.
        centre: Point3<f64>,
        /// Unit vector along its axis.
        axis: Vector3<f64>,
        /// Half its width along the axis, mm, more than zero.
        half_width: f64,
        /// Half its diameter, mm, more than zero.
        radius: f64,
    },
}
