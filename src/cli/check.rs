//! `rodset check`: is the profile sound, and what does it describe?

use super::options::Input;
use super::{Failure, Outcome};
use rodset::plan::describe;
use rodset::profile::Finding;
use rodset::report::CheckPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let answer = describe(&profile.car, profile.warnings.iter().map(Finding::title).collect());
    let page = || CheckPage { car: &profile.car, answer: &answer }.to_string();
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
