//! The floor that the car stands on: measured, or found by turning the car round.

use toml::Spanned;

use super::camber::Cambers;
use super::schema::{Floor, Reading, Wheel};
use super::toe::TRACKS;
use super::{Means, Told, Worked};
use crate::car::{Car, Hand};
use crate::measure::{Measured, ReadWith, floor_slope, off_floor, turned_round};
use crate::profile::check::{Checker, DEGREE};
use crate::profile::finding::Finding;

/// No garage floor slopes by more, rad.
const FLOOR: f64 = 3.0 * DEGREE;
/// No two tyres stand at heights that differ by more, mm.
const STEP: f64 = 100.0;
/// So many standard deviations are no chance.
const FAR: f64 = 4.0;

impl Checker {
    /// The slope of the floor as it was measured, rad.
    pub(super) fn floor(
        &mut self,
        floor: &Spanned<Floor>,
        car: &Car,
        means: &Means,
    ) -> Result<Measured, Told> {
        let (keys, place) = (floor.get_ref(), floor.span());
        let slope = match (&keys.left_higher, &keys.slope) {
            (Some(higher), None) => {
                let height = self.accept(higher, higher.get_ref().length()).ok_or(Told)?;
                if height.abs() > STEP {
                    self.tell(
                        Finding::error(higher.span(), "no garage floor slopes like that")
                            .label(format!("{height:.1} mm higher on the left")),
                    );
                    return Err(Told);
                }
                let across = match &keys.across {
                    Some(across) => self.length_in(across, "a track", &TRACKS)?,
                    None => car.track(),
                };
                let height =
                    Measured { value: height, sigma: std::f64::consts::SQRT_2 * means.instruments.ruler };
                floor_slope(height, Measured { value: across, sigma: means.instruments.tape }).ok_or(Told)?
            }
            (None, Some(slope)) => {
                let value = self.angle(slope).ok_or(Told)?;
                Measured { value, sigma: means.instruments.level }
            }
            (Some(one), Some(other)) => {
                self.tell(
                    Finding::error(other.span(), "the floor is given twice")
                        .label("this way")
                        .other(one.span(), "and this way")
                        .help("keep one of them"),
                );
                return Err(Told);
            }
            (None, None) => {
                self.tell(
                    Finding::error(place, "how does the floor slope?").label("needs `left_higher` or `slope`").help(
                        "`left_higher`: by how much the floor is higher under the left rear tyre than under the right one; `slope`: \
                         the angle, plus where it rises to the left",
                    ),
                );
                return Err(Told);
            }
        };
        if slope.value.abs() > FLOOR {
            self.tell(
                Finding::error(place, "no garage floor slopes like that")
                    .label(format!("{:.2} degrees", slope.value.to_degrees()))
                    .help("a bare number is degrees; minutes are written \"15'\""),
            );
            return Err(Told);
        }
        Ok(slope)
    }

    /// The floor may be taken out in one way, and only of what a level or a plumb line has seen.
    pub(super) fn floor_once(&mut self, keys: &Reading) -> Result<(), Told> {
        let floor = keys.floor.as_ref().map(Spanned::span);
        let turned = keys.other_way_round.as_ref().map(Spanned::span);
        self.one_way([floor.clone(), turned.clone(), None], "the floor")?;
        if let (Some(source), Some(place)) = (&keys.source, floor.or(turned))
            && matches!(source.get_ref(), ReadWith::Rack)
        {
            self.tell(
                Finding::error(place, "a rack is level by itself")
                    .label("this floor would be taken out twice")
                    .other(source.span(), "the reading comes from a rack")
                    .help("leave the floor out, or say `source = \"gauge\"`"),
            );
            return Err(Told);
        }
        Ok(())
    }

    /// With the car turned round: the mean, and the floor from the difference.
    pub(super) fn turned(
        &mut self,
        keys: &Reading,
        read: [Option<Worked>; 2],
        again: [Option<Worked>; 2],
        toes: [f64; 2],
    ) -> Result<Cambers, Told> {
        let place = keys.other_way_round.as_ref().map_or(0..0, Spanned::span);
        let both = |i: usize| Some((read[i].as_ref()?.angle, again[i].as_ref()?.angle));
        let pairs = [0, 1].map(|i| both(i).map(|(one, other)| turned_round(one, other, Hand::BOTH[i])));
        let slopes: Vec<Measured> = pairs.iter().flatten().map(|(_, slope)| *slope).collect();
        let slope = match slopes[..] {
            [] => {
                self.tell(Finding::error(place, "no wheel was read both ways").label("turned round").help(
                    "the same wheel before and after the car was turned: that tells its camber and the floor",
                ));
                return Err(Told);
            }
            [slope] => slope,
            [left, right, ..] => {
                if (left.value - right.value).abs() > FAR * left.sigma.hypot(right.sigma) {
                    self.tell(
                        Finding::warning(place, "the two wheels do not find the same floor")
                            .label(format!(
                                "left {:+.2}, right {:+.2} degrees up to the left",
                                left.value.to_degrees(),
                                right.value.to_degrees()
                            ))
                            .help("was the car on the same spots, each wheel on the other's?"),
                    );
                }
                Measured {
                    value: f64::midpoint(left.value, right.value),
                    sigma: left.sigma.hypot(right.sigma) / 2.0,
                }
            }
        };
        let back = Measured { value: -slope.value, ..slope };
        let [left, right] = read;
        let [left_again, right_again] = again;
        let wheel = |i: usize, read: Option<Worked>, again: Option<Worked>| {
            let hand = Hand::BOTH[i];
            let angle = match (pairs[i], &read, &again) {
                (Some((camber, _)), ..) => camber,
                (None, Some(read), _) => off_floor(read.angle, toes[i], slope, hand),
                (None, None, Some(again)) => off_floor(again.angle, toes[i], back, hand),
                (None, None, None) => return None,
            };
            read.or(again).map(|worked| Worked { angle, ..worked })
        };
        let wheels = [wheel(0, left, left_again), wheel(1, right, right_again)];
        Ok(Cambers { wheels, floor: Some(slope), covariance: 0.0 })
    }

    /// Turned round, only cambers are read again.
    pub(super) fn only_camber(&mut self, keys: &Wheel) {
        let toe = [keys.toe.as_ref().map(Spanned::span), keys.rim.as_ref().map(Spanned::span)];
        for place in toe.into_iter().flatten() {
            self.tell(
                Finding::error(place, "turned round, only the camber is read again")
                    .help("the floor does not change the toe; put it into [reading.left] or [reading.right]"),
            );
        }
    }
}
