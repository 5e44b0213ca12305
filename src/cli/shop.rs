//! `rodset shop`: the page for the alignment shop.

use std::path::Path;

use super::explain::Explain;
use super::options::{Source, json};
use super::plan::Asked;
use super::sheet::{Form, Format, with_sheet};
use super::{Failure, Outcome, screen};
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

/// The page for standard output, or for the file that it goes to.
pub(super) fn run(args: &Args, file: Option<&Path>) -> Result<Outcome, Failure> {
    let planned = args.asked.of(args.source.read()?)?;
    let ask = |given: &Given| Ok(handover(&given.car, &planned.again(given)?));
    let asked = (&planned.profile, &planned.given(), planned.units);
    if let Some(explained) = args.explain.outcome(args.form.of(file).plain(), asked, ask)? {
        return Ok(explained);
    }
    let answer = handover(&planned.profile.car, &planned.answer);
    let text = match args.form.of(file) {
        Format::Text => with_sheet(&planned, |sheet| screen::page(&ShopPage { sheet, answer: &answer })),
        Format::Json => json(&answer)?,
        Format::Html => with_sheet(&planned, |sheet| ShopPage { sheet, answer: &answer }.html()),
    };
    Ok(Outcome { output: text, spec_met: planned.answer.succeeds() })
}
