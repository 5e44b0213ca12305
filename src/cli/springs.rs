//! `rodset springs`: how many collar turns is the drop, and how stiff is the wheel then?

use super::explain::Explain;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::car::{Car, Stance};
use rodset::plan::{Fitting, Plan, springs};
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
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider()?;
    let ask = |car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting| {
        Ok(springs(car, stance, plan, fitting)?)
    };
    if let Some(explained) = considered.explained(&args.explain, args.question.input.format(), ask)? {
        return Ok(explained);
    }
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let answer = springs(car, stance, considered.plan.as_ref(), &considered.fitting)?;
    let page = || SpringsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
