//! `rodset clearance`: what comes how near to what over the whole travel?

use super::explain::Explain;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::car::{Car, Stance};
use rodset::plan::{Fitting, Plan, clearance};
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
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let ask = |car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting| {
        Ok(clearance(car, stance, plan, fitting)?)
    };
    if let Some(explained) = considered.explained(&args.explain, args.question.input.format(), ask)? {
        return Ok(explained);
    }
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = clearance(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || ClearancePage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
