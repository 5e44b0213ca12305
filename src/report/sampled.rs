//! What sampling says, under the page of a command.

use super::heading::ReadingsTable;
use super::number::{Units, of_100, signed};
use super::page::{Page, Printable};
use super::table::Table;
use crate::car::PerSide;
use crate::plan::{Interval, Reading, Sampled, SampledSide};

/// Sampled bands, for people.
#[derive(Debug)]
pub(crate) struct SampledPage<'a> {
    /// The samples.
    pub(crate) sampled: &'a Sampled,
    /// The units shown.
    pub(crate) units: Units,
}

impl Printable for SampledPage<'_> {
    fn put(&self, page: &mut Page) {
        let Sampled { samples, seed, sides, within_spec, without_position } = self.sampled;
        page.gap();
        page.line(format!("{samples} CARS THAT MAY BE THIS ONE, each solved exactly (seed {seed})"));
        let Some(sides) = sides else {
            page.paragraph(
                "None of them has a position at this height: the links would end before it. So there is nothing that 95 of 100 would \
                 read; measure the points better, or lower the car less.",
            );
            return;
        };
        let mut readings = ReadingsTable::new(self.units.toe);
        let mut row = |stage: &str, of: fn(&Interval) -> f64| {
            let reading =
                |side: &SampledSide| Reading { camber_deg: of(&side.camber_deg), toe_deg: of(&side.toe_deg) };
            readings.row_of_each(stage, sides.each(reading));
        };
        row("95 of 100 read from", |interval| interval.low);
        row("  half of them below", |interval| interval.middle);
        row("  to", |interval| interval.high);
        readings.put(page);
        page.gap();
        self.arms(page, sides);
        if let Some(part) = within_spec {
            let text = format!(
                "Both wheels at once within spec, before any correction: {} of 100 cars.",
                of_100(*part)
            );
            page.paragraph(text);
        }
        Self::cams(self.units, page, sides);
        if *without_position > 0 {
            let text = format!(
                "{without_position} of the cars have no position at this height: the links would end before it."
            );
            page.paragraph(text);
        }
    }
}

impl SampledPage<'_> {
    fn arms(&self, page: &mut Page, sides: &PerSide<SampledSide>) {
        if sides.iter().all(|side| side.arms.is_empty()) {
            return;
        }
        let from = format!("{} from", self.units.length_name());
        let mut table = Table::new(&["<correct later by", "<side", "turns from", "to", &from, "to"]);
        for (side, name) in sides.iter().zip(["left", "right"]) {
            for arm in &side.arms {
                let Interval { low, high, .. } = arm.correction_turns;
                let lengths = [arm.correction_mm.low, arm.correction_mm.high];
                let [from, to] = lengths.map(|length| self.units.length_signed(length));
                table.row([arm.link.clone(), name.to_owned(), signed(low, 2), signed(high, 2), from, to]);
            }
        }
        page.table(table);
        page.line("  95 of 100; plus: longer than set");
        page.gap();
    }

    fn cams(units: Units, page: &mut Page, sides: &PerSide<SampledSide>) {
        for (side, name) in sides.iter().zip(["left", "right"]) {
            if let (Some(part), Some(run_out)) = (side.cams_reach, side.run_out_drop_mm) {
                let text = format!(
                    "The stock cams reach the spec, {name}: {} of 100 cars; they reach it up to a drop of {} to {}.",
                    of_100(part),
                    units.length(run_out.low),
                    units.with_unit(run_out.high)
                );
                page.paragraph(text);
            }
        }
    }
}
