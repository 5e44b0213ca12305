//! `rodset loads`: what does each link carry when the wheel is loaded, and what gives first?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::LoadsPage;
use rodset::strength::loads;

const EXAMPLES: &str = "\
Examples:
  rodset loads examples/tansy-wharf.toml --drop 40
      what each link carries in every load case, and what gives first";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = loads(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || LoadsPage { car, stance, answer: &answer };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
