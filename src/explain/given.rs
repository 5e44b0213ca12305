//! What an answer rests on.

use crate::car::{Car, PerSide, Spec, Stance};
use crate::measure::Round;

/// All that an answer rests on and that can be changed to see what it does.
#[derive(Debug, Clone)]
pub(crate) struct Given {
    /// The car.
    pub car: Car,
    /// Drop of each rear side, mm.
    pub drops: PerSide<f64>,
    /// Drop of the front, mm, where one is given.
    pub front: Option<f64>,
    /// What the two wheels should read, where that is part of the question.
    pub specs: Option<PerSide<Spec>>,
    /// Whether cams under fitted arms stay as they were found, where that is part of the question.
    pub keep_cams: Option<bool>,
    /// What was read, where readings are part of the question.
    pub rounds: Vec<Round>,
}

impl Given {
    /// A car at its new height.
    pub(crate) fn new(car: &Car, stance: &Stance) -> Self {
        let Stance { drops, front, .. } = *stance;
        Self { drops, front, ..Self::of(car) }
    }

    /// A car as it was measured.
    pub(crate) fn of(car: &Car) -> Self {
        Self {
            car: car.clone(),
            drops: PerSide::default(),
            front: None,
            specs: None,
            keep_cams: None,
            rounds: Vec::new(),
        }
    }

    /// How it stands; `None` where the car has no wheelbase for its front drop.
    pub(crate) fn stance(&self) -> Option<Stance> {
        Stance::new(&self.car, self.drops, self.front)
    }
}
