//! Bands by sampling: the same question asked of many cars that may be the measured one, without any straight line.

use rayon::iter::{IntoParallelIterator, ParallelIterator};
use serde::Serialize;

use super::adjust::{Adjuster, Question};
use super::arms::{Fitting, Plan, PlanSide};
use super::calibration::Calibration;
use super::cams::cams;
use super::planning::adjusters;
use super::position::forward;
use super::reading::{Reading, thrust_angle};
use crate::car::{Car, Setup, Side, Spec, Stance};
use crate::geometry::{Figure, Ground};
use crate::measure::{Draw, Sampler};

/// How many cars to draw, and from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sampling {
    /// How many.
    pub samples: u64,
    /// The same seed gives the same cars.
    pub seed: u64,
}

/// Where 95 of 100 sampled values lie.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Interval {
    /// 2.5 of 100 lie below.
    pub low: f64,
    /// Half lie below.
    pub middle: f64,
    /// 2.5 of 100 lie above.
    pub high: f64,
}

/// What sampling came to.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct Sampled {
    /// How many cars were drawn.
    pub samples: u64,
    /// The seed.
    pub seed: u64,
    /// Cars that have no position at that height; they count in nothing else.
    pub without_position: u64,
    /// Left, then right.
    pub sides: [SampledSide; 2],
    /// The part of all cars whose wheels are both within spec, and keep the limits between them, before any correction.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_spec: Option<f64>,
}

/// What sampling came to on one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SampledSide {
    /// Camber, degrees.
    pub camber_deg: Interval,
    /// Toe of this wheel, degrees.
    pub toe_deg: Interval,
    /// The fitted arms.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub arms: Vec<SampledArm>,
    /// The part of all cars whose stock cams reach the spec of this wheel.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cams_reach: Option<f64>,
    /// The drop at which they run out, mm; full bump for those that do not.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run_out_drop_mm: Option<Interval>,
}

/// By how much an arm will have to be corrected after it was set as planned.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
pub struct SampledArm {
    /// The link.
    pub link: String,
    /// Longer than it was set, mm.
    pub correction_mm: Interval,
    /// The same in turns.
    pub correction_turns: Interval,
}

impl Interval {
    fn of(mut values: Vec<f64>) -> Self {
        values.retain(|value| value.is_finite());
        values.sort_by(f64::total_cmp);
        // The value below which a part of all lies, between two of them by how near it is to either.
        let quantile = |part: f64| {
            let Some(last) = values.len().checked_sub(1) else { return f64::NAN };
            #[expect(clippy::cast_precision_loss, reason = "a count of samples")]
            let place = part * last as f64;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
            let below = place.floor() as usize;
            let above = (below + 1).min(last);
            values[below] + (values[above] - values[below]) * place.fract()
        };
        Self { low: quantile(0.025), middle: quantile(0.5), high: quantile(0.975) }
    }

    fn scaled(self, by: f64) -> Self {
        Self { low: self.low * by, middle: self.middle * by, high: self.high * by }
    }
}

/// What one drawn car comes to.
struct One {
    readings: [Reading; 2],
    /// Corrections of each side's arms, mm, in the order of the plan.
    corrections: [Vec<f64>; 2],
    /// Of each side: whether its cams reach the spec, and to which drop.
    cams: Option<[(bool, f64); 2]>,
}

/// Samples what lowering does by itself. `told` is called after every car, from any thread.
pub fn sample_lower(car: &Car, stance: &Stance, sampling: Sampling, told: &(dyn Fn() + Sync)) -> Sampled {
    let ask = |draw: &Draw| {
        let reading = |i: usize| {
            let side = &draw.car.sides[i];
            read(side, &Setup::as_found(side), &draw.stance)
        };
        let readings = [reading(0)?, reading(1)?];
        Some(One { readings, corrections: [Vec::new(), Vec::new()], cams: None })
    };
    Samples::draw(car, stance, sampling, told, ask).sampled(&[Vec::new(), Vec::new()], None)
}

/// Samples a plan: what cars read whose arms and cams were set by it, and by how much they will have to be corrected.
pub fn sample_plan(
    car: &Car,
    stance: &Stance,
    specs: &[Spec; 2],
    fitting: &Fitting,
    plan: &Plan,
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
) -> Sampled {
    let arms = plan.sides.each_ref().map(|side| {
        side.arms.iter().map(|arm| (arm.link.clone(), arm.lead_mm)).collect::<Vec<(String, f64)>>()
    });
    let ask = |draw: &Draw| {
        let one = |i: usize| set_up(draw, i, &specs[i], fitting, &plan.sides[i]);
        let [left, right] = [one(0)?, one(1)?];
        Some(One { readings: [left.0, right.0], corrections: [left.1, right.1], cams: None })
    };
    let within = |readings: [Reading; 2]| {
        let [left, right] = readings;
        left.judged(&specs[0]).within_spec
            && right.judged(&specs[1]).within_spec
            && car
                .axle
                .hold((left.camber_deg - right.camber_deg).to_radians(), thrust_angle(readings).to_radians())
    };
    Samples::draw(car, stance, sampling, told, ask).sampled(&arms, Some(&within))
}

