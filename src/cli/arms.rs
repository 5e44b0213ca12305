//! `rodset arms`: which arms are worth buying for this drop?

use super::options::{Height, Input, Units, Wanted};
use super::plan::Cams;
use super::{Failure, Outcome};
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
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let units = args.units.of(&profile.car)?;
    let stance = args.height.stance(&profile.car)?;
    let specs = args.wanted.specs(&profile)?;
    let answer = choose_arms(&profile.car, &stance, &specs, args.cams == Cams::Keep)?;
    let page = || ArmsPage { car: &profile.car, stance: &stance, answer: &answer, units };
    Ok(Outcome { output: args.input.write(&answer, page)?, spec_met: answer.succeeds() })
}
