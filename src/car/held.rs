//! Where what holds a side's knuckle stands in a pose, and what its adjusters do there.
//!
//! A strut has two: its bolt leans its line against the knuckle about the bolt that stays, by the cam's shift over the distance of the two,
//! outward plus; its top mount moves along a slot of the body and so enters both rows once the knuckle has turned. An answer that sets the
//! top keeps the line to that slot, one row in the place of two, and takes the shift from the pose.

use nalgebra::{Point3, Vector3};

use super::{Hardpoints, Hold, Link, Measurand, Setup, Side};
use crate::geometry::{Meets, Pose, Row, WideRow};

impl Setup {
    /// Turns the cam of a place so that it stands `shift` mm from its middle.
    pub fn put_cam(&mut self, link: usize, of: &Link, shift: f64) {
        match of.hold {
            Hold::Bolt(..) => self.lengths[link] = shift - of.cam.map_or(0.0, |cam| cam.found()),
            _ => self.pivots[link] = of.pivot(shift),
        }
    }

    /// Moves the cam of a place by `off` mm.
    pub fn move_cam(&mut self, link: usize, of: &Link, off: f64) {
        match (of.hold, of.cam) {
            (Hold::Bolt(..), _) => self.lengths[link] += off,
            (_, Some(cam)) => self.pivots[link] += cam.along * off,
            _ => {}
        }
    }

    /// How far the cam of a place stands from its middle, mm; 0 without one.
    pub fn cam(&self, link: usize, of: &Link) -> f64 {
        let Some(cam) = of.cam else { return 0.0 };
        match of.hold {
            Hold::Bolt(..) => cam.found() + self.lengths[link],
            _ => (self.pivots[link] - of.pivot(0.0)).dot(&cam.along),
        }
    }
}

impl Side {
    /// The two ends of what holds a place, subframe's first, in a pose.
    pub(crate) fn ends(&self, link: usize, setup: &Setup, pose: &Pose) -> [Point3<f64>; 2] {
        match self.links[link].hold {
            Hold::Rod | Hold::Leg(_) => [setup.pivots[link], pose.point(&self.knuckle_arm(link))],
            _ => Hardpoints::of(self).ends(link, setup, pose),
        }
    }

