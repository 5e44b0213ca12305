//! What holds a knuckle in each of its five places, and what its adjusters do there.
//!
//! Five scalar conditions and the wheel's height leave a knuckle no freedom. On most cars these are five rods. A bush that gives way
//! across the car holds it in two ways, so does the top of a strut; a wishbone is two rods with one joint, and the upright link of an
//! integral link axle a rod that stands on a wishbone. A member fills as many of the five places, one after another.

use nalgebra::{Point3, Vector3};

use super::{Hardpoints, Link, Measurand, Setup, Side};
use crate::geometry::{InArm, Meets, OnArm, Pose, Row, WideRow};

/// What holds the knuckle in one of the five places of a side.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Hold {
    /// A rod from the subframe.
    #[default]
    Rod,
    /// A leg of a wishbone: a rod whose joint is that of the first, by its place.
    Leg(u8),
    /// A rod that stands on a wishbone, by the places of its two legs.
    OnArm([u8; 2]),
    /// A blade's front bush: its place along the car.
    BushAhead,
    /// The same bush: its height; by the place of the former.
    BushUp(u8),
    /// The top of a strut, along the car. A cam here moves the top mount.
    Top,
    /// The same top, across the car; by the place of the former, and from the strut's bolt that stays to the one that moves it on the
    /// knuckle, mm, up along the strut. A cam here leans the strut against the knuckle.
    Bolt(u8, f64),
}

impl Hold {
    /// What places of members that are no rods are called, behind the member's own name.
    pub const PLACES: [[&str; 2]; 3] = [["front", "rear"], ["fore-aft", "up-down"], ["top", "bolt"]];

    /// What the place of a member is called behind the member's own name.
    pub(super) fn place(self) -> &'static str {
        let [_, blade, strut] = Self::PLACES;
        match self {
            Self::Rod | Self::Leg(_) | Self::OnArm(_) => "",
            Self::BushAhead => blade[0],
            Self::BushUp(_) => blade[1],
            Self::Top => strut[0],
            Self::Bolt(..) => strut[1],
        }
    }

    /// Whether an arm of another length could take its place: it is a single rod.
    pub fn takes_an_arm(self) -> bool {
        matches!(self, Self::Rod | Self::OnArm(_))
    }

    /// Whether it is the first place of a member that is no rod: what is told once of both is told of this one.
    pub fn is_first_of_member(self) -> bool {
        matches!(self, Self::BushAhead | Self::Top)
    }

    /// Whether it is a rod, which has a length, a direction and two ends.
    pub fn is_rod(self) -> bool {
        matches!(self, Self::Rod | Self::Leg(_) | Self::OnArm(_))
    }

    /// The point that is meant by a pivot of place `link`: that of another place, or end, where the two are one.
    pub(super) fn home(self, of: Measurand) -> Measurand {
        match (self, of) {
            (Self::Leg(first), Measurand::Knuckle(_)) => Measurand::Knuckle(first.into()),
            (Self::BushAhead, Measurand::Knuckle(link)) => Measurand::Subframe(link),
            (Self::BushUp(first), Measurand::Knuckle(_) | Measurand::Subframe(_)) => {
                Measurand::Subframe(first.into())
            }
            (Self::Bolt(top, _), Measurand::Knuckle(_)) => Measurand::Knuckle(top.into()),
            (Self::Bolt(top, _), Measurand::Subframe(_)) => Measurand::Subframe(top.into()),
            _ => of,
        }
    }
}

impl Hardpoints {
    /// Makes points that are one lie at one place.
    pub(super) fn joined(mut self) -> Self {
        for (link, hold) in self.holds.into_iter().enumerate().filter(|(_, hold)| *hold != Hold::Rod) {
            let at = |of: Measurand| match hold.home(of) {
                Measurand::Knuckle(link) => self.knuckle[link],
                Measurand::Subframe(link) => self.subframe[link],
                _ => self.wheel.centre,
            };
            let ends = [at(Measurand::Subframe(link)), at(Measurand::Knuckle(link))];
            [self.subframe[link], self.knuckle[link]] = ends;
        }
        self
    }

