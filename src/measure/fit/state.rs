//! Where the wheels of a car are in a state in which something was read.

use nalgebra::{DMatrix, Matrix4x3};

use super::NoFit;
use crate::car::{Car, Measurand, PerLink, PerSide, Setup, Side, Stance};
use crate::geometry::{Figure, Ground, Position, solve};
use crate::measure::both_sides::BothSides;
use crate::measure::{Round, Sensitivity};

/// A state of the car in which something was read.
pub(super) struct State {
    pub(super) drops: PerSide<f64>,
    pub(super) drop_sigma: f64,
    stance: Stance,
    /// Length beyond the stock one, of each link of each side, mm.
    turned: PerSide<PerLink<f64>>,
    shifts: PerSide<PerLink<Option<f64>>>,
}

/// Where both wheels are in a state: figures, and how they change with the numbers and with the drops.
pub(super) struct Seen {
    /// Left camber, left toe, right camber, right toe, rad.
    pub(super) figures: [f64; 4],
    pub(super) slopes: DMatrix<f64>,
    /// How they change with the drops of left, right and front, rad/mm.
    pub(super) with_drops: Matrix4x3<f64>,
}

impl State {
    pub(super) fn of(car: &Car, round: &Round, place: usize) -> Result<Self, NoFit> {
        let stance = Stance::new(car, round.drops, round.front).ok_or(NoFit::NoWheelbase(place))?;
        let turned = car.sides.each(|side| {
            PerLink::of(|link| {
                let stock = side.links[link].stock_length();
                round.lengths[side.hand][link].map_or(0.0, |length| length - stock)
            })
        });
        Ok(Self {
            drops: round.drops,
            drop_sigma: round.drop_sigma.unwrap_or(car.sigmas.drop),
            stance,
            turned,
            shifts: round.shifts,
        })
    }

    /// The state of one side of a car that may have moved a little: its arms are turned as much from its own stock lengths.
    fn setup(&self, side: &Side) -> Setup {
        let mut setup = Setup::as_found(side);
        for (link, (pivot, length)) in setup.pivots.iter_mut().zip(&mut setup.lengths).enumerate() {
            *length += self.turned[side.hand][link];
            if let Some(shift) = self.shifts[side.hand][link] {
                *pivot = side.links[link].pivot(shift);
            }
        }
        setup
    }

    pub(super) fn seen(&self, car: &Car) -> Option<Seen> {
        let mut seen = Seen {
            figures: [0.0; 4],
            slopes: DMatrix::zeros(4, BothSides::NUMBERS),
            with_drops: Matrix4x3::zeros(),
        };
        let own = Measurand::Camber.place().start;
        for (i, side) in car.sides.iter().enumerate() {
            let setup = self.setup(side);
            let position = solve(&setup.rows(side, self.drops[side.hand]), &side.reference()).ok()?;
            let sensitivity = Sensitivity::of(side, &self.stance, &setup, &position);
            let row = 2 * i;
            for (k, figure) in [Figure::Camber, Figure::Toe].into_iter().enumerate() {
                seen.figures[row + k] = read(figure, &position, side, &self.stance.ground(side.hand));
            }
            seen.slopes.view_mut((row, 0), (2, own)).copy_from(&sensitivity.measured.columns(0, own));
            let at = if i == 0 { own } else { own + 2 };
            seen.slopes.view_mut((row, at), (2, 2)).copy_from(&sensitivity.measured.columns(own, 2));
            let drops = [[0, 1], [1, 0]][i].map(|drop| sensitivity.drops.column(drop).into_owned());
            for (k, drop) in drops.into_iter().chain([sensitivity.drops.column(2).into_owned()]).enumerate() {
                seen.with_drops.fixed_view_mut::<2, 1>(row, k).copy_from(&drop);
            }
        }
        Some(seen)
    }
}

fn read(figure: Figure, position: &Position, side: &Side, ground: &Ground) -> f64 {
    figure.value(&position.pose, &side.wheel, ground)
}
