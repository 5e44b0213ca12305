//! Bench sheet, shop page and drawings as one file to be printed.

use super::html::document;
use super::outline::outline_half;
use super::page::Page;
use super::sheet::SheetPage;
use super::shop::ShopPage;
use super::travel::{CURVES_NOTE, travel_halves};
use crate::plan::{Outlines, TravelCurves};

/// Everything that is printed for one plan.
#[derive(Debug)]
pub struct PrintedSheet<'a> {
    /// What lies on the bench.
    pub sheet: &'a SheetPage<'a>,
    /// What the shop gets.
    pub shop: &'a ShopPage<'a>,
    /// The links as measured, lowered and planned.
    pub outlines: &'a Outlines,
    /// Camber and toe over the travel, or why they are not drawn.
    pub travel: Result<&'a TravelCurves, String>,
}

impl PrintedSheet<'_> {
    /// The whole as an HTML file.
    pub fn html(&self) -> String {
        let [bench, work] = self.sheet.parts();
        let pages = [bench.then(work), self.shop.page(), self.views(), self.curves()];
        document(&format!("Bench sheet: {}", self.sheet.car.name), &foot(self.sheet), &pages)
    }

    fn views(&self) -> Page {
        let mut page = Page::default();
        page.heading("WHERE THE LINKS ARE");
        for side in &self.outlines.sides {
            page.picture(outline_half(side, self.sheet.units));
        }
        if let Some(why) = &self.outlines.unplanned {
            page.note(format!("Nothing planned is drawn: {why}"));
        }
        page
    }

    fn curves(&self) -> Page {
        let mut page = Page::default();
        page.heading("CAMBER AND TOE OVER THE WHEEL'S TRAVEL");
        match &self.travel {
            Ok(travel) => {
                for half in travel_halves(travel, self.sheet.units) {
                    page.picture(half);
                }
                page.note(CURVES_NOTE);
            }
            Err(why) => page.paragraph(format!("Not drawn: {why}")),
        }
        page
    }
}

impl ShopPage<'_> {
    /// The page by itself as an HTML file.
    pub fn html(&self) -> String {
        let title = format!("For the alignment shop: {}", self.sheet.car.name);
        document(&title, &foot(self.sheet), &[self.page()])
    }
}

/// What every printed file ends with.
fn foot(sheet: &SheetPage<'_>) -> String {
    let origin = sheet.origin;
    format!("Worked out on {} from {}, SHA-256 {}", origin.made, origin.profile, origin.digest)
}
