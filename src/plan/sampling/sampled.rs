//! Bands by sampling: the same question asked of many cars that may be the measured one, without any straight line.

use rayon::iter::{IntoParallelIterator, ParallelIterator};
use serde::Serialize;
use std::ops::Range;

use super::drawn::{DrawnAnswer, Wheels};
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
#[non_exhaustive]
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
#[non_exhaustive]
pub struct Sampled {
    /// How many cars were drawn.
    pub samples: u64,
    /// The seed.
    pub seed: u64,
    /// Cars that have no position at that height; they count in nothing else.
    pub without_position: u64,
    /// Left, then right; left out where no car has a position.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sides: Option<PerSide<SampledSide>>,
    /// The part of all cars whose wheels are both within spec, and keep the limits between them, before any correction.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub within_spec: Option<f64>,
}

/// What sampling came to on one side.
#[derive(Debug, Clone, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
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
#[non_exhaustive]
pub struct SampledArm {
    /// The link.
    pub link: String,
    /// Longer than it was set, mm.
    pub correction_mm: Interval,
    /// The same in turns.
    pub correction_turns: Interval,
}

/// So many values are held to be put in order; of more it is counted how many lie in each of many narrow bins.
const HELD: u64 = 1 << 16;
/// So many bins: each is far narrower than what the sampling itself leaves open.
const BINS: usize = 1 << 14;

/// Values as they come, whose quantiles are wanted: in as much room for a million as for a thousand.
#[derive(Debug, Default)]
struct Values {
    held: Vec<f64>,
    /// Where the first bin begins, how wide they are, and how many values lie in each; the outer ones have all beyond.
    bins: Option<(f64, f64, Vec<u64>)>,
}

impl Values {
    fn add(&mut self, values: impl Iterator<Item = f64>) {
        self.held.extend(values.filter(|value| value.is_finite()));
        if self.held.len() as u64 > HELD {
            self.count();
        }
    }

    /// Puts what is held into the bins, which lie as the first values do.
    fn count(&mut self) {
        let held = std::mem::take(&mut self.held);
        let (first, width, bins) = self.bins.get_or_insert_with(|| {
            let low = held.iter().copied().fold(f64::INFINITY, f64::min);
            let high = held.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            #[expect(clippy::cast_precision_loss, reason = "a count of bins")]
            let width = ((high - low) / BINS as f64).max(f64::MIN_POSITIVE);
            (low, width, vec![0; BINS])
        });
        for value in held {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
            let place = ((value - *first) / *width).max(0.0) as usize;
            bins[place.min(BINS - 1)] += 1;
        }
    }

    fn interval(mut self) -> Option<Interval> {
        if self.bins.is_some() {
            self.count();
        }
        self.held.sort_by(f64::total_cmp);
        let quantile = |part: f64| match &self.bins {
            None => self.in_order(part),
            Some(bins) => Some(Self::in_bins(bins, part)),
        };
        Some(Interval { low: quantile(0.025)?, middle: quantile(0.5)?, high: quantile(0.975)? })
    }

    /// The value below which a part of all lies, between two of them by how near it is to either.
    fn in_order(&self, part: f64) -> Option<f64> {
        let last = self.held.len().checked_sub(1)?;
        #[expect(clippy::cast_precision_loss, reason = "a count of samples")]
        let place = part * last as f64;
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a place in a list")]
        let below = place.floor() as usize;
        let above = (below + 1).min(last);
        Some(self.held[below] + (self.held[above] - self.held[below]) * place.fract())
    }

    /// The same, taking the values of a bin as spread evenly.
    #[expect(clippy::cast_precision_loss, reason = "counts of samples and of bins")]
    fn in_bins((first, width, bins): &(f64, f64, Vec<u64>), part: f64) -> f64 {
        let mut wanted = part * bins.iter().sum::<u64>() as f64;
        for (place, &count) in bins.iter().enumerate() {
            if wanted <= count as f64 && count > 0 {
                return first + width * (place as f64 + wanted / count as f64);
            }
            wanted -= count as f64;
        }
        first + width * BINS as f64
    }
}

impl Interval {
    fn scaled(self, by: f64) -> Self {
        Self { low: self.low * by, middle: self.middle * by, high: self.high * by }
    }
}

/// What one drawn car comes to.
struct One {
    wheels: PerSide<DrawnAnswer>,
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
    Ok(sample_wheels(car, stance, sampling, told, &wheels, &PerSide::default(), None))
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
    Ok(sample_wheels(car, stance, sampling, told, &wheels, &arms, Some(&within)))
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
            wheels: sides
                .map(|side| DrawnAnswer { reading: side.best.reading, corrections: PerLink::default() }),
            cams: Some(sides.map(|side| (side.within_spec, side.run_out_drop_mm.unwrap_or(side.bump_mm)))),
        })
    };
    let drawn = |samples: Range<u64>| samples.into_par_iter().filter_map(one).collect();
    sampled(sampling, &drawn, &PerSide::default(), None)
}

