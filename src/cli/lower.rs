//! `rodset lower`: what does lowering do by itself?

use super::options::{Height, Input, Units};
use super::sampling::{self, Samples};
use super::{Failure, Outcome};
use rodset::plan::{lower, sample_lower};
use rodset::report::LowerPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    input: Input,
    #[command(flatten)]
    height: Height,
    #[command(flatten)]
    units: Units,
    #[command(flatten)]
    samples: Samples,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let profile = args.input.read()?;
    let toe = args.units.toe(&profile.car)?;
    let stance = args.height.stance(&profile.car)?;
    let answer = lower(&profile.car, &stance)?;
    let sampled = args.samples.take(|sampling, told| sample_lower(&profile.car, &stance, sampling, told));
    let page = || LowerPage { car: &profile.car, stance: &stance, answer: &answer, toe }.to_string();
    Ok(Outcome::answer(sampling::write(&args.input, &answer, sampled.as_ref(), toe, page)?))
}
