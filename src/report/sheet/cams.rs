//! The cam bolts of the car.

use super::SheetPage;
use crate::car::PerSide;
use crate::plan::{CamUse, OtherCam};
use crate::report::cams::{cam_table, other_cams};
use crate::report::page::{BOX, Page};

impl SheetPage<'_> {
    pub(super) fn cam_bolts(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        page.heading("D. CAM BOLTS");
        let others = sides.each(|side| side.other_cams.as_slice());
        let [locked, left] = [CamUse::Locked, CamUse::AsFound].map(|stands| {
            let kept = |cams: &[OtherCam]| cams.iter().filter(|cam| cam.stands == stands).cloned().collect();
            let of: PerSide<Vec<OtherCam>> = others.map(kept);
            other_cams(of.each(Vec::as_slice), self.units)
        });
        if !locked.is_empty() {
            let count =
                others.iter().flat_map(|cams| cams.iter()).filter(|cam| cam.stands == CamUse::Locked).count();
            let bolts = if count == 1 { "One bolt".to_owned() } else { format!("{count} bolts") };
            page.item("-", format!("{bolts} to lock out, after where each stands was noted (step 2)."));
            page.items(BOX, &locked);
            page.item("-",
                "Lock-out bolts: property class 8.8 is common practice, or better where the car's maker used better; new self-locking \
                 nuts. A seized cam is a reason to stop, not to pull harder.",
            );
        }
        page.items(BOX, &left);
        if sides.iter().any(|side| !side.cams.is_empty()) {
            page.item(
                BOX,
                "Turn the cams that stay in use to about this, then to the reading; never past 90 degrees:",
            );
            cam_table(page, sides.each(|side| side.cams.as_slice()), self.units);
        } else if locked.is_empty() && left.is_empty() {
            page.item("-", "This car has none.");
        }
        page.gap();
    }
}