    /// The row of a place whose rod is not from the subframe, or which is none.
    pub(super) fn other_row(&self, link: usize, setup: &Setup) -> Row {
        let arm = |link: usize| self.knuckle[link] - self.wheel.centre;
        let rod = || Row::rod(setup.pivots[link], arm(link), setup.lengths[link]);
        match self.holds[link] {
            Hold::Rod | Hold::Leg(_) => rod(),
            Hold::OnArm(legs) => {
                let (Some(inner), [first, second]) = (self.in_arm(link, legs), legs.map(usize::from)) else {
                    return rod();
                };
                let pivots = [setup.pivots[first], setup.pivots[second]];
                let row = OnArm::new(inner, pivots, [arm(first), arm(link)], setup.lengths[link]);
                WideRow::OnArm(row).into()
            }
            // From the bush to the wheel, so that its force counts as a rod's: plus, it is pulled.
            Hold::BushAhead => {
                let normal = Vector3::x() * -arm(link).x.signum();
                Row::guided(setup.pivots[link], arm(link), normal, setup.lengths[link])
            }
            Hold::BushUp(first) => {
                Row::guided(setup.pivots[usize::from(first)], arm(link), Vector3::z(), setup.lengths[link])
            }
            Hold::Top => {
                Row::sliding(setup.pivots[link], arm(link), self.of_strut(link)[1], setup.lengths[link])
            }
            Hold::Bolt(top, lever) => {
                let [across, _, line] = self.of_strut(link);
                let normal = across + line * (setup.lengths[link] / lever);
                Row::sliding(setup.pivots[usize::from(top)], arm(link), normal, 0.0)
            }
        }
    }

    fn in_arm(&self, link: usize, [first, second]: [u8; 2]) -> Option<InArm> {
        let (first, second) = (usize::from(first), usize::from(second));
        InArm::of(&self.subframe[link], [self.subframe[first], self.subframe[second]], &self.knuckle[first])
    }

    /// Ways of a strut at the reference: outward across it, forward across it, up along it.
    fn of_strut(&self, link: usize) -> [Vector3<f64>; 3] {
        let line = (self.subframe[link] - self.knuckle[link]).normalize();
        let forward = (Vector3::x() - line * line.x).normalize();
        [line.cross(&forward), forward, line]
    }

    /// The two ends of what holds a place, subframe's first, in a pose.
    pub fn ends(&self, link: usize, setup: &Setup, pose: &Pose) -> [Point3<f64>; 2] {
        let point = |link: usize| pose.point(&(self.knuckle[link] - self.wheel.centre));
        let inner = match self.holds[link] {
            Hold::OnArm(legs) => {
                let [first, second] = legs.map(usize::from);
                let inner = self.in_arm(link, legs);
                inner.map(|inner| inner.at([setup.pivots[first], setup.pivots[second]], &point(first)))
            }
            Hold::BushUp(first) | Hold::Bolt(first, _) => Some(setup.pivots[usize::from(first)]),
            _ => None,
        };
        [inner.unwrap_or(setup.pivots[link]), point(link)]
    }
}

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
    pub fn ends(&self, link: usize, setup: &Setup, pose: &Pose) -> [Point3<f64>; 2] {
        match self.links[link].hold {
            Hold::Rod | Hold::Leg(_) => [setup.pivots[link], pose.point(&self.knuckle_arm(link))],
            _ => Hardpoints::of(self).ends(link, setup, pose),
        }
    }

    /// The places of rods.
    pub fn rods(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.links.len()).filter(|link| self.links[*link].hold.is_rod())
    }

    /// How long the rod of a place must be in a pose, mm: a plain distance.
    pub fn length_for(&self, link: usize, setup: &Setup, pose: &Pose) -> f64 {
        let [inner, outer] = self.ends(link, setup, pose);
        (outer - inner).norm()
    }

    /// The other place of the same strut.
    pub fn partner(&self, link: usize) -> Option<usize> {
        match self.links[link].hold {
            Hold::Top => Some(self.bolt_of(link)),
            Hold::Bolt(top, _) => Some(top.into()),
            _ => None,
        }
    }

    /// Whether a point was measured by itself: it is no other one too, under another name.
    pub fn is_own(&self, of: Measurand) -> bool {
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
            _ => [(link, cam.push(&outer, &inner)), (link, 0.0)],
        }
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
                let [across, forward, line] = self.of_strut(link, setup, pose);
                let normal = if other {
                    forward
                } else {
                    let line = line - across * self.leans(self.bolt_of(link), setup);
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
