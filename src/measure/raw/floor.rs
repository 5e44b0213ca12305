//! The floor that the car stands on, measured or found by turning the car round, and taken out of the cambers.

use std::f64::consts::SQRT_2;

use super::reduce::{FAR, Reduction};
use super::{AngleEntry, Flaw, RawAngles, RawCamber, RawFloor};
use crate::car::{Hand, PerSide};
use crate::geometry::DEGREE;
use crate::measure::{ChordAngle, Measured, ReadWith, floor_slope, off_floor, turned_round};

/// No garage floor slopes by more, rad.
const FLOOR: f64 = 3.0 * DEGREE;

/// The cambers of both wheels against the floor.
#[derive(Default)]
pub(super) struct Cambers {
    pub(super) wheels: PerSide<Option<ChordAngle>>,
    pub(super) floor: Option<Measured>,
    pub(super) covariance: f64,
}

impl Reduction<'_> {
    /// The cambers; `toes` are the toes of the wheels, rad, as far as they are known.
    pub(super) fn cambers(
        &mut self,
        raw: &RawAngles,
        source: Option<ReadWith>,
        toes: PerSide<f64>,
    ) -> Option<Cambers> {
        let read = self.both(&raw.cambers, AngleEntry::Camber);
        let Some(floor) = &raw.floor else { return Some(Cambers { wheels: read?, ..Cambers::default() }) };
        if source == Some(ReadWith::Rack) {
            return self.fail(Flaw::FloorUnderRack);
        }
        let slope = match floor {
            RawFloor::TurnedRound(cambers) => {
                let again = self.both(cambers, AngleEntry::CamberTurnedRound);
                return self.turned(read?, again?, toes);
            }
            RawFloor::Higher(by, across) => {
                let by = Measured { value: *by, sigma: SQRT_2 * self.instruments.ruler };
                let across =
                    Measured { value: across.unwrap_or(self.car.track()), sigma: self.instruments.tape };
                floor_slope(by, across).unwrap_or(Measured { value: f64::INFINITY, ..by })
            }
            RawFloor::Slope(value) => Measured { value: *value, sigma: self.instruments.level },
        };
        if slope.value.abs() > FLOOR {
            return self.fail(Flaw::Steep(slope.value));
        }
        let off = |hand: Hand| {
            let read = read.as_ref()?[hand]?;
            Some(ChordAngle { angle: off_floor(read.angle, toes[hand], slope, hand), ..read })
        };
        let wheels = PerSide::of(off);
        read?;
        // A floor that is higher on the left than was thought adds to the left camber what it takes from the right.
        Some(Cambers { wheels, floor: Some(slope), covariance: -slope.sigma * slope.sigma })
    }

    fn both(
        &mut self,
        raw: &PerSide<Option<RawCamber>>,
        entry: impl Fn(Hand) -> AngleEntry,
    ) -> Option<PerSide<Option<ChordAngle>>> {
        let read = PerSide::of(|hand| match &raw[hand] {
            Some(camber) => self.camber(entry(hand), hand, camber).map(Some),
            None => Some(None),
        });
        read.all()
    }

    /// With the car turned round: the mean, and the floor from the difference.
    fn turned(
        &mut self,
        read: PerSide<Option<ChordAngle>>,
        again: PerSide<Option<ChordAngle>>,
        toes: PerSide<f64>,
    ) -> Option<Cambers> {
        let pairs = PerSide::of(|hand| Some(turned_round(read[hand]?.angle, again[hand]?.angle, hand)));
        let PerSide { left, right } = pairs.map(|pair| pair.map(|(_, slope)| slope));
        let slope = match (left, right) {
            (None, None) => return self.fail(Flaw::NoPair),
            (Some(slope), None) | (None, Some(slope)) => slope,
            (Some(left), Some(right)) => {
                if (left.value - right.value).abs() > FAR * left.sigma.hypot(right.sigma) {
                    self.tell(Flaw::TwoFloors([left.value, right.value]));
                }
                Measured {
                    value: f64::midpoint(left.value, right.value),
                    sigma: left.sigma.hypot(right.sigma) / 2.0,
                }
            }
        };
        let back = Measured { value: -slope.value, ..slope };
        let wheels = PerSide::of(|hand| {
            let angle = match (pairs[hand], read[hand], again[hand]) {
                (Some((camber, _)), ..) => camber,
                (None, Some(read), _) => off_floor(read.angle, toes[hand], slope, hand),
                (None, None, Some(again)) => off_floor(again.angle, toes[hand], back, hand),
                (None, None, None) => return None,
            };
            read[hand].or(again[hand]).map(|worked| ChordAngle { angle, ..worked })
        });
        Some(Cambers { wheels, floor: Some(slope), covariance: 0.0 })
    }
}
