//! How high the car stood: drops, arch gaps, or the gaps at all four corners.

use std::f64::consts::SQRT_2;
use std::ops::{Range, RangeInclusive};
use toml::Spanned;

use super::schema::{Heights, Reading};
use super::{Means, Told};
use crate::car::{Car, Hand, Stance};
use crate::profile::Quantity;
use crate::profile::check::Checker;
use crate::profile::finding::Finding;
use crate::profile::keys::Value;

/// No car is lowered or raised by more than this, mm.
const FURTHEST: f64 = 400.0;
/// A drop below this without a unit looks like inches, mm.
pub(super) const INCHES: f64 = 4.0;
/// Between these lies every arch gap, mm.
const GAPS: RangeInclusive<f64> = 80.0..=900.0;
/// A body does not twist by more than this between its axles, mm.
const TWIST: f64 = 15.0;

/// How the car stood.
pub(super) struct Height {
    pub(super) drops: [f64; 2],
    pub(super) sigma: Option<f64>,
    pub(super) front: Option<f64>,
}

/// A value of the left and of the right side.
type Both<'a> = [&'a Spanned<Quantity>; 2];

impl Checker {
    /// Drops of the rear sides and of the front; `before` are the gaps at the reference.
    pub(super) fn height(
        &mut self,
        reading: &Spanned<Reading>,
        before: Option<&Spanned<Heights>>,
        means: &Means,
        car: &Car,
    ) -> Result<Height, Told> {
        let keys = reading.get_ref();
        let drop_keys = [&keys.drop, &keys.drop_left, &keys.drop_right];
        let gap_keys = [&keys.arch_gap, &keys.arch_gap_left, &keys.arch_gap_right];
        let corners = keys.heights.as_ref();
        let ways = [first(drop_keys), first(gap_keys), corners.map(Spanned::span)];
        self.one_way(ways.clone(), "the height")?;
        let Some(place) = ways.into_iter().flatten().next() else {
            self.tell(
                Finding::error(reading.span(), "how high did the car stand?").label("no height here").help(
                    "add `drop = 40.0`, `drop_left` and `drop_right`, `arch_gap = 334.0` or [reading.heights]; at the \
                     reference height it is `drop = 0`",
                ),
            );
            return Err(Told);
        };
        let said = match &keys.drop_sigma {
            Some(value) => Some(self.length_sigma(value, 100.0)?),
            None => None,
        };
        let by_gaps = first(drop_keys).is_none();
        let drops = if let Some(heights) = corners {
            let now = self.rear(heights)?;
            self.drops_of_gaps(now, before, car)?
        } else if by_gaps {
            let now = self.both_sides("arch_gap", gap_keys)?;
            self.drops_of_gaps(now, before, car)?
        } else {
            let [left, right] = self.both_sides("drop", drop_keys)?.map(|value| self.drop(value));
            [left?, right?]
        };
        self.within_travel(car, drops, &place);
        let front = self.front(keys, before)?;
        if let Some(front) = &front {
            if Stance::new(car, drops, Some(0.0)).is_none() {
                self.tell(
                    Finding::error(front.place.clone(), "a front height needs the wheelbase").help(
                        "add `wheelbase = ...` to [car] in the profile, or leave the front out: it then follows the rear",
                    ),
                );
                return Err(Told);
            }
            self.twist(drops, front);
        }
        // drop = before - now: two gaps, each with its own error
        let of_gaps = means.instruments.gap.filter(|_| by_gaps).map(|gap| SQRT_2 * gap);
        Ok(Height { drops, sigma: said.or(of_gaps), front: front.map(|front| front.drop) })
    }

