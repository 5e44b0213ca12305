//! Adjusting to the spec: each figure is met by one adjuster, and an adjuster that ends stays at its end.

use super::calibration::Calibration;
use super::position::{NoPosition, Reason};
use crate::car::{Setup, Side, Spec};
use crate::geometry::{Figure, Ground, Position, Row, Stuck, solve};

/// Lengths and shifts within this of a limit are at it, mm.
const ROUNDING: f64 = 1e-9;
/// A figure within this of its target is met, rad.
const MET: f64 = 1e-10;
/// More passes than any calibration near the model needs.
const MOST_PASSES: usize = 30;

/// What a figure is set with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Adjuster {
    pub(super) figure: Figure,
    pub(super) link: usize,
    pub(super) means: Means,
}

/// How a link is adjusted, with the ends of what it can do, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Means {
    /// Its length.
    Arm([f64; 2]),
    /// The shift of its subframe pivot from the middle of the slot.
    Cam([f64; 2]),
}

/// One of the two ends of what an adjuster can do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum End {
    Low,
    High,
}

/// A side that has been adjusted.
#[derive(Debug, Clone)]
pub(super) struct Adjusted {
    pub(super) setup: Setup,
    pub(super) position: Position,
    /// Length or shift of each adjuster, mm.
    pub(super) values: Vec<f64>,
    /// Where each adjuster had to stop, if it had to.
    pub(super) stops: Vec<Option<End>>,
}

/// The question: a side at a drop on a ground, links set as `setup` but for the adjusters, and the spec to meet by what is
/// read.
#[derive(Debug, Clone, Copy)]
pub(super) struct Question<'a> {
    pub(super) side: &'a Side,
    pub(super) ground: &'a Ground,
    pub(super) drop: f64,
    pub(super) setup: &'a Setup,
    pub(super) spec: &'a Spec,
    pub(super) adjusters: &'a [Adjuster],
    pub(super) calibration: &'a Calibration,
}

impl Adjuster {
    pub(super) fn is_cam(&self) -> bool {
        matches!(self.means, Means::Cam(_))
    }

    /// The ends of what it can do, mm.
    pub(super) fn ends(&self) -> [f64; 2] {
        let (Means::Arm(ends) | Means::Cam(ends)) = self.means;
        ends
    }

    /// Which end a value in reach stands at.
    pub(super) fn at_end(&self, value: f64) -> Option<End> {
        let [low, high] = self.ends();
        if value <= low + ROUNDING {
            Some(End::Low)
        } else if value >= high - ROUNDING {
            Some(End::High)
        } else {
            None
        }
    }

    /// Which end a value lies beyond.
    fn beyond(&self, value: f64) -> Option<End> {
        let [low, high] = self.ends();
        if value < low - ROUNDING {
            Some(End::Low)
        } else if value > high + ROUNDING {
            Some(End::High)
        } else {
            None
        }
    }

    /// Puts a value into a setup.
    pub(super) fn apply(&self, side: &Side, setup: &mut Setup, value: f64) {
        match self.means {
            Means::Arm(_) => setup.lengths[self.link] = value,
            Means::Cam(_) => setup.pivots[self.link] = side.links[self.link].pivot(value),
        }
    }
}

