//! What adjusters can reach: within which settings both figures come within tolerance, and over which drops.

use nalgebra::Vector3;

use super::adjust::{Adjusted, Adjuster, Means, Question};
use super::calibration::Calibration;
use super::position::{NoPosition, forward, forward_from};
use super::reading::Reading;
use crate::car::{Setup, Side, Spec};
use crate::geometry::{Figure, Ground, Position};

/// Distance between the drops at which reach is looked at before the run-out is narrowed down, mm.
const SCAN: f64 = 2.0;
/// The ends of a stretch of drops are narrowed down to this, mm.
const NARROW: f64 = 1e-9;
/// A shift smaller than this brings nothing more, mm.
const LEAST_SHIFT: f64 = 1e-9;

/// What the adjusters of a side, cams or arms, can reach on a given ground.
pub(super) struct Reach<'a> {
    pub(super) side: &'a Side,
    pub(super) ground: &'a Ground,
    /// The links but for the adjusters.
    pub(super) found: &'a Setup,
    pub(super) spec: &'a Spec,
    pub(super) adjusters: &'a [Adjuster],
}

impl Reach<'_> {
    pub(super) fn question(&self, drop: f64) -> Question<'_> {
        Question {
            side: self.side,
            ground: self.ground,
            drop,
            setup: self.found,
            spec: self.spec,
            adjusters: self.adjusters,
            calibration: &Calibration::NONE,
        }
    }

    /// The best the adjusters can do at a drop.
    ///
    /// Each meets its own figure; one that ends stays at its end and the other meets its figure around it. If that is
    /// not within tolerance, all settings in reach are searched for one that is.
    pub(super) fn best(&self, drop: f64) -> Result<Adjusted, NoPosition> {
        let aimed = self.question(drop).adjust()?;
        Ok(self.within_tolerance(drop, &aimed).unwrap_or(aimed))
    }

    /// The nearest to the spec that the adjusters come at a drop.
    ///
    /// As [`best`](Self::best), but where nothing in reach is within tolerance, the settings with the least larger miss.
    pub(super) fn nearest(&self, drop: f64) -> Result<Adjusted, NoPosition> {
        let aimed = self.question(drop).adjust()?;
        let mut nearest = self.least_miss(drop, &aimed);
        if self.worst_miss(&nearest.position) > 1.0 {
            for (i, adjuster) in self.adjusters.iter().enumerate() {
                nearest.stops[i] = adjuster.at_end(nearest.values[i]);
            }
        }
        Ok(nearest)
    }

    /// Whether some settings in reach put both figures within tolerance at a drop.
    fn holds(&self, drop: f64) -> bool {
        let question = self.question(drop);
        let within_spec = |adjusted: &Adjusted| {
            Reading::of(self.side, &adjusted.position.pose, self.ground).judged(self.spec).within_spec
        };
        // The cheap ways to find a setting first: every adjuster reaches its own figure, or nearly does.
        let Ok(free) = question.free() else { return self.best(drop).is_ok_and(|best| within_spec(&best)) };
        (question.all_within(&free) && within_spec(&free))
            || self.clamped(drop, &free).is_some_and(|start| self.within_tolerance(drop, &start).is_some())
            || self.best(drop).is_ok_and(|best| within_spec(&best))
    }

    /// The settings in reach nearest to the ones that would be wanted.
    fn clamped(&self, drop: f64, free: &Adjusted) -> Option<Adjusted> {
        let mut nearest = free.clone();
        for (adjuster, value) in self.adjusters.iter().zip(&mut nearest.values) {
            let [low, high] = adjuster.ends();
            *value = value.clamp(low, high);
        }
        self.shifted(drop, &nearest, [0.0; 2])
    }

    fn misses(&self, position: &Position) -> [f64; 2] {
        [Figure::Camber, Figure::Toe]
            .map(|f| self.spec.miss(f, f.value(&position.pose, &self.side.wheel, self.ground)))
    }

    fn worst_miss(&self, position: &Position) -> f64 {
        self.misses(position).into_iter().fold(0.0, |worst, miss| worst.max(miss.abs()))
    }

    /// Settings in reach with both figures within tolerance, if there are any.
    fn within_tolerance(&self, drop: f64, start: &Adjusted) -> Option<Adjusted> {
        Some(self.least_miss(drop, start)).filter(|found| self.worst_miss(&found.position) <= 1.0)
    }

    /// The larger of the two misses made as small as it gets from a start, by linear programmes on the slopes at hand,
    /// each solved exactly; it ends as soon as both figures are within tolerance.
    fn least_miss(&self, drop: f64, start: &Adjusted) -> Adjusted {
        const MOST_ROUNDS: usize = 40;
        let mut here = start.clone();
        let mut trust = f64::INFINITY;
        for _ in 0..MOST_ROUNDS {
            let worst = self.worst_miss(&here.position);
            if worst <= 1.0 {
                break;
            }
            let steps = self.downhill(drop, &here, trust);
            let size = steps[0].abs().max(steps[1].abs());
            if size < LEAST_SHIFT {
                break;
            }
            match self.shifted(drop, &here, steps) {
                Some(there) if self.worst_miss(&there.position) < worst => {
                    here = there;
                    trust *= 2.0;
                }
                _ => trust = size / 4.0,
            }
        }
        here
    }

    fn shifted(&self, drop: f64, from: &Adjusted, steps: [f64; 2]) -> Option<Adjusted> {
        let mut setup = from.setup;
        let mut values = from.values.clone();
        for ((adjuster, value), step) in self.adjusters.iter().zip(&mut values).zip(steps) {
            *value += step;
            adjuster.apply(self.side, &mut setup, *value);
        }
        let position = forward_from(&from.position, self.side, &setup, drop).ok()?;
        // An adjuster that gives way to the other figure is not one that has run out.
        Some(Adjusted { setup, position, values, stops: vec![None; self.adjusters.len()] })
    }

    /// The shifts, within reach and trust, that lower the larger miss the most if the slopes were constant.
    fn downhill(&self, drop: f64, here: &Adjusted, trust: f64) -> [f64; 2] {
        let Ok(position) = self.question(drop).linkage(here) else { return [0.0; 2] };
        let misses = self.misses(&position);
        let mut slopes = [[0.0; 2]; 2];
        let mut bounds = [[0.0; 2]; 2];
        for (i, adjuster) in self.adjusters.iter().enumerate() {
            // Pitch has no tolerance to win or lose: its arm stays where it meets its target.
            if adjuster.figure == Figure::Pitch {
                continue;
            }
            let [low, high] = adjuster.ends();
            let value = here.values[i].clamp(low, high);
            bounds[i] = [(low - value).max(-trust), (high - value).min(trust)];
            let push = match (adjuster.means, self.side.links[adjuster.link].cam) {
                (Means::Cam(_), Some(cam)) => {
                    let knuckle = position.pose.point(&self.side.knuckle_arm(adjuster.link));
                    cam.push(&knuckle, &here.setup.pivots[adjuster.link])
                }
                _ => 1.0,
            };
            for (slope, figure) in slopes.iter_mut().zip([Figure::Camber, Figure::Toe]) {
                let rate = position.rate(figure, &self.side.wheel, self.ground, adjuster.link);
                slope[i] = rate * push / self.spec.tolerance(figure);
            }
        }
        least_larger(misses, slopes, bounds)
    }

    /// The stretch of drops, counted up from 0, over which the adjusters reach the spec on this ground.
    ///
    /// Looked at every [`SCAN`] mm, so a stretch or a gap shorter than that can be missed; its ends are then narrowed down.
    /// It ends at full bump, or where the wheel can go no further.
    pub(super) fn stretch(&self, bump: f64) -> Stretch {
        let mut before = None;
        let mut from = None;
        let mut drop = 0.0;
        loop {
            let holds = self.holds(drop);
            match (holds, from, before) {
                (true, None, None) => from = Some(0.0),
                (true, None, Some(before)) => from = Some(self.narrow(drop, before)),
                (false, Some(from), Some(before)) => {
                    return Stretch { from: Some(from), to: Some(self.narrow(before, drop)) };
                }
                _ => {}
            }
            let ends = drop >= bump || (!holds && forward(self.side, self.found, drop).is_err());
            if ends {
                return Stretch { from, to: if from.is_some() { None } else { Some(0.0) } };
            }
            before = Some(drop);
            drop = (drop + SCAN).min(bump);
        }
    }

    /// Where between a drop at which the adjusters reach the spec and one at which they do not the change comes, mm.
    fn narrow(&self, mut holds: f64, mut fails: f64) -> f64 {
        while (fails - holds).abs() > NARROW {
            let middle = f64::midpoint(holds, fails);
            if self.holds(middle) {
                holds = middle;
            } else {
                fails = middle;
            }
        }
        holds
    }
}

