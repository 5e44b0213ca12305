//! The page of `fit`.

use super::heading::ReadingsTable;
use super::hint::Hint;
use super::number::{LengthUnit, Units, fixed, signed};
use super::page::{Page, Printable};
use super::table::Table;
use crate::car::{Car, PerSide, Stance};
use crate::geometry::Figure;
use crate::measure::network::CRITICAL;
use crate::measure::{Fitted, MovedNumber, Round};
use crate::plan::{FitAnswer, Lowering};

/// Moves of less than this many standard deviations are not worth a line.
const WORTH_SAYING: f64 = 0.3;
const MOST_NAMED: usize = 6;
/// Characters of a title that a row has room for.
const MOST_OF_A_TITLE: usize = 16;

/// What readings taught, for people.
#[derive(Debug)]
pub(crate) struct FitPage<'a> {
    /// The car as it was measured.
    pub(crate) car: &'a Car,
    /// The readings.
    pub(crate) rounds: &'a [Round],
    /// The height for which predictions are compared, if one was asked for.
    pub(crate) stance: Option<&'a Stance>,
    pub(crate) answer: &'a FitAnswer,
    /// The units shown.
    pub(crate) units: Units,
    /// Name of the profile that was written, if one was.
    pub(crate) written: Option<&'a str>,
}

impl Printable for FitPage<'_> {
    fn put(&self, page: &mut Page) {
        page.verdict(self.verdict());
        page.title(format!("Fit to readings: {}", self.car.name));
        page.gap();
        self.predictions(page);
        self.readings(page);
        self.lengths(page);
        self.moved(page);
        self.next(page);
    }
}

