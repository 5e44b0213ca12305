//! `rodset lower`: what does lowering do by itself?

use super::options::{Height, Input, Units};
use super::{Failure, Outcome};
use rodset::plan::lower;
use rodset::report::LowerPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    units: Units,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let toe = args.units.toe(&profile.car)?;
    let stance = args.height.stance(&profile.car)?;
    let answer = lower(&profile.car, &stance)?;
    let page = || LowerPage { car: &profile.car, stance: &stance, answer: &answer, toe }.to_string();
    Ok(Outcome::answer(args.input.write(&answer, page)?))
}
