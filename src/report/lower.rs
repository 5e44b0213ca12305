//! The page of `lower`.

use super::heading::{Readings, head};
use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::sides::by_side;
use super::table::Table;
use super::words::{alike, measured_sentence, touchy_sentence};
use crate::car::{Car, Stance};
use crate::plan::Lowering;

/// What lowering does by itself, for people.
#[derive(Debug)]
pub struct LowerPage<'a> {
    /// The car.
    pub car: &'a Car,
    /// How it stands.
    pub stance: &'a Stance,
    /// The answer.
    pub answer: &'a Lowering,
    /// The units shown.
    pub units: Units,
}

impl Printable for LowerPage<'_> {
    fn put(&self, page: &mut Page) {
        let Lowering { sides, thrust_angle_deg, .. } = self.answer;
        head(page, "Lowering, nothing adjusted", self.car, self.stance, self.units);

        page.heading("THE WHEELS WILL READ");
        let mut readings = Readings::new(self.units.toe);
        readings.row("as measured", sides.each(|side| side.reference));
        readings.row("lowered", sides.each(|side| side.lowered.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.put(page);
        page.gap();
        page.paragraph(format!(
            "Thrust angle, the way both rear wheels together point: {} deg (plus: to the left).",
            signed(*thrust_angle_deg, 2)
        ));
        page.gap();

        page.heading("THE LINKS SWING");
        let mut table =
            Table::new(&["<link", "<side", &format!("length {}", self.units.length_name()), "swing deg"]);
        let links = sides.each(|side| side.links.as_slice());
        let same = |a: &crate::plan::Swing, b: &crate::plan::Swing| {
            alike(a.length_mm, b.length_mm) && alike(a.swing_deg, b.swing_deg)
        };
        for shown in by_side(links, |link| &link.name, same) {
            let link = shown.item;
            table.row([
                link.name.clone(),
                shown.side.to_owned(),
                self.units.length(link.length_mm),
                fixed(link.swing_deg, 1),
            ]);
        }
        page.table(table);
        page.gap();

        for side in sides {
            if let Some(sentence) = touchy_sentence(side.side, &side.certainty, self.units) {
                page.item("-", sentence);
            }
        }
        page.item("-", "A rubber bush that is not loosened and clamped again at the new height stays wound up by its link's swing.");
        page.item("-", measured_sentence(self.car, sides.each(|side| &side.band), self.units));
        page.item(
            "-",
            format!(
                "To see whether cams or arms bring it back: {}, {}.",
                page.hint(Hint::Cams),
                page.hint(Hint::Plan)
            ),
        );
    }
}
