//! A rod between the subframe and the knuckle.

use nalgebra::{Point3, Vector3};

use super::{Arm, Bar, Bolt, Cam, Joints, Section};
use crate::geometry::Figure;

/// One of the five links of a wheel.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The name the profile gives.
    pub name: String,
    /// What the link is used to set, if anything.
    pub sets: Option<Figure>,
    /// Pivot on the subframe at the reference, with the cam as it was found, mm.
    pub subframe: Point3<f64>,
    /// Pivot on the knuckle at the reference, mm.
    pub knuckle: Point3<f64>,
    /// The stock eccentric bolt at the subframe pivot, if there is one.
    pub cam: Option<Cam>,
    /// The adjustable arm that can replace the stock one, if there is one.
    pub arm: Option<Arm>,
    /// Directions of the bolts at the subframe and at the knuckle, at the reference, unit, where they are known.
    pub bolts: [Option<Vector3<f64>>; 2],
    /// What the stock arm turns in.
    pub joints: Joints,
    /// The stock arm as a solid, where its thickness is known.
    pub bar: Option<Bar>,
    /// What the stock arm's bar is made of, where that is known.
    pub section: Option<Section>,
    /// What its joints may carry, N, where that is known.
    pub joint_rating: Option<f64>,
    /// What the bracket at the subframe may carry, N, where that is known.
    pub bracket_rating: Option<f64>,
    /// The bolt at the subframe, where it is known.
    pub bolt: Option<Bolt>,
    /// The bolt at the knuckle, where there is one and it is known.
    pub knuckle_bolt: Option<Bolt>,
}

impl Link {
    /// Pivot to pivot at the reference, with the cam as it was found, mm.
    pub fn stock_length(&self) -> f64 {
        (self.knuckle - self.subframe).norm()
    }

    /// The fitted arm as a solid, or the stock one: a fitted arm of which nothing else is known has the stock one's shape.
    pub fn bar(&self, fitted: bool) -> Option<&Bar> {
        let own = self.arm.as_ref().filter(|_| fitted).and_then(|arm| arm.bar.as_ref());
        own.or(self.bar.as_ref())
    }

    /// What the fitted arm turns in, or the stock one.
    pub fn joints(&self, fitted: bool) -> Joints {
        self.arm.as_ref().filter(|_| fitted).map_or(self.joints, |arm| arm.joints)
    }

    /// Which way along the cam's slot, +1 or -1, leads towards the wheel; `None` where neither does, or there is no cam.
    pub fn outboard(&self) -> Option<f64> {
        self.cam.as_ref()?.outboard(&self.knuckle, &self.subframe)
    }

    /// Where the subframe pivot is when the cam shifts it by `shift` mm from the middle of its slot.
    ///
    /// Without a cam the pivot stays where it is.
    pub fn pivot(&self, shift: f64) -> Point3<f64> {
        match &self.cam {
            Some(cam) => self.subframe + cam.along * (shift - cam.found()),
            None => self.subframe,
        }
    }
}
