//! The page of `lower`.

use std::fmt;

use super::heading::{Readings, heading};
use super::number::{Units, fixed, signed};
use super::sides::by_side;
use super::table::Table;
use super::words::{alike, item, measured_sentence, paragraph, touchy_sentence};
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

impl fmt::Display for LowerPage<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Lowering { sides, thrust_angle_deg, .. } = self.answer;
        heading(f, "Lowering, nothing adjusted", self.car, self.stance, self.units)?;

        writeln!(f, "THE WHEELS WILL READ")?;
        let mut readings = Readings::new(self.units.toe);
        readings.row("as measured", sides.each(|side| side.reference));
        readings.row("lowered", sides.each(|side| side.lowered.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.write(f)?;
        writeln!(f)?;
        paragraph(
            f,
            &format!(
                "Thrust angle, the way both rear wheels together point: {} deg (plus: to the left).",
                signed(*thrust_angle_deg, 2)
            ),
        )?;
        writeln!(f)?;

        writeln!(f, "THE LINKS SWING")?;
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
        table.write(f)?;
        writeln!(f)?;

        for side in sides {
            if let Some(sentence) = touchy_sentence(side.side, &side.certainty, self.units) {
                item(f, "-", &sentence)?;
            }
        }
        item(
            f,
            "-",
            "A rubber bush that is not loosened and clamped again at the new height stays wound up by its link's swing.",
        )?;
        item(f, "-", &measured_sentence(self.car, sides.each(|side| &side.band), self.units))?;
        item(f, "-", "To see whether cams or arms bring it back: rodset cams, rodset plan.")
    }
}
