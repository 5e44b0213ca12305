//! `rodset shop`: the page for the alignment shop.

use super::explain::Explain;
use super::options::{Form, Source};
use super::plan::Asked;
use super::sheet::with_sheet;
use super::{Failure, Outcome};
use rodset::explain::Given;
use rodset::plan::handover;
use rodset::report::ShopPage;

const EXAMPLES: &str = "\
Examples:
  rodset shop examples/tansy-wharf.toml --drop 40
      what the alignment shop is asked for, and what it can turn
  rodset shop examples/tansy-wharf.toml --drop 40 --toe-unit mm --output shop.html
      the same to print, toe in mm across the rim";

#[derive(Debug, clap::Args)]
#[command(after_help = EXAMPLES)]
pub(super) struct Args {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    asked: Asked,
    #[command(flatten)]
    explain: Explain,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let planned = args.asked.of(args.source.read()?)?;
    let ask = |given: &Given| Ok(handover(&given.car, &planned.again(given)?));
    let format = args.form.format();
    let asked = (&planned.profile, &planned.given(), planned.units);
    if let Some(explained) = args.explain.outcome(format, asked, ask)? {
        return Ok(explained);
    }
    let answer = handover(&planned.profile.car, &planned.answer);
    let output = with_sheet(&planned, |sheet| format.write(&answer, || ShopPage { sheet, answer: &answer }))?;
    Ok(Outcome { output, spec_met: planned.answer.succeeds() })
}
