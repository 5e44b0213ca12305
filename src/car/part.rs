//! The parts of a side that must not touch anything, as solids.

use super::{PerLink, Setup, Side};
use crate::geometry::Pose;
use crate::geometry::solids::Solid;

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
    pub(crate) const TYRE: &str = "tyre";
    /// What the rim is called there.
    pub(crate) const RIM: &str = "rim";
}

impl Side {
    /// The parts of this side whose shape is known.
    pub fn parts(&self) -> Vec<Part> {
        let arms = (0..self.links.len()).filter(|&i| self.links[i].bar(true).is_some()).map(Part::Arm);
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
    pub fn solid(&self, part: Part, setup: &Setup, fitted: PerLink<bool>, pose: &Pose) -> Option<Solid> {
        match part {
            Part::Arm(link) => {
                let [inner, knuckle] = self.ends(link, setup, pose);
                Some(self.links[link].bar(fitted[link])?.solid(&inner, &knuckle))
            }
            Part::Tyre => Some(self.tyre?.solid(pose, &self.wheel.spindle)),
            Part::Rim => self.tyre?.rim_solid(pose, &self.wheel.spindle),
        }
    }
}