impl FitPage<'_> {
    fn suspects(&self) -> usize {
        let Fitted { readings, lengths, .. } = &self.answer.fit;
        let readings = readings.iter().filter(|reading| reading.is_suspect()).count();
        readings + lengths.iter().filter(|length| length.is_suspect()).count()
    }

    fn verdict(&self) -> String {
        let Fitted { readings, lengths, unit_weight, moved, .. } = &self.answer.fit;
        let plural = |count: usize, one: &str| format!("{count} {one}{}", if count == 1 { "" } else { "s" });
        let taped = match lengths.len() {
            0 => String::new(),
            count => format!(", and the length of {}", plural(count, "stock arm")),
        };
        let count = format!(
            "{} in {} of the car{taped}.",
            plural(readings.len(), "reading"),
            plural(self.rounds.len(), "state")
        );
        let most = moved.first().map_or(0.0, |moved| moved.sigmas);
        let suspects = self.suspects();
        let verdict = if suspects > 0 {
            format!(
                "{suspects} of them cannot be right, or the car is not what was measured: marked SUSPECT and set aside below."
            )
        } else if *unit_weight > 1.5 {
            format!(
                "They go badly with the car as measured: misfits look {} times as large as stated. Look for a wrong height, a \
                 mistaken sign, a bent link.",
                fixed(*unit_weight, 1)
            )
        } else {
            format!(
                "They go with the car as measured: no number had to move by more than {} of its standard deviations.",
                fixed(most, 1)
            )
        };
        format!("{count} {verdict}")
    }

    fn predictions(&self, page: &mut Page) {
        let (Some(predictions), Some(stance)) = (&self.answer.predictions, self.stance) else {
            return;
        };
        let PerSide { left, right } = stance.drops.map(|drop| self.units.length(drop));
        let name = self.units.length_name();
        let by = if left == right {
            format!("{left} {name}")
        } else {
            format!("{left} {name} left and {right} {name} right")
        };
        page.heading(format!("LOWERED BY {by}, NOTHING ADJUSTED, THE WHEELS WILL READ"));
        let mut table = ReadingsTable::new(self.units.toe);
        for (stage, lowering) in [("as measured", &predictions.before), ("fitted", &predictions.after)] {
            let Lowering { sides, .. } = lowering;
            table.row(stage, sides.each(|side| side.lowered.reading));
            table.good_to(sides.each(|side| &side.band));
        }
        table.put(page);
        page.gap();
    }

    fn readings(&self, page: &mut Page) {
        let drop = format!("drop {}", self.units.length_name());
        page.heading("THE READINGS, deg");
        let mut table =
            Table::new(&["<state", &drop, "<side", "<figure", "read", "sure to", "before", "fitted", "<"]);
        for reading in &self.answer.fit.readings {
            let title =
                self.rounds.get(reading.round.saturating_sub(1)).and_then(|round| round.title.clone());
            let short: String = title.unwrap_or_default().chars().take(MOST_OF_A_TITLE).collect();
            table.row([
                format!("{}. {short}", reading.round),
                self.units.length(reading.drop_mm),
                reading.side.map_or("total".to_owned(), |side| side.to_string()),
                reading.figure.to_string(),
                signed(reading.read_deg, 2),
                fixed(reading.good_to_deg, 2),
                signed(reading.before_deg, 2),
                signed(reading.after_deg, 2),
                if reading.is_suspect() { "SUSPECT".to_owned() } else { String::new() },
            ]);
        }
        page.table(table);
        page.note("sure to: 95 of 100, the height's error with it; before: the car as measured");
        page.gap();
    }

    fn lengths(&self, page: &mut Page) {
        let (lengths, units) = (&self.answer.fit.lengths, self.units);
        if lengths.is_empty() {
            return;
        }
        page.heading(format!("THE STOCK ARMS, {}", units.length_name()));
        let mut table = Table::new(&["<link", "<side", "read", "sure to", "pivots before", "fitted", "<"]);
        for length in lengths {
            table.row([
                length.link.clone(),
                length.side.to_string(),
                units.length(length.read_mm),
                units.length(length.good_to_mm),
                units.length(length.before_mm),
                units.length(length.after_mm),
                if length.is_suspect() { "SUSPECT".to_owned() } else { String::new() },
            ]);
        }
        page.table(table);
        page.gap();
    }

    fn moved(&self, page: &mut Page) {
        let worth = self.answer.fit.moved.iter().filter(|moved| moved.sigmas >= WORTH_SAYING);
        let worth: Vec<&MovedNumber> = worth.take(MOST_NAMED).collect();
        if worth.is_empty() {
            return;
        }
        page.heading("WHAT MOVED, the most surprising first");
        let mut table = Table::new(&["<number", "<side", "<moved by", "deviations", "<before", "<after"]);
        for moved in worth {
            let of_point = moved.by.len() == 3;
            let unit = if of_point { self.units.length_name() } else { "deg" };
            let size = |value: f64| if of_point { self.units.length(value) } else { fixed(value, 2) };
            let change =
                |value: f64| if of_point { self.units.length_signed(value) } else { signed(value, 2) };
            let bands = |bands: &[f64]| {
                let sizes: Vec<String> = bands.iter().map(|band| size(*band)).collect();
                let alike = sizes.iter().all(|other| *other == sizes[0]);
                if alike { sizes[0].clone() } else { sizes.join(" ") }
            };
            let angle = matches!(moved.by.len(), 1);
            // Three lengths in inches are too wide for one line.
            let alone = self.units.length == LengthUnit::Inches;
            let at_once = if alone { 1 } else { moved.by.len().max(1) };
            let parts = moved.by.chunks(at_once).zip(moved.good_to_before.chunks(at_once));
            for (line, ((by, before), after)) in parts.zip(moved.good_to_after.chunks(at_once)).enumerate() {
                let first = |text: String| if line == 0 { text } else { String::new() };
                let by = by.iter().map(|v| change(*v)).collect::<Vec<_>>().join(" ");
                table.row([
                    first(moved.what.clone()),
                    first(if angle { moved.side.to_string() } else { "both".to_owned() }),
                    format!("{by} {unit}"),
                    first(fixed(moved.sigmas, 1)),
                    bands(before),
                    bands(after),
                ]);
            }
        }
        page.table(table);
        page.note("points: x, y and z; before, after: what it was and is good to, 95 of 100");
        page.gap();
    }

    fn next(&self, page: &mut Page) {
        if self.suspects() > 0 {
            page.item("-", "Nothing is written while a reading is suspect. Read it again: was the height right, the car rolled and \
                 settled, the sign right? Take it out of the record if it was a misreading.");
        }
        let camber_only = self.answer.fit.readings.iter().all(|reading| reading.figure == Figure::Camber);
        if camber_only {
            page.item(
                "-",
                "Only camber was read: toe is hardly known better than before. Two toe readings help most.",
            );
        }
        match self.written {
            Some(profile) => {
                page.item(
                    "-",
                    format!("Wrote {profile}. Plan with it: {}", page.hint(Hint::PlanOf(profile))),
                );
            }
            None => {
                page.item("-", format!("To keep what was learned: add {}", page.hint(Hint::WriteLearned)));
            }
        }
        page.item("-", format!(
                "A reading is suspect when it is more than {} deviations off what fits everything else: one sound one of a \
                 thousand is.",
                fixed(CRITICAL, 2)
            ));
    }
}
