//! A question asked again and again, with one thing changed at a time.

use std::fmt;

use super::account::{self, Step};
use super::inputs::{self, Input, Inputs, Moved, Setting, alone};
use super::{Figures, Given};

/// A question asked again with something changed: the figures of its answer, without their meanings; `None` where it has none.
pub(super) type Again<'a> = Box<dyn Fn() -> Option<Figures> + Sync + 'a>;

/// What a figure's changes come to when everything that was measured is wrong at once.
type Together<'a> = Box<dyn Fn(&[Moved]) -> f64 + 'a>;

/// A question whose parts can be changed one at a time.
#[derive(Default)]
pub struct Varied<'a> {
    /// From the car as it was measured to the question.
    pub(super) steps: Vec<(Step, Again<'a>)>,
    /// What was measured: a standard deviation more, and one less.
    pub(super) measured: Vec<(Moved, [Again<'a>; 2])>,
    /// What else stands in the file.
    pub(super) settings: Vec<(Setting, Again<'a>)>,
    /// The standard deviation of a figure that what was measured moves so; `None`: each thing is wrong by itself.
    pub(super) sigma: Option<Together<'a>>,
}

impl fmt::Debug for Varied<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [steps, measured, settings] = [self.steps.len(), self.measured.len(), self.settings.len()];
        write!(f, "Varied({steps} steps, {measured} measured, {settings} settings)")
    }
}

impl Varied<'_> {
    pub(super) fn sigma(&self, moved: &[Moved]) -> f64 {
        match &self.sigma {
            Some(together) => together(moved),
            None => alone(moved),
        }
    }
}

impl Given {
    /// The question with its parts changed one at a time. `text` is the profile that the car was read from, and `ask` gives the
    /// figures for whatever is changed.
    pub fn varied<'a>(&self, text: &str, ask: &'a (dyn Fn(&Self) -> Option<Figures> + Sync)) -> Varied<'a> {
        let again = |given: Self| -> Again<'a> { Box::new(move || ask(&given)) };
        let inputs = Inputs::of(self);
        let measured =
            |input: &Input| (input.told(), [1.0, -1.0].map(|sigmas| again(input.moved(self, sigmas))));
        Varied {
            steps: account::steps(self).into_iter().map(|(step, given)| (step, again(given))).collect(),
            measured: inputs.all.iter().map(measured).collect(),
            settings: inputs::settings(text, self)
                .into_iter()
                .map(|(setting, given)| (setting, again(given)))
                .collect(),
            sigma: Some(Box::new(move |moved| inputs.sigma(moved))),
        }
    }
}
