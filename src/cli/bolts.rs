//! `rodset bolts`: does the bolted pivot hold the arm, locked out or with a cam?

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::BoltsPage;
use rodset::strength::bolts;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider_or_as_measured()?;
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = bolts(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || BoltsPage { car, stance, answer: &answer }.to_string();
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
