//! `rodset springs`: how many collar turns is the drop, and how stiff is the wheel then?

pub(super) use super::plan::Question as Args;
use super::{Failure, Outcome};
use rodset::plan::{Springs, springs};
use rodset::report::SpringsPage;

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    args.answer(
        &args.consider()?,
        springs,
        |car, stance, answer| SpringsPage { car, stance, answer }.to_string(),
        Springs::succeeds,
    )
}
