//! The page of `lower`.

use super::heading::{AnswerPage, ReadingsTable};
use super::hint::Hint;
use super::number::{Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use super::words::{again_sentence, measured_sentence, near_singular_sentence};
use crate::car::Hand;
use crate::plan::{LoweredSide, Lowering, Swing};

impl Printable for AnswerPage<'_, Lowering> {
    fn put(&self, page: &mut Page) {
        let Lowering { sides, thrust_angle_deg, .. } = self.answer;
        self.head(page, "Lowering, nothing adjusted", self.verdict(page));

        let mut readings = ReadingsTable::headed("THE WHEELS WILL READ", self.units.toe);
        readings.row("as measured", sides.each(|side| side.reference));
        readings.row("lowered", sides.each(|side| side.lowered.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.put(page);
        page.gap();
        page.paragraph(format!(
            "Thrust angle, the way both rear wheels together point: {} deg (plus: to the left).",
            signed(*thrust_angle_deg, 2)
        ));
        let near_singular =
            |side: &LoweredSide| near_singular_sentence(side.side, &side.certainty, self.units);
        page.items("-", sides.iter().filter_map(near_singular));
        page.gap();

        page.rest(|page| {
            page.heading("THE LINKS SWING");
            let mut table =
                Table::new(&["<link", "<side", &format!("length {}", self.units.length_name()), "swing deg"]);
            let links = sides.each(|side| side.links.as_slice());
            let cells = |link: &Swing, units: Units| [units.length(link.length_mm), fixed(link.swing_deg, 1)];
            table.sides(links, self.units, |link| [link.name.clone()], cells);
            page.table(table);
            page.gap();
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            page.item("-", "A rubber bush that is not loosened and clamped again at the new height stays wound up by its link's swing.");
            page.item("-", measured_sentence(self.car, sides.each(|side| &side.band), self.units));
            page.items("-", again_sentence(sides.each(|side| &side.band)));
        });
    }
}

impl AnswerPage<'_, Lowering> {
    /// What becomes of the wheels, and what to ask next.
    fn verdict(&self, page: &Page) -> String {
        let toe = self.units.toe;
        let reads = self.answer.sides.each(|side| side.lowered.reading);
        let ask = format!(
            "Whether the cams bring it back: {}; which arms, by how many turns: {}.",
            page.hint(Hint::Cams),
            page.hint(Hint::Plan)
        );
        format!(
            "Lowering by itself takes camber to {} deg left and {} right, toe to {} {} left and {} right. {ask}",
            signed(reads.left.camber_deg, 2),
            signed(reads.right.camber_deg, 2),
            toe.show(Hand::Left, reads.left.toe_deg),
            toe.name(),
            toe.show(Hand::Right, reads.right.toe_deg),
        )
    }
}
