//! What an arm turns in at its ends, and the shaft that drives the wheel.

use nalgebra::{Point3, Vector3};
use serde::Serialize;

use crate::geometry::solids::Obstacle;
use crate::geometry::{Pose, Wheel};

/// What an arm turns in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Joint {
    /// Rubber, bonded to a sleeve that the bolt clamps.
    Bush,
    /// A ball on the bolt, in a housing that may tilt so far.
    #[serde(rename = "rod end")]
    RodEnd,
}

/// The joints of an arm, subframe end first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joints {
    /// What they are.
    pub kinds: [Joint; 2],
    /// How far its rod ends may tilt either way before they bind, rad, where that is known.
    pub limit: Option<f64>,
}

impl Driveshaft {
    /// The shaft between its joints in a pose, as a cylinder, where its diameter was measured.
    pub fn shaft(&self, wheel: &Wheel, pose: &Pose) -> Option<Obstacle> {
        let outer = pose.point(&(self.outer - wheel.centre));
        Some(Obstacle::Cylinder { ends: [self.inner, outer], radius: self.diameter? / 2.0 })
    }
}

/// The shaft from the differential to the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Driveshaft {
    /// Middle of the inner joint, fixed to the subframe, mm.
    pub(crate) inner: Point3<f64>,
    /// Middle of the outer joint at the reference, fixed to the knuckle, mm.
    pub(crate) outer: Point3<f64>,
    /// Unit vector along the differential's output.
    pub(crate) output: Vector3<f64>,
    /// How far the inner and the outer joint may bend, rad, where that is known.
    pub(crate) limits: [Option<f64>; 2],
    /// How far the shaft can still be pushed in and pulled out from where it is at the reference, mm, where that is known.
    pub(crate) reserve: [Option<f64>; 2],
    /// Over the shaft between its joints, mm, where it was measured.
    pub(crate) diameter: Option<f64>,
}