    /// The places of rods.
    pub(crate) fn rods(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.links.len()).filter(|link| self.links[*link].hold.is_rod())
    }

    /// How long the rod of a place must be in a pose, mm: a plain distance.
    pub(crate) fn length_for(&self, link: usize, setup: &Setup, pose: &Pose) -> f64 {
        let [inner, outer] = self.ends(link, setup, pose);
        (outer - inner).norm()
    }

    /// The other place of the same strut.
    pub(crate) fn partner(&self, link: usize) -> Option<usize> {
        match self.links[link].hold {
            Hold::Top => Some(self.bolt_of(link)),
            Hold::Bolt(top, _) => Some(top.into()),
            _ => None,
        }
    }

    /// Whether a point was measured by itself: it is no other one too, under another name.
    pub(crate) fn is_own(&self, of: Measurand) -> bool {
        of.link().is_none_or(|link| self.links[link].hold.home(of) == of)
    }

    /// How far each place must give way per mm of the cam of a place: which, and by how much. What a rod acts longer, or how far what is
    /// no rod is moved.
    pub fn pushes(&self, link: usize, setup: &Setup, pose: &Pose) -> [(usize, f64); 2] {
        let Some(cam) = self.links[link].cam else { return [(link, 0.0); 2] };
        let [inner, outer] = self.ends(link, setup, pose);
        match self.links[link].hold {
            Hold::Top => {
                let [across, forward, _] = self.of_strut(link, setup, pose);
                // The place that holds the same top across stands beside it.
                [(link, forward.dot(&cam.along)), (self.bolt_of(link), across.dot(&cam.along))]
            }
            Hold::Bolt(_, lever) => {
                let [.., line] = self.of_strut(link, setup, pose);
                [(link, (inner - outer).dot(&line) / lever), (link, 0.0)]
            }
            Hold::Leg(_) => {
                let carried = self.on_leg(link).map(|on| {
                    let points = Hardpoints::of(self);
                    let [foot, head] = points.ends(on, setup, pose);
                    let way = points.carried(on, link, setup, pose, &cam.along);
                    (on, (head - foot).normalize().dot(&way))
                });
                [(link, cam.push(&outer, &inner)), carried.unwrap_or((link, 0.0))]
            }
            _ => [(link, cam.push(&outer, &inner)), (link, 0.0)],
        }
    }

    /// The rod that stands on the wishbone of which a place is a leg.
    pub fn on_leg(&self, leg: usize) -> Option<usize> {
        let stands =
            |link: &Link| matches!(link.hold, Hold::OnArm(legs) if legs.map(usize::from).contains(&leg));
        self.links.iter().position(stands)
    }

    /// The place that holds the top of the strut across the car, whose place along the car this is.
    fn bolt_of(&self, top: usize) -> usize {
        let is_bolt = |link: &Link| matches!(link.hold, Hold::Bolt(of, _) if usize::from(of) == top);
        self.links.iter().position(is_bolt).unwrap_or(top)
    }

    /// How a strut's bolt leans it, mm of its cam over the lever.
    fn leans(&self, bolt: usize, setup: &Setup) -> f64 {
        match self.links[bolt].hold {
            Hold::Bolt(_, lever) => setup.lengths[bolt] / lever,
            _ => 0.0,
        }
    }

    /// Ways of a strut in a pose, as it leans: outward across it, as long as its row has it, forward across it, and up along it, unit.
    fn of_strut(&self, link: usize, setup: &Setup, pose: &Pose) -> [Vector3<f64>; 3] {
        let [across, forward, line] = Hardpoints::of(self).of_strut(link);
        let bolt = if self.links[link].hold == Hold::Top { self.bolt_of(link) } else { link };
        let lean = self.leans(bolt, setup);
        [across + line * lean, forward, line].map(|way| pose.rotation * way)
    }

    /// Makes rows hold wherever the cams of some places stand, as far as they hold without the rows of those places: those are the
    /// caller's to give away. A top mount anywhere along its slot still keeps its strut's line to that slot.
    pub fn free_cams(&self, rows: &mut [Row; 6], setup: &Setup, cams: impl Iterator<Item = usize>) {
        for top in cams.filter(|link| self.links[*link].hold == Hold::Top) {
            let (Some(cam), bolt) = (self.links[top].cam, self.bolt_of(top)) else { continue };
            let [across, _, line] = Hardpoints::of(self).of_strut(top);
            let line = (line - across * self.leans(bolt, setup)).normalize();
            let row = Meets::new(setup.pivots[top], &cam.along, self.knuckle_arm(top), line);
            rows[bolt] = WideRow::Meets(row).into();
        }
    }

    /// The shift from its middle that a pose asks of the cam of a place, mm; infinite where none would do. `other` tells whether the pose
    /// was found with the other cam of the same strut set free too.
    ///
    /// A cam's pivot is the middle `c` of the slot plus `t u`. With `w` from `c` to the knuckle point the rod fits
    /// where `|w - t u| = L`, at `t = u.w -/+ sqrt((u.w)^2 - w.w + L^2)`; the sign is the one it has as found.
    /// A strut's top is where its line meets the slot; its bolt stands so that the line meets the top.
    pub fn cam_for(&self, link: usize, setup: &Setup, pose: &Pose, other: bool) -> f64 {
        let of = &self.links[link];
        let Some(cam) = of.cam else { return 0.0 };
        let [inner, outer] = self.ends(link, setup, pose);
        match of.hold {
            Hold::Top => {
                let way = outer - of.pivot(0.0);
                let [leant, forward, line] = self.of_strut(link, setup, pose);
                let normal = if other {
                    forward
                } else {
                    let lean = self.leans(self.bolt_of(link), setup);
                    let line = line - (leant - line * lean) * lean;
                    line.cross(&cam.along.cross(&line))
                };
                way.dot(&normal) / normal.dot(&cam.along)
            }
            Hold::Bolt(_, lever) => {
                let level = self.leans(link, setup);
                let [leant, _, line] = self.of_strut(link, setup, pose);
                let (across, way) = (leant - line * level, inner - outer);
                cam.found() - lever * across.dot(&way) / line.dot(&way)
            }
            _ => {
                let w = outer - of.pivot(0.0);
                let along = w.dot(&cam.along);
                let length = setup.lengths[link];
                let root = (along * along - w.norm_squared() + length * length).sqrt();
                if root.is_nan() {
                    return f64::INFINITY.copysign(along);
                }
                along - root.copysign(cam.along.dot(&(of.knuckle - of.subframe)))
            }
        }
    }
}
