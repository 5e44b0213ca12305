//! `rodset sheet`: the page that lies on the bench.

use super::plan::{Planned, Question};
use super::{Failure, Outcome};
use rodset::plan::joint_angles;
use rodset::report::SheetPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let planned = args.question.ask()?;
    let page = || {
        let Planned { profile, stance, fitting, answer, .. } = &planned;
        let joints = joint_angles(&profile.car, stance, Some(answer), fitting).ok();
        SheetPage {
            car: &planned.profile.car,
            profile: &planned.profile.path,
            stance: &planned.stance,
            fitting: &planned.fitting,
            answer: &planned.answer,
            toe: planned.toe,
            joints: joints.as_ref(),
        }
        .to_string()
    };
    let output = args.question.input.write(&planned.answer, page)?;
    Ok(Outcome { output, spec_met: planned.answer.succeeds() })
}
