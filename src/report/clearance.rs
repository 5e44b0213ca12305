//! The page of `clearance`.

use super::heading::AnswerPage;
use super::hint::Hint;
use super::page::{Page, Printable};
use super::sides::by_pair;
use super::table::Table;
use super::words::{BY_HAND, CAUTIONS, alike, ends_early, height_note, missing, stretch_words, travel_words};
use crate::plan::{Clearance, ClearanceSide, Gap, Nearest};

/// Pairs that stay further apart than this over the whole travel are only counted, mm.
const NEAR: f64 = 50.0;

impl Printable for AnswerPage<'_, Clearance> {
    fn put(&self, page: &mut Page) {
        self.head(page, "Clearance", self.verdict());
        ends_early(page, self.answer.sides.each(|side| &side.travel));
        self.table(page);
        self.remarks(page);
        let is_known = self.gaps().next().is_some();
        if !is_known {
            missing(page, &self.answer.missing);
        }
        page.rest(|page| {
            if is_known {
                page.paragraph(height_note(self.stance, self.units));
                page.gap();
                missing(page, &self.answer.missing);
            }
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            page.item("-", BY_HAND);
            page.item("-", "Gaps are between the shapes as measured: bushes give, a tyre bulges in a corner and grows with speed, and a \
                 new tyre is larger than a worn one.");
            page.item("-", "A bent arm is taken to keep its clocking as its bushes hold it. One on two rod ends rolls over as far as they \
                 let it: clock both ends at the new height, lock them, and look at the gap with the arm rolled either way.");
            page.item("-", CAUTIONS[1]);
        });
    }
}

