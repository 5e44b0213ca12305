//! The page of `cams`.

use super::heading::{AnswerPage, ReadingsTable};
use super::hint::Hint;
use super::number::{Units, is_nothing, of_100, signed};
use super::page::{Page, Printable};
use super::reach::put_reach;
use super::sides::by_side;
use super::table::Table;
use super::words::{
    again_sentence, listed, measured_sentence, near_singular_sentence, stock_cams_sentence, together_sentence,
};
use crate::car::PerSide;
use crate::plan::{CamSetting, CamUse, CamVerdict, OtherCam};

impl Printable for AnswerPage<'_, CamVerdict> {
    fn put(&self, page: &mut Page) {
        let CamVerdict { sides, axle } = self.answer;
        self.head(page, "Stock cam bolts, no arm fitted", self.verdict(page));
        let turned = sides.each(|side| side.cams.as_slice());
        let is_turned = turned.iter().any(|cams| !cams.is_empty());
        let others = other_cams(sides.each(|side| side.other_cams.as_slice()), self.units);
        if is_turned || !others.is_empty() {
            page.heading(if self.answer.succeeds() {
                "TURN THE CAMS TO ABOUT THIS, then to the reading"
            } else {
                "AS FAR AS THE CAMS GO: one that ends stays there, the others meet their figures"
            });
            if is_turned {
                cam_table(page, turned, self.units);
            }
            page.items("-", others);
            page.gap();
        }

        put_reach(page, self.car, self.answer, self.units);
        let mut readings = ReadingsTable::headed("THE WHEELS WILL READ", self.units.toe);
        readings.row("only lowered", sides.each(|side| side.lowered));
        readings.row("cams as above", sides.each(|side| side.best.reading));
        readings.good_to(sides.each(|side| &side.band));
        readings.wanted(sides.each(|side| side.spec));
        readings.put(page);
        page.gap();
        for side in sides {
            for figure in &side.unset {
                page.item("-", format!("{figure}, {}: no cam sets it; it stays as it comes.", side.side));
            }
            page.items("-", near_singular_sentence(side.side, &side.certainty, self.units));
        }
        page.rest(|page| {
            if is_turned {
                page.paragraph(together_sentence(self.car, axle));
                page.gap();
            }
            self.how_it_stands(page);
            page.heading("BEFORE YOU RELY ON IT");
            page.item("-", "A cam is a sine: the first mark from the middle moves the pivot most, the last one hardly at all. Never turn \
                 it past 90 degrees: the pivot comes back and the clamp has nothing to hold.");
            page.item("-", "Turning a cam with the wheel loaded can damage the bolt: jack and stands first, then lower, roll and read \
                 again. Hold the cam while the nut is torqued, to the manual's figure. A seized cam is a reason to stop, not \
                 to pull harder.");
            page.item("-", measured_sentence(self.car, sides.each(|side| &side.band), self.units));
            page.items("-", again_sentence(sides.each(|side| &side.band)));
        });
    }
}

impl AnswerPage<'_, CamVerdict> {
    fn verdict(&self, page: &Page) -> String {
        let sentence = stock_cams_sentence(self.answer, self.units);
        if !self.answer.succeeds() {
            return format!(
                "NO. {sentence} Which arms bring it back, and by how many turns: {}.",
                page.hint(Hint::Plan)
            );
        }
        let chances = self.answer.sides.each(|side| of_100(side.probability_within_spec));
        format!(
            "YES. {sentence} Set as below and not looked at again the left wheel is within spec in {} of 100 such cars, the right \
             one in {}.",
            chances.left, chances.right
        )
    }
}

/// What becomes of the cams that are not turned, a sentence for each.
pub(super) fn other_cams(cams: PerSide<&[OtherCam]>, units: Units) -> Vec<String> {
    let same = |a: &OtherCam, b: &OtherCam| other_cam(a, units) == other_cam(b, units);
    // Cams of which the same is to be said are named together.
    let mut told: Vec<(String, String, Vec<String>)> = Vec::new();
    for shown in by_side(cams, |cam| &cam.link, same) {
        let (name, sides, what) = (shown.item.link.clone(), shown.words(), other_cam(shown.item, units));
        match told.iter_mut().find(|(of, known, _)| *of == sides && *known == what) {
            Some((.., names)) => names.push(name),
            None => told.push((sides.to_owned(), what, vec![name])),
        }
    }
    let sentence = |(sides, what, names): (String, String, Vec<String>)| {
        let cams = if names.len() == 1 { "cam" } else { "cams" };
        format!("{} {cams}, {sides}: {what}", listed(&names))
    };
    told.into_iter().map(sentence).collect()
}

fn other_cam(cam: &OtherCam, units: Units) -> String {
    match cam.stands {
        CamUse::Locked => "lock out in mid-slot; the new arm sets it.".to_owned(),
        CamUse::AsFound if is_nothing(cam.shift_mm) => "leave as it stands, in the middle.".to_owned(),
        CamUse::AsFound => {
            let marks = cam.marks.map_or(String::new(), |marks| format!(" ({} marks)", signed(marks, 1)));
            let way = if cam.towards_wheel { "outboard" } else { "inboard" };
            format!(
                "leave as it stands, at {} deg{marks}, the pivot {} {way}.",
                signed(cam.setting_deg, 0),
                units.with_unit(cam.shift_mm.abs())
            )
        }
    }
}

/// Writes cam settings in the words of the bolt, and what the words mean.
pub(super) fn cam_table(page: &mut Page, cams: PerSide<&[CamSetting]>, units: Units) {
    cam_rows(page, cams, units);
    cam_words(page);
}

/// Writes cam settings: how far the pivot goes and which way, how many degrees and marks that is.
pub(super) fn cam_rows(page: &mut Page, cams: PerSide<&[CamSetting]>, units: Units) {
    let [pivot, next] = ["pivot", "next"].map(|head| format!("{head} {}", units.length_name()));
    let mut table = Table::new(&["<cam", "<side", "<sets", "angle", "marks", &pivot, "<", &next, "deg", "<"]);
    table.sides(cams, units, |cam| [cam.link.clone()], cam_row);
    page.table(table);
}

/// What the words of [`cam_rows`] mean.
pub(super) fn cam_words(page: &mut Page) {
    page.note("angle: deg from the middle, plus the way the profile's `along` points;");
    page.note("next: what one more mark the same way would still change; END: nothing");
}

fn cam_row(cam: &CamSetting, units: Units) -> [String; 8] {
    let way = match cam.towards_wheel {
        _ if is_nothing(cam.shift_mm) => "middle",
        true => "outboard",
        false => "inboard",
    };
    [
        cam.sets.to_string(),
        signed(cam.setting_deg, 0),
        cam.marks.map_or("-".to_owned(), |marks| signed(marks, 1)),
        units.length(cam.shift_mm.abs()),
        way.to_owned(),
        cam.next_mark_mm.map_or("-".to_owned(), |mark| units.length(mark.abs())),
        cam.next_mark_deg.map_or("-".to_owned(), |mark| signed(mark, 2)),
        if at_its_end(cam) { "END".to_owned() } else { String::new() },
    ]
}

/// Whether a cam has nothing left that a page would show.
pub(super) fn at_its_end(cam: &CamSetting) -> bool {
    is_nothing(cam.reserve_mm)
}
