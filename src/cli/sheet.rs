//! `rodset sheet`: the page that lies on the bench.

use super::plan::{Planned, Question};
use super::{Failure, Outcome};
use rodset::plan::joint_angles;
use rodset::report::SheetPage;

const EXAMPLES: &str = "\
Examples:
  rodset sheet examples/tansy-wharf.toml --drop 40 --output sheet.txt
      the page for the bench, to print";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let planned = args.question.ask()?;
    let Planned { profile, stance, fitting, toe, answer, .. } = &planned;
    let joints = joint_angles(&profile.car, stance, Some(answer), fitting).ok();
    let page = || SheetPage {
        car: &profile.car,
        profile: &profile.path,
        stance,
        fitting,
        answer,
        toe: *toe,
        joints: joints.as_ref(),
    };
    let output = args.question.input.write(answer, page)?;
    Ok(Outcome { output, spec_met: answer.succeeds() })
}