impl AnswerPage<'_, Clearance> {
    fn gaps(&self) -> impl Iterator<Item = (&ClearanceSide, &Gap)> {
        self.answer.sides.iter().flat_map(|side| side.gaps.iter().map(move |gap| (side, gap)))
    }

    fn verdict(&self) -> String {
        let Some((side, gap)) = self.gaps().min_by(|a, b| a.1.counts().from_the_worst(b.1.counts())) else {
            return "NOT KNOWN: nothing could be held against anything yet; what to add stands below."
                .to_owned();
        };
        let arms = if gap.planned.is_some() { "the arms as planned" } else { "the stock arms" };
        let travel = travel_words(&side.travel, self.units);
        if self.answer.succeeds() {
            format!(
                "Nothing touches on paper with {arms}, wheel {travel}. The tightest is {} to {}, {}: {}.",
                gap.part,
                gap.keepout,
                side.side,
                self.units.with_unit(gap.counts().least_mm)
            )
        } else {
            format!(
                "NO. SOMETHING TOUCHES with {arms}, wheel {travel}: {} and {}, {}, first of all.",
                gap.part, gap.keepout, side.side
            )
        }
    }

    fn table(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().all(|side| side.gaps.is_empty()) {
            return;
        }
        let name = self.units.length_name();
        page.heading("LEAST GAPS over the whole travel");
        let mut table = Table::new(&[
            "<part",
            "<to",
            "<side",
            &format!("least {name}"),
            "wheel at",
            &format!("lip {name}"),
            "at drop",
            "stock arm",
            "<",
        ]);
        let ordered = sides.each(|side| {
            let mut gaps = side.gaps.clone();
            gaps.sort_by(|a, b| a.counts().from_the_worst(b.counts()));
            gaps
        });
        let together = |a: &Gap, b: &Gap| a.part == b.part && a.keepout == b.keepout;
        let shown = by_pair(ordered.each(Vec::as_slice), together, look_alike);
        let near = |gap: &Gap| gap.counts().least_mm < NEAR;
        let far = shown.iter().filter(|shown| !near(shown.item)).count();
        // If nothing is near, the nearest all the same.
        let count = if far == shown.len() { 1 } else { shown.len() };
        for shown in shown.iter().take(count).filter(|shown| near(shown.item) || count == 1) {
            table.row(self.row(shown.item, shown.side));
        }
        page.table(table);
        if far > 0 {
            let text = format!(
                "The others stay {} apart or more; {} has them all.",
                self.units.with_unit(NEAR),
                page.hint(Hint::All)
            );
            page.paragraph(text);
        }
        if shown.iter().any(|shown| shown.item.counts().inside()) {
            page.paragraph("inside: the middle of the arm, or more of the tyre than its shoulder, is within the shape; how deep is not known.");
        }
        page.gap();
    }

    fn row(&self, gap: &Gap, side: &str) -> [String; 9] {
        let nearest = gap.counts();
        let stock = if gap.planned.is_some() { self.least(&gap.stock) } else { "-".to_owned() };
        let mark = if gap.overlaps_as_measured() {
            "MEASURE"
        } else if !nearest.touches_mm.is_empty() {
            "TOUCHES"
        } else if nearest.least_mm < self.answer.good_to_mm {
            "TIGHT"
        } else {
            ""
        };
        // What is inside has no worst height that could be told.
        let [height, lip] = if nearest.inside() {
            [None, None]
        } else {
            [
                Some(self.units.length_signed(nearest.height_mm)),
                nearest.arch_gap_mm.map(|lip| self.units.length(lip)),
            ]
        }
        .map(|cell| cell.unwrap_or("-".to_owned()));
        [
            gap.part.clone(),
            gap.keepout.clone(),
            side.to_owned(),
            self.least(nearest),
            height,
            lip,
            self.gap(nearest.at_drop_mm, nearest.inside_at_drop()),
            stock,
            mark.to_owned(),
        ]
    }

    fn remarks(&self, page: &mut Page) {
        if self.gaps().next().is_none() {
            return;
        }
        page.heading("REMARKS");
        for (side, gap) in self.gaps() {
            let touches = &gap.counts().touches_mm;
            if touches.is_empty() && !gap.overlaps_as_measured() {
                continue;
            }
            let what = format!("{} to {}, {}", gap.part, gap.keepout, side.side);
            let text = if gap.overlaps_as_measured() {
                format!(
                    "{what}: they OVERLAP AS MEASURED, with the stock arm where the car stood on the day. Either a point is \
                     wrong: measure both again; or the shape is what holds the part itself, such as its own bracket: give the \
                     shape `only = [...]` with the names of the parts that it concerns. Until then nothing is known of this pair."
                )
            } else {
                let stock = match (&gap.planned, gap.stock.touches_mm.is_empty()) {
                    (None, _) => "",
                    (Some(_), false) => " The stock arm touches too.",
                    (Some(_), true) => " The stock arm does not.",
                };
                format!(
                    "{what}: TOUCHES with the wheel {}.{stock} Do not drive it so: another arm, a higher stop, or less drop.",
                    stretch_words(touches, &side.travel, self.units)
                )
            };
            page.item("-", text);
        }
        page.item("-", format!(
                "A gap is good to {} at your [sigma] of {} a point (95 of 100); one below that is called TIGHT: look at \
                 it with the knuckle raised to that height.",
                self.units.with_unit(self.answer.good_to_mm),
                self.units.with_unit(self.car.sigmas.point)
            ));
        page.gap();
    }

    /// The least gap over the travel.
    fn least(&self, nearest: &Nearest) -> String {
        self.gap(nearest.least_mm, nearest.inside())
    }

    /// A gap; of a core that is inside nobody can say how deep.
    fn gap(&self, gap_mm: f64, inside: bool) -> String {
        if inside { "inside".to_owned() } else { self.units.length(gap_mm) }
    }
}

fn look_alike(a: &Gap, b: &Gap) -> bool {
    let (here, there) = (a.counts(), b.counts());
    alike(here.least_mm, there.least_mm)
        && alike(here.height_mm, there.height_mm)
        && alike(here.at_drop_mm, there.at_drop_mm)
        && alike(a.stock.least_mm, b.stock.least_mm)
}