/// Draws cars, four of them at a time, asks what their wheels read, and sums that up.
fn sample_wheels(
    car: &Car,
    stance: &Stance,
    sampling: Sampling,
    told: &(dyn Fn() + Sync),
    wheels: &PerSide<Wheels<'_>>,
    arms: &PerSide<Vec<(usize, &ArmSetting)>>,
    within: Option<&dyn Fn(PerSide<Reading>) -> bool>,
) -> Sampled {
    let sampler = Sampler::new(car, stance, sampling.seed);
    let four = |first: u64, end: u64| {
        let draws = [0, 1, 2, 3]
            .map(|k| Some(first + k).filter(|sample| *sample < end).and_then(|i| sampler.draw(i)));
        let drawn = wheels.each(|wheels| wheels.of(draws.each_ref().map(Option::as_ref)));
        for _ in first..(first + 4).min(end) {
            told();
        }
        [0, 1, 2, 3].map(|k| Some(One { wheels: drawn.each(|four| four[k]).all()?, cams: None }))
    };
    let drawn = |Range { start, end }: Range<u64>| {
        let fours = (0..(end - start).div_ceil(4)).into_par_iter();
        fours.flat_map_iter(|place| four(start + 4 * place, end).into_iter().flatten()).collect()
    };
    sampled(sampling, &drawn, arms, within)
}

/// What the cars of one side come to, as they come.
#[derive(Default)]
struct SideValues {
    camber: Values,
    toe: Values,
    corrections: PerLink<Values>,
    cams_reach: u64,
    run_out: Values,
}

/// Sums drawn cars up, some at a time.
fn sampled(
    sampling: Sampling,
    drawn: &dyn Fn(Range<u64>) -> Vec<One>,
    arms: &PerSide<Vec<(usize, &ArmSetting)>>,
    within: Option<&dyn Fn(PerSide<Reading>) -> bool>,
) -> Sampled {
    let Sampling { samples, seed } = sampling;
    let mut values = PerSide::of(|_| SideValues::default());
    let (mut standing, mut both, mut has_cams) = (0, 0, false);
    let mut first = 0;
    while first < samples {
        let end = (first + HELD).min(samples);
        let ones = drawn(first..end);
        first = end;
        standing += ones.len() as u64;
        let is_within =
            |one: &&One| within.is_some_and(|within| within(one.wheels.map(|wheel| wheel.reading)));
        both += ones.iter().filter(is_within).count() as u64;
        has_cams |= ones.iter().any(|one| one.cams.is_some());
        for hand in Hand::BOTH {
            let of = &mut values[hand];
            of.camber.add(ones.iter().map(|one| one.wheels[hand].reading.camber_deg));
            of.toe.add(ones.iter().map(|one| one.wheels[hand].reading.toe_deg));
            for &(link, _) in &arms[hand] {
                of.corrections[link].add(ones.iter().map(|one| one.wheels[hand].corrections[link]));
            }
            let cams = || ones.iter().filter_map(|one| one.cams.map(|cams| cams[hand]));
            of.cams_reach += cams().filter(|(reach, _)| *reach).count() as u64;
            of.run_out.add(cams().map(|(_, run_out)| run_out));
        }
    }
    #[expect(clippy::cast_precision_loss, reason = "counts of samples")]
    let part = |count: u64| count as f64 / standing as f64;
    let mut side = |hand: Hand| {
        let SideValues { camber, toe, mut corrections, cams_reach, run_out } =
            std::mem::take(&mut values[hand]);
        let arm = |&(link, arm): &(usize, &ArmSetting)| {
            let correction_mm = std::mem::take(&mut corrections[link]).interval()?;
            let correction_turns = correction_mm.scaled(1.0 / arm.lead_mm);
            Some(SampledArm { link: arm.link.clone(), correction_mm, correction_turns })
        };
        Some(SampledSide {
            arms: arms[hand].iter().filter_map(arm).collect(),
            camber_deg: camber.interval()?,
            toe_deg: toe.interval()?,
            cams_reach: has_cams.then(|| part(cams_reach)),
            run_out_drop_mm: run_out.interval(),
        })
    };
    Sampled {
        samples,
        seed,
        without_position: samples - standing,
        sides: PerSide::of(&mut side).all(),
        within_spec: within.filter(|_| standing > 0).map(|_| part(both)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Of many values only how they lie is kept, and that gives the quantiles all the same.
    #[test]
    fn many_values_take_no_more_room_than_some() {
        let value = |i: u64| {
            #[expect(clippy::cast_precision_loss, reason = "a count")]
            let part = (i * 7919 % 1_000_003) as f64 / 1_000_003.0;
            part * part - 0.3
        };
        let mut values = Values::default();
        for chunk in 0..20 {
            values.add((chunk * 50_000..(chunk + 1) * 50_000).map(value));
            assert!(values.held.len() as u64 <= HELD, "{}", values.held.len());
        }
        let Interval { low, middle, high } = values.interval().expect("values");
        for (found, part) in [(low, 0.025_f64), (middle, 0.5), (high, 0.975)] {
            assert!((found - (part * part - 0.3)).abs() < 2e-4, "{found}");
        }
        assert_eq!(Values::default().interval(), None);
    }
}