/// Samples what the stock cams can do, each car's cams turned as well as they go.
pub fn sample_cams(
    car: &Car,
    stance: &Stance,
    specs: &[Spec; 2],
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
) -> Sampled {
    let ask = |draw: &Draw| {
        let verdict = cams(&draw.car, &draw.stance, specs).ok()?;
        let sides = verdict.sides.each_ref();
        Some(One {
            readings: sides.map(|side| side.best.reading),
            corrections: [Vec::new(), Vec::new()],
            cams: Some(sides.map(|side| (side.within_spec, side.run_out_drop_mm.unwrap_or(side.bump_mm)))),
        })
    };
    Samples::draw(car, stance, sampling, told, ask).sampled(&[Vec::new(), Vec::new()], None)
}

/// A drawn side set up by a plan: what it reads, and how much longer each of its arms would have to be.
fn set_up(
    draw: &Draw,
    i: usize,
    spec: &Spec,
    fitting: &Fitting,
    plan: &PlanSide,
) -> Option<(Reading, Vec<f64>)> {
    let side = &draw.car.sides[i];
    let link = |name: &str| side.links.iter().position(|link| link.name == name);
    let mut setup = plan.setup(side, fitting);
    for arm in &plan.arms {
        let link = link(&arm.link)?;
        setup.lengths[link] += draw.presets[i][link];
    }
    let reading = read(side, &setup, &draw.stance)?;
    let adjusters: Vec<Adjuster> = adjusters(side, |link| fitting.fits(link))
        .into_iter()
        .filter(|adjuster| !adjuster.is_cam() && adjuster.figure != Figure::Pitch)
        .collect();
    let ground: Ground = draw.stance.ground(side.hand);
    let drop = draw.stance.drop(side.hand);
    let question = Question {
        side,
        ground: &ground,
        drop,
        setup: &setup,
        spec,
        adjusters: &adjusters,
        calibration: &Calibration::NONE,
    };
    let free = question.free().ok()?;
    let correction = |name: &str| {
        let link = link(name)?;
        let place = adjusters.iter().position(|adjuster| adjuster.link == link)?;
        Some(free.values[place] - setup.lengths[link])
    };
    Some((reading, plan.arms.iter().map(|arm| correction(&arm.link).unwrap_or(0.0)).collect()))
}

fn read(side: &Side, setup: &Setup, stance: &Stance) -> Option<Reading> {
    let position = forward(side, setup, stance.drop(side.hand)).ok()?;
    Some(Reading::of(side, &position.pose, &stance.ground(side.hand)))
}

/// All that was drawn.
struct Samples {
    sampling: Sampling,
    ones: Vec<One>,
}

impl Samples {
    fn draw(
        car: &Car,
        stance: &Stance,
        sampling: Sampling,
        told: &(dyn Fn() + Sync),
        ask: impl Fn(&Draw) -> Option<One> + Sync,
    ) -> Self {
        let sampler = Sampler::new(car, stance, sampling.seed);
        let one = |sample: u64| {
            let one = sampler.draw(sample).and_then(|draw| ask(&draw));
            told();
            one
        };
        Self { sampling, ones: (0..sampling.samples).into_par_iter().filter_map(one).collect() }
    }

    fn sampled(
        &self,
        arms: &[Vec<(String, f64)>; 2],
        within: Option<&dyn Fn([Reading; 2]) -> bool>,
    ) -> Sampled {
        let Sampling { samples, seed } = self.sampling;
        Sampled {
            samples,
            seed,
            without_position: samples - self.ones.len() as u64,
            sides: [0, 1].map(|i| self.side(i, &arms[i])),
            within_spec: within.map(|within| self.part(|one| within(one.readings))),
        }
    }

    fn side(&self, i: usize, arms: &[(String, f64)]) -> SampledSide {
        let interval = |pick: &dyn Fn(&One) -> f64| Interval::of(self.ones.iter().map(pick).collect());
        let has_cams = self.ones.first().is_some_and(|one| one.cams.is_some());
        let cams = |one: &One| one.cams.map_or((false, f64::NAN), |cams| cams[i]);
        SampledSide {
            camber_deg: interval(&|one| one.readings[i].camber_deg),
            toe_deg: interval(&|one| one.readings[i].toe_deg),
            arms: (arms.iter().enumerate())
                .map(|(k, (link, lead))| {
                    let correction = interval(&|one| one.corrections[i].get(k).copied().unwrap_or(f64::NAN));
                    SampledArm {
                        link: link.clone(),
                        correction_mm: correction,
                        correction_turns: correction.scaled(1.0 / lead),
                    }
                })
                .collect(),
            cams_reach: has_cams.then(|| self.part(|one| cams(one).0)),
            run_out_drop_mm: has_cams.then(|| interval(&|one| cams(one).1)),
        }
    }

    /// The part of all cars for which something holds.
    #[expect(clippy::cast_precision_loss, reason = "counts of samples")]
    fn part(&self, holds: impl Fn(&One) -> bool) -> f64 {
        let count = self.ones.iter().filter(|one| holds(one)).count();
        count as f64 / self.ones.len().max(1) as f64
    }
}
