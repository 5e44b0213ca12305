//! A rod between the subframe and the knuckle, or what holds the knuckle in its place.

use nalgebra::{Point3, Vector3};

use super::{Arm, Bar, Bolt, CROSSWISE, Cam, Hand, Hold, Joints, Section};
use crate::geometry::Figure;

/// The stock arm's own length as it was measured, centre to centre, in the state in which the car was measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ArmLength {
    /// What it measures, mm.
    pub length: f64,
    /// Its standard deviation, mm.
    pub sigma: f64,
    /// The side whose arm it was; the other side may go by it too.
    pub hand: Hand,
    /// Whether the points came from it already, so that it neither checks nor moves them.
    pub used: bool,
}

/// One of the five links of a wheel.
#[derive(Debug, Clone, PartialEq)]
pub struct Link {
    /// The name the profile gives.
    pub name: String,
    /// How it holds the knuckle. What follows of a rod's length, arm and shape is there only where it is one.
    pub hold: Hold,
    /// What the link is used to set, if anything.
    pub sets: Option<Figure>,
    /// Pivot on the subframe at the reference, with the cam as it was found, mm.
    pub subframe: Point3<f64>,
    /// Pivot on the knuckle at the reference, mm.
    pub knuckle: Point3<f64>,
    /// The stock eccentric bolt at the subframe pivot, if there is one.
    pub cam: Option<Cam>,
    /// The adjustable arm that can replace the stock one, if there is one. Its lengths count between the pivots, see
    /// `measure`.
    pub arm: Option<Arm>,
    /// What the stock arm itself measures, where that is known.
    pub measured: Option<ArmLength>,
    /// Directions of the bolts at the subframe and at the knuckle, at the reference, unit, where they are known.
    pub bolts: [Option<Vector3<f64>>; 2],
    /// What the stock arm turns in.
    pub(crate) joints: Joints,
    /// The stock arm as a solid, where its thickness is known.
    pub(crate) bar: Option<Bar>,
    /// What the stock arm's bar is made of, where that is known.
    pub(crate) section: Option<Section>,
    /// What its joints may carry, N, where that is known.
    pub(crate) joint_rating: Option<f64>,
    /// What the bracket at the subframe may carry, N, where that is known.
    pub(crate) bracket_rating: Option<f64>,
    /// The bolt at the subframe, where it is known.
    pub(crate) bolt: Option<Bolt>,
    /// The bolt at the knuckle, where there is one and it is known.
    pub(crate) knuckle_bolt: Option<Bolt>,
}

impl Link {
    /// What the member is called that fills its place.
    pub fn member(&self) -> &str {
        self.hold.member(&self.name)
    }

    /// Pivot to pivot at the reference, with the cam as it was found, mm.
    pub fn stock_length(&self) -> f64 {
        (self.knuckle - self.subframe).norm()
    }

    /// What the stock arm measures where that is known, else how far its pivots are apart, mm.
    pub(crate) fn real_length(&self) -> f64 {
        self.measured.map_or(self.stock_length(), |measured| measured.length)
    }

    /// Whether an arm so long, mm, can be this one: outside of half and twice the distance of the pivots it is another one, or in
    /// another unit.
    pub(crate) fn can_measure(&self, length: f64) -> bool {
        (0.5..=2.0).contains(&(length / self.stock_length()))
    }

    /// What an arm measures on the bench that is `between` mm between the pivots.
    ///
    /// A new arm is matched to the stock arm, so both differ from the distance of the pivots by the same.
    pub fn on_bench(&self, between: f64) -> f64 {
        between + (self.real_length() - self.stock_length())
    }

    /// How far the pivots are apart with an arm that measures `length` mm on the bench.
    pub fn between_pivots(&self, length: f64) -> f64 {
        length - (self.real_length() - self.stock_length())
    }

    /// Takes over what the stock arm measures. The fitted arm keeps its ends and its thread on the bench; between the pivots
    /// they move by what the points are off.
    pub(crate) fn measure(&mut self, length: ArmLength) {
        self.keeping_the_arm(|link| link.measured = Some(length));
    }

    /// Puts the pivots elsewhere; what was measured of the arms themselves stays as it is.
    pub(crate) fn move_pivots(&mut self, subframe: Point3<f64>, knuckle: Point3<f64>) {
        self.keeping_the_arm(|link| (link.subframe, link.knuckle) = (subframe, knuckle));
    }

    /// Changes what is known of the link while the fitted arm stays as it is on the bench.
    fn keeping_the_arm(&mut self, change: impl FnOnce(&mut Self)) {
        let before = self.between_pivots(0.0);
        change(self);
        let by = self.between_pivots(0.0) - before;
        if let Some(arm) = self.arm.as_mut().filter(|_| by != 0.0) {
            arm.shift(by);
        }
    }

    /// The fitted arm as a solid, or the stock one: a fitted arm of which nothing else is known has the stock one's shape.
    pub(crate) fn bar(&self, fitted: bool) -> Option<&Bar> {
        let own = self.arm.as_ref().filter(|_| fitted).and_then(|arm| arm.bar.as_ref());
        own.or(self.bar.as_ref())
    }

    /// What the fitted arm turns in, or the stock one.
    pub(crate) fn joints(&self, fitted: bool) -> Joints {
        self.arm.as_ref().filter(|_| fitted).map_or(self.joints, |arm| arm.joints)
    }

    /// Which way along the cam's slot, +1 or -1, leads towards the wheel; `None` where neither does, or there is no cam.
    pub(crate) fn outboard(&self) -> Option<f64> {
        let cam = self.cam.as_ref()?;
        if self.hold.is_rod() {
            return cam.outboard(&self.knuckle, &self.subframe);
        }
        (cam.along.y.abs() > CROSSWISE.sin()).then(|| cam.along.y.signum())
    }

    /// Whether its cam moves the pivot towards the wheel when it shifts it by `shift` mm, rather than away from it.
    pub(crate) fn is_outward(&self, shift: f64) -> bool {
        self.outboard().is_some_and(|way| shift * way >= 0.0)
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
