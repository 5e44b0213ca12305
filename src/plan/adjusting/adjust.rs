//! Adjusters of a side, and where the wheel is when some of them meet a figure and the others stand still.

use nalgebra::{Vector2, Vector3};
use std::iter::Sum;
use std::ops::Mul;

use crate::car::{Link, Setup, Side, Spec};
use crate::geometry::{Angles, Figure, Ground, Pose, Position, Row, Stuck, solve};
use crate::plan::wheel::{NoPosition, Reason};

/// Lengths and shifts within this of a limit are at it, mm.
const ROUNDING: f64 = 1e-9;
/// A figure within this of its target is met, rad.
const MET: f64 = 1e-10;
/// A cam that comes to the same place again stands, mm.
const STANDS: f64 = 1e-11;
/// So often a cam is set anew by what it carries itself.
const MOST_ROUNDS: usize = 60;

/// Something that can be set: the length of an arm, or a cam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Adjuster {
    pub(crate) link: usize,
    pub(crate) means: Means,
    /// What its link is used to set.
    pub(crate) sets: Option<Figure>,
}

/// How a link is adjusted, with the ends of what it can do, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Means {
    /// Its length.
    Arm([f64; 2]),
    /// The shift of its subframe pivot from the middle of the slot.
    Cam([f64; 2]),
}

/// One of the two ends of what an adjuster can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AdjusterEnd {
    Low,
    High,
}

/// What an adjuster does in an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum AdjusterPart {
    /// It stays where it is.
    Home,
    /// It stands at an end.
    Stopped(AdjusterEnd),
    /// It takes the value at which a figure is met.
    Meets(Figure),
    /// It stands where the search for a setting within tolerance has left it.
    Within,
}

/// A side that has been adjusted.
#[derive(Debug, Clone)]
pub(crate) struct AdjustedSide {
    pub(crate) setup: Setup,
    pub(crate) position: Position,
    /// Length or shift of each adjuster, mm.
    pub(crate) values: Vec<f64>,
    pub(crate) parts: Vec<AdjusterPart>,
}

/// The question: a side at a drop on a ground, links set as `setup` but for the adjusters, and the spec to meet by what is
/// read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct SettingQuestion<'a> {
    pub(crate) side: &'a Side,
    pub(crate) ground: &'a Ground,
    pub(crate) drop: f64,
    pub(crate) setup: &'a Setup,
    pub(crate) spec: &'a Spec,
    pub(crate) adjusters: &'a [Adjuster],
    /// By how much more is read than the model says, rad.
    pub(crate) offset: Angles,
    /// The one figure of camber and toe that is to be set, where the other is left as it comes.
    pub(crate) only: Option<Figure>,
}

/// The adjusters of a side in the order of its links: every arm that is fitted, and every cam but one on a link that sets pitch,
/// which nobody turns on purpose.
pub(super) fn adjusters(side: &Side, fitted: impl Fn(&Link) -> bool) -> Vec<Adjuster> {
    adjusters_with(side, |link| link.arm.as_ref().filter(|_| fitted(link)).map(|arm| arm.range().ends))
}

/// The same, where a fitted arm is known by the lengths that it may take.
pub(crate) fn adjusters_with(side: &Side, arm: impl Fn(&Link) -> Option<[f64; 2]>) -> Vec<Adjuster> {
    let of = |(link, at): (usize, &Link)| {
        let sets = at.sets;
        let arm = arm(at).map(|ends| Adjuster { link, means: Means::Arm(ends), sets });
        [arm, Adjuster::of_cam(link, at).filter(|_| sets != Some(Figure::Pitch))].into_iter().flatten()
    };
    side.links.iter().enumerate().flat_map(of).collect()
}

impl Adjuster {
    /// The cam of a link, by its place.
    pub(crate) fn of_cam(link: usize, at: &Link) -> Option<Self> {
        let ends = at.cam.map(|cam| [-cam.eccentricity, cam.eccentricity])?;
        Some(Self { link, means: Means::Cam(ends), sets: at.sets })
    }

    pub(crate) fn is_cam(&self) -> bool {
        matches!(self.means, Means::Cam(_))
    }

