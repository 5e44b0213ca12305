//! `rodset plan`: how long must each arm be, and how many turns is that?

use clap::ValueEnum;
use schemars::JsonSchema;
use serde::Serialize;

use super::explain::{self, Explain};
use super::options::{Format, Height, Input, Profile, Units, Wanted};
use super::sampling::{self, Samples};
use super::{Failure, Outcome};
use rodset::car::{Car, PerSide, Spec, Stance};
use rodset::explain::Given;
use rodset::plan::{Fitting, Plan, plan, sample_plan};
use rodset::report::{self, PlanPage};

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
    pub(super) question: Question,
    #[command(flatten)]
    samples: Samples,
    #[command(flatten)]
    explain: Explain,
}

/// What `plan` and others ask of a profile.
#[derive(Debug, clap::Args)]
pub(super) struct Question {
    #[command(flatten)]
    pub(super) input: Input,
    #[command(flatten)]
    asked: Asked,
}

/// What is asked of a profile that has been read.
#[derive(Debug, clap::Args)]
pub(super) struct Asked {
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    wanted: Wanted,
    #[command(flatten)]
    fit: Fit,
    #[command(flatten)]
    units: Units,
}

#[derive(Debug, clap::Args)]
#[command(next_help_heading = "Arms and cams")]
pub(super) struct Fit {
    /// Names of the links whose arms are fitted and turned, such as upper,toe, or "none" [default: every arm that sets camber or toe;
    /// a traction arm is fitted too, matched to its stock length and left there]
    #[arg(long, value_name = "LINK,LINK", value_delimiter = ',')]
    fit: Option<Vec<String>>,
    /// What becomes of the cams under fitted arms
    #[arg(long, value_enum, default_value = "centre")]
    cams: Cams,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Cams {
    /// Locked out at the middle of their slots
    Centre,
    /// Left as they are set
    Keep,
}

/// A plan with what a page needs to know about it.
pub(super) struct Planned {
    pub(super) profile: Profile,
    pub(super) stance: Stance,
    pub(super) specs: PerSide<Spec>,
    pub(super) fitting: Fitting,
    pub(super) units: report::Units,
    pub(super) answer: Plan,
}

/// A car at its new height with the plan for it, where its profile has a spec to plan for.
pub(super) struct Considered {
    pub(super) profile: Profile,
    pub(super) stance: Stance,
    pub(super) fitting: Fitting,
    pub(super) units: report::Units,
    /// What it is planned for.
    specs: Option<PerSide<Spec>>,
    pub(super) plan: Option<Plan>,
}

impl Question {
    /// What is asked beside a plan: with the planned arms, or with the stock ones where there is no spec to plan for.
    pub(super) fn consider(&self) -> Result<Considered, Failure> {
        let profile = self.input.read()?;
        let stance = self.asked.height.stance(&profile.car)?;
        let fitting = self.asked.fit.fitting(&profile.car)?;
        let specs = if profile.car.sides.iter().all(|side| side.spec.is_some()) {
            Some(self.asked.wanted.specs(&profile)?)
        } else {
            None
        };
        let plan = specs.as_ref().map(|specs| plan(&profile.car, &stance, specs, &fitting)).transpose()?;
        Ok(Considered { profile, stance, fitting, units: self.asked.units.without_toe(), specs, plan })
    }

    /// The same; where no height is asked for, the car as it was measured.
    pub(super) fn consider_or_as_measured(&self) -> Result<Considered, Failure> {
        if self.asked.height.is_given() {
            return self.consider();
        }
        let profile = self.input.read()?;
        let stance = self.asked.height.stance_or_as_measured(&profile.car)?;
        let fitting = self.asked.fit.fitting(&profile.car)?;
        Ok(Considered {
            profile,
            stance,
            fitting,
            units: self.asked.units.without_toe(),
            specs: None,
            plan: None,
        })
    }

    pub(super) fn ask(&self) -> Result<Planned, Failure> {
        self.asked.of(self.input.read()?)
    }
}

impl Asked {
    /// The plan for a car.
    pub(super) fn of(&self, profile: Profile) -> Result<Planned, Failure> {
        let units = self.units.of(&profile.car)?;
        let stance = self.height.stance(&profile.car)?;
        let specs = self.wanted.specs(&profile)?;
        let fitting = self.fit.fitting(&profile.car)?;
        let answer = plan(&profile.car, &stance, &specs, &fitting)?;
        Ok(Planned { profile, stance, specs, fitting, units, answer })
    }
}

impl Planned {
    /// The same plan as a question whose parts can be changed.
    pub(super) fn given(&self) -> Given {
        let Self { profile, stance, specs, fitting, .. } = self;
        Given { specs: Some(*specs), keep_cams: Some(fitting.keep_cams), ..Given::new(&profile.car, stance) }
    }

    /// The plan for what was changed, with the cams turned that are turned now.
    pub(super) fn again(&self, given: &Given) -> Result<Plan, Failure> {
        let fitting = explain::fitting(&self.fitting.turning_as(&self.answer), given);
        let specs = given.specs.as_ref().unwrap_or(&self.specs);
        Ok(plan(&given.car, &explain::stance(given)?, specs, &fitting)?)
    }

    /// One of its figures explained, where that is asked for.
    pub(super) fn explained(&self, explain: &Explain, format: Format) -> Result<Option<Outcome>, Failure> {
        explain.outcome(format, (&self.profile, &self.given(), self.units), |given| self.again(given))
    }
}

impl Considered {
    /// The same as a question whose parts can be changed.
    fn given(&self) -> Given {
        Given {
            specs: self.specs,
            keep_cams: self.plan.as_ref().map(|_| self.fitting.keep_cams),
            ..Given::new(&self.profile.car, &self.stance)
        }
    }

    /// A figure of what `ask` says of it explained, where that is asked for.
    pub(super) fn explained<T: Serialize + JsonSchema>(
        &self,
        explain: &Explain,
        format: Format,
        ask: impl Fn(&Car, &Stance, Option<&Plan>, &Fitting) -> Result<T, Failure> + Sync,
    ) -> Result<Option<Outcome>, Failure> {
        let as_planned =
            self.plan.as_ref().map_or_else(|| self.fitting.clone(), |plan| self.fitting.turning_as(plan));
        let again = |given: &Given| {
            let (stance, fitting) = (explain::stance(given)?, explain::fitting(&as_planned, given));
            let plan = match &given.specs {
                Some(specs) => Some(plan(&given.car, &stance, specs, &fitting)?),
                None => None,
            };
            ask(&given.car, &stance, plan.as_ref(), &fitting)
        };
        explain.outcome(format, (&self.profile, &self.given(), self.units), again)
    }
}

impl Fit {
    /// The fitting that is asked for.
    pub(super) fn fitting(&self, car: &Car) -> Result<Fitting, Failure> {
        let keep_cams = self.cams == Cams::Keep;
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

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let planned = args.question.ask()?;
    if let Some(explained) = planned.explained(&args.explain, args.question.input.format())? {
        return Ok(explained);
    }
    let Planned { profile, stance, specs, fitting, units, answer } = &planned;
    let sampled = args
        .samples
        .take(|sampling, told| sample_plan(&profile.car, stance, specs, fitting, answer, sampling, told))?;
    let page = || PlanPage { car: &profile.car, stance, answer, units: *units };
    let output = sampling::write(&args.question.input, answer, sampled.as_ref(), *units, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
