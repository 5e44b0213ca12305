//! Bench sheet, and with it what else is asked for: the shop's page, drawings, curves. One file to be printed.

use super::bars::put_bars;
use super::draw::{HELD_STILL, OutlinePage};
use super::page::{Page, Printable};
use super::sheet::SheetPage;
use super::shop::ShopPage;
use super::travel::put_curves;
use crate::plan::{Outlines, TravelCurves};

/// Everything that is printed for one plan.
#[derive(Debug)]
pub(crate) struct PrintedSheet<'a> {
    /// What lies on the bench and beside the car.
    pub(crate) sheet: &'a SheetPage<'a>,
    /// What the shop gets.
    pub(crate) shop: Option<&'a ShopPage<'a>>,
    /// The links as measured, lowered and planned, or why they are not drawn.
    pub(crate) outlines: Option<Result<&'a Outlines, String>>,
    /// Camber and toe over the travel, or why they are not drawn.
    pub(crate) travel: Option<Result<&'a TravelCurves, String>>,
}

impl Printable for PrintedSheet<'_> {
    fn put(&self, page: &mut Page) {
        self.sheet.put(page);
        if let Some(shop) = self.shop {
            page.new_sheet();
            shop.put(page);
        }
        if let Some(outlines) = &self.outlines {
            page.new_sheet();
            self.views(page, outlines);
        }
        if let Some(travel) = &self.travel {
            page.new_sheet();
            page.heading("CAMBER AND TOE OVER THE WHEEL'S TRAVEL");
            match travel {
                Ok(travel) => put_curves(page, travel, self.sheet.units),
                Err(why) => page.paragraph(format!("Not drawn: {why}")),
            }
        }
    }
}

impl PrintedSheet<'_> {
    fn views(&self, page: &mut Page, outlines: &Result<&Outlines, String>) {
        page.heading("WHAT THE WHEELS WILL READ");
        put_bars(page, self.sheet.answer, self.sheet.units);
        page.heading("WHERE THE LINKS ARE");
        let outlines = match outlines {
            Ok(outlines) => outlines,
            Err(why) => return page.paragraph(format!("Not drawn: {why}")),
        };
        for side in &outlines.sides {
            OutlinePage { side, units: self.sheet.units }.put(page);
        }
        page.note(HELD_STILL);
        if let Some(why) = &outlines.unplanned {
            page.note(format!("Nothing planned is drawn: {why}"));
        }
    }
}
