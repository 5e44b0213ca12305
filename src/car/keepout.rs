//! What the arms and the wheel must keep clear of, and the wheel as a solid.

use nalgebra::Vector3;

use crate::geometry::Pose;
use crate::geometry::solids::{Core, Obstacle, Solid};

/// A shape fixed to the subframe or the body.
#[derive(Debug, Clone, PartialEq)]
pub struct Keepout {
    /// The name the profile gives.
    pub name: String,
    /// The shape, mirrored like all else of a right side.
    pub obstacle: Obstacle,
    /// Names of the only parts it is held against; empty: all.
    pub(crate) only: Vec<String>,
}

impl Keepout {
    /// Whether a part is to keep clear of it.
    pub(crate) fn concerns(&self, part: &str) -> bool {
        self.only.is_empty() || self.only.iter().any(|only| only == part)
    }
}

/// Tyre and rim, mm: drums about the spindle, their middle at the wheel centre.
///
/// Both are taken as filled. What reaches into the hollow of the wheel is said to touch it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Tyre {
    /// Over its sidewalls.
    pub(crate) width: f64,
    /// Over its tread.
    pub(crate) diameter: f64,
    /// Radius of the rounding between tread and sidewall; 0: square.
    pub(crate) shoulder: f64,
    /// Width and diameter of the rim over its flanges, where they are known.
    pub(crate) rim: Option<[f64; 2]>,
}

impl Tyre {
    /// The tyre where the knuckle is.
    pub(crate) fn solid(&self, pose: &Pose, spindle: &Vector3<f64>) -> Solid {
        drum(pose, spindle, [self.width, self.diameter], self.shoulder)
    }

    /// The rim where the knuckle is.
    pub(crate) fn rim_solid(&self, pose: &Pose, spindle: &Vector3<f64>) -> Option<Solid> {
        self.rim.map(|size| drum(pose, spindle, size, 0.0))
    }
}

/// A drum of a width and a diameter with rounded shoulders.
fn drum(pose: &Pose, spindle: &Vector3<f64>, [width, diameter]: [f64; 2], shoulder: f64) -> Solid {
    let core = Core::Drum {
        centre: pose.centre,
        axis: pose.rotation * spindle,
        half_width: width / 2.0 - shoulder,
        radius: diameter / 2.0 - shoulder,
    };
    Solid { core, round: shoulder }
}
