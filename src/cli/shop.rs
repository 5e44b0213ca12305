//! `rodset shop`: the page for the alignment shop.

use super::options::{Source, json};
use super::plan::Asked;
use super::sheet::{Form, Format, with_sheet};
use super::{Failure, Outcome};
use rodset::plan::handover;
use rodset::report::ShopPage;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    source: Source,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    asked: Asked,
}

pub(super) fn run(args: &Args) -> Result<Outcome, Failure> {
    let format = args.form.check()?;
    let planned = args.asked.of(args.source.read()?)?;
    let answer = handover(&planned.profile.car, &planned.answer);
    let text = match format {
        Format::Text => with_sheet(&planned, |sheet| ShopPage { sheet, answer: &answer }.to_string()),
        Format::Json => json(&answer)?,
        Format::Html => with_sheet(&planned, |sheet| ShopPage { sheet, answer: &answer }.html()),
    };
    Ok(Outcome { output: args.form.deliver(text)?, spec_met: planned.answer.succeeds() })
}
