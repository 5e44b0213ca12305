//! `rodset readings`: what do measurements come to?

use std::path::PathBuf;

use super::explain::Explain;
use super::options::{Input, Units, read_record};
use super::{Failure, Outcome};
use rodset::explain::Given;
use rodset::plan::readings;
use rodset::report::ReadingsPage;

const EXAMPLES: &str = "\
Examples:
  rodset readings examples/tansy-wharf.toml examples/records/tansy-wharf.toml
      what was measured, as angles, against the spec";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    /// The record of readings on that car, a TOML file
    #[arg(value_name = "RECORD")]
    record: Option<PathBuf>,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let units = args.units.of(&profile.car)?;
    let record = read_record(args.record.as_deref(), &profile.car)?;
    let given = Given { rounds: record.rounds.clone(), ..Given::of(&profile.car) };
    let ask = |given: &Given| Ok(readings(&given.car, &given.rounds, &record.workings));
    if let Some(explained) = args.explain.outcome(args.input.format(), (&profile, &given, units), ask)? {
        return Ok(explained);
    }
    let answer = readings(&profile.car, &record.rounds, &record.workings);
    let page = || ReadingsPage { car: &profile.car, answer: &answer, units };
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
