//! One side of the axle.
//!
//! The tyre stands `wheel.loaded_radius` from the wheel centre, straight down the wheel plane; left out, the wheel stands on z
//! = 0 at the reference (`Side::contact`). Forces, roll centre, support angles, track and wheelbase follow that point; `check`
//! warns where radius and height are more than 5 mm apart.

use nalgebra::{Point3, Vector3};

use super::{
    Arm, Damper, Driveshaft, Errors, Hand, Hardpoints, Keepout, Link, Measurand, PerLink, Spec, Spring, Tyre,
};
use crate::geometry::{Angles, Ground, Pose, Wheel};

/// The ride of one side: how the car stood when it was measured, and how far the wheel can travel.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ride {
    /// How the car was loaded.
    pub(crate) loading: Option<String>,
    /// Hub centre straight up to the arch lip at the reference, mm.
    pub(crate) arch_gap: Option<f64>,
    /// Travel upward from the reference to the crushed stop, mm.
    pub bump: Option<f64>,
    /// Travel downward from the reference to full droop, mm.
    pub(crate) droop: Option<f64>,
}

/// One rear wheel with its five links, as if it were the left one.
#[derive(Debug, Clone, PartialEq)]
pub struct Side {
    /// Which side it really is.
    pub hand: Hand,
    /// The wheel at the reference.
    pub wheel: Wheel,
    /// Camber and toe as read at the reference, rad.
    pub reading: Angles,
    /// The diameter at which toe in mm or inches is quoted, mm.
    pub(crate) rim_diameter: Option<f64>,
    /// Hub centre to floor under load, mm, where it was measured by itself.
    pub(crate) loaded_radius: Option<f64>,
    /// The five links.
    pub links: PerLink<Link>,
    /// How well its points and its reading are known.
    pub errors: Errors,
    /// Height and travel.
    pub ride: Ride,
    /// What the wheel should read; absent where the profile has no `[spec]`.
    pub spec: Option<Spec>,
    /// Tyre and rim as solids, where their sizes are known.
    pub(crate) tyre: Option<Tyre>,
    /// What the arms and the wheel must keep clear of.
    pub keepouts: Vec<Keepout>,
    /// The driveshaft, where it was measured.
    pub driveshaft: Option<Driveshaft>,
    /// The spring, where it was measured.
    pub spring: Option<Spring>,
    /// The damper, where it was measured.
    pub damper: Option<Damper>,
}

impl Ride {
    /// Bump travel that is left at a drop, mm, where it is known; negative: lowered past it.
    pub(crate) fn bump_left(&self, drop: f64) -> Option<f64> {
        self.bump.map(|bump| bump - drop)
    }

    /// Hub centre to arch lip where the wheel stands `height` mm above the reference, mm, where it is known.
    pub(crate) fn arch_gap_at(&self, height: f64) -> Option<f64> {
        self.arch_gap.map(|gap| gap - height)
    }
}

impl Side {
    /// Whether a drop lies beyond the travel that the profile gives.
    pub(crate) fn past_travel(&self, drop: f64) -> bool {
        self.ride.bump.is_some_and(|bump| drop > bump) || self.ride.droop.is_some_and(|droop| drop < -droop)
    }

    /// Whether spring or damper sits on a link.
    pub(crate) fn carries(&self, index: usize) -> bool {
        let lines = [self.spring.map(|spring| spring.line), self.damper.map(|damper| damper.line)];
        lines.iter().flatten().any(|line| line.lower.is_on(index))
    }

    pub(crate) fn link(&self, name: &str) -> Option<&Link> {
        self.links.iter().find(|link| link.name == name)
    }

    /// The adjustable arm of a link.
    pub(crate) fn arm(&self, link: &str) -> Option<&Arm> {
        self.link(link)?.arm.as_ref()
    }

    /// The pose in which the car was measured.
    pub fn reference(&self) -> Pose {
        Pose::reference(self.wheel.centre)
    }

    /// From the wheel centre straight down the wheel plane to the ground, mm: as measured, else so that the wheel stands on z = 0 at
    /// the reference.
    pub(crate) fn loaded_radius(&self) -> f64 {
        self.loaded_radius.unwrap_or_else(|| self.wheel.loaded_radius())
    }

    /// Where the tyre stands.
    pub fn contact(&self, pose: &Pose, ground: &Ground) -> Point3<f64> {
        self.wheel.contact(pose, ground, self.loaded_radius())
    }

    /// The arm of a link's knuckle point from the wheel centre, mm.
    pub fn knuckle_arm(&self, link: usize) -> Vector3<f64> {
        self.links[link].knuckle - self.wheel.centre
    }

    /// Everything of it that was measured, in the order of [`Measurand::all`], mm and rad.
    pub fn numbers(&self) -> [f64; Measurand::NUMBERS] {
        let (mut numbers, own) = ([0.0; Measurand::NUMBERS], Measurand::READINGS);
        for measurand in Measurand::points() {
            numbers[measurand.place()].copy_from_slice(self.point(measurand).coords.as_slice());
        }
        [numbers[own], numbers[own + 1]] = self.reading.into();
        numbers
    }

    /// The same side if this had been measured, with the errors as they are.
    #[must_use]
    pub fn with_numbers(&self, numbers: &[f64; Measurand::NUMBERS]) -> Self {
        let holds = self.links.each(|link| link.hold);
        let (points, own) = (Hardpoints::measured(numbers, holds), Measurand::READINGS);
        let mut side = self.clone();
        side.reading = [numbers[own], numbers[own + 1]].into();
        side.wheel = points.wheel;
        for (i, link) in side.links.iter_mut().enumerate() {
            link.move_pivots(points.subframe[i], points.knuckle[i]);
        }
        side
    }

    /// One of its measured points; the wheel centre for what is no point.
    pub fn point(&self, of: Measurand) -> Point3<f64> {
        match of {
            Measurand::Subframe(i) => self.links[i].subframe,
            Measurand::Knuckle(i) => self.links[i].knuckle,
            _ => self.wheel.centre,
        }
    }

    /// A point of this side in car axes: mirrored back on the right.
    pub fn car_point(&self, point: &Point3<f64>) -> [f64; 3] {
        match self.hand {
            Hand::Left => [point.x, point.y, point.z],
            Hand::Right => [point.x, -point.y, point.z],
        }
    }

    /// An axis of turning of this side in car axes: a mirror in y turns x and z round and leaves y.
    pub(crate) fn car_axis(&self, axis: &Vector3<f64>) -> [f64; 3] {
        match self.hand {
            Hand::Left => [axis.x, axis.y, axis.z],
            Hand::Right => [-axis.x, axis.y, -axis.z],
        }
    }

    /// The pitch of a screw of this side, seen in car axes: a right-handed one is left-handed in a mirror.
    pub(crate) fn car_screw(&self, pitch: f64) -> f64 {
        match self.hand {
            Hand::Left => pitch,
            Hand::Right => -pitch,
        }
    }
}
