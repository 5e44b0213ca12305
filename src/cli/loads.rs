//! `rodset loads`: what does each link carry when the wheel is loaded, and what gives first?

use super::cases::Cases;
use super::explain::Explain;
use super::plan::Question;
use super::{Failure, Outcome};
use rodset::car::{Car, Stance};
use rodset::plan::{Fitting, Plan};
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
    #[command(flatten)]
    cases: Cases,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let considered = args.question.consider_or_as_measured()?;
    let ask = |car: &Car, stance: &Stance, plan: Option<&Plan>, fitting: &Fitting| {
        Ok(loads(car, stance, plan, fitting, &args.cases.of(car)?)?)
    };
    if let Some(explained) = considered.explained(&args.explain, args.question.input.format(), ask)? {
        return Ok(explained);
    }
    let (car, stance) = (&considered.profile.car, &considered.stance);
    let factors = args.cases.of(car)?;
    let answer = loads(car, stance, considered.plan.as_ref(), &considered.fitting, &factors)?;
    let page = || LoadsPage { car, stance, answer: &answer, units: considered.units };
    let output = args.question.input.write(&answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
