//! Whether the stock cams can still reach the spec, and up to which drop.

use nalgebra::Vector3;
use serde::Serialize;

use super::adjust::{Adjusted, Adjuster, Means, Question};
use super::arms::CamSetting;
use super::band::{Band, Bands};
use super::calibration::Calibration;
use super::planning::{adjusters, cam_setting, in_file_order};
use super::position::{Certainty, NoPosition, Reason, forward, forward_from};
use super::reading::{Judged, Reading, Target};
use crate::car::{Car, Hand, Setup, Side, Sigmas, Spec, Stance};
use crate::geometry::{Figure, Ground, Position};

/// Where a profile gives no bump travel the run-out is looked for up to this drop, mm.
const USUAL_BUMP: f64 = 120.0;
/// Distance between the drops at which reach is looked at before the run-out is narrowed down, mm.
const SCAN: f64 = 2.0;
/// The ends of a stretch of drops are narrowed down to this, mm.
const NARROW: f64 = 1e-9;
/// A shift smaller than this brings nothing more, mm.
const LEAST_SHIFT: f64 = 1e-9;

/// What the stock cams can do, on both sides.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CamVerdict {
    /// Left, then right.
    pub sides: [CamVerdictSide; 2],
}

/// What the stock cams of one side can do.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CamVerdictSide {
    /// Which side.
    pub side: Hand,
    /// By how much it is lowered, mm.
    pub drop_mm: f64,
    /// What it should read.
    pub spec: Target,
    /// What it reads when it is only lowered.
    pub lowered: Reading,
    /// Whether some cam settings in reach put both figures within tolerance.
    pub within_spec: bool,
    /// The best reading that the cams give.
    pub best: Judged,
    /// How good that is before anything is corrected.
    pub band: Band,
    /// The probability that it is within spec before anything is corrected, 0 to 1.
    pub probability_within_spec: f64,
    /// How sure the position with these settings is.
    pub certainty: Certainty,
    /// The settings that give it.
    pub cams: Vec<CamSetting>,
    /// The smallest drop, counted up from 0, at which the cams do, mm; `None` if never.
    pub reach_from_drop_mm: Option<f64>,
    /// The largest drop, counted up from there, at which they still do, mm; `None` if they do to full bump, 0 if never.
    pub run_out_drop_mm: Option<f64>,
    /// The drop up to which that was looked for, mm: full bump, where the profile gives it.
    pub bump_mm: f64,
}

impl CamVerdict {
    /// Whether the cams of both sides reach the spec.
    pub fn succeeds(&self) -> bool {
        self.sides.iter().all(|side| side.within_spec)
    }
}

/// Asks what the stock cams can do; no arm is fitted.
///
/// `specs` are the specs of the left and the right wheel.
///
/// # Errors
///
/// [`NoPosition`] where the links do not let a wheel come so far.
pub fn cams(car: &Car, stance: &Stance, specs: &[Spec; 2]) -> Result<CamVerdict, NoPosition> {
    let [left, right] = [0, 1].map(|i| cams_side(&car.sides[i], stance, &specs[i], &car.sigmas));
    Ok(CamVerdict { sides: [left?, right?] })
}

fn cams_side(
    side: &Side,
    stance: &Stance,
    spec: &Spec,
    sigmas: &Sigmas,
) -> Result<CamVerdictSide, NoPosition> {
    let (drop, ground) = (stance.drop(side.hand), stance.ground(side.hand));
    let found = Setup::as_found(side);
    let lowered = forward(side, &found, drop)?;
    let adjusters = adjusters(side, |_| false);
    let calibration = Calibration::none();
    let reach = Reach { side, ground: &ground, found: &found, spec, adjusters: &adjusters, calibration };
    let best = reach.best(drop)?;
    let reading = Reading::of(side, &best.position.pose, &ground).judged(spec);
    let linkage = reach
        .question(drop)
        .linkage(&best)
        .map_err(|stuck| NoPosition::new(side, drop, &stuck, Reason::NotHeld))?;
    let bands = Bands::new(side, stance, &best.setup, &linkage, &[], sigmas);
    let cams = (in_file_order(&adjusters).into_iter())
        .filter_map(|i| cam_setting(&reach.question(drop), i, &best))
        .collect();
    let bump = side.ride.bump.unwrap_or(USUAL_BUMP);
    let stretch = reach.stretch(bump);
    Ok(CamVerdictSide {
        side: side.hand,
        drop_mm: drop,
        spec: Target::from(spec),
        lowered: Reading::of(side, &lowered.pose, &ground),
        within_spec: reading.within_spec,
        best: reading,
        band: bands.band(),
        probability_within_spec: bands.within_spec(reading.reading, spec),
        certainty: Certainty::from(&best.position),
        cams,
        reach_from_drop_mm: stretch.from,
        run_out_drop_mm: stretch.to,
        bump_mm: bump,
    })
}

/// What the cams of a side can reach on a given ground.
struct Reach<'a> {
    side: &'a Side,
    ground: &'a Ground,
    found: &'a Setup,
    spec: &'a Spec,
    adjusters: &'a [Adjuster],
    calibration: Calibration,
}

