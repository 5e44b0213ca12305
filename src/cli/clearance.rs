//! `rodset clearance`: what comes how near to what over the whole travel?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::plan::clearance;
use rodset::report::ClearancePage;

const EXAMPLES: &str = "\
Examples:
  rodset clearance examples/tansy-wharf.toml --drop 40
      the least gaps over the whole travel";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = clearance(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || ClearancePage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