    /// Whether its link is used to set a figure.
    pub(crate) fn is_for(&self, figure: Figure) -> bool {
        self.sets == Some(figure)
    }

    /// The ends of what it can do, mm.
    pub(crate) fn ends(&self) -> [f64; 2] {
        let (Means::Arm(ends) | Means::Cam(ends)) = self.means;
        ends
    }

    /// How far it can go from one end to the other, mm.
    pub(super) fn range(&self) -> f64 {
        let [low, high] = self.ends();
        high - low
    }

    /// Which end a value lies beyond.
    pub(super) fn beyond(&self, value: f64) -> Option<AdjusterEnd> {
        let [low, high] = self.ends();
        if value < low - ROUNDING {
            Some(AdjusterEnd::Low)
        } else if value > high + ROUNDING {
            Some(AdjusterEnd::High)
        } else {
            None
        }
    }

    /// Its value in a setup, mm.
    pub(crate) fn value(&self, side: &Side, setup: &Setup) -> f64 {
        if self.is_cam() { setup.cam(self.link, &side.links[self.link]) } else { setup.lengths[self.link] }
    }

    /// Puts a value into a setup.
    pub(super) fn apply(&self, side: &Side, setup: &mut Setup, value: f64) {
        match self.means {
            Means::Arm(_) => setup.lengths[self.link] = value,
            Means::Cam(_) => setup.put_cam(self.link, &side.links[self.link], value),
        }
    }

    /// How much longer the rods of some places act per mm of its value, in a position: which, and by how much.
    pub(crate) fn pushes(&self, side: &Side, setup: &Setup, position: &Position) -> [(usize, f64); 2] {
        let of_arm = [(self.link, 1.0), (self.link, 0.0)];
        if self.is_cam() { side.pushes(self.link, setup, &position.pose) } else { of_arm }
    }

    /// What a mm of its value does in a position, where a mm of the rod of a place does what `per_rod` says.
    pub(crate) fn per_mm<T: Mul<f64, Output = T> + Sum>(
        &self,
        side: &Side,
        setup: &Setup,
        position: &Position,
        per_rod: impl Fn(usize) -> T,
    ) -> T {
        self.pushes(side, setup, position).into_iter().map(|(row, push)| per_rod(row) * push).sum()
    }
}

impl AdjusterPart {
    /// The end at which it stands.
    pub(crate) fn stop(self) -> Option<AdjusterEnd> {
        if let Self::Stopped(end) = self { Some(end) } else { None }
    }

    pub(crate) fn meets(self) -> Option<Figure> {
        if let Self::Meets(figure) = self { Some(figure) } else { None }
    }
}

