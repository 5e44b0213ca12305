//! `rodset shop`: the page for the alignment shop.

use super::Failure;
use super::command::{Ask, Occasion, Subject};
use super::explain::Explain;
use super::of_car::OfCar;
use super::options::{Form, Format, ProfileSource};
use super::plan::{PlanOptions, planned};
use super::sheet::with_sheet;
use crate::explain::Given;
use crate::plan::{Asked, Handover, Plan, handover};
use crate::report::{Page, Printable, ShopPage};

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
    source: ProfileSource,
    #[command(flatten)]
    form: Form,
    #[command(flatten)]
    options: PlanOptions,
    #[command(flatten)]
    explain: Explain,
}

impl Ask for Args {
    type Subject = OfCar<Plan>;
    type Answer = Handover;

    fn form(&self) -> (Format, Option<&str>) {
        (self.form.format(), self.explain.words())
    }

    fn read(&self) -> Result<Self::Subject, Failure> {
        let of = self.options.of(self.source.read()?)?;
        let plan = planned(&of, &of.basis(), None, Asked::ALL)?;
        Ok(of.with(plan))
    }

    fn ask(
        &self,
        subject: &Self::Subject,
        given: &Given,
        occasion: Occasion<'_, Handover>,
    ) -> Result<Handover, Failure> {
        Ok(match occasion.first {
            None => handover(&given.car, &subject.more),
            Some(_) => handover(&given.car, &planned(subject, given, Some(&subject.more), occasion.asked)?),
        })
    }

    fn put(&self, page: &mut Page, subject: &Self::Subject, answer: &Handover, _: Option<&str>) {
        with_sheet(subject, &subject.more, |sheet| ShopPage { sheet, answer }.put(page));
    }

    fn succeeds(&self, subject: &Self::Subject, _: &Handover) -> bool {
        subject.more.succeeds()
    }
}
