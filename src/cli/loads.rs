//! `rodset loads`: what does each link carry when the wheel is loaded, and what gives first?

use super::cases::Cases;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::LoadsPage;
use rodset::strength::{Loads, loads};

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
        |car, stance, plan, fitting| loads(car, stance, plan, fitting, &factors),
        |car, stance, answer| LoadsPage { car, stance, answer }.to_string(),
        Loads::succeeds,
    )
}
