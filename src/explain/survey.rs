//! What the points of a survey rest on: each of its readings.

use super::inputs::Moved;
use super::varied::Again;
use super::{Figures, Varied};
use crate::measure::Survey;
use crate::measure::network::Kind;

impl<'a> Varied<'a> {
    /// A survey with one reading moved at a time; `ask` gives the figures for a survey.
    pub fn of_survey(survey: &Survey, ask: &'a (dyn Fn(&Survey) -> Option<Figures> + Sync)) -> Self {
        let again = |reading: usize, sigmas: f64| -> Again<'a> {
            let mut moved = survey.clone();
            let observation = &mut moved.network.observations[reading];
            observation.reads += sigmas * observation.sigma;
            Box::new(move || ask(&moved))
        };
        let readings = survey.network.observations.iter().zip(&survey.what).enumerate();
        let measured = readings.map(|(reading, (observation, what))| {
            let is_angle = matches!(observation.kind, Kind::Slope { .. });
            let moved = Moved::new(what.clone(), observation.sigma, is_angle);
            (moved, [1.0, -1.0].map(|sigmas| again(reading, sigmas)))
        });
        Self { measured: measured.collect(), ..Self::default() }
    }
}
