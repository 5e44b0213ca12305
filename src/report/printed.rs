//! Bench sheet, shop page and drawings as one file to be printed.

use super::outline::OutlinePage;
use super::page::{Page, Printable};
use super::shop::ShopPage;
use super::travel::put_curves;
use crate::plan::{Outlines, TravelCurves};

/// Everything that is printed for one plan.
#[derive(Debug)]
pub struct PrintedSheet<'a> {
    /// What the shop gets, and what lies on the bench.
    pub shop: &'a ShopPage<'a>,
    /// The links as measured, lowered and planned, or why they are not drawn.
    pub outlines: Result<&'a Outlines, String>,
    /// Camber and toe over the travel, or why they are not drawn.
    pub travel: Result<&'a TravelCurves, String>,
}

impl Printable for PrintedSheet<'_> {
    fn put(&self, page: &mut Page) {
        self.shop.sheet.put(page);
        page.new_sheet();
        self.shop.put(page);
        page.new_sheet();
        self.views(page);
        page.new_sheet();
        self.curves(page);
    }
}

impl PrintedSheet<'_> {
    fn views(&self, page: &mut Page) {
        page.heading("WHERE THE LINKS ARE");
        let outlines = match &self.outlines {
            Ok(outlines) => outlines,
            Err(why) => return page.paragraph(format!("Not drawn: {why}")),
        };
        for side in &outlines.sides {
            OutlinePage { side, units: self.shop.sheet.units }.put(page);
        }
        if let Some(why) = &outlines.unplanned {
            page.note(format!("Nothing planned is drawn: {why}"));
        }
    }

    fn curves(&self, page: &mut Page) {
        page.heading("CAMBER AND TOE OVER THE WHEEL'S TRAVEL");
        match &self.travel {
            Ok(travel) => put_curves(page, travel, self.shop.sheet.units),
            Err(why) => page.paragraph(format!("Not drawn: {why}")),
        }
    }
}
