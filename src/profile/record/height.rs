//! How high the car stood: drops, arch gaps, or the gaps at all four corners.

use std::ops::Range;
use toml::Spanned;

use super::value::{Told, span};
use crate::car::PerSide;
use crate::measure::{FrontHeight, GapsBefore, RawHeight, RearHeight};
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::Value;
use crate::profile::keys::record::{Heights, Reading};

/// A drop below this without a unit looks like inches, mm.
pub(super) const INCHES: f64 = 4.0;

/// A value of the left and of the right side.
type SidePair<'a> = PerSide<&'a Spanned<Quantity>>;

impl Checker {
    /// The gaps at the reference, as the head of the record has them.
    pub(super) fn gaps_before(&mut self, heights: Option<&Spanned<Heights>>) -> Result<GapsBefore, Told> {
        let Some(keys) = heights.map(Spanned::get_ref) else { return Ok(GapsBefore::default()) };
        let rear = self.gap_pair(PerSide { left: &keys.rear_left, right: &keys.rear_right });
        let front = self.gap_pair(PerSide { left: &keys.front_left, right: &keys.front_right });
        Ok(GapsBefore { rear: rear?, front: front? })
    }

    /// How high the rear and the front stood.
    pub(super) fn height(&mut self, reading: &Spanned<Reading>) -> Result<RawHeight, Told> {
        let keys = reading.get_ref();
        let drops = [&keys.drop, &keys.drop_left, &keys.drop_right];
        let gaps = [&keys.arch_gap, &keys.arch_gap_left, &keys.arch_gap_right];
        let ways = keys.height_ways();
        self.one_way(ways.clone(), "the height")?;
        if ways.iter().all(Option::is_none) {
            self.tell(
                Finding::error(reading.span(), "how high did the car stand?").label("no height here").help(
                    "add `drop = 40.0`, `drop_left` and `drop_right`, `arch_gap = 334.0` or [reading.heights]; at the \
                     reference height it is `drop = 0`",
                ),
            );
            return Err(Told);
        }
        let sigma = keys
            .drop_sigma
            .as_ref()
            .map(|value| self.figure(Reading::drop_sigma.key, value).ok_or(Told))
            .transpose()?;
        let rear = if first(drops).is_some() {
            RearHeight::Drops(self.both_sides("drop", drops)?.map(|value| self.drop(value)).ok()?)
        } else {
            let now = match &keys.heights {
                Some(heights) => self.rear(heights)?,
                None => self.both_sides("arch_gap", gaps)?,
            };
            RearHeight::Gaps(now.map(|gap| self.gap(gap)).ok()?)
        };
        Ok(RawHeight { rear, front: self.front(keys)?, drop_sigma: sigma })
    }

    /// A value for both sides, or one for each.
    fn both_sides<'a>(
        &mut self,
        key: &str,
        [both, left, right]: [&'a Value; 3],
    ) -> Result<SidePair<'a>, Told> {
        let finding = match (both, left, right) {
            (Some(both), None, None) => return Ok(PerSide::both(both)),
            (None, Some(left), Some(right)) => return Ok(PerSide { left, right }),
            (Some(both), Some(side), _) | (Some(both), None, Some(side)) => {
                Finding::error(side.span(), "the height is given twice")
                    .label("for this side")
                    .other(both.span(), "for both sides")
                    .help(format!("keep `{key}`, or give `{key}_left` and `{key}_right`"))
            }
            (None, Some(given), None) => half(given, key, "right"),
            (None, None, Some(given)) => half(given, key, "left"),
            (None, None, None) => return Err(Told),
        };
        self.tell(finding);
        Err(Told)
    }

    /// The rear gaps of the four corners.
    fn rear<'a>(&mut self, heights: &'a Spanned<Heights>) -> Result<SidePair<'a>, Told> {
        let keys = heights.get_ref();
        let left = self.due(&keys.rear_left, "rear_left", heights.span());
        let right = self.due(&keys.rear_right, "rear_right", heights.span());
        Ok(PerSide { left: left?, right: right? })
    }

    /// A drop, mm.
    fn drop(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        self.accept(value, value.get_ref().length()).ok_or(Told)
    }

    /// Drops that look like inches, where none of the record is too large for that.
    pub(super) fn inches(&mut self, readings: &[Spanned<Reading>]) {
        let drops = readings.iter().map(Spanned::get_ref).flat_map(|keys| {
            [&keys.drop, &keys.drop_left, &keys.drop_right].into_iter().flatten().filter_map(|value| {
                let drop = value.get_ref().number()?;
                (drop != 0.0).then_some((drop, value.span()))
            })
        });
        let drops: Vec<_> = drops.collect();
        if drops.iter().any(|(drop, _)| drop.abs() >= INCHES) {
            return;
        }
        for (drop, place) in drops {
            self.tell(
                Finding::warning(place, format!("a drop of {drop} mm is very little"))
                    .help("inches need their unit: \"1 1/2 in\"; if mm are meant, \"2 mm\" says so"),
            );
        }
    }

    fn gap(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        self.figure(Heights::rear_left.key, value).ok_or(Told)
    }

    /// Gaps that were measured, or not.
    fn gap_pair(&mut self, gaps: PerSide<&Value>) -> Result<PerSide<Option<f64>>, Told> {
        gaps.map(|gap| self.given(Heights::rear_left.key, gap)).ok()
    }

    /// The height of the front, if it was given.
    fn front(&mut self, keys: &Reading) -> Result<Option<FrontHeight>, Told> {
        let gaps = keys.front_gaps();
        self.one_way([span(&keys.front_drop), first(gaps), None], "the front's height")?;
        if let Some(value) = &keys.front_drop {
            return Ok(Some(FrontHeight::Drop(self.drop(value)?)));
        }
        let gaps = self.gap_pair(gaps)?;
        Ok((gaps != PerSide::default()).then_some(FrontHeight::Gaps(gaps)))
    }
}

impl Reading {
    /// Where the height of the rear stands: as drops, as gaps, as gaps of all corners.
    pub(super) fn height_ways(&self) -> [Option<Range<usize>>; 3] {
        let drops = first([&self.drop, &self.drop_left, &self.drop_right]);
        let gaps = first([&self.arch_gap, &self.arch_gap_left, &self.arch_gap_right]);
        [drops, gaps, span(&self.heights)]
    }

    /// The gaps of the front corners.
    pub(super) fn front_gaps(&self) -> PerSide<&Value> {
        let heights = self.heights.as_ref().map(Spanned::get_ref);
        heights.map_or(PerSide::both(&None), |heights| PerSide {
            left: &heights.front_left,
            right: &heights.front_right,
        })
    }
}

fn half(given: &Spanned<Quantity>, key: &str, missing: &str) -> Finding {
    Finding::error(given.span(), format!("the {missing} side has no height"))
        .label(format!("needs `{key}_{missing}` beside it"))
        .help(format!("`{key}` gives both sides the same"))
}

/// The place of the first value that was given.
pub(super) fn first<'a>(values: impl IntoIterator<Item = &'a Value>) -> Option<Range<usize>> {
    values.into_iter().flatten().map(Spanned::span).next()
}
