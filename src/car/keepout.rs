//! What the arms and the wheel must keep clear of, and the wheel as a solid.

use nalgebra::Vector3;

use super::{Setup, Side};
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
    pub only: Vec<String>,
}

impl Keepout {
    /// Whether a part is to keep clear of it.
    pub fn concerns(&self, part: &str) -> bool {
        self.only.is_empty() || self.only.iter().any(|only| only == part)
    }
}

/// Tyre and rim, mm: drums about the spindle, their middle at the wheel centre.
///
/// Both are taken as filled. What reaches into the hollow of the wheel is said to touch it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tyre {
    /// Over its sidewalls.
    pub width: f64,
    /// Over its tread.
    pub diameter: f64,
    /// Radius of the rounding between tread and sidewall; 0: square.
    pub shoulder: f64,
    /// Width and diameter of the rim over its flanges, where they are known.
    pub rim: Option<[f64; 2]>,
}

impl Tyre {
    /// The tyre where the knuckle is.
    pub fn solid(&self, pose: &Pose, spindle: &Vector3<f64>) -> Solid {
        drum(pose, spindle, [self.width, self.diameter], self.shoulder)
    }

    /// The rim where the knuckle is.
    pub fn rim_solid(&self, pose: &Pose, spindle: &Vector3<f64>) -> Option<Solid> {
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

/// A part that must not touch anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// The arm of a link, by its place among the five.
    Arm(usize),
    /// The tyre.
    Tyre,
    /// The rim.
    Rim,
}

impl Part {
    /// What the tyre is called where the arms go by the names of their links.
    pub const TYRE: &str = "tyre";
    /// What the rim is called there.
    pub const RIM: &str = "rim";
}

impl Side {
    /// The parts of this side whose shape is known.
    pub fn parts(&self) -> Vec<Part> {
        let arms = (0..5).filter(|&i| self.links[i].bar(true).is_some()).map(Part::Arm);
        let tyre = self.tyre.is_some().then_some(Part::Tyre);
        let rim = self.tyre.and_then(|tyre| tyre.rim).map(|_| Part::Rim);
        arms.chain(tyre).chain(rim).collect()
    }

    /// What a part is called.
    pub fn part_name(&self, part: Part) -> &str {
        match part {
            Part::Arm(link) => &self.links[link].name,
            Part::Tyre => Part::TYRE,
            Part::Rim => Part::RIM,
        }
    }

    /// A part where it is in a pose, if its shape is known; `fitted` says of each link whether its adjustable arm is fitted.
    pub fn solid(&self, part: Part, setup: &Setup, fitted: [bool; 5], pose: &Pose) -> Option<Solid> {
        match part {
            Part::Arm(link) => {
                let knuckle = pose.point(&self.knuckle_arm(link));
                Some(self.links[link].bar(fitted[link])?.solid(&setup.pivots[link], &knuckle))
            }
            Part::Tyre => Some(self.tyre?.solid(pose, &self.wheel.spindle)),
            Part::Rim => self.tyre?.rim_solid(pose, &self.wheel.spindle),
        }
    }
}
