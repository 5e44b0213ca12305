//! One side in one state: how its links were set, what the model says of it, and what was read.

use nalgebra::{Matrix2, Vector2};

use crate::car::{PerSide, Setup, Side, Sigmas};
use crate::geometry::{Angles, Figure, Ground, Position};
use crate::measure::{Measured, Round};
use crate::plan::NoPosition;
use crate::plan::adjusting::Adjuster;
use crate::plan::wheel::{forward, forward_from};

/// How far a lock nut lets an arm turn while it is tightened, in steps either way: common practice, no source.
const LOCKED: f64 = 0.25;
/// How far a cam turns while its nut is tightened, rad either way: common practice, no source.
const CLAMPED: f64 = 2.0 * std::f64::consts::PI / 180.0;
/// Lengths and shifts closer than this are the same setting, mm.
const SAME: f64 = 1e-6;

/// A side as it was set.
#[derive(Debug, Clone)]
pub(super) struct State<'a> {
    pub(super) side: &'a Side,
    pub(super) ground: Ground,
    pub(super) drop: f64,
    pub(super) setup: Setup,
    pub(super) position: Position,
    /// Camber and toe of the model, rad.
    pub(super) model: Vector2<f64>,
}

/// What was read of one wheel: camber and toe, rad.
pub(super) type Seen = Angles<Option<Measured>>;

impl<'a> State<'a> {
    pub(super) fn new(side: &'a Side, ground: Ground, drop: f64, setup: Setup) -> Result<Self, NoPosition> {
        let position = forward(side, &setup, drop)?;
        Ok(Self { side, ground, drop, setup, position, model: model(side, &ground, &position) })
    }

    /// The same side at the same height, set otherwise.
    pub(super) fn set(&self, setup: Setup) -> Result<Self, NoPosition> {
        let position = forward_from(&self.position, self.side, &setup, self.drop)?;
        Ok(Self { setup, position, model: model(self.side, &self.ground, &position), ..self.clone() })
    }

    /// How camber and toe change per mm of a link's length, rad/mm.
    pub(super) fn rate(&self, link: usize) -> Vector2<f64> {
        let of = |figure| self.position.rate(figure, &self.side.wheel, &self.ground, link);
        Vector2::new(of(Figure::Camber), of(Figure::Toe))
    }

    /// How camber and toe change per mm of an adjuster's value, rad/mm.
    pub(super) fn rate_of(&self, adjuster: &Adjuster) -> Vector2<f64> {
        self.rate(adjuster.link) * self.push(adjuster)
    }

    /// How much longer the rod of an adjuster acts per mm of its value.
    pub(super) fn push(&self, adjuster: &Adjuster) -> f64 {
        adjuster.push(self.side, &self.setup, &self.position)
    }

    /// Where an adjuster stands, mm.
    pub(super) fn value(&self, adjuster: &Adjuster) -> f64 {
        adjuster.value(self.side, &self.setup)
    }

    /// The links that are set differently in another state.
    pub(super) fn turned_since(&self, before: &Self) -> Vec<usize> {
        let differs = |i: &usize| {
            (self.setup.lengths[*i] - before.setup.lengths[*i]).abs() > SAME
                || (self.setup.pivots[*i] - before.setup.pivots[*i]).norm() > SAME
        };
        (0..self.side.links.len()).filter(differs).collect()
    }

    /// Covariance of camber and toe from how exactly some links are set, rad2: each anywhere within what its lock nut or cam
    /// nut lets go, a rectangular law.
    pub(super) fn setting_noise(&self, turned: &[usize], sigmas: &Sigmas) -> Matrix2<f64> {
        let mut noise = Matrix2::zeros();
        for &i in turned {
            let link = &self.side.links[i];
            let arm = match &link.arm {
                Some(arm) => LOCKED * arm.step * arm.lead() / 3.0_f64.sqrt(),
                None => sigmas.matching(),
            };
            let cam = Adjuster::of_cam(i, link).map_or(0.0, |cam| {
                let slope = (cam.ends()[1].powi(2) - self.value(&cam).powi(2)).max(0.0).sqrt();
                CLAMPED * slope / 3.0_f64.sqrt() * self.push(&cam)
            });
            // A link is turned by its arm or by its cam; where both moved the arm was put in, and its cam locked out.
            let moved = if link.arm.is_some() { arm } else { cam.abs().max(arm) };
            let change = self.rate(i) * moved;
            noise += change * change.transpose();
        }
        noise
    }
}

fn model(side: &Side, ground: &Ground, position: &Position) -> Vector2<f64> {
    let Angles { camber, toe } = Angles::of(|figure| figure.value(&position.pose, &side.wheel, ground));
    Vector2::new(camber, toe)
}

/// What was read of both wheels in a round. With one wheel's toe and the total, the other wheel has the rest.
pub(super) fn seen(round: &Round) -> PerSide<Seen> {
    let mut toes = round.wheels.map(|wheel| wheel.toe);
    let rest = |one: Measured| {
        let total = round.total_toe?;
        Some(Measured { value: total.value - one.value, sigma: total.sigma.hypot(one.sigma) })
    };
    match (toes.left, toes.right) {
        (Some(left), None) => toes.right = rest(left),
        (None, Some(right)) => toes.left = rest(right),
        _ => {}
    }
    PerSide::of(|hand| Angles { camber: round.wheels[hand].camber, toe: toes[hand] })
}
