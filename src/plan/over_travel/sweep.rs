//! The whole travel of a wheel, and where on it something is least or most.
//!
//! Where the profile gives no bump or no droop, every command takes 80 mm from the reference (`plan/over_travel/sweep.rs`).

use serde::Serialize;

use crate::car::{Setup, Side};
use crate::geometry::search::{self, Until, last_to_hold};
use crate::geometry::{Pose, Position};
use crate::plan::wheel::{NoPosition, forward, forward_from};

/// Distance between the heights that are looked at before the least is narrowed down, mm.
const STEP: f64 = 1.0;
/// Heights are narrowed down to this, mm.
const NARROW: f64 = 1e-7;
/// Where the links end, the travel ends so much before it, mm: there the position is found from any start.
const TOLERANCE: f64 = 1e-3;
/// Bump or droop from the reference where the profile gives none, mm. Every question that goes over the travel takes it.
pub(crate) const USUAL_TRAVEL: f64 = 80.0;

/// The travel that was looked at, mm from the reference; up is positive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, schemars::JsonSchema)]
#[non_exhaustive]
pub struct Travel {
    /// Full droop, as a negative number.
    pub lowest_mm: f64,
    /// Full bump.
    pub highest_mm: f64,
    /// Whether the links end before the travel that the profile gives does.
    pub ends_early: bool,
}

/// A value at one height of the wheel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct AtHeight {
    pub(crate) value: f64,
    /// Height of the wheel centre above the reference, mm.
    pub(crate) height: f64,
}

/// A side with its links set in one way, over its travel.
pub(crate) struct Sweep<'a> {
    pub(crate) side: &'a Side,
    pub(crate) setup: Setup,
    pub(crate) travel: Travel,
    /// Heights in ascending order with their positions.
    samples: Vec<(f64, Position)>,
}

/// Full droop, as a negative number, and full bump of a side, mm from the reference; what the profile does not give is taken
/// for granted.
pub(crate) fn travel_ends(side: &Side) -> [f64; 2] {
    [-side.ride.droop.unwrap_or(USUAL_TRAVEL), side.ride.bump.unwrap_or(USUAL_TRAVEL)]
}

impl<'a> Sweep<'a> {
    /// Follows a side over its travel both ways from a height at which it has a position, which is part of the travel even
    /// where the profile says otherwise.
    pub(crate) fn new(side: &'a Side, setup: Setup, from: f64) -> Result<Self, NoPosition> {
        Self::between(side, setup, from, travel_ends(side))
    }

    /// At one height alone, where nothing is asked of the travel.
    pub(crate) fn standing(side: &'a Side, setup: Setup, at: f64) -> Result<Self, NoPosition> {
        Self::between(side, setup, at, [at; 2])
    }

    fn between(side: &'a Side, setup: Setup, from: f64, [low, high]: [f64; 2]) -> Result<Self, NoPosition> {
        let start = forward(side, &setup, from)?;
        let mut down = Vec::new();
        let early_low = follow(side, &setup, (from, start), low.min(from), &mut down);
        let mut samples: Vec<(f64, Position)> = down.into_iter().rev().collect();
        samples.push((from, start));
        let early_high = follow(side, &setup, (from, start), high.max(from), &mut samples);
        let travel = Travel {
            lowest_mm: samples.first().map_or(from, |first| first.0),
            highest_mm: samples.last().map_or(from, |last| last.0),
            ends_early: early_low || early_high,
        };
        Ok(Self { side, setup, travel, samples })
    }

    /// The heights that are looked at, in ascending order, with their positions.
    pub(crate) fn samples(&self) -> &[(f64, Position)] {
        &self.samples
    }

    /// The position at a height within the travel.
    pub(crate) fn at(&self, height: f64) -> Option<Position> {
        let next = self.samples.partition_point(|(sample, _)| *sample < height);
        let (_, near) = self.samples.get(next).or(self.samples.last())?;
        forward_from(near, self.side, &self.setup, height).ok()
    }

