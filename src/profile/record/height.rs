//! How high the car stood: drops, arch gaps, or the gaps at all four corners.

use std::ops::Range;
use toml::Spanned;

use super::schema::{Heights, Reading};
use crate::car::{Car, Stance};
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::schema::Value;

/// No car is lowered or raised by more than this, mm.
const FURTHEST: f64 = 400.0;
/// A drop below this without a unit looks like inches, mm.
pub(super) const INCHES: f64 = 4.0;
/// No arch gap is outside this, mm.
const GAPS: std::ops::RangeInclusive<f64> = 80.0..=900.0;

const IN_INCHES: &str = "bare numbers are mm; inches need their unit: \"13 1/4 in\"";

/// How the car stood.
pub(super) struct Height {
    pub(super) drops: [f64; 2],
    pub(super) sigma: Option<f64>,
    pub(super) front: Option<f64>,
}

/// A value of both sides with its place.
type Both<'a> = [&'a Spanned<Quantity>; 2];

impl Checker {
    /// Drops of the rear sides and of the front; `before` are the gaps at the reference.
    pub(super) fn height(
        &mut self,
        reading: &Spanned<Reading>,
        before: Option<&Spanned<Heights>>,
        car: &Car,
    ) -> Option<Height> {
        let keys = reading.get_ref();
        let drop = first([&keys.drop, &keys.drop_left, &keys.drop_right]);
        let gap = first([&keys.arch_gap, &keys.arch_gap_left, &keys.arch_gap_right]);
        let corners = keys.heights.as_ref().map(Spanned::span);
        let ways: Vec<Range<usize>> = [drop, gap, corners].into_iter().flatten().collect();
        match &ways[..] {
            [] => {
                self.tell(
                    Finding::error(reading.span(), "how high did the car stand?").label("no height here").help(
                        "add `drop = 40.0`, `drop_left` and `drop_right`, `arch_gap = 334.0` or [reading.heights]; at the \
                         reference height it is `drop = 0`",
                    ),
                );
                return None;
            }
            [_] => {}
            [one, other, ..] => {
                self.tell(
                    Finding::error(other.clone(), "the height is given twice")
                        .label("this way")
                        .other(one.clone(), "and this way")
                        .help("keep one of them"),
                );
                return None;
            }
        }
        let sigma = keys.drop_sigma.as_ref().map(|value| self.positive(value, "a standard deviation"));
        let drops = if let Some(heights) = &keys.heights {
            let now = self.rear(heights)?;
            self.drops_of_gaps(now, before, car)
        } else if let Some(now) =
            self.both_sides("arch_gap", [&keys.arch_gap, &keys.arch_gap_left, &keys.arch_gap_right])
        {
            self.drops_of_gaps(now?, before, car)
        } else {
            let drops = self.both_sides("drop", [&keys.drop, &keys.drop_left, &keys.drop_right])??;
            self.drops(drops)
        }?;
        let place = ways[0].clone();
        for (side, drop) in car.sides.iter().zip(drops) {
            if side.past_travel(drop) {
                self.tell(
                    Finding::warning(place.clone(), format!("the {} wheel is past its travel", side.hand))
                        .label(format!("a drop of {drop:.1} mm"))
                        .help("bump and droop are in [ride] of the profile"),
                );
            }
        }
        let front = self.front(keys, before)?;
        if let Some((_, place)) = &front
            && Stance::new(car, drops, Some(0.0)).is_none()
        {
            self.tell(
                Finding::error(place.clone(), "a front height needs the wheelbase")
                    .help("add `wheelbase = ...` to [car] in the profile, or leave the front out: it then follows the rear"),
            );
            return None;
        }
        let sigma = match sigma {
            Some(sigma) => Some(sigma?),
            None => None,
        };
        Some(Height { drops, sigma, front: front.map(|(drop, _)| drop) })
    }

