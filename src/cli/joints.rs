//! `rodset joints`: how far do joints tilt and bushes wind up over the whole travel?

use super::explain::Explain;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::car::{Car, Stance};
use rodset::plan::{Fitting, Plan, joint_angles};
use rodset::report::JointsPage;

const EXAMPLES: &str = "\
Examples:
  rodset joints examples/tansy-wharf.toml --drop 40
      tilt of rod ends, wind-up of bushes";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let ask = |car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting| {
        Ok(joint_angles(car, stance, plan, fitting)?)
    };
    if let Some(explained) = considered.explained(&args.explain, args.question.input.format(), ask)? {
        return Ok(explained);
    }
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = joint_angles(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || JointsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
