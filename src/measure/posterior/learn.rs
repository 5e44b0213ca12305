//! The most likely car.

use nalgebra::{DMatrix, DVector};

use super::known::KnownCar;
use super::model::{CarReading, Model};
use super::weight::Weight;

/// No posterior took more steps than a part of these.
const MOST_STEPS: usize = 100;
/// A step that promises less than this of the sum of squares is none,
const SETTLED: f64 = 1e-12;
/// and one that promises less than this and gives nothing is lost in rounding.
const NOISE: f64 = 1e-7;
/// So many steps are mixed.
const REMEMBERED: usize = 6;
/// A step is shortened no further than to this part.
const SHORTEST: f64 = 1e-6;
/// The part of the promised fall of the sum of squares that a step must keep (Armijo's rule).
const KEPT: f64 = 1e-4;

impl Model<'_> {
    /// The most likely values of everything, given what was read. `None` where the car as it was measured cannot be in the state of a reading, or no car near it gives these readings.
    ///
    /// Where the way to the most likely car ends at one that cannot be put together, the last before it is taken, if it gives the
    /// readings.
    pub(crate) fn learn(&self, read: Vec<CarReading>) -> Option<KnownCar<'_>> {
        let mut z = DVector::zeros(self.count());
        let mut there = self.there(&read, &z)?;
        let mut mixed = Mixed::default();
        for _ in 0..MOST_STEPS {
            let weight = Weight::of(&there.slopes, there.granted)?;
            let off = there.slopes.times(&z) - &there.misfits;
            let goal = there.slopes.back(&weight.solve(&off));
            let step = goal - &z;
            let cost = there.cost(&z);
            // The slope of the sum of squares along the step.
            let fall = 2.0 * step.dot(&there.slope(&z));
            if -fall <= SETTLED * (1.0 + cost) {
                return Some(KnownCar::new(self, read, z, there, weight));
            }
            let try_step = |by: &DVector<f64>, wanted: f64| {
                let next = &z + by;
                let found = self.there(&read, &next)?;
                (found.cost(&next) <= cost + wanted).then_some((next, found))
            };
            let further = mixed.step(&z, &step);
            let mut better = further.and_then(|by| try_step(&by, KEPT * fall));
            let mut part = 1.0;
            while better.is_none() && part > SHORTEST {
                better = try_step(&(&step * part), KEPT * part * fall);
                part /= 2.0;
            }
            match better {
                Some((next, found)) => (z, there) = (next, found),
                // Nothing is to be had but rounding.
                None if -fall <= NOISE * (1.0 + cost) => {
                    return Some(KnownCar::new(self, read, z, there, weight));
                }
                None => break,
            }
        }
        let weight = Weight::of(&there.slopes, there.granted)?;
        there.gives_the_readings().then(|| KnownCar::new(self, read, z, there, weight))
    }
}

/// The last places and the steps that were to be taken from them, mixed so that as little as possible is left to take: D. G.
/// Anderson, *Iterative procedures for nonlinear integral equations*, Journal of the ACM 12, 1965 (cited from memory). Where the
/// slopes bend much a step of Gauss and Newton leaves a good part of the way, the same each time; this takes it away.
#[derive(Debug, Default)]
struct Mixed {
    last: Option<(DVector<f64>, DVector<f64>)>,
    /// What places and steps changed by.
    changes: Vec<(DVector<f64>, DVector<f64>)>,
}

impl Mixed {
    /// A better step than the one that is to be taken from a place.
    fn step(&mut self, z: &DVector<f64>, step: &DVector<f64>) -> Option<DVector<f64>> {
        if let Some((last, before)) = self.last.replace((z.clone(), step.clone())) {
            if self.changes.len() == REMEMBERED {
                self.changes.remove(0);
            }
            self.changes.push((z - last, step - before));
        }
        if self.changes.is_empty() {
            return None;
        }
        let steps =
            DMatrix::from_columns(&self.changes.iter().map(|(_, step)| step.clone()).collect::<Vec<_>>());
        let parts = steps.svd(true, true).solve(step, 1e-10 * step.norm()).ok()?;
        let mut mixed = step.clone();
        for ((place, change), part) in self.changes.iter().zip(parts.iter()) {
            mixed -= (place + change) * *part;
        }
        Some(mixed)
    }
}
