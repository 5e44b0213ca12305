//! One wheel in one state: how its links stand as far as is known, and what it then has.

use nalgebra::{Matrix2, Vector2};

use crate::car::{Hand, PerLink, PerSide, Setup, Side, Sigmas};
use crate::geometry::{Angles, Figure, Ground, Position};
use crate::measure::posterior::{Expected, KnownCar, State, setting_sigma};
use crate::measure::{Measured, Round};
use crate::plan::NoPosition;
use crate::plan::adjusting::Adjuster;
use crate::plan::wheel::{forward, forward_from};

/// Lengths and shifts closer than this are the same setting, mm.
const SAME: f64 = 1e-6;

/// A wheel as it stands.
#[derive(Debug, Clone)]
pub(super) struct Standing<'a> {
    pub(super) side: &'a Side,
    pub(super) ground: Ground,
    pub(super) drop: f64,
    pub(super) setup: Setup,
    pub(super) position: Position,
    /// What it is expected to read.
    pub(super) expected: Expected,
}

/// What was read of one wheel: camber and toe, rad.
pub(super) type Seen = Angles<Option<Measured>>;

impl<'a> Standing<'a> {
    /// A wheel of the car that is known, in a state; `side` is that car's own, or the same with its arms otherwise counted.
    pub(super) fn of(known: &KnownCar<'_>, state: &State, side: &'a Side) -> Result<Self, NoPosition> {
        let hand = side.hand;
        let (setup, drop) = (known.setup(state, hand), known.drop(state, hand));
        let position = forward(side, &setup, drop)?;
        let ground = known.stance(state).map_or(Ground::tilted(0.0, 0.0), |stance| stance.ground(hand));
        let figures = figures(side, &ground, &position);
        let alone = Expected { figures, covariance: Matrix2::zeros() };
        let expected = known.expected(state).map_or(alone, |wheels| wheels[hand]);
        Ok(Self { side, ground, drop, setup, position, expected })
    }

    /// Camber and toe where the links put the wheel, rad.
    pub(super) fn figures(&self) -> Angles {
        figures(self.side, &self.ground, &self.position)
    }

    /// By how much more is read than the links alone say, rad.
    pub(super) fn offset(&self) -> Angles {
        let here = self.figures();
        Angles {
            camber: self.expected.figures.camber - here.camber,
            toe: self.expected.figures.toe - here.toe,
        }
    }

    /// Camber and toe that would be read at the same height with the links set otherwise, rad.
    pub(super) fn set(&self, setup: &Setup) -> Result<Angles, NoPosition> {
        let position = forward_from(&self.position, self.side, setup, self.drop)?;
        let (there, offset) = (figures(self.side, &self.ground, &position), self.offset());
        Ok(Angles { camber: there.camber + offset.camber, toe: there.toe + offset.toe })
    }

    /// How camber and toe change per mm of a link's length, rad/mm.
    pub(super) fn rate(&self, link: usize) -> Vector2<f64> {
        rate(self.side, &self.ground, &self.position, link)
    }

    /// How much longer the rod of an adjuster acts per mm of its value.
    pub(super) fn push(&self, adjuster: &Adjuster) -> f64 {
        adjuster.pushes(self.side, &self.setup, &self.position)[0].1
    }

    /// How camber and toe change per mm of an adjuster's value, rad/mm.
    pub(super) fn slope(&self, adjuster: &Adjuster) -> Vector2<f64> {
        adjuster.per_mm(self.side, &self.setup, &self.position, |row| self.rate(row))
    }

    /// Where an adjuster stands, mm.
    pub(super) fn value(&self, adjuster: &Adjuster) -> f64 {
        adjuster.value(self.side, &self.setup)
    }

    /// Covariance of camber and toe from how exactly the links are set that stand otherwise in a position of `setup`, rad2.
    pub(super) fn setting_noise(&self, setup: &Setup, position: &Position, sigmas: &Sigmas) -> Matrix2<f64> {
        let mut noise = Matrix2::zeros();
        for i in self.setup.differing(setup) {
            let link = &self.side.links[i];
            let by_arm = (self.setup.lengths[i] - setup.lengths[i]).abs() > SAME;
            let cam = Adjuster::of_cam(i, link).filter(|_| !by_arm);
            let shift = cam.map_or(0.0, |cam| cam.value(self.side, setup));
            let sigma = setting_sigma(link, by_arm, shift, sigmas);
            let pushes = cam.map_or([(i, 1.0), (i, 0.0)], |cam| cam.pushes(self.side, setup, position));
            let per =
                |(row, push): (usize, f64)| rate(self.side, &self.ground, position, row) * (push * sigma);
            let change: Vector2<f64> = pushes.into_iter().map(per).sum();
            noise += change * change.transpose();
        }
        noise
    }
}

fn figures(side: &Side, ground: &Ground, position: &Position) -> Angles {
    Angles::of(|figure| figure.value(&position.pose, &side.wheel, ground))
}

fn rate(side: &Side, ground: &Ground, position: &Position, link: usize) -> Vector2<f64> {
    let of = |figure| position.rate(figure, &side.wheel, ground, link);
    Vector2::new(of(Figure::Camber), of(Figure::Toe))
}

/// What was read of both wheels in a round, against what was expected of them. A total alone says nothing of which wheel is off: what
/// it is off the toes that were expected is split evenly. With one wheel's toe and the total, the other wheel has the rest.
pub(super) fn seen(round: &Round, expected: &PerSide<Angles>) -> PerSide<Seen> {
    let mut toes = round.wheels.map(|wheel| wheel.toe);
    let rest = |one: Measured| {
        let total = round.total_toe?;
        Some(Measured { value: total.value - one.value, sigma: total.sigma.hypot(one.sigma) })
    };
    match (toes.left, toes.right, round.total_toe) {
        (Some(left), None, _) => toes.right = rest(left),
        (None, Some(right), _) => toes.left = rest(right),
        (None, None, Some(total)) => {
            let half = (total.value - expected.left.toe - expected.right.toe) / 2.0;
            toes = expected
                .map(|expected| Some(Measured { value: expected.toe + half, sigma: total.sigma / 2.0 }));
        }
        _ => {}
    }
    PerSide::of(|hand| Angles { camber: round.wheels[hand].camber, toe: toes[hand] })
}

/// The side of a car that is known, with its arms counted as those of the profile are set: what an arm is off its stock length, and
/// what the points were off, is no part of what it may be turned by. Also by how much longer each link is than noted, mm.
pub(super) fn as_noted(
    profile: &Side,
    known: &KnownCar<'_>,
    state: &State,
    noted: &Setup,
    hand: Hand,
) -> (Side, PerLink<f64>) {
    let mut side = known.car.sides[hand].clone();
    let stands = known.setup(state, hand);
    let more = PerLink::of(|link| stands.lengths[link] - noted.lengths[link]);
    for (i, link) in side.links.iter_mut().enumerate() {
        link.arm = profile.links[i].arm.as_ref().map(|arm| arm.counted_from(more[i]));
    }
    (side, more)
}
