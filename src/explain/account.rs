//! How a figure came about: the question asked again, from the car as it was measured, one thing more changed each time.

use crate::car::PerSide;
use schemars::JsonSchema;
use serde::Serialize;

use super::Given;

/// What was changed in a step.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub(crate) enum AccountStep {
    /// Nothing yet: the car as it was measured, aimed at what it read there, its cams as found.
    AsMeasured,
    /// Cams under fitted arms locked at the middle of their slots.
    CamsLocked,
    /// The rear let down by so much on the left and on the right, mm.
    Rear(PerSide<f64>),
    /// The front let down by so much, mm.
    Front(f64),
    /// Aimed at what the wheels should read.
    Target,
}

/// A step, and what it did to the figure.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub(crate) struct Stage {
    /// What was changed.
    pub step: AccountStep,
    /// What that changed the figure by; of the first step, the figure itself.
    pub change: f64,
    /// The figure after it.
    pub value: f64,
}

/// The questions from the car as it was measured to the one that was asked, the last step leading to it.
pub(super) fn steps(asked: &Given) -> Vec<(AccountStep, Given)> {
    // What was read belongs to the heights at which it was read.
    if !asked.rounds.is_empty() {
        return Vec::new();
    }
    let mut given = asked.clone();
    given.drops = PerSide::default();
    given.front = asked.front.map(|_| 0.0);
    given.keep_cams = asked.keep_cams.map(|_| true);
    for (side, spec) in given.car.sides.iter().zip(given.specs.iter_mut().flatten()) {
        [spec.camber, spec.toe] = side.reading.into();
        spec.pitch = 0.0;
    }
    let mut steps = vec![(AccountStep::AsMeasured, given.clone())];
    if asked.keep_cams == Some(false) {
        given.keep_cams = asked.keep_cams;
        steps.push((AccountStep::CamsLocked, given.clone()));
    }
    given.drops = asked.drops;
    steps.push((AccountStep::Rear(asked.drops), given.clone()));
    if let Some(front) = asked.front {
        given.front = asked.front;
        steps.push((AccountStep::Front(front), given.clone()));
    }
    if asked.specs.is_some() {
        given.specs = asked.specs;
        steps.push((AccountStep::Target, given));
    }
    steps
}

/// What each step did to a figure. Steps that did nothing are left out; where the figure is missing on the way, there is
/// nothing to tell.
pub(super) fn account(
    steps: impl Iterator<Item = (AccountStep, Option<f64>)>,
    now: Option<f64>,
) -> Vec<Stage> {
    let values: Option<Vec<(AccountStep, f64)>> = steps.map(|(step, value)| Some((step, value?))).collect();
    let (Some(values), Some(_)) = (values, now) else { return Vec::new() };
    let mut stages: Vec<Stage> = Vec::new();
    for (step, value) in values {
        let before = stages.last().map_or(0.0, |stage| stage.value);
        if stages.is_empty() || (value - before).abs() > 0.0 {
            stages.push(Stage { step, change: value - before, value });
        }
    }
    stages
}
