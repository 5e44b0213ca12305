//! `rodset sheet`: the page that lies on the bench.

use super::plan::Question;
use super::{Failure, Outcome};
use rodset::report::SheetPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    question: Question,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let planned = args.question.ask()?;
    let page = || {
        SheetPage {
            car: &planned.profile.car,
            profile: &planned.profile.path,
            stance: &planned.stance,
            fitting: &planned.fitting,
            answer: &planned.answer,
            toe: planned.toe,
        }
        .to_string()
    };
    let output = args.question.input.write(&planned.answer, page)?;
    Ok(Outcome { output, spec_met: planned.answer.succeeds() })
}
