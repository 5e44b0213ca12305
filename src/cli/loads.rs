//! `rodset loads`: what does each link carry when the wheel is loaded, and what gives first?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::LoadsPage;
use rodset::strength::loads;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = loads(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || LoadsPage { car, stance, answer: &answer }.to_string();
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
