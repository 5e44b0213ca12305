//! Distances as a rule or a tape gives them.

use std::ops::{Range, RangeInclusive};
use toml::Spanned;

use super::Told;
use crate::measure::ChordAngle;
use crate::profile::Quantity;
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;
use crate::profile::keys::Value;

/// Between these, mm, lies every rim's diameter at the edges.
const RIMS: RangeInclusive<f64> = 200.0..=700.0;
/// Two distances below this without a unit look like inches, mm.
const INCHES: f64 = 8.0;
/// No rim that is still driven runs out by more: 3 mm across 430. Common practice, no source.
const RUN_OUT: f64 = 0.4 * DEGREE;

impl Checker {
    /// A length that a car can have; others are mostly inches.
    pub(super) fn length_in(
        &mut self,
        value: &Spanned<Quantity>,
        what: &'static str,
        range: &RangeInclusive<f64>,
    ) -> Result<f64, Told> {
        let length = self.positive(value, what).ok_or(Told)?;
        if range.contains(&length) {
            return Ok(length);
        }
        self.tell(
            Finding::error(value.span(), format!("{what} of {length:.1} mm is on no car"))
                .label(format!("expected {} to {} mm", range.start(), range.end()))
                .help("bare numbers are mm; inches need their unit: \"13 1/4 in\""),
        );
        Err(Told)
    }

    /// A value that a table cannot do without.
    pub(super) fn due<'a>(
        &mut self,
        value: &'a Value,
        key: &str,
        table: Range<usize>,
    ) -> Result<&'a Spanned<Quantity>, Told> {
        value.as_ref().ok_or_else(|| {
            self.tell(
                Finding::error(table, format!("`{key}` is missing here")).label(format!("needs `{key}`")),
            );
            Told
        })
    }

    /// The distances of two edges of the rim to a line, mm.
    pub(super) fn edges(
        &mut self,
        [one, other]: [(&str, &Value); 2],
        table: Range<usize>,
    ) -> Result<[f64; 2], Told> {
        let one = self.due(one.1, one.0, table.clone())?;
        let other = self.due(other.1, other.0, table.clone())?;
        let read = [one, other].map(|value| self.positive(value, "a distance to the rim"));
        let [Some(first), Some(second)] = read else { return Err(Told) };
        let bare = [one, other].iter().all(|value| value.get_ref().number().is_some());
        if bare && first < INCHES && second < INCHES {
            self.tell(
                Finding::warning(table, "the rim is very near to the line")
                    .label(format!("{first} and {second} mm"))
                    .help("bare numbers are mm; inches need their unit: \"2 1/4 in\""),
            );
        }
        Ok([first, second])
    }

    /// The distance between the two edges of the rim, mm.
    pub(super) fn across(
        &mut self,
        across: &Value,
        rim: Option<f64>,
        table: Range<usize>,
    ) -> Result<f64, Told> {
        match (across, rim) {
            (Some(across), _) => self.length_in(across, "a rim", &RIMS),
            (None, Some(rim)) => Ok(rim),
            (None, None) => {
                self.tell(
                    Finding::error(table, "how far apart are the two edges of the rim?")
                        .label("needs `across`")
                        .help("add `across = ...` here, or `rim_diameter` to [wheel] in the profile"),
                );
                Err(Told)
            }
        }
    }

    /// What an angle of a chord came to, or that there is none.
    pub(super) fn chord(
        &mut self,
        angle: Option<ChordAngle>,
        table: Range<usize>,
    ) -> Result<ChordAngle, Told> {
        angle.ok_or_else(|| {
            self.tell(
                Finding::error(table, "these two distances differ by more than there is between them")
                    .label("no such angle")
                    .help("check the units: bare numbers are mm"),
            );
            Told
        })
    }

    /// A run-out that no rim has.
    pub(super) fn run_out(&mut self, run_out: Option<f64>, across: Option<f64>, half_turn: Range<usize>) {
        let Some(run_out) = run_out.filter(|run_out| *run_out > RUN_OUT) else { return };
        let label = match across {
            // d = across sin(toe +- w) differs by twice what a dial gauge reads in a turn
            Some(across) => format!("a run-out of {:.1} mm at the rim's edge", across * run_out.sin()),
            None => format!("{:.2} degrees to either side", run_out.to_degrees()),
        };
        self.tell(
            Finding::warning(half_turn, "no sound rim runs out that much").label(label).help(
                "read both again; was the wheel turned by half a turn, and are front and rear, top and bottom the same way?",
            ),
        );
    }
}
