//! Bands by sampling: the same question asked of many cars that may be the measured one, without any straight line.

use rayon::iter::{IntoParallelIterator, ParallelIterator};
use serde::Serialize;

use super::drawn::{Drawn, Wheels};
use crate::car::{Car, Hand, PerLink, PerSide, Spec, Stance};
use crate::measure::Sampler;
use crate::plan::adjusting::Fitting;
use crate::plan::cams::cams;
use crate::plan::planning::{ArmSetting, Plan};
use crate::plan::wheel::{NoPosition, Reading, thrust_angle};

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
    pub sides: PerSide<SampledSide>,
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
    wheels: PerSide<Drawn>,
    /// Of each side: whether its cams reach the spec, and to which drop.
    cams: Option<PerSide<(bool, f64)>>,
}

/// Samples what lowering does by itself. `told` is called after every car, from any thread.
///
/// # Errors
///
/// [`NoPosition`] where the measured car has none.
pub fn sample_lower(
    car: &Car,
    stance: &Stance,
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
) -> Result<Sampled, NoPosition> {
    let wheels = car.sides.each(|side| Wheels::lowered(side, stance)).ok()?;
    Ok(Samples::of_wheels(car, stance, sampling, told, &wheels).sampled(&PerSide::default(), None))
}

/// Samples a plan: what cars read whose arms and cams were set by it, and by how much they will have to be corrected.
///
/// # Errors
///
/// [`NoPosition`] where the measured car has none, set so.
pub fn sample_plan(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    fitting: &Fitting,
    plan: &Plan,
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
) -> Result<Sampled, NoPosition> {
    let wheels = PerSide::try_of(|hand| {
        Wheels::planned(&car.sides[hand], stance, &specs[hand], fitting, &plan.sides[hand])
    })?;
    let within = |readings: PerSide<Reading>| {
        let PerSide { left, right } = readings;
        left.judged(&specs.left).within_spec
            && right.judged(&specs.right).within_spec
            && car
                .axle
                .hold((left.camber_deg - right.camber_deg).to_radians(), thrust_angle(readings).to_radians())
    };
    let arms = PerSide::of(|hand| {
        let link = |name: &str| car.sides[hand].links.iter().position(|link| link.name == name);
        plan.sides[hand].arms.iter().filter_map(|arm| Some((link(&arm.link)?, arm))).collect()
    });
    Ok(Samples::of_wheels(car, stance, sampling, told, &wheels).sampled(&arms, Some(&within)))
}

/// Samples what the stock cams can do, each car's cams turned as well as they go.
pub fn sample_cams(
    car: &Car,
    stance: &Stance,
    specs: &PerSide<Spec>,
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
) -> Sampled {
    let sampler = Sampler::new(car, stance, sampling.seed);
    let one = |sample: u64| {
        let draw = sampler.draw(sample);
        let verdict = draw.and_then(|draw| cams(&draw.car(car), &draw.stance, specs).ok());
        told();
        let sides = verdict.as_ref()?.sides.as_ref();
        Some(One {
            wheels: sides.map(|side| Drawn { reading: side.best.reading, corrections: PerLink::default() }),
            cams: Some(sides.map(|side| (side.within_spec, side.run_out_drop_mm.unwrap_or(side.bump_mm)))),
        })
    };
    let ones = (0..sampling.samples).into_par_iter().filter_map(one).collect();
    Samples { sampling, ones }.sampled(&PerSide::default(), None)
}

/// All that was drawn.
struct Samples {
    sampling: Sampling,
    ones: Vec<One>,
}

impl Samples {
    /// Draws cars, four of them at a time, and asks what their wheels read.
    fn of_wheels(
        car: &Car,
        stance: &Stance,
        sampling: Sampling,
        told: &(dyn Fn() + Sync),
        wheels: &PerSide<Wheels<'_>>,
    ) -> Self {
        let sampler = Sampler::new(car, stance, sampling.seed);
        let four = |first: u64| {
            let draws = [0, 1, 2, 3].map(|k| {
                Some(first + k).filter(|sample| *sample < sampling.samples).and_then(|i| sampler.draw(i))
            });
            let drawn = wheels.each(|wheels| wheels.of(draws.each_ref().map(Option::as_ref)));
            for _ in first..(first + 4).min(sampling.samples) {
                told();
            }
            [0, 1, 2, 3].map(|k| Some(One { wheels: drawn.each(|four| four[k]).all()?, cams: None }))
        };
        let fours = (0..sampling.samples.div_ceil(4)).into_par_iter();
        let ones = fours.flat_map_iter(|place| four(4 * place).into_iter().flatten()).collect();
        Self { sampling, ones }
    }

    fn sampled(
        &self,
        arms: &PerSide<Vec<(usize, &ArmSetting)>>,
        within: Option<&dyn Fn(PerSide<Reading>) -> bool>,
    ) -> Sampled {
        let Sampling { samples, seed } = self.sampling;
        Sampled {
            samples,
            seed,
            without_position: samples - self.ones.len() as u64,
            sides: PerSide::of(|hand| self.side(hand, &arms[hand])),
            within_spec: within.map(|within| self.part(|one| within(one.wheels.map(|wheel| wheel.reading)))),
        }
    }

    fn side(&self, hand: Hand, arms: &[(usize, &ArmSetting)]) -> SampledSide {
        let interval = |pick: &dyn Fn(&One) -> f64| Interval::of(self.ones.iter().map(pick).collect());
        let has_cams = self.ones.first().is_some_and(|one| one.cams.is_some());
        let cams = |one: &One| one.cams.map_or((false, f64::NAN), |cams| cams[hand]);
        SampledSide {
            camber_deg: interval(&|one| one.wheels[hand].reading.camber_deg),
            toe_deg: interval(&|one| one.wheels[hand].reading.toe_deg),
            arms: (arms.iter())
                .map(|&(link, arm)| {
                    let correction = interval(&|one| one.wheels[hand].corrections[link]);
                    SampledArm {
                        link: arm.link.clone(),
                        correction_mm: correction,
                        correction_turns: correction.scaled(1.0 / arm.lead_mm),
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
