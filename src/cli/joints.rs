//! `rodset joints`: how far do joints tilt and bushes wind up over the whole travel?

pub(super) use super::plan::Question as Args;
use super::{Failure, Outcome};
use rodset::plan::{JointAngles, joint_angles};
use rodset::report::JointsPage;

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    args.answer(
        &args.consider()?,
        joint_angles,
        |car, stance, answer| JointsPage { car, stance, answer }.to_string(),
        JointAngles::succeeds,
    )
}