impl SettingQuestion<'_> {
    /// The value of an adjuster before anything is set, mm.
    pub(super) fn home(&self, adjuster: &Adjuster) -> f64 {
        adjuster.value(self.side, self.setup)
    }

    /// The position of an adjusted side as a plain linkage, so that its rates are per mm of rod.
    pub(crate) fn linkage(&self, adjusted: &AdjustedSide) -> Result<Position, Box<Stuck>> {
        Position::known(&adjusted.setup.rows(self.side, self.drop), adjusted.position.pose)
    }

    /// Camber, toe and pitch as they are read in a position, rad.
    pub(crate) fn figures(&self, position: &Position) -> [f64; 3] {
        let [camber, toe, pitch] =
            Figure::ALL.map(|figure| figure.value(&position.pose, &self.side.wheel, self.ground));
        [camber + self.offset.camber, toe + self.offset.toe, pitch]
    }

    /// How camber, toe and pitch as they are read change per mm of an adjuster's value in a set-up, rad/mm, what the other rows hold
    /// being held.
    pub(super) fn rates(&self, adjuster: &Adjuster, setup: &Setup, position: &Position) -> [f64; 3] {
        let rates = adjuster.per_mm(self.side, setup, position, |row| {
            Vector3::from(Figure::ALL.map(|figure| position.rate(figure, &self.side.wheel, self.ground, row)))
        });
        rates.into()
    }

    /// How camber and toe as they are read change per mm of an adjuster's value in a set-up, in tolerances.
    pub(super) fn slope(&self, adjuster: &Adjuster, setup: &Setup, position: &Position) -> Vector2<f64> {
        adjuster.per_mm(self.side, setup, position, |row| {
            Vector2::from([Figure::Camber, Figure::Toe].map(|figure| {
                position.rate(figure, &self.side.wheel, self.ground, row) / self.spec.tolerance(figure)
            }))
        })
    }

    /// How far camber and toe are off, in tolerances.
    pub(super) fn misses(&self, position: &Position) -> [f64; 2] {
        let [camber, toe, _] = self.figures(position);
        [self.spec.miss(Figure::Camber, camber), self.spec.miss(Figure::Toe, toe)]
    }

    /// The larger of the two misses, in tolerances.
    pub(super) fn worst_miss(&self, position: &Position) -> f64 {
        let [camber, toe] = self.misses(position).map(f64::abs);
        camber.max(toe)
    }

    /// Whether camber and toe are within their tolerances.
    pub(crate) fn in_spec(&self, position: &Position) -> bool {
        let [camber, toe, _] = self.figures(position);
        self.spec.holds(camber, toe)
    }

    /// How far a position is from the spec: the root of the sum of squares in units of the tolerances; pitch counts where an arm
    /// sets it.
    pub(super) fn miss(&self, position: &Position) -> f64 {
        let [_, _, pitch] = self.figures(position);
        let sets_pitch = self.adjusters.iter().any(|adjuster| adjuster.is_for(Figure::Pitch));
        let pitch = if sets_pitch { self.spec.miss(Figure::Pitch, pitch) } else { 0.0 };
        let [camber, toe] = self.misses(position);
        camber.hypot(toe).hypot(pitch)
    }

    /// The adjusters that meet a figure and would have to pass an end for it.
    pub(super) fn beyond(&self, adjusted: &AdjustedSide) -> Vec<(usize, AdjusterEnd)> {
        (adjusted.parts.iter().enumerate())
            .filter(|(_, part)| part.meets().is_some())
            .filter_map(|(i, _)| Some((i, self.adjusters[i].beyond(adjusted.values[i])?)))
            .collect()
    }

    /// Solves with every adjuster playing its part, whatever that asks of those that meet a figure.
    ///
    /// Such a one gives its rod's row to the figure; its own value then follows from the pose.
    pub(crate) fn solve(&self, parts: &[AdjusterPart]) -> Result<AdjustedSide, NoPosition> {
        self.solve_near(parts, None)
    }

    /// The same from a pose that may be near.
    pub(super) fn solve_near(
        &self,
        parts: &[AdjusterPart],
        near: Option<&Pose>,
    ) -> Result<AdjustedSide, NoPosition> {
        let target = |figure| self.spec.target(figure) - self.offset.get(figure).unwrap_or(&0.0);
        let targets = Figure::ALL.map(target);
        let adjusted = self.at_targets(parts, &targets, near)?;
        let figures = self.figures(&adjusted.position);
        let met = |figure: Figure| (self.spec.target(figure) - figures[figure as usize]).abs() <= MET;
        if parts.iter().filter_map(|part| part.meets()).all(met) {
            return Ok(adjusted);
        }
        Err(self.out_of_reach(self.drop))
    }

    /// Solves with every adjuster playing its part; one that would have to pass its end stays there.
    pub(super) fn within_ends(&self, mut parts: Vec<AdjusterPart>) -> Result<AdjustedSide, NoPosition> {
        loop {
            let adjusted = self.solve(&parts)?;
            let beyond = self.beyond(&adjusted);
            if beyond.is_empty() {
                return Ok(adjusted);
            }
            for (i, end) in beyond {
                parts[i] = AdjusterPart::Stopped(end);
            }
        }
    }

    pub(super) fn out_of_reach(&self, reached: f64) -> NoPosition {
        let reason = Reason::OutOfReach(reached);
        NoPosition { hand: self.side.hand, drop: self.drop, links: Vec::new(), reason }
    }

    /// Solves for targets of the model itself.
    fn at_targets(
        &self,
        parts: &[AdjusterPart],
        targets: &[f64; 3],
        near: Option<&Pose>,
    ) -> Result<AdjustedSide, NoPosition> {
        let mut setup = *self.setup;
        for (adjuster, part) in self.adjusters.iter().zip(parts) {
            if let AdjusterPart::Stopped(end) = part {
                adjuster.apply(self.side, &mut setup, adjuster.ends()[*end as usize]);
            }
        }
        let mut found = self.at_targets_around(&setup, &setup, parts, targets, near)?;
        let carries = |(adjuster, part): (&Adjuster, &AdjusterPart)| {
            part.meets().is_some() && adjuster.is_cam() && self.side.on_leg(adjuster.link).is_some()
        };
        if !self.adjusters.iter().zip(parts).any(carries) {
            return Ok(found);
        }
        // A leg's cam carries the foot of what stands on its wishbone: until that foot stands where the cam comes to.
        for _ in 0..MOST_ROUNDS {
            let pose = found.position.pose;
            let next = self.at_targets_around(&setup, &found.setup, parts, targets, Some(&pose))?;
            let same = |(a, b): (&f64, &f64)| a.total_cmp(b).is_eq() || (a - b).abs() <= STANDS;
            let stands = next.values.iter().zip(&found.values).all(same);
            found = next;
            if stands {
                return Ok(found);
            }
        }
        Err(self.out_of_reach(self.drop))
    }

    /// The same where the rows that stay are those of a set-up `around`, in which what meets a figure may already stand as it will.
    fn at_targets_around(
        &self,
        standing: &Setup,
        around: &Setup,
        parts: &[AdjusterPart],
        targets: &[f64; 3],
        near: Option<&Pose>,
    ) -> Result<AdjustedSide, NoPosition> {
        let (mut setup, standing) = (*standing, *standing);
        let mut rows = around.rows(self.side, self.drop);
        let meeting = || self.adjusters.iter().zip(parts).filter(|(_, part)| part.meets().is_some());
        let cams = meeting().map(|(adjuster, _)| adjuster).filter(|adjuster| adjuster.is_cam());
        self.side.free_cams(&mut rows, &setup, cams.map(|adjuster| adjuster.link));
        for (adjuster, part) in meeting() {
            if let AdjusterPart::Meets(figure) = *part {
                let target = targets[figure as usize];
                rows[adjuster.link] = Row::reads(figure, &self.side.wheel, self.ground, target);
            }
        }
        let position =
            near.and_then(|near| solve(&rows, near).ok()).map_or_else(|| self.follow(&rows), Ok)?;
        let mut values = Vec::with_capacity(self.adjusters.len());
        // With both cams of a strut set free, its top first: the bolt then leans it towards that.
        let freed = |link: usize| meeting().filter(|(adjuster, _)| adjuster.link == link).count();
        for (adjuster, part) in self.adjusters.iter().zip(parts) {
            let value = match part {
                AdjusterPart::Stopped(end) => adjuster.ends()[*end as usize],
                AdjusterPart::Meets(_) if adjuster.is_cam() => {
                    let partner = self.side.partner(adjuster.link).filter(|other| freed(*other) > 0);
                    let stands = if partner.is_some() { &setup } else { &standing };
                    self.side.cam_for(adjuster.link, stands, &position.pose, partner.is_some())
                }
                AdjusterPart::Meets(_) => self.side.length_for(adjuster.link, around, &position.pose),
                AdjusterPart::Home | AdjusterPart::Within => self.home(adjuster),
            };
            // Infinite where no shift of a cam fits its rod: beyond every end, and never part of a setup.
            if part.meets().is_some() && value.is_finite() {
                adjuster.apply(self.side, &mut setup, value);
            }
            values.push(value);
        }
        Ok(AdjustedSide { setup, position, values, parts: parts.to_vec() })
    }

    fn follow(&self, rows: &[Row; 6]) -> Result<Position, NoPosition> {
        let reference = self.side.reference();
        solve(rows, &reference).or_else(|stuck| {
            // The way down first, the figures after it: another way round an awkward spot.
            let lowered = solve(&Setup::as_found(self.side).rows(self.side, self.drop), &reference);
            lowered.and_then(|lowered| solve(rows, &lowered.pose)).map_err(|_| {
                let reached = stuck.pose.centre.z - self.side.wheel.centre.z;
                NoPosition::new(self.side, self.drop, &stuck, Reason::OutOfReach(reached))
            })
        })
    }
}