/// Drops over which the adjusters reach the spec, mm.
pub(super) struct Stretch {
    /// From where; `None`: nowhere.
    pub(super) from: Option<f64>,
    /// Up to where; `None`: to full bump.
    pub(super) to: Option<f64>,
}

/// Minimises `max(|misses[k] + slopes[k] . x|)` over the box `bounds`, for two unknowns.
///
/// As a linear programme in `(x, t)`: `+-(misses[k] + slopes[k] . x) <= t`, `x` in the box. Its optimum lies where three
/// of the eight planes meet, so all are tried.
fn least_larger(misses: [f64; 2], slopes: [[f64; 2]; 2], bounds: [[f64; 2]; 2]) -> [f64; 2] {
    const SLACK: f64 = 1e-9;
    let mut planes: Vec<(Vector3<f64>, f64)> = Vec::with_capacity(8);
    for k in 0..2 {
        for sign in [1.0, -1.0] {
            planes.push((Vector3::new(sign * slopes[k][0], sign * slopes[k][1], -1.0), -sign * misses[k]));
        }
    }
    for (axis, [low, high]) in [Vector3::x(), Vector3::y()].into_iter().zip(bounds) {
        planes.push((axis, high));
        planes.push((-axis, -low));
    }
    let mut best: Option<Vector3<f64>> = None;
    for a in 0..8 {
        for b in 0..a {
            for c in 0..b {
                let Some(corner) = meeting([planes[a], planes[b], planes[c]]) else { continue };
                let allowed = planes.iter().all(|(normal, offset)| normal.dot(&corner) <= offset + SLACK);
                if allowed && best.is_none_or(|best| corner.z < best.z) {
                    best = Some(corner);
                }
            }
        }
    }
    best.map_or([0.0; 2], |best| [0, 1].map(|i| best[i].clamp(bounds[i][0], bounds[i][1])))
}

/// Where three planes `n . x = d` meet, by Cramer's rule; `None` where they do not meet in a point.
fn meeting([(n1, d1), (n2, d2), (n3, d3)]: [(Vector3<f64>, f64); 3]) -> Option<Vector3<f64>> {
    let determinant = n1.dot(&n2.cross(&n3));
    let corner = (n2.cross(&n3) * d1 + n3.cross(&n1) * d2 + n1.cross(&n2) * d3) / determinant;
    corner.iter().all(|x| x.is_finite()).then_some(corner)
}
