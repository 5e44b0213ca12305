//! `rodset joints`: how far do joints tilt and bushes wind up over the whole travel?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::plan::joint_angles;
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
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = joint_angles(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || JointsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