impl Question<'_> {
    /// Meets the spec as far as the adjusters go.
    ///
    /// With nothing stopped every figure is met. Otherwise the smallest set of adjusters is stopped such that the
    /// free ones stay within their ends and each stopped one, set free again, would have to pass its end. Where
    /// several sets of the same size do, the one nearest the spec is taken.
    pub(super) fn adjust(&self) -> Result<Adjusted, NoPosition> {
        let free = self.free();
        if let Ok(adjusted) = &free
            && self.all_within(adjusted)
        {
            return free;
        }
        let mut fallback: Option<Adjusted> = None;
        for stopped in 1..=self.adjusters.len() {
            let mut best: Option<Adjusted> = None;
            for stops in stop_patterns(self.adjusters.len(), stopped) {
                let Ok(adjusted) = self.with_stops(&stops) else { continue };
                if !self.all_within(&adjusted) {
                    continue;
                }
                let slot = if self.all_needed(&stops) { &mut best } else { &mut fallback };
                if slot.as_ref().is_none_or(|slot| self.miss(&adjusted.position) < self.miss(&slot.position))
                {
                    *slot = Some(adjusted);
                }
            }
            if let Some(best) = best {
                return Ok(best);
            }
        }
        // Only an odd layout has no such set; then the nearest to the spec of all that hold together.
        let beyond = |adjusted: Adjusted| {
            let reached = adjusted.position.pose.centre.z - self.side.wheel.centre.z;
            let reason = Reason::OutOfReach(reached);
            NoPosition { hand: self.side.hand, drop: self.drop, links: Vec::new(), reason }
        };
        fallback.map_or_else(|| Err(free.map_or_else(|error| error, beyond)), Ok)
    }

    /// Every figure met, whatever that asks of the adjusters.
    pub(super) fn free(&self) -> Result<Adjusted, NoPosition> {
        self.with_stops(&vec![None; self.adjusters.len()])
    }

    /// The position of an adjusted side as a plain linkage, so that its rates are per mm of rod.
    pub(super) fn linkage(&self, adjusted: &Adjusted) -> Result<Position, Box<Stuck>> {
        Position::known(&adjusted.setup.rows(self.side, self.drop), adjusted.position.pose)
    }

    /// Camber, toe and pitch as they are read in a position, rad.
    pub(super) fn figures(&self, position: &Position) -> [f64; 3] {
        let [camber, toe, pitch] =
            Figure::ALL.map(|figure| figure.value(&position.pose, &self.side.wheel, self.ground));
        let [camber, toe] = self.calibration.reading([camber, toe]);
        [camber, toe, pitch]
    }

    /// How far a position is from the spec: the root of the sum of squares in units of the tolerances.
    pub(super) fn miss(&self, position: &Position) -> f64 {
        let figures = self.figures(position);
        let of = |figure: Figure| self.spec.miss(figure, figures[figure as usize]);
        let pitch = self.adjusters.iter().any(|adjuster| adjuster.figure == Figure::Pitch);
        let pitch = if pitch { of(Figure::Pitch) } else { 0.0 };
        of(Figure::Camber).hypot(of(Figure::Toe)).hypot(pitch)
    }

    /// Whether every adjuster is within its ends.
    pub(super) fn all_within(&self, adjusted: &Adjusted) -> bool {
        self.adjusters.iter().zip(&adjusted.values).all(|(adjuster, &value)| adjuster.beyond(value).is_none())
    }

    /// Whether each stopped adjuster would have to pass its end if it alone were set free again.
    fn all_needed(&self, stops: &[Option<End>]) -> bool {
        (0..stops.len()).filter(|&i| stops[i].is_some()).all(|i| {
            let mut freed = stops.to_vec();
            freed[i] = None;
            match self.with_stops(&freed) {
                Ok(adjusted) => self.adjusters[i].beyond(adjusted.values[i]) == stops[i],
                Err(_) => true,
            }
        })
    }

    /// Solves with some adjusters at their ends and the others free to take any value.
    ///
    /// A free adjuster's rod gives its row to the figure it sets; its own value then follows from the pose. Where camber and
    /// toe as read both depend on both of the model, and one of them is not free, the other's target in the model follows
    /// from the pose, pass by pass.
    fn with_stops(&self, stops: &[Option<End>]) -> Result<Adjusted, NoPosition> {
        let [camber, toe, pitch] = Figure::ALL.map(|figure| self.spec.target(figure));
        let model = self.calibration.model([camber, toe]).unwrap_or([camber, toe]);
        let mut targets = [model[0], model[1], pitch];
        for _ in 0..MOST_PASSES {
            let adjusted = self.at_targets(stops, &targets)?;
            let figures = self.figures(&adjusted.position);
            let mut met = true;
            for (adjuster, _) in self.adjusters.iter().zip(stops).filter(|(_, stop)| stop.is_none()) {
                let figure = adjuster.figure;
                let off = self.spec.target(figure) - figures[figure as usize];
                met &= off.abs() <= MET;
                targets[figure as usize] += off;
            }
            if met {
                return Ok(adjusted);
            }
        }
        let reason = Reason::OutOfReach(self.drop);
        Err(NoPosition { hand: self.side.hand, drop: self.drop, links: Vec::new(), reason })
    }

    /// Solves for targets of the model itself.
    fn at_targets(&self, stops: &[Option<End>], targets: &[f64; 3]) -> Result<Adjusted, NoPosition> {
        let mut setup = *self.setup;
        for (adjuster, stop) in self.adjusters.iter().zip(stops) {
            if let Some(end) = stop {
                adjuster.apply(self.side, &mut setup, adjuster.ends()[*end as usize]);
            }
        }
        let mut rows = setup.rows(self.side, self.drop);
        for (adjuster, stop) in self.adjusters.iter().zip(stops) {
            if stop.is_none() {
                let target = targets[adjuster.figure as usize];
                rows[adjuster.link] = Row::reads(adjuster.figure, &self.side.wheel, self.ground, target);
            }
        }
        let position = self.follow(&rows)?;
        let mut values = Vec::with_capacity(self.adjusters.len());
        for (adjuster, stop) in self.adjusters.iter().zip(stops) {
            let value = match stop {
                Some(end) => adjuster.ends()[*end as usize],
                None => self.value_at(adjuster, &position, &setup),
            };
            // Infinite where no shift of a cam fits its rod: beyond every end, and never part of a setup.
            if value.is_finite() {
                adjuster.apply(self.side, &mut setup, value);
            }
            values.push(value);
        }
        Ok(Adjusted { setup, position, values, stops: stops.to_vec() })
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

    /// The length or shift that a pose asks of an adjuster: a plain distance.
    ///
    /// A cam's pivot is the middle `c` of the slot plus `t u`. With `w` from `c` to the knuckle point the rod fits
    /// where `|w - t u| = L`, at `t = u.w -/+ sqrt((u.w)^2 - w.w + L^2)`; the sign is the one it has as found. Where
    /// no shift makes the rod fit, it would have to be infinitely far.
    fn value_at(&self, adjuster: &Adjuster, position: &Position, setup: &Setup) -> f64 {
        let link = &self.side.links[adjuster.link];
        let knuckle = position.pose.point(&self.side.knuckle_arm(adjuster.link));
        match (adjuster.means, &link.cam) {
            (Means::Cam(_), Some(cam)) => {
                let w = knuckle - link.pivot(0.0);
                let along = w.dot(&cam.along);
                let length = setup.lengths[adjuster.link];
                let root = (along * along - w.norm_squared() + length * length).sqrt();
                if root.is_nan() {
                    return f64::INFINITY.copysign(along);
                }
                along - root.copysign(cam.along.dot(&(link.knuckle - link.subframe)))
            }
            _ => (knuckle - setup.pivots[adjuster.link]).norm(),
        }
    }
}

/// All ways to stop exactly `stopped` of `count` adjusters at one of their ends.
fn stop_patterns(count: usize, stopped: usize) -> impl Iterator<Item = Vec<Option<End>>> {
    let choices = 3_usize.pow(u32::try_from(count).unwrap_or(0));
    (0..choices)
        .map(move |code| {
            (0..count)
                .scan(code, |code, _| {
                    let choice = [None, Some(End::Low), Some(End::High)][*code % 3];
                    *code /= 3;
                    Some(choice)
                })
                .collect::<Vec<_>>()
        })
        .filter(move |stops| stops.iter().flatten().count() == stopped)
}
