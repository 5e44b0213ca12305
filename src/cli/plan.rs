//! `rodset plan`: how long must each arm be, and how many turns is that?

use super::Failure;
use super::command::{Ask, Occasion, Subject};
use super::explain::Explain;
use super::of_car::{OfCar, aims, fitting, stance};
use super::options::{AskedProfile, Format, HeightOptions, Profile, UnitOptions, Wanted};
use super::sampling::Samples;
use crate::car::Car;
use crate::explain::Given;
use crate::plan::{Asked, Fitting, Plan, Sampled, next, plan_asked, sample_plan};
use crate::report::{Page, PlanPage, Printable};
use clap::ValueEnum;

const EXAMPLES: &str = "\
Examples:
  rodset plan examples/tansy-wharf.toml --drop 40
      lengths and turns of every arm
  rodset plan examples/tansy-wharf.toml --arch-gap 344 --fit upper
      to a height at the arch, with one arm
  rodset plan examples/tansy-wharf.toml --drop 40 --format json --output plan.json
      for a script, into a file
  rodset plan examples/tansy-wharf.toml --drop 40 --explain 'upper turns'
      where the turns of the upper arm come from, and what moves them";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    pub(super) question: PlanQuestion,
    #[command(flatten)]
    samples: Samples,
    #[command(flatten)]
    explain: Explain,
}

/// What `plan` and others ask of a profile.
#[derive(Debug, clap::Args)]
pub(super) struct PlanQuestion {
    #[command(flatten)]
    pub(super) input: AskedProfile,
    #[command(flatten)]
    options: PlanOptions,
}

/// What is asked of a profile that has been read.
#[derive(Debug, clap::Args)]
pub(super) struct PlanOptions {
    #[command(flatten)]
    height: HeightOptions,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: FittedArms,
    #[command(flatten)]
    units: UnitOptions,
}

