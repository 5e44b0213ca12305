//! `rodset cams`: can the stock cam bolts still reach the spec?

use super::explain::{self, Explain};
use super::options::{Height, Input, Units, Wanted};
use super::sampling::{self, Samples};
use super::{Failure, Outcome};
use rodset::explain::Given;
use rodset::plan::{cams, cams_turning, sample_cams};
use rodset::report::CamsPage;

const EXAMPLES: &str = "\
Examples:
  rodset cams examples/tansy-wharf.toml --drop 30
      do the stock cams still reach the spec?";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    wanted: Wanted,
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
    let specs = args.wanted.specs(&profile)?;
    let answer = cams(&profile.car, &stance, &specs)?;
    let given = Given { specs: Some(specs), ..Given::new(&profile.car, &stance) };
    let ask = |given: &Given| {
        let specs = given.specs.as_ref().unwrap_or(&specs);
        Ok(cams_turning(&given.car, &explain::stance(given)?, specs, Some(answer.turned()))?)
    };
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let sampled =
        args.samples.take(|sampling, told| Ok(sample_cams(&profile.car, &stance, &specs, sampling, told)))?;
    let page = || CamsPage { car: &profile.car, stance: &stance, answer: &answer, units };
    Ok(Outcome {
        output: sampling::write(&args.input, &answer, sampled.as_ref(), units, page)?,
        spec_met: answer.succeeds(),
    })
}
