//! `rodset bolts`: does the bolted pivot hold the arm, locked out or with a cam?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::BoltsPage;
use rodset::strength::bolts;

const EXAMPLES: &str = "\
Examples:
  rodset bolts examples/tansy-wharf.toml --drop 40
      whether each bolted pivot holds its arm";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider_or_as_measured()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = bolts(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || BoltsPage { car, stance, answer: &answer };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
