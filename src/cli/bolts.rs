//! `rodset bolts`: does the bolted pivot hold the arm, locked out or with a cam?

use super::cases::Cases;
use super::explain::Explain;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::car::{Car, Stance};
use rodset::plan::{Fitting, Plan};
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
    #[command(flatten)]
    cases: Cases,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider_or_as_measured()?;
    let ask = |car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting| {
        Ok(bolts(car, stance, plan, fitting, &args.cases.of(car)?)?)
    };
    if let Some(explained) = considered.explained(&args.explain, args.question.input.format(), ask)? {
        return Ok(explained);
    }
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let factors = args.cases.of(car)?;
    let answer = bolts(car, stance, considered.plan.as_ref(), &considered.fitting, &factors)?;
    let page = || BoltsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
