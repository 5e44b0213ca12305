//! The toe of both wheels, by angle, strings or plates.

use std::f64::consts::SQRT_2;
use std::ops::RangeInclusive;
use toml::Spanned;

use super::schema::{FrontRear, Reading, Strings, Wheel};
use super::{Means, Told, Worked};
use crate::car::{Car, Hand, Side};
use crate::measure::{Measured, chord_angle, string_angle, total_toe_of_plates};
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;

/// More toe of one wheel than this is odd, rad.
const USUAL: f64 = 0.8 * DEGREE;
/// A string further off the centreline's direction than this is a slip, rad.
const ASKEW: f64 = 1.5 * DEGREE;
/// Between these lies every track, and every distance from wheel to wheel, mm.
pub(super) const TRACKS: RangeInclusive<f64> = 800.0..=2600.0;
const BETWEEN: &str = "a distance between the plates";

/// The toes of both wheels, or of both together.
pub(super) struct Toes {
    pub(super) wheels: [Option<Worked>; 2],
    pub(super) total: Option<Worked>,
    pub(super) covariance: f64,
}

/// How the strings run.
#[derive(Default)]
struct Run {
    angles: [Option<Measured>; 2],
    /// What the two share, rad2.
    covariance: f64,
}

impl Checker {
    pub(super) fn toes(&mut self, keys: &Reading, car: &Car, means: &Means) -> Result<Toes, Told> {
        let run = match &keys.string {
            Some(string) => Some(self.strings(string, car, means)?),
            None => None,
        };
        let tables = [&keys.left, &keys.right];
        let [left, right] = [0, 1].map(|i| match tables[i] {
            Some(wheel) => self.toe_of(wheel.get_ref(), &car.sides[Hand::BOTH[i]], i, run.as_ref(), means),
            None => Ok(None),
        });
        let total = self.total(keys, car, means)?;
        let covariance = run.map_or(0.0, |run| run.covariance);
        Ok(Toes { wheels: [left?, right?], total, covariance })
    }

    /// The toe of one wheel, whichever way it was read.
    fn toe_of(
        &mut self,
        keys: &Wheel,
        side: &Side,
        i: usize,
        run: Option<&Run>,
        means: &Means,
    ) -> Result<Option<Worked>, Told> {
        let ways = [keys.toe.as_ref().map(Spanned::span), keys.rim.as_ref().map(Spanned::span), None];
        self.one_way(ways, "the toe")?;
        let sigma = self.toe_sigma(&keys.toe_sigma, (&keys.toe, "toe"), side.rim_diameter)?;
        self.half_turn_of(keys.rim_half_turn.as_ref().map(Spanned::span), keys.rim.is_some(), "rim")?;
        if let Some(value) = &keys.toe {
            let toe = self.toe(value, side.rim_diameter).ok_or(Told)?;
            let angle = Measured { value: toe, sigma: sigma.unwrap_or(means.usual.toe) };
            return Ok(Some(Worked { angle, run_out: None, place: value.span() }));
        }
        let Some(rim) = &keys.rim else { return Ok(None) };
        let (table, place) = (rim.get_ref(), rim.span());
        let ends = self.edges([("front", &table.front), ("rear", &table.rear)], place.clone())?;
        let half = match &keys.rim_half_turn {
            Some(half) => {
                let keys = half.get_ref();
                Some(self.edges([("front", &keys.front), ("rear", &keys.rear)], half.span())?)
            }
            None => None,
        };
        let across = self.across(&table.across, side.rim_diameter, place.clone())?;
        let length = Measured { value: across, sigma: means.instruments.tape };
        let chord = self.chord(chord_angle(ends, half, means.instruments.ruler, length), place.clone())?;
        if let Some(half) = &keys.rim_half_turn {
            self.run_out(chord.run_out, Some(across), half.span());
        }
        let string = match run {
            Some(run) => run.angles[i].ok_or_else(|| {
                self.tell(
                    Finding::error(place.clone(), format!("where does the {} string run?", side.hand))
                        .label("measured from that string")
                        .help(format!(
                            "add `{} = {{ front = ..., rear = ... }}` to [reading.string]",
                            side.hand
                        )),
                );
                Told
            })?,
            None => Measured { value: 0.0, sigma: 0.0 },
        };
        let toe = chord.angle.value - string.value;
        let value = self.due(&table.front, "front", place.clone())?;
        self.plausible(value, "toe", toe, USUAL).ok_or(Told)?;
        let angle = Measured { value: toe, sigma: chord.angle.sigma.hypot(string.sigma) };
        Ok(Some(Worked { angle, run_out: chord.run_out, place }))
    }

