//! The camber of both wheels, by gauge, level or plumb line, and the floor taken out of it.

use toml::Spanned;

use super::schema::{Reading, Wheel};
use super::{Means, Told, Worked};
use crate::car::{Car, Hand, Side};
use crate::measure::{Measured, chord_angle, off_floor};
use crate::profile::Quantity;
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;

/// More camber than this is odd, rad.
const USUAL: f64 = 5.0 * DEGREE;

/// The cambers of both wheels against the floor.
#[derive(Default)]
pub(super) struct Cambers {
    pub(super) wheels: [Option<Worked>; 2],
    pub(super) floor: Option<Measured>,
    pub(super) covariance: f64,
}

impl Checker {
    /// The cambers; `toes` are the toes of the wheels, rad, as far as they are known.
    pub(super) fn cambers(
        &mut self,
        keys: &Reading,
        car: &Car,
        means: &Means,
        toes: [f64; 2],
    ) -> Result<Cambers, Told> {
        let read = self.both_cambers([&keys.left, &keys.right], car, means);
        let turned = keys.other_way_round.as_ref().map(Spanned::get_ref);
        for wheel in turned.iter().flat_map(|turned| [&turned.left, &turned.right]).flatten() {
            self.only_camber(wheel.get_ref());
        }
        let again = match turned {
            Some(turned) => self.both_cambers([&turned.left, &turned.right], car, means),
            None => Ok([None, None]),
        };
        let floor = keys.floor.as_ref().map(|floor| self.floor(floor, car, means)).transpose();
        let (read, again, floor) = (read?, again?, floor?);
        self.floor_once(keys)?;
        if let Some(slope) = floor {
            let off = |i: usize, worked: Worked| Worked {
                angle: off_floor(worked.angle, toes[i], slope, Hand::BOTH[i]),
                ..worked
            };
            let [left, right] = read;
            let wheels = [left.map(|worked| off(0, worked)), right.map(|worked| off(1, worked))];
            // A floor that is higher on the left than was thought adds to the left camber what it takes from the right.
            return Ok(Cambers { wheels, floor, covariance: -slope.sigma * slope.sigma });
        }
        if turned.is_some() {
            self.turned(keys, read, again, toes)
        } else {
            Ok(Cambers { wheels: read, ..Cambers::default() })
        }
    }

    fn both_cambers(
        &mut self,
        tables: [&Option<Spanned<Wheel>>; 2],
        car: &Car,
        means: &Means,
    ) -> Result<[Option<Worked>; 2], Told> {
        let [left, right] = [0, 1].map(|i| match tables[i] {
            Some(wheel) => self.camber_of(wheel.get_ref(), &car.sides[Hand::BOTH[i]], means),
            None => Ok(None),
        });
        Ok([left?, right?])
    }

    /// The camber of a wheel as it was read, whichever way.
    fn camber_of(&mut self, keys: &Wheel, side: &Side, means: &Means) -> Result<Option<Worked>, Told> {
        let ways = [
            keys.camber.as_ref().map(Spanned::span),
            keys.level.as_ref().map(Spanned::span),
            keys.plumb.as_ref().map(Spanned::span),
        ];
        self.one_way(ways, "the camber")?;
        let sigma = self.camber_sigma(&keys.camber_sigma, &keys.camber)?;
        self.half_turn_of(keys.level_half_turn.as_ref().map(Spanned::span), keys.level.is_some(), "level")?;
        self.half_turn_of(keys.plumb_half_turn.as_ref().map(Spanned::span), keys.plumb.is_some(), "plumb")?;
        if let Some(value) = &keys.camber {
            let value_rad = self.camber(value).ok_or(Told)?;
            let angle = Measured { value: value_rad, sigma: sigma.unwrap_or(means.usual.camber) };
            return Ok(Some(Worked { angle, run_out: None, place: value.span() }));
        }
        if let Some(level) = &keys.level {
            return self.level(level, keys.level_half_turn.as_ref(), side, means).map(Some);
        }
        let Some(plumb) = &keys.plumb else { return Ok(None) };
        let (table, place) = (plumb.get_ref(), plumb.span());
        let ends = self.edges([("bottom", &table.bottom), ("top", &table.top)], place.clone())?;
        let half = match &keys.plumb_half_turn {
            Some(half) => {
                let keys = half.get_ref();
                Some(self.edges([("bottom", &keys.bottom), ("top", &keys.top)], half.span())?)
            }
            None => None,
        };
        let across = self.across(&table.across, side.rim_diameter, place.clone())?;
        let length = Measured { value: across, sigma: means.instruments.tape };
        let chord = self.chord(chord_angle(ends, half, means.instruments.ruler, length), place.clone())?;
        let value = self.due(&table.top, "top", place.clone())?;
        self.plausible(value, "camber", chord.angle.value, USUAL).ok_or(Told)?;
        if let Some(half) = &keys.plumb_half_turn {
            self.run_out(chord.run_out, Some(across), half.span());
        }
        Ok(Some(Worked { angle: chord.angle, run_out: chord.run_out, place }))
    }

    /// The mean of two readings of a level is as good as one of them: its zero is off in both.
    fn level(
        &mut self,
        value: &Spanned<Quantity>,
        half_turn: Option<&Spanned<Quantity>>,
        side: &Side,
        means: &Means,
    ) -> Result<Worked, Told> {
        let first = self.level_angle(value)?;
        let second = half_turn.map(|half| self.level_angle(half)).transpose()?;
        let run_out = second.map(|second| (first - second).abs() / 2.0);
        if let Some(half) = half_turn {
            self.run_out(run_out, side.rim_diameter, half.span());
        }
        let mean = second.map_or(first, |second| f64::midpoint(first, second));
        let angle = Measured { value: mean, sigma: means.instruments.level };
        Ok(Worked { angle, run_out, place: value.span() })
    }

    fn level_angle(&mut self, value: &Spanned<Quantity>) -> Result<f64, Told> {
        let angle = self.angle(value).ok_or(Told)?;
        if (angle.abs().to_degrees() - 90.0).abs() < 20.0 {
            self.tell(
                Finding::error(value.span(), "this level shows 90 degrees for upright")
                    .label(format!("{:.2} degrees from upright", (90.0 - angle.abs().to_degrees()).abs()))
                    .help("give what it is off upright, with its sign: minus where the top leans in"),
            );
            return Err(Told);
        }
        self.plausible(value, "camber", angle, USUAL).ok_or(Told)
    }
}
