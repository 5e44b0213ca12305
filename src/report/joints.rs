//! The page of `joints`.

use super::heading::AnswerPage;
use super::number::{Units, fixed};
use super::page::{Page, Printable};
use super::sides::by_pair;
use super::table::Table;
use super::words::{BY_HAND, CAUTIONS, ends_early, height_note, missing, stretch_words, travel_words};
use crate::car::PerSide;
use crate::plan::{ArmEnd, Bush, JointAngles, JointSide, Plunge, RodEnd, ShaftAngles, ShaftJoint, Worst};

impl Printable for AnswerPage<'_, JointAngles> {
    fn put(&self, page: &mut Page) {
        let (verdict, is_known) = self.verdict();
        self.head(page, "Joints", verdict);
        ends_early(page, self.answer.sides.each(|side| &side.travel));
        self.rod_ends(page);
        self.driveshaft(page);
        if !is_known {
            missing(page, &self.answer.missing);
        }
        page.rest(|page| {
            self.heights(page);
            self.bushes(page);
            if is_known {
                missing(page, &self.answer.missing);
            }
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            page.item("-", BY_HAND);
            page.item("-", "Rod ends: set both square to their bolts at the new height, hold them, tighten the lock nuts; otherwise half of \
                 the angle is used up standing still. A rod end that binds levers its bolt or unscrews its thread.");
            page.item("-", "Bushes and driveshaft joints: the makers' figures rule. Common practice, no source: a bush wound by more than \
                 10 to 15 deg standing still does not last.");
            page.item("-", CAUTIONS[1]);
        });
    }
}

impl AnswerPage<'_, JointAngles> {
    /// Whether anything binds, and whether anything could be looked at.
    fn verdict(&self) -> (String, bool) {
        let PerSide { left, right } = &self.answer.sides;
        let looked = |side: &JointSide| !side.rod_ends.is_empty() || side.driveshaft.is_some();
        let is_known = looked(left) || looked(right);
        let verdict = if !self.answer.succeeds() {
            "NO. SOMETHING BINDS on the way: see the marks."
        } else if is_known {
            "Nothing binds on paper, as far as the profile gives limits."
        } else {
            "NOT KNOWN: no rod end and no driveshaft could be looked at; what to add stands below."
        };
        (format!("{verdict} Wheel {}.", travel_words(&left.travel, self.units)), is_known)
    }

    fn bushes(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().all(|side| side.bushes.is_empty()) {
            return;
        }
        page.heading("RUBBER BUSHES: loosen every one and clamp it again at the new height");
        let gaps = sides.each(|side| side.arch_gap_mm.map(|gap| self.units.with_unit(gap))).all();
        let place = gaps.map_or_else(String::new, |gaps| {
            let gap = gaps.alike_or(|left, right| format!("{left} on the left, {right} on the right"));
            format!("There hub centre to arch lip is {gap}. ")
        });
        page.paragraph(format!(
                "{place}How far each is wound, deg, if it is left as it was (standing, worst), clamped with the wheel hanging \
                 (standing), clamped again at the new height (worst):"
            ));
        let mut table =
            Table::new(&["<link", "<end", "<side", "as it was", "worst", "hanging", "clamped again"]);
        let name = |bush: &Bush| [bush.link.clone(), end_name(bush.end).to_owned()];
        table.sides(sides.each(|side| &side.bushes[..]), self.units, name, |bush, _| bush_row(bush));
        page.table(table);
        page.gap();
    }

    fn rod_ends(&self, page: &mut Page) {
        let sides = &self.answer.sides;
        if sides.iter().all(|side| side.rod_ends.is_empty()) {
            return;
        }
        page.heading("ROD ENDS: how far each tilts, deg, locked square to its bolt at the new height");
        let units = self.units;
        let lip = format!("lip {}", units.length_name());
        let mut table = Table::new(&[
            "<arm", "<end", "<side", "at drop", "worst", "wheel at", &lip, "limit", "left", "<",
        ]);
        let name = |rod_end: &RodEnd| [rod_end.link.clone(), end_name(rod_end.end).to_owned()];
        table.sides(sides.each(|side| &side.rod_ends[..]), units, name, rod_end_row);
        page.table(table);
        if sides.iter().flat_map(|side| &side.rod_ends).any(|end| !end.both_bolts_known) {
            page.paragraph("*: the bolt at the other end is not known, so what the two bolts twist is left out; the tilt may be more.");
        }
        for side in sides {
            for rod_end in &side.rod_ends {
                if rod_end.binds_mm.is_empty() {
                    continue;
                }
                let text = format!(
                    "{}, {} end, {}: BINDS with the wheel {}. Do not drive it so: a joint or spacers of more angle, or less drop.",
                    rod_end.link,
                    end_name(rod_end.end),
                    side.side,
                    stretch_words(&rod_end.binds_mm, &side.travel, units)
                );
                page.item("!", text);
            }
        }
        page.gap();
    }

    /// What the heights in the tables above are counted from.
    fn heights(&self, page: &mut Page) {
        let told = |side: &JointSide| !side.rod_ends.is_empty() || side.driveshaft.is_some();
        if self.answer.sides.iter().any(told) {
            page.paragraph(height_note(self.stance, self.units));
            page.gap();
        }
    }

    fn driveshaft(&self, page: &mut Page) {
        let shafts = self.answer.sides.each(|side| side.driveshaft.as_slice());
        if shafts.iter().all(|shafts| shafts.is_empty()) {
            return;
        }
        page.heading(
            "DRIVESHAFT: how far its joints bend; how far it slides in (minus) and out from\nwhere it was",
        );
        let (units, same) = (self.units, self.units.to_compare());
        let lip = format!("lip {}", units.length_name());
        let mut table =
            Table::new(&["<", "<side", "before", "at drop", "worst", "wheel at", &lip, "limit", "left", "<"]);
        for shown in by_pair(shafts, |_, _| true, |a, b| shaft_rows(a, same) == shaft_rows(b, same)) {
            for (name, row) in shaft_rows(shown.item, units) {
                table.row([name, shown.side.to_owned()].into_iter().chain(row));
            }
        }
        page.table(table);
        page.gap();
    }
}

