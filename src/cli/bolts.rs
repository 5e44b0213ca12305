//! `rodset bolts`: does the bolted pivot hold the arm, locked out or with a cam?

use super::cases::Cases;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::BoltsPage;
use rodset::strength::{Bolts, bolts};

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
    #[command(flatten)]
    cases: Cases,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider_or_as_measured()?;
    let factors = args.cases.of(&considered.profile.car)?;
    args.question.answer(
        &considered,
        |car, stance, plan, fitting| bolts(car, stance, plan, fitting, &factors),
        |car, stance, answer| BoltsPage { car, stance, answer }.to_string(),
        Bolts::succeeds,
    )
}
