//! `rodset clearance`: what comes how near to what over the whole travel?

pub(super) use super::plan::Question as Args;
use super::{Failure, Outcome};
use rodset::plan::{Clearance, clearance};
use rodset::report::ClearancePage;

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    args.answer(
        &args.consider()?,
        clearance,
        |car, stance, answer| ClearancePage { car, stance, answer }.to_string(),
        Clearance::succeeds,
    )
}