    /// Where a value is least over the travel: looked at every [`STEP`], and narrowed down about each dip.
    pub(crate) fn least(&self, value: impl Fn(&Pose) -> f64) -> AtHeight {
        let values: Vec<f64> = self.samples.iter().map(|(_, position)| value(&position.pose)).collect();
        let mut best = AtHeight { value: f64::INFINITY, height: self.travel.lowest_mm };
        for (i, (height, _)) in self.samples.iter().enumerate() {
            if values[i] < best.value {
                best = AtHeight { value: values[i], height: *height };
            }
        }
        for i in 0..values.len() {
            let [before, after] = [i.saturating_sub(1), (i + 1).min(values.len() - 1)];
            let [from, to] = [values[before], values[after]];
            // Where it is level on both sides there is nothing to narrow down, and no dip goes down by much more than
            // the value does from sample to sample beside it.
            let depth = from.max(to) - values[i];
            if values[i] <= from.min(to) && depth > 0.0 && values[i] - 2.0 * depth < best.value {
                let dip = self.dip([self.samples[before].0, self.samples[after].0], &value);
                if dip.value < best.value {
                    best = dip;
                }
            }
        }
        best
    }

    /// Where a value is most over the travel.
    pub(crate) fn most(&self, value: impl Fn(&Pose) -> f64) -> AtHeight {
        let AtHeight { value, height } = self.least(|pose| -value(pose));
        AtHeight { value: -value, height }
    }

    /// The least of a value that falls and then rises between two heights, a gap, say, which has kinks.
    fn dip(&self, between: [f64; 2], value: &impl Fn(&Pose) -> f64) -> AtHeight {
        let at = |height| self.at(height).map_or(f64::INFINITY, |position| value(&position.pose));
        let (_, (height, value)) = search::least(between, NARROW, at);
        AtHeight { value, height }
    }

    /// The stretches of heights over which a value is zero or less, the lowest first, each from its first height to its last,
    /// narrowed down; `least` is where it is least.
    pub(crate) fn not_above_zero(&self, value: impl Fn(&Pose) -> f64, least: AtHeight) -> Vec<[f64; 2]> {
        if least.value > 0.0 {
            return Vec::new();
        }
        let inside = |height: f64| self.at(height).is_some_and(|position| value(&position.pose) <= 0.0);
        let end = |holds, fails| last_to_hold(holds, fails, Until::Within(NARROW), inside);
        let look = |(height, position): &(f64, Position)| (*height, value(&position.pose) <= 0.0);
        let mut looked: Vec<(f64, bool)> = self.samples.iter().map(look).collect();
        looked.insert(looked.partition_point(|(height, _)| *height < least.height), (least.height, true));
        let mut stretches: Vec<[f64; 2]> =
            looked.first().filter(|first| first.1).map(|first| [first.0; 2]).into_iter().collect();
        for pair in looked.windows(2) {
            let [(before, was), (height, is)] = [pair[0], pair[1]];
            if is && !was {
                stretches.push([end(height, before), height]);
            } else if let Some([_, last]) = stretches.last_mut().filter(|_| was) {
                *last = if is { height } else { end(before, height) };
            }
        }
        stretches
    }
}

/// Goes from a known position towards an end of the travel and notes what it passes; true where the links end before.
fn follow(
    side: &Side,
    setup: &Setup,
    (from, start): (f64, Position),
    end: f64,
    samples: &mut Vec<(f64, Position)>,
) -> bool {
    let count = ((end - from).abs() / STEP).ceil();
    let (mut height, mut near) = (from, start);
    let mut number = 0.0;
    while number < count {
        number += 1.0;
        // The last step lands on the end exactly.
        let next = if number < count { from + (end - from) * (number / count) } else { end };
        let reached = |height: f64| forward_from(&near, side, setup, height);
        let Ok(position) = reached(next) else {
            let end = last_to_hold(height, next, Until::Within(NARROW), |height| reached(height).is_ok());
            let last = end - TOLERANCE.copysign(next - height);
            if (last - height) * (next - height) > 0.0 {
                samples.extend(reached(last).ok().map(|position| (last, position)));
            }
            return true;
        };
        (height, near) = (next, position);
        samples.push((next, position));
    }
    false
}