#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Arms and cams")]
pub(super) struct FittedArms {
    /// Names of the links whose arms are fitted and turned, such as upper,toe, or "none" [default: every arm that sets camber or toe;
    /// a traction arm is fitted too, matched to its stock length and left there]
    #[arg(long, value_name = "LINK,LINK", value_delimiter = ',')]
    fit: Option<Vec<String>>,
    /// What becomes of the cams under fitted arms
    #[arg(long, value_enum, default_value = "centre")]
    cams: CamsUnderArms,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum CamsUnderArms {
    /// Locked out at the middle of their slots
    Centre,
    /// Left as they are set
    Keep,
}

impl PlanQuestion {
    /// What is asked beside a plan: a car at its new height, with a spec to plan for where its profile has one. Where no height is asked
    /// for, the car as it was measured, where that is meant.
    pub(super) fn consider(&self, as_measured: bool) -> Result<OfCar, Failure> {
        let PlanOptions { height, wanted, fit, units } = &self.options;
        let profile = self.input.read()?;
        let as_measured = as_measured && !height.is_given();
        let stance = if as_measured {
            height.stance_or_as_measured(&profile.car)?
        } else {
            height.stance(&profile.car)?
        };
        let fitting = Some(fit.fitting(&profile.car)?);
        let to_plan_for = !as_measured && profile.car.sides.iter().all(|side| side.spec.is_some());
        let specs = if to_plan_for { Some(wanted.specs(&profile)?) } else { None };
        Ok(OfCar { specs, fitting, ..OfCar::at(profile, units.without_toe(), stance) })
    }
}

impl PlanOptions {
    /// What is asked of a car.
    pub(super) fn of(&self, profile: Profile) -> Result<OfCar, Failure> {
        let of = OfCar::lowered(profile, &self.units, &self.height)?;
        let specs = Some(self.wanted.specs(&of.profile)?);
        let fitting = Some(self.fit.fitting(of.car())?);
        Ok(OfCar { specs, fitting, ..of })
    }
}

/// The plan for a car; where there is a `first` one, that for a changed car, with the cams turned that were turned in the first.
pub(super) fn planned<T>(
    of: &OfCar<T>,
    given: &Given,
    first: Option<&Plan>,
    asked: Asked<'_>,
) -> Result<Plan, Failure> {
    // Fewer arms may turn other cams.
    let fitted = match first.filter(|_| !asked.wants("smaller_set")) {
        Some(first) => of.fitting().turning_as(first),
        None => of.fitting(),
    };
    Ok(plan_asked(&given.car, &stance(given)?, aims(given)?, &fitting(&fitted, given), asked)?)
}

impl FittedArms {
    /// The fitting that is asked for.
    pub(super) fn fitting(&self, car: &Car) -> Result<Fitting, Failure> {
        let keep_cams = self.cams == CamsUnderArms::Keep;
        let Some(names) = &self.fit else {
            return Ok(Fitting { keep_cams, ..Fitting::default() });
        };
        let names: Vec<String> = names.iter().map(|name| name.trim().to_owned()).collect();
        if names == ["none"] {
            return Ok(Fitting { arms: Some(Vec::new()), keep_cams, turnable: None });
        }
        let links = || car.sides.iter().flat_map(|side| &side.links);
        for name in &names {
            // An arm may be fitted on one side only.
            let named = || links().filter(|link| link.name == *name);
            let fits = named().find(|link| link.arm.is_some()).or(named().next());
            let adjustable = || {
                let mut names: Vec<&str> = (links())
                    .filter(|link| link.arm.is_some() && link.sets.is_some())
                    .map(|link| link.name.as_str())
                    .collect();
                names.sort_unstable();
                names.dedup();
                if names.is_empty() { "none in this profile".to_owned() } else { names.join(", ") }
            };
            match fits {
                None => {
                    return Err(Failure::usage(format!(
                        "--fit: there is no link called \"{name}\"; adjustable arms: {}",
                        adjustable()
                    )));
                }
                Some(link) if link.arm.is_none() => {
                    return Err(Failure::usage(format!(
                        "--fit: \"{name}\" has no [link.arm] in the profile; adjustable arms: {}",
                        adjustable()
                    )));
                }
                Some(link) if link.sets.is_none() => {
                    return Err(Failure::usage(format!(
                        "--fit: \"{name}\" sets nothing; add `sets = \"camber\"`, \"toe\" or \"pitch\" to it"
                    )));
                }
                Some(_) => {}
            }
        }
        Ok(Fitting { arms: Some(names), keep_cams, turnable: None })
    }
}

impl Ask for Args {
    type Subject = OfCar;
    type Answer = Plan;
    const SAMPLED: bool = true;

    fn form(&self) -> (Format, Option<&str>) {
        (self.question.input.format(), self.explain.words())
    }

    fn read(&self) -> Result<OfCar, Failure> {
        self.question.options.of(self.question.input.read()?)
    }

    fn ask(&self, subject: &OfCar, given: &Given, occasion: Occasion<'_, Plan>) -> Result<Plan, Failure> {
        planned(subject, given, occasion.first, occasion.asked)
    }

    fn sample(&self, subject: &OfCar, answer: &Plan) -> Result<Option<Sampled>, Failure> {
        let (car, given) = (subject.car(), subject.basis());
        let (stance, specs, fitting) = (&subject.stance, aims(&given)?, subject.fitting());
        let sample = |sampling, told: &(dyn Fn() + Sync)| {
            sample_plan(car, stance, specs, &fitting, answer, sampling, told)
        };
        Ok(self.samples.take(sample)?)
    }

    fn put(&self, page: &mut Page, subject: &OfCar, answer: &Plan, _: Option<&str>) {
        let ahead = || next(subject.car(), &subject.stance, answer, &subject.fitting());
        let next = if page.is_whole() { ahead() } else { None };
        PlanPage { of: subject.page(answer), next }.put(page);
    }

    fn succeeds(&self, _: &OfCar, answer: &Plan) -> bool {
        answer.succeeds()
    }
}