    /// The angles of the strings to the centreline, from where they run.
    fn strings(&mut self, string: &Spanned<Strings>, car: &Car, means: &Means) -> Result<Run, Told> {
        let keys = string.get_ref();
        let tape = means.instruments.tape;
        let apart = match (&keys.apart, car.wheelbase) {
            (Some(apart), _) => self.length_in(apart, "a distance along the car", &(1000.0..=8000.0))?,
            (None, Some(wheelbase)) => wheelbase,
            (None, None) => {
                self.tell(
                    Finding::error(string.span(), "how far apart are the front and the rear place?")
                        .label("needs `apart`")
                        .help("along the car; where both are at the hubs, `wheelbase` in [car] of the profile does as well"),
                );
                return Err(Told);
            }
        };
        let halves = match &keys.tracks {
            Some(tracks) => {
                let [front, rear] = self.front_rear(tracks, "a track", &TRACKS)?;
                Some([front / 2.0, rear / 2.0])
            }
            None => None,
        };
        let (what, range) = match halves {
            Some(_) => ("a distance from the string to the hub", 10.0..=800.0),
            None => ("a distance from the string to the centreline", 400.0..=2000.0),
        };
        let mut run = Run::default();
        for (angle, gaps) in run.angles.iter_mut().zip([&keys.left, &keys.right]) {
            let Some(gaps) = gaps else { continue };
            let [front, rear] = self.front_rear(gaps, what, &range)?;
            let [half_front, half_rear] = halves.unwrap_or_default();
            // Half of a track's error; and of the rule where it goes only to the hub.
            let sigma = if halves.is_some() { (tape / 2.0).hypot(means.instruments.ruler) } else { tape };
            let measured = |value: f64| Measured { value, sigma };
            let apart = Measured { value: apart, sigma: tape };
            let found = string_angle(measured(half_front + front), measured(half_rear + rear), apart);
            if found.value.abs() > ASKEW {
                self.tell(
                    Finding::error(gaps.span(), "this string does not run along the car")
                        .label(format!("{:.2} degrees off it", found.value.to_degrees()))
                        .help("check the distances, and the tracks if they are measured to the hubs"),
                );
                return Err(Told);
            }
            *angle = Some(found);
        }
        if halves.is_some() {
            // Both strings count the same tracks: their halves' errors over the distance.
            let share = tape / 2.0 / apart;
            run.covariance = 2.0 * share * share;
        }
        Ok(run)
    }

    fn front_rear(
        &mut self,
        pair: &Spanned<FrontRear>,
        what: &'static str,
        range: &RangeInclusive<f64>,
    ) -> Result<[f64; 2], Told> {
        let (keys, place) = (pair.get_ref(), pair.span());
        let front = self.due(&keys.front, "front", place.clone())?;
        let rear = self.due(&keys.rear, "rear", place)?;
        let [front, rear] = [front, rear].map(|value| self.length_in(value, what, range));
        Ok([front?, rear?])
    }

    /// The toe of both wheels together, as it was read.
    fn total(&mut self, keys: &Reading, car: &Car, means: &Means) -> Result<Option<Worked>, Told> {
        let ways =
            [keys.total_toe.as_ref().map(Spanned::span), keys.plates.as_ref().map(Spanned::span), None];
        self.one_way(ways, "the total toe")?;
        let rim = car.sides.left.rim_diameter;
        let sigma = self.toe_sigma(&keys.total_toe_sigma, (&keys.total_toe, "total_toe"), rim)?;
        let half_turn = keys.plates_half_turn.as_ref();
        self.half_turn_of(half_turn.map(Spanned::span), keys.plates.is_some(), "plates")?;
        if let Some(value) = &keys.total_toe {
            // A total in mm is the sum over both rims.
            let half = self.toe_of_total(value, rim).ok_or(Told)?;
            let angle = Measured { value: 2.0 * half, sigma: sigma.unwrap_or(SQRT_2 * means.usual.toe) };
            return Ok(Some(Worked { angle, run_out: None, place: value.span() }));
        }
        let Some(plates) = &keys.plates else { return Ok(None) };
        let (table, place) = (plates.get_ref(), plates.span());
        let front = self.due(&table.front, "front", place.clone())?;
        let rear = self.due(&table.rear, "rear", place.clone())?;
        let ends = [self.length_in(front, BETWEEN, &TRACKS)?, self.length_in(rear, BETWEEN, &TRACKS)?];
        let length = self.due(&table.length, "length", place.clone())?;
        let length = self.length_in(length, "a length of the plates", &(200.0..=1500.0))?;
        let half = match half_turn {
            Some(half) => Some(self.front_rear(half, BETWEEN, &TRACKS)?),
            None => None,
        };
        let tape = means.instruments.tape;
        let length = Measured { value: length, sigma: tape };
        let chord = self.chord(total_toe_of_plates(ends, half, tape, length), place.clone())?;
        if let Some(half) = half_turn {
            // Two rims run out here.
            self.run_out(chord.run_out.map(|both| both / 2.0), None, half.span());
        }
        self.plausible(front, "total toe", chord.angle.value, 2.0 * USUAL).ok_or(Told)?;
        Ok(Some(Worked { angle: chord.angle, run_out: chord.run_out, place }))
    }
}