impl Reach<'_> {
    fn question(&self, drop: f64) -> Question<'_> {
        Question {
            side: self.side,
            ground: self.ground,
            drop,
            setup: self.found,
            spec: self.spec,
            adjusters: self.adjusters,
            calibration: &self.calibration,
        }
    }

    /// The best the cams can do at a drop.
    ///
    /// Each cam meets its own figure; one that ends stays at its end and the other meets its figure around it. If that is
    /// not within tolerance, all settings in reach are searched for one that is.
    fn best(&self, drop: f64) -> Result<Adjusted, NoPosition> {
        let aimed = self.question(drop).adjust()?;
        if self.worst_miss(&aimed.position) <= 1.0 {
            return Ok(aimed);
        }
        Ok(self.within_tolerance(drop, &aimed).unwrap_or(aimed))
    }

    /// Whether some settings in reach put both figures within tolerance at a drop.
    fn holds(&self, drop: f64) -> bool {
        let question = self.question(drop);
        let within_spec = |adjusted: &Adjusted| {
            Reading::of(self.side, &adjusted.position.pose, self.ground).judged(self.spec).within_spec
        };
        // The cheap ways to find a setting first: every cam reaches its own figure, or nearly does.
        let Ok(free) = question.free() else { return self.best(drop).is_ok_and(|best| within_spec(&best)) };
        (question.all_within(&free) && within_spec(&free))
            || self.clamped(drop, &free).is_some_and(|start| self.within_tolerance(drop, &start).is_some())
            || self.best(drop).is_ok_and(|best| within_spec(&best))
    }

    /// The settings in reach nearest to the ones that would be wanted.
    fn clamped(&self, drop: f64, free: &Adjusted) -> Option<Adjusted> {
        let mut nearest = free.clone();
        for (adjuster, value) in self.adjusters.iter().zip(&mut nearest.values) {
            let Means::Cam([low, high]) = adjuster.means else { continue };
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

    /// Settings in reach with both figures within tolerance, if there are any: the larger of the two misses is made as
    /// small as it gets, by linear programmes on the slopes at hand, each solved exactly.
    fn within_tolerance(&self, drop: f64, start: &Adjusted) -> Option<Adjusted> {
        const MOST_ROUNDS: usize = 40;
        let mut here = start.clone();
        let mut trust = f64::INFINITY;
        for _ in 0..MOST_ROUNDS {
            let worst = self.worst_miss(&here.position);
            if worst <= 1.0 {
                return Some(here);
            }
            let steps = self.downhill(drop, &here, trust);
            let size = steps[0].abs().max(steps[1].abs());
            if size < LEAST_SHIFT {
                return None;
            }
            match self.shifted(drop, &here, steps) {
                Some(there) if self.worst_miss(&there.position) < worst => {
                    here = there;
                    trust *= 2.0;
                }
                _ => trust = size / 4.0,
            }
        }
        None
    }

    fn shifted(&self, drop: f64, from: &Adjusted, steps: [f64; 2]) -> Option<Adjusted> {
        let mut setup = from.setup;
        let mut values = from.values.clone();
        for ((adjuster, value), step) in self.adjusters.iter().zip(&mut values).zip(steps) {
            *value += step;
            adjuster.apply(self.side, &mut setup, *value);
        }
        let position = forward_from(&from.position, self.side, &setup, drop).ok()?;
        // A cam that gives way to the other figure is not one that has run out.
        Some(Adjusted { setup, position, values, stops: vec![None; self.adjusters.len()] })
    }

    /// The shifts, within reach and trust, that lower the larger miss the most if the slopes were constant.
    fn downhill(&self, drop: f64, here: &Adjusted, trust: f64) -> [f64; 2] {
        let Ok(position) = self.question(drop).linkage(here) else { return [0.0; 2] };
        let misses = self.misses(&position);
        let mut slopes = [[0.0; 2]; 2];
        let mut bounds = [[0.0; 2]; 2];
        for (i, adjuster) in self.adjusters.iter().enumerate() {
            let Means::Cam([low, high]) = adjuster.means else { continue };
            let value = here.values[i].clamp(low, high);
            bounds[i] = [(low - value).max(-trust), (high - value).min(trust)];
            let link = &self.side.links[adjuster.link];
            let knuckle = position.pose.point(&self.side.knuckle_arm(adjuster.link));
            let push = link.cam.map_or(0.0, |cam| cam.push(&knuckle, &here.setup.pivots[adjuster.link]));
            for (slope, figure) in slopes.iter_mut().zip([Figure::Camber, Figure::Toe]) {
                let rate = position.rate(figure, &self.side.wheel, self.ground, adjuster.link);
                slope[i] = rate * push / self.spec.tolerance(figure);
            }
        }
        least_larger(misses, slopes, bounds)
    }

    /// The stretch of drops, counted up from 0, over which the cams reach the spec on this ground.
    ///
    /// Looked at every [`SCAN`] mm, so a stretch or a gap shorter than that can be missed; its ends are then narrowed down.
    /// It ends at full bump, or where the wheel can go no further.
    fn stretch(&self, bump: f64) -> Stretch {
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

    /// Where between a drop at which the cams reach the spec and one at which they do not the change comes, mm.
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

/// Drops over which the cams reach the spec, mm: from where, and up to where; no end before full bump is `None`.
struct Stretch {
    from: Option<f64>,
    to: Option<f64>,
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
