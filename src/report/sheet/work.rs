//! What is done on the car, in order, and the readings.

use super::{SheetPage, wound_sentence};
use crate::car::Hold;
use crate::report::heading::{ReadingsTable, SIGNS};
use crate::report::order::{COMMON, Job, steps};
use crate::report::page::{BLANK, BOX, Page};
use crate::report::table::Table;

impl SheetPage<'_> {
    pub(super) fn order_of_work(&self, page: &mut Page) {
        let gaps = self.answer.sides.each(|side| side.arch_gap_mm.filter(|_| !self.past_travel()));
        let mut links: Vec<&str> = self.arms().iter().map(|shown| shown.item.link.as_str()).collect();
        links.extend(self.kept_arms().iter().map(|shown| shown.item.link.as_str()));
        links.dedup();
        page.heading("C. ON THE CAR, in this order");
        let job = Job {
            arms: !links.is_empty(),
            cams: self.answer.sides.iter().any(|side| !side.cams.is_empty()),
            struts: self.car.sides.left.links.iter().any(|link| link.hold == Hold::Top),
            gaps: gaps.map(|gap| gap.map_or(BLANK.to_owned(), |gap| self.units.with_unit(gap))),
            wound: self.joints.map(wound_sentence).unwrap_or_default(),
            blank: SHORT,
        };
        page.columns(|page| {
            for (number, step) in (1..).zip(steps(&job)) {
                page.item(
                    format!("{BOX} {number:>2}."),
                    format!("{}: {}", step.name.to_uppercase(), step.text),
                );
                if let Some(caution) = step.caution {
                    page.item("      !", caution);
                }
                if step.name == "torque" {
                    page.table(bolts(&links));
                }
            }
            page.note(COMMON);
            page.gap();
            self.cam_bolts(page);
            self.corrections(page);
        });
    }

    pub(super) fn readings(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        page.heading("F. READINGS");
        let mut readings = ReadingsTable::new(self.units.toe);
        readings.row("expected", sides.each(|side| side.result.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.wanted(sides.each(|side| side.spec));
        readings.blank("before the work");
        readings.blank("first reading");
        readings.blank("after tightening");
        readings.blank("after the drive");
        page.beside(|page| {
            readings.put_table(page);
            page.gap();
            page.table(car_as_read());
        });
        page.note(SIGNS);
        page.gap();
    }
}

/// Blanks for what the car was when it was read.
fn car_as_read() -> Table {
    const PRESSURES: [&str; 4] = ["front left", "front right", "rear left", "rear right"];
    let mut table = Table::new(&["<the car as read", ""]);
    for what in ["registration", "odometer", "loading"] {
        table.row([what, SHORT].map(str::to_owned));
    }
    for tyre in PRESSURES {
        table.row([format!("{tyre} tyre, bar"), SHORT.to_owned()]);
    }
    table
}

/// A blank for a figure in a narrow place.
const SHORT: &str = "______";

/// Every bolt with a blank for the manual's figure, and a box for each end of each side.
fn bolts(links: &[&str]) -> Table {
    let mut table = Table::new(&["<bolts of", "<N m", "<left: car", "<wheel", "<right: car", "<wheel"]);
    for link in links.iter().copied().chain(["other links", "anti-roll bar", "damper"]) {
        table.row([link, SHORT, BOX, BOX, BOX, BOX].map(str::to_owned));
    }
    table
}
