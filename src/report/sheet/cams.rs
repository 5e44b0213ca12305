//! The cam bolts of the car.

use super::SheetPage;
use crate::report::cams::put_cams;
use crate::report::page::{BOX, Page};

impl SheetPage<'_> {
    pub(super) fn cam_bolts(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        page.heading("D. CAM BOLTS");
        let locked = self.cams_under_arms();
        if !locked.is_empty() && self.fitting.keep_cams {
            page.item(
                "-",
                format!("The cams under the new arms stay as they are set: {}.", locked.join(", ")),
            );
        } else if !locked.is_empty() {
            let text = format!(
                "Write down where each stands (step 2), then lock it out at the middle of its slot, {} in all: {}.",
                if locked.len() == 1 { "one bolt".to_owned() } else { format!("{} bolts", locked.len()) },
                locked.join(", ")
            );
            page.item(BOX, text);
            page.item("-",
                "Lock-out bolts: property class 8.8 is common practice; where the car's maker used a higher class, that \
                 class or better. New self-locking nuts. A seized cam is a reason to stop, not to pull harder.",
            );
        }
        if sides.iter().any(|side| !side.cams.is_empty()) {
            page.item(
                BOX,
                "Turn the cams that stay in use to about this, then to the reading; never past 90 degrees:",
            );
            put_cams(page, sides.each_ref().map(|side| side.cams.as_slice()), self.units);
        } else if locked.is_empty() {
            page.item("-", "None has to be touched.");
        }
        page.gap();
    }
}
