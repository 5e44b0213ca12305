//! What the points of a survey rest on: each of its readings.

use super::Rests;
use super::inputs::MovedInput;
use crate::measure::Survey;
use crate::measure::network::ObservationKind;

/// So many readings are moved one by one: nobody takes more with a tape.
const MOST_READINGS: usize = 300;

impl Rests for &Survey {
    type Basis = Survey;

    fn measured(&self) -> Vec<MovedInput> {
        if self.passed_over() > 0 {
            return Vec::new();
        }
        let readings = self.network.observations.iter().zip(&self.what);
        let told = readings.map(|(observation, what)| {
            let is_angle = matches!(observation.kind, ObservationKind::Slope { .. });
            MovedInput::new(what.clone(), observation.sigma, is_angle)
        });
        told.collect()
    }

    fn passed_over(&self) -> usize {
        let count = self.network.observations.len();
        if count > MOST_READINGS { count } else { 0 }
    }

    fn moved(&self, by: &[(usize, f64)]) -> Survey {
        let mut moved = Survey::clone(self);
        for &(reading, sigmas) in by {
            let observation = &mut moved.network.observations[reading];
            observation.reads += sigmas * observation.sigma;
        }
        moved
    }
}
