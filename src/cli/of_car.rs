//! A car as a question rests on it: its profile, how it stands, what its wheels should read, what is fitted and what was read.

use super::Failure;
use super::command::Subject;
use super::options::{self, HeightOptions, Profile};
use crate::car::{Car, PerSide, Spec, Stance};
use crate::explain::{self, Given, Rests};
use crate::measure::Round;
use crate::plan::Fitting;
use crate::report::{AnswerPage, Units};

/// What a question about a car was asked of, and what `more` it rests on.
pub(super) struct OfCar<T = ()> {
    pub(super) profile: Profile,
    pub(super) units: Units,
    pub(super) stance: Stance,
    /// What the wheels should read, where that is part of the question.
    pub(super) specs: Option<PerSide<Spec>>,
    /// Which arms are fitted, where that is part of the question.
    pub(super) fitting: Option<Fitting>,
    /// What was read, where that is part of the question.
    pub(super) rounds: Vec<Round>,
    pub(super) more: T,
}

impl OfCar {
    /// A car as it was measured.
    pub(super) fn as_measured(profile: Profile, units: Units) -> Result<Self, Failure> {
        let stance = Stance::new(&profile.car, [0.0; 2], None);
        let stance = stance.ok_or_else(|| Failure::unsound("no front drop is asked for"))?;
        Ok(Self::at(profile, units, stance))
    }

    /// A car at the height that is asked for.
    pub(super) fn lowered(
        profile: Profile,
        units: &options::UnitOptions,
        height: &HeightOptions,
    ) -> Result<Self, Failure> {
        let units = units.of(&profile.car)?;
        let stance = height.stance(&profile.car)?;
        Ok(Self::at(profile, units, stance))
    }

    /// A car at its new height.
    pub(super) fn at(profile: Profile, units: Units, stance: Stance) -> Self {
        Self { profile, units, stance, specs: None, fitting: None, rounds: Vec::new(), more: () }
    }

    /// The same with something more.
    pub(super) fn with<T>(self, more: T) -> OfCar<T> {
        let Self { profile, units, stance, specs, fitting, rounds, .. } = self;
        OfCar { profile, units, stance, specs, fitting, rounds, more }
    }
}

impl<T> OfCar<T> {
    pub(super) fn car(&self) -> &Car {
        &self.profile.car
    }

    /// The page of an answer about it.
    pub(super) fn page<'a, A>(&'a self, answer: &'a A) -> AnswerPage<'a, A> {
        AnswerPage { car: self.car(), stance: &self.stance, answer, units: self.units }
    }

    /// The arms that are fitted.
    pub(super) fn fitting(&self) -> Fitting {
        self.fitting.clone().unwrap_or_default()
    }
}

/// How the car stands.
pub(super) fn stance(given: &Given) -> Result<Stance, Failure> {
    given.stance().ok_or_else(|| Failure::unsound("a front drop needs the wheelbase"))
}

/// What the wheels should read.
pub(super) fn aims(given: &Given) -> Result<&PerSide<Spec>, Failure> {
    given.specs.as_ref().ok_or_else(|| Failure::unsound("there is nothing to aim for"))
}

/// A fitting with the cams as they are given.
pub(super) fn fitting(fitting: &Fitting, given: &Given) -> Fitting {
    Fitting { keep_cams: given.keep_cams.unwrap_or(fitting.keep_cams), ..fitting.clone() }
}

impl<T: Sync> Subject for OfCar<T> {
    type Basis = Given;

    fn basis(&self) -> Given {
        let Self { profile, stance, specs, fitting, rounds, .. } = self;
        Given {
            specs: *specs,
            keep_cams: fitting.as_ref().filter(|_| specs.is_some()).map(|fitting| fitting.keep_cams),
            rounds: rounds.clone(),
            ..Given::new(&profile.car, stance)
        }
    }

    fn name(&self) -> &str {
        &self.profile.car.name
    }

    fn units(&self) -> Units {
        self.units
    }

    fn rests(&self) -> impl Rests<Basis = Given> {
        explain::CarQuestion::new(self.basis(), &self.profile.text.text)
    }
}
