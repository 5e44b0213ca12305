//! `rodset lower`: what does lowering do by itself?

use super::explain::{self, Explain};
use super::options::{Height, Input, Units};
use super::sampling::{self, Samples};
use super::{Failure, Outcome};
use rodset::explain::Given;
use rodset::plan::{lower, sample_lower};
use rodset::report::LowerPage;

const EXAMPLES: &str = "\
Examples:
  rodset lower examples/tansy-wharf.toml --drop 40
      both sides lowered by 40 mm
  rodset lower examples/tansy-wharf.toml --drop '1 1/2 in' --toe-unit mm
      in inches, toe as mm across the rim
  rodset lower examples/tansy-wharf.toml --drop 40 --explain 'camber left'
      where a figure of the page comes from, and what moves it";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    samples: Samples,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let units = args.units.of(&profile.car)?;
    let stance = args.height.stance(&profile.car)?;
    let given = Given::new(&profile.car, &stance);
    let ask = |given: &Given| Ok(lower(&given.car, &explain::stance(given)?)?);
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = lower(&profile.car, &stance)?;
    let sampled = args.samples.take(|sampling, told| sample_lower(&profile.car, &stance, sampling, told))?;
    let page = || LowerPage { car: &profile.car, stance: &stance, answer: &answer, units };
    Ok(Outcome::answer(sampling::write(&args.input, &answer, sampled.as_ref(), units, page)?))
}