    /// A value for both sides, or one for each.
    fn both_sides<'a>(&mut self, key: &str, [both, left, right]: [&'a Value; 3]) -> Result<Both<'a>, Told> {
        let finding = match (both, left, right) {
            (Some(both), None, None) => return Ok([both, both]),
            (None, Some(left), Some(right)) => return Ok([left, right]),
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
    fn rear<'a>(&mut self, heights: &'a Spanned<Heights>) -> Result<Both<'a>, Told> {
        let keys = heights.get_ref();
        let left = self.due(&keys.rear_left, "rear_left", heights.span());
        let right = self.due(&keys.rear_right, "rear_right", heights.span());
        Ok([left?, right?])
    }

    /// A drop, mm.
    fn drop(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        let drop = self.accept(value, value.get_ref().length()).ok_or(Told)?;
        let drop = self.possible(drop, value)?;
        if value.get_ref().number().is_some() && drop != 0.0 && drop.abs() < INCHES {
            self.tell(
                Finding::warning(value.span(), format!("a drop of {drop} mm is very little"))
                    .help("inches need their unit: \"1 1/2 in\"; if mm are meant, \"2 mm\" says so"),
            );
        }
        Ok(drop)
    }

    /// A drop that a car can have, mm.
    fn possible(&mut self, drop: f64, value: &Spanned<Quantity>) -> Result<f64, Told> {
        if drop.abs() <= FURTHEST {
            return Ok(drop);
        }
        let finding = Finding::error(value.span(), format!("no car is lowered by {drop:.1} mm"));
        self.tell(finding.label("mm are meant"));
        Err(Told)
    }

    /// `drop = gap before - gap now`
    fn drops_of_gaps(
        &mut self,
        now: Both<'_>,
        before: Option<&Spanned<Heights>>,
        car: &Car,
    ) -> Result<[f64; 2], Told> {
        let before = before.map(Spanned::get_ref);
        let known = before.map_or([&None, &None], |before| [&before.rear_left, &before.rear_right]);
        let [left, right] = [0, 1].map(|i| {
            let gap = self.gap(now[i])?;
            let side = &car.sides[Hand::BOTH[i]];
            let before = match (known[i], side.ride.arch_gap) {
                (Some(before), _) => self.gap(before)?,
                (None, Some(before)) => before,
                (None, None) => {
                    let wanted = format!(
                        "add `arch_gap` to [ride] in the profile, or `rear_{}` to [heights] at the head of this record",
                        side.hand
                    );
                    self.no_gap_before(now[i], wanted);
                    return Err(Told);
                }
            };
            self.possible(before - gap, now[i])
        });
        Ok([left?, right?])
    }

    fn no_gap_before(&mut self, now: &Spanned<Quantity>, wanted: String) {
        self.tell(
            Finding::error(now.span(), "what was the gap before?")
                .label("only the new gap is known")
                .help(wanted),
        );
    }

    fn gap(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        self.length_in(value, "an arch gap", &GAPS)
    }

    fn within_travel(&mut self, car: &Car, drops: [f64; 2], place: &Range<usize>) {
        for (side, drop) in car.sides.iter().zip(drops) {
            if side.past_travel(drop) {
                self.tell(
                    Finding::warning(place.clone(), "a wheel is past its travel")
                        .label(format!("a drop of {drop:.1} mm on the {}", side.hand))
                        .help("bump and droop are in [ride] of the profile"),
                );
            }
        }
    }

    /// The drop of the front, if it was given.
    fn front(&mut self, keys: &Reading, before: Option<&Spanned<Heights>>) -> Result<Option<Front>, Told> {
        let pick = |heights: Option<&Spanned<Heights>>| {
            let heights = heights.map(Spanned::get_ref);
            heights.map_or([None, None], |heights| [heights.front_left.clone(), heights.front_right.clone()])
        };
        let now = pick(keys.heights.as_ref());
        let corner = first(now.each_ref());
        self.one_way(
            [keys.front_drop.as_ref().map(Spanned::span), corner.clone(), None],
            "the front's height",
        )?;
        if let Some(value) = &keys.front_drop {
            return Ok(Some(Front { drop: self.drop(value)?, sides: [None; 2], place: value.span() }));
        }
        let Some(place) = corner else { return Ok(None) };
        let mut sides = [None; 2];
        for (i, before) in pick(before).iter().enumerate() {
            match (&now[i], before) {
                (None, _) => {}
                (Some(now), Some(before)) => {
                    let drop = self.gap(before)? - self.gap(now)?;
                    sides[i] = Some(self.possible(drop, now)?);
                }
                (Some(now), None) => {
                    let side = ["left", "right"][i];
                    self.no_gap_before(
                        now,
                        format!("add `front_{side}` to [heights] at the head of this record"),
                    );
                    return Err(Told);
                }
            }
        }
        let drop = match sides {
            [Some(left), Some(right)] => f64::midpoint(left, right),
            [Some(one), None] | [None, Some(one)] => one,
            [None, None] => return Err(Told),
        };
        Ok(Some(Front { drop, sides, place }))
    }

    /// Front and rear lean alike: a body is stiff.
    fn twist(&mut self, rear: [f64; 2], front: &Front) {
        let [Some(left), Some(right)] = front.sides else { return };
        let twist = (left - right) - (rear[0] - rear[1]);
        if twist.abs() > TWIST {
            self.tell(
                Finding::warning(front.place.clone(), "front and rear do not lean the same way")
                    .label(format!(
                        "left minus right: front {:.0} mm, rear {:.0} mm lower",
                        left - right,
                        rear[0] - rear[1]
                    ))
                    .help("a body does not twist so far; measure the four gaps again, on level floor"),
            );
        }
    }
}

/// How the front stood.
struct Front {
    drop: f64,
    /// Left and right, where both were measured.
    sides: [Option<f64>; 2],
    place: Range<usize>,
}

fn half(given: &Spanned<Quantity>, key: &str, missing: &str) -> Finding {
    Finding::error(given.span(), format!("the {missing} side has no height"))
        .label(format!("needs `{key}_{missing}` beside it"))
        .help(format!("`{key}` gives both sides the same"))
}

/// The place of the first value that was given.
fn first<const N: usize>(values: [&Value; N]) -> Option<Range<usize>> {
    values.into_iter().flatten().map(Spanned::span).next()
}
