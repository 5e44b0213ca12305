//! The page of `lower`.

use super::heading::{AnswerPage, Readings};
use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use super::words::{again_sentence, measured_sentence, touchy_sentence};
use crate::plan::{LoweredSide, Lowering, Swing};

impl Printable for AnswerPage<'_, Lowering> {
    fn put(&self, page: &mut Page) {
        let Lowering { sides, thrust_angle_deg, .. } = self.answer;
        self.head(page, "Lowering, nothing adjusted");

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
        let cells = |link: &Swing, units: Units| [units.length(link.length_mm), fixed(link.swing_deg, 1)];
        table.sides(links, self.units, |link| [link.name.clone()], cells);
        page.table(table);
        page.gap();

        let touchy = |side: &LoweredSide| touchy_sentence(side.side, &side.certainty, self.units);
        page.items("-", sides.iter().filter_map(touchy));
        page.item("-", "A rubber bush that is not loosened and clamped again at the new height stays wound up by its link's swing.");
        page.item("-", measured_sentence(self.car, sides.each(|side| &side.band), self.units));
        page.items("-", again_sentence(sides.each(|side| &side.band)));
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