    /// A value for both sides, or one for each; `None` inside where it is unsound, `None` outside where none of the keys stands here.
    #[expect(clippy::option_option, reason = "none given, or given and unsound")]
    fn both_sides<'a>(&mut self, key: &str, [both, left, right]: [&'a Value; 3]) -> Option<Option<Both<'a>>> {
        let one_side = match (both, left, right) {
            (None, None, None) => return None,
            (Some(both), None, None) => return Some(Some([both, both])),
            (None, Some(left), Some(right)) => return Some(Some([left, right])),
            (Some(both), side, other) => {
                let side = side.as_ref().or(other.as_ref()).unwrap_or(both);
                self.tell(
                    Finding::error(side.span(), "the height is given twice")
                        .label("for this side")
                        .other(both.span(), "for both sides")
                        .help(format!("keep `{key}`, or give `{key}_left` and `{key}_right`")),
                );
                return Some(None);
            }
            (None, Some(left), None) => (left, "right"),
            (None, None, Some(right)) => (right, "left"),
        };
        let (given, missing) = one_side;
        self.tell(
            Finding::error(given.span(), format!("the {missing} side has no height"))
                .label(format!("needs `{key}_{missing}` beside it"))
                .help(format!("`{key}` gives both sides the same")),
        );
        Some(None)
    }

    /// The rear gaps of the four corners.
    fn rear<'a>(&mut self, heights: &'a Spanned<Heights>) -> Option<Both<'a>> {
        let keys = heights.get_ref();
        if let (Some(left), Some(right)) = (&keys.rear_left, &keys.rear_right) {
            return Some([left, right]);
        }
        self.tell(
            Finding::error(heights.span(), "the rear heights are missing")
                .label("needs `rear_left` and `rear_right`"),
        );
        None
    }

    fn drops(&mut self, drops: Both<'_>) -> Option<[f64; 2]> {
        let [left, right] = drops.map(|value| self.drop(value));
        Some([left?, right?])
    }

    /// A drop, mm.
    fn drop(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let drop = self.accept(value, value.get_ref().length())?;
        if drop.abs() > FURTHEST {
            self.tell(
                Finding::error(value.span(), format!("no car is lowered by {drop:.1} mm"))
                    .label("mm are meant"),
            );
            return None;
        }
        if value.get_ref().number().is_some() && drop != 0.0 && drop.abs() < INCHES {
            self.tell(
                Finding::warning(value.span(), format!("a drop of {drop} mm is very little"))
                    .help("inches need their unit: \"1 1/2 in\"; if mm are meant, \"2 mm\" says so"),
            );
        }
        Some(drop)
    }

    /// `drop = gap before - gap now`
    fn drops_of_gaps(
        &mut self,
        now: Both<'_>,
        before: Option<&Spanned<Heights>>,
        car: &Car,
    ) -> Option<[f64; 2]> {
        let before = before.map(Spanned::get_ref);
        let known = before.map_or([&None, &None], |before| [&before.rear_left, &before.rear_right]);
        let drop = |check: &mut Self, i: usize| {
            let gap = check.gap(now[i])?;
            let before = match known[i] {
                Some(before) => Some(check.gap(before)?),
                None => car.sides[i].ride.arch_gap,
            };
            if before.is_none() {
                check.tell(
                    Finding::error(now[i].span(), "what was the gap before?")
                        .label("only the new gap is known")
                        .help(format!(
                            "add `arch_gap` to [ride] in the profile, or `rear_{}` to [heights] at the head of this record",
                            car.sides[i].hand
                        )),
                );
            }
            Some(before? - gap)
        };
        let [left, right] = [0, 1].map(|i| drop(self, i));
        Some([left?, right?])
    }

    fn gap(&mut self, value: &Spanned<Quantity>) -> Option<f64> {
        let gap = self.positive(value, "the arch gap")?;
        if GAPS.contains(&gap) {
            return Some(gap);
        }
        self.tell(
            Finding::error(value.span(), format!("no car has an arch gap of {gap:.1} mm"))
                .label("hub centre straight up to the arch lip")
                .help(IN_INCHES),
        );
        None
    }

    /// The drop of the front and its place, if it was given.
    #[expect(clippy::option_option, reason = "none given, or given and unsound")]
    fn front(
        &mut self,
        keys: &Reading,
        before: Option<&Spanned<Heights>>,
    ) -> Option<Option<(f64, Range<usize>)>> {
        let corners = keys.heights.as_ref().map(Spanned::get_ref);
        let now = corners.map_or([&None, &None], |now| [&now.front_left, &now.front_right]);
        let before = before.map(Spanned::get_ref);
        let before = before.map_or([&None, &None], |before| [&before.front_left, &before.front_right]);
        match (&keys.front_drop, first(now)) {
            (Some(drop), None) => Some(Some((self.drop(drop)?, drop.span()))),
            (None, None) => Some(None),
            (Some(drop), Some(corner)) => {
                self.tell(
                    Finding::error(drop.span(), "the front's height is given twice")
                        .label("this way")
                        .other(corner, "and this way")
                        .help("keep one of them"),
                );
                None
            }
            (None, Some(place)) => {
                let mut drops = Vec::new();
                for ((now, before), side) in now.into_iter().zip(before).zip(["left", "right"]) {
                    let Some(now) = now else { continue };
                    let Some(before) = before else {
                        self.tell(
                            Finding::error(now.span(), "what was the gap before?")
                                .label("only the new gap is known")
                                .help(format!("add `front_{side}` to [heights] at the head of this record")),
                        );
                        return None;
                    };
                    drops.push(self.gap(before)? - self.gap(now)?);
                }
                #[expect(clippy::cast_precision_loss, reason = "one or two")]
                let count = drops.len() as f64;
                Some(Some((drops.iter().sum::<f64>() / count, place)))
            }
        }
    }
}

/// The place of the first value that was given.
fn first<const N: usize>(values: [&Value; N]) -> Option<Range<usize>> {
    values.into_iter().flatten().map(Spanned::span).next()
}
