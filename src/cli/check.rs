//! `rodset check`: is the profile sound, and what does it describe?

use super::explain::Explain;
use super::options::{Input, Units};
use super::{Failure, Outcome};
use rodset::car::Car;
use rodset::explain::Given;
use rodset::plan::describe;
use rodset::profile::Finding;
use rodset::report::CheckPage;

const EXAMPLES: &str = "\
Examples:
  rodset check examples/tansy-wharf.toml
      is it sound, and what can be adjusted?
  rodset check - < examples/sedge-mill.toml
      a profile from standard input";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let units = args.units.of(&profile.car)?;
    let warnings: Vec<String> = profile.warnings.iter().map(Finding::title).collect();
    let given = Given::of(&profile.car);
    let described = |car: &Car| describe(car, warnings.clone(), profile.taken_over.clone());
    let ask = |given: &Given| Ok(described(&given.car));
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = described(&profile.car);
    let page = || CheckPage { car: &profile.car, answer: &answer, units };
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
