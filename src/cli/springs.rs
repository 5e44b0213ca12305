//! `rodset springs`: how many collar turns is the drop, and how stiff is the wheel then?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::plan::springs;
use rodset::report::SpringsPage;

const EXAMPLES: &str = "\
Examples:
  rodset springs examples/tansy-wharf.toml --drop 40
      collar turns, wheel rate, travel left";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = springs(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || SpringsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
