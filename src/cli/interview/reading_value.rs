//! What a reading that could still be made is worth, for a car that is known so far.

use crate::car::{Car, PerSide, Spec, Stance};
use crate::cli::worked_out;
use crate::geometry::DEGREE;
use crate::plan::{Fitting, Next, NextReading, next, plan};
use crate::report::{enough_sentence, worth_sentence};

/// Until the car's own spec is known readings are weighed by this one, rad: common practice, no source.
const USUAL: Spec = Spec {
    camber: -DEGREE,
    camber_tolerance: 0.5 * DEGREE,
    toe: 0.1 * DEGREE,
    toe_tolerance: 0.1 * DEGREE,
    pitch: 0.0,
};

/// The readings that are worth most for their time.
pub(super) struct Worth {
    next: Next,
}

impl Worth {
    /// Of the survey in a text; `None` where it is not far enough for any answer.
    pub(super) fn of(text: &str) -> Option<Self> {
        let car: Car = worked_out::quietly(text)?;
        let stance = Stance::new(&car, PerSide::both(car.to_lower.unwrap_or(0.0)), None)?;
        let specs = car.sides.each(|side| side.spec.unwrap_or(USUAL));
        let plan = plan(&car, &stance, &specs, &Fitting::default()).ok()?;
        Some(Self { next: next(&car, &stance, &plan, &Fitting::default())? })
    }

    /// The best reading that belongs into a survey, is worth its time and was not made yet: its key.
    pub(super) fn best(&self, made: impl Fn(&str) -> bool) -> Option<&str> {
        self.next.worth_it().iter().filter_map(|of| of.key.as_deref()).find(|key| !made(key))
    }

    /// How long a reading takes and what it is worth, where it is among the best.
    pub(super) fn sentence(&self, key: &str) -> Option<String> {
        let is_it = |of: &&NextReading| of.key.as_deref() == Some(key);
        Some(worth_sentence(&self.next, self.next.readings.iter().find(is_it)?))
    }

    /// That enough is measured, or what else would be worth its time.
    pub(super) fn enough(&self) -> String {
        enough_sentence(&self.next)
    }
}
