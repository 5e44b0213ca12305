//! What a question rests on, so that it can be asked again with a part of that changed.

use super::Given;
use super::account::{self, AccountStep};
use super::inputs::{Inputs, MovedInput, Setting, Settings, alone};

/// What a question rests on.
pub(crate) trait Rests: Sync {
    /// What it is asked of.
    type Basis;

    /// From the car as it was measured to the question, the last step leading to it.
    fn steps(&self) -> Vec<(AccountStep, Self::Basis)> {
        Vec::new()
    }

    /// What was measured, with nothing moved.
    fn measured(&self) -> Vec<MovedInput>;

    /// How many more things were measured: too many to move each of them.
    fn passed_over(&self) -> usize {
        0
    }

    /// The basis if some of what was measured, by their places, were each so many of its standard deviations more.
    fn moved(&self, by: &[(usize, f64)]) -> Self::Basis;

    /// The standard deviation of a figure that what was measured moves so, where each thing is wrong by itself or they go together.
    fn sigma(&self, moved: &[MovedInput]) -> f64 {
        alone(moved)
    }

    /// What else stands in the file.
    fn settings(&self) -> Vec<Setting> {
        Vec::new()
    }

    /// The basis if some of that, by their places, were each so many steps more; `None` where that is no sound file.
    fn set(&self, _by: &[(usize, f64)]) -> Option<Self::Basis> {
        None
    }
}

/// A question about a car, with the profile that it was read from.
#[derive(Debug)]
pub(crate) struct CarQuestion<'a> {
    given: Given,
    inputs: Inputs,
    settings: Settings<'a>,
}

impl<'a> CarQuestion<'a> {
    /// The question about a car that was read from a profile.
    pub(crate) fn new(given: Given, profile: &'a str) -> Self {
        Self { inputs: Inputs::of(&given), settings: Settings::of(profile), given }
    }
}

impl Rests for CarQuestion<'_> {
    type Basis = Given;

    fn steps(&self) -> Vec<(AccountStep, Given)> {
        account::steps(&self.given)
    }

    fn measured(&self) -> Vec<MovedInput> {
        self.inputs.told()
    }

    fn moved(&self, by: &[(usize, f64)]) -> Given {
        self.inputs.moved(&self.given, by)
    }

    fn sigma(&self, moved: &[MovedInput]) -> f64 {
        self.inputs.sigma(moved)
    }

    fn settings(&self) -> Vec<Setting> {
        self.settings.told()
    }

    fn set(&self, by: &[(usize, f64)]) -> Option<Given> {
        self.settings.set(&self.given, by)
    }
}

/// A question that rests on nothing that could be changed.
#[derive(Debug, Clone, Copy)]
pub(crate) struct OnNothing;

impl Rests for OnNothing {
    type Basis = ();

    fn measured(&self) -> Vec<MovedInput> {
        Vec::new()
    }

    fn moved(&self, _: &[(usize, f64)]) {}
}
