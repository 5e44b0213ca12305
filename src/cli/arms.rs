//! `rodset arms`: which arms are worth buying for this drop?

use super::explain::{self, Explain};
use super::options::{Height, Input, Units, Wanted};
use super::plan::Cams;
use super::{Failure, Outcome};
use rodset::explain::Given;
use rodset::plan::choose_arms;
use rodset::report::ArmsPage;

const EXAMPLES: &str = "\
Examples:
  rodset arms examples/tansy-wharf.toml --drop 40
      the least set of arms that meets the spec";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    wanted: Wanted,
    /// What becomes of the cams under fitted arms
    #[arg(long, value_enum, default_value = "centre", help_heading = "Arms and cams")]
    cams: Cams,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let units = args.units.of(&profile.car)?;
    let stance = args.height.stance(&profile.car)?;
    let specs = args.wanted.specs(&profile)?;
    let keep_cams = args.cams == Cams::Keep;
    let given = Given { specs: Some(specs), keep_cams: Some(keep_cams), ..Given::new(&profile.car, &stance) };
    let ask = |given: &Given| {
        let (specs, keep_cams) = (given.specs.as_ref().unwrap_or(&specs), given.keep_cams == Some(true));
        Ok(choose_arms(&given.car, &explain::stance(given)?, specs, keep_cams)?)
    };
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = choose_arms(&profile.car, &stance, &specs, keep_cams)?;
    let page = || ArmsPage { car: &profile.car, stance: &stance, answer: &answer, units };
    Ok(Outcome { output: args.input.write(&answer, page)?, spec_met: answer.succeeds() })
}