/// What an end of an arm is called.
pub(super) fn end_name(end: ArmEnd) -> &'static str {
    match end {
        ArmEnd::Subframe => "subframe",
        ArmEnd::Knuckle => "knuckle",
    }
}

fn degrees(angle: f64) -> String {
    fixed(angle, 1)
}

fn lip(gap: Option<f64>, units: Units) -> String {
    gap.map_or("-".to_owned(), |gap| units.length(gap))
}

fn bush_row(bush: &Bush) -> [String; 4] {
    [
        bush.not_loosened_deg.map_or("new arm".to_owned(), degrees),
        bush.not_loosened_worst.map_or("-".to_owned(), |worst| degrees(worst.angle_deg)),
        degrees(bush.clamped_hanging_deg),
        degrees(bush.clamped_at_drop_worst.angle_deg),
    ]
}

fn rod_end_row(rod_end: &RodEnd, units: Units) -> [String; 7] {
    let Worst { angle_deg, height_mm, arch_gap_mm } = rod_end.worst;
    let mark = match rod_end.remaining_deg {
        Some(left) if left < 0.0 => "BINDS",
        _ if !rod_end.both_bolts_known => "*",
        _ => "",
    };
    [
        degrees(rod_end.at_drop_deg),
        degrees(angle_deg),
        units.length_signed(height_mm),
        lip(arch_gap_mm, units),
        rod_end.limit_deg.map_or("-".to_owned(), degrees),
        rod_end.remaining_deg.map_or("-".to_owned(), degrees),
        mark.to_owned(),
    ]
}

/// The rows of a driveshaft: both joints, both ends of its sliding.
fn shaft_rows(shaft: &ShaftAngles, units: Units) -> [(String, [String; 8]); 4] {
    let name = units.length_word();
    let joint = |joint: &ShaftJoint| {
        let Worst { angle_deg, height_mm, arch_gap_mm } = joint.worst;
        let mark = if joint.limit_deg.is_some_and(|limit| angle_deg > limit) { "BINDS" } else { "" };
        [
            degrees(joint.reference_deg),
            degrees(joint.at_drop_deg),
            degrees(angle_deg),
            units.length_signed(height_mm),
            lip(arch_gap_mm, units),
            joint.limit_deg.map_or("-".to_owned(), degrees),
            joint.remaining_deg.map_or("-".to_owned(), degrees),
            mark.to_owned(),
        ]
    };
    let plunge = |plunge: &Plunge| {
        let mark = if plunge.remaining_mm.is_some_and(|left| left < 0.0) { "PAST ITS END" } else { "" };
        [
            "-".to_owned(),
            units.length_signed(shaft.plunge_at_drop_mm),
            units.length_signed(plunge.plunge_mm),
            units.length_signed(plunge.height_mm),
            lip(plunge.arch_gap_mm, units),
            "-".to_owned(),
            plunge.remaining_mm.map_or("-".to_owned(), |left| units.length(left)),
            mark.to_owned(),
        ]
    };
    [
        ("inner deg".to_owned(), joint(&shaft.inner)),
        ("outer deg".to_owned(), joint(&shaft.outer)),
        (format!("in {name}"), plunge(&shaft.pushed_in)),
        (format!("out {name}"), plunge(&shaft.pulled_out)),
    ]
}
