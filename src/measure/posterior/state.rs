//! A state of a car in which something was read.

use nalgebra::DVector;

use super::unknown::{Unknown, What};
use crate::car::{Car, Hand, PerLink, PerSide, Setup, Side, Stance};
use crate::measure::Round;

/// How a car stood and was set, and which unknowns that touches.
#[derive(Debug, Clone)]
pub(crate) struct State {
    /// Drops as they were meant, mm.
    pub(super) drops: PerSide<f64>,
    /// That of the front, where there is one.
    pub(super) front: Option<f64>,
    /// Length beyond the stock one, of each link that has another arm, mm.
    pub(super) turned: PerSide<PerLink<Option<f64>>>,
    /// Shifts of the pivots from the middle of their slots, mm, where they are not as found.
    pub(super) shifts: PerSide<PerLink<Option<f64>>>,
    /// Places of the unknowns that it rests on, behind those of the car, and how many times each counts.
    pub(super) touches: Vec<(usize, f64)>,
}

impl State {
    pub(super) fn of(car: &Car, round: &Round, place: usize) -> Result<Self, usize> {
        Stance::new(car, round.drops, round.front).ok_or(place)?;
        let turned = car.sides.each(|side| {
            PerLink::of(|link| {
                round.lengths[side.hand][link].map(|length| length - side.links[link].stock_length())
            })
        });
        Ok(Self { drops: round.drops, front: round.front, turned, shifts: round.shifts, touches: Vec::new() })
    }

    /// The unknowns that it touches, each with its place and by how much it is off, in its own unit.
    pub(super) fn errors<'a>(
        &'a self,
        unknowns: &'a [Unknown],
        z: &'a DVector<f64>,
    ) -> impl Iterator<Item = (usize, What, f64)> + 'a {
        let before = z.len() - unknowns.len();
        self.touches.iter().map(move |&(place, times)| {
            let Unknown { what, sigma } = unknowns[place];
            (before + place, what, times * sigma * z[before + place])
        })
    }

    /// The drops as they truly were.
    pub(super) fn drops(&self, unknowns: &[Unknown], z: &DVector<f64>) -> PerSide<f64> {
        let mut drops = self.drops;
        for (_, what, off) in self.errors(unknowns, z) {
            if let What::Drop(hand) = what {
                drops[hand] += off;
            }
        }
        drops
    }

    /// How the car truly stood.
    pub(super) fn stance(&self, car: &Car, unknowns: &[Unknown], z: &DVector<f64>) -> Option<Stance> {
        let off =
            self.errors(unknowns, z).find(|(_, what, _)| *what == What::Front).map_or(0.0, |(.., off)| off);
        Stance::new(car, self.drops(unknowns, z), self.front.map(|front| front + off))
    }

    /// How the links of one side truly were: its arms are turned as much from its own stock lengths.
    pub(super) fn setup(&self, side: &Side, unknowns: &[Unknown], z: &DVector<f64>) -> Setup {
        let mut setup = Setup::as_found(side);
        for (link, of) in side.links.iter().enumerate() {
            setup.lengths[link] += self.turned[side.hand][link].unwrap_or(0.0);
            if let Some(shift) = self.shifts[side.hand][link] {
                setup.put_cam(link, of, shift);
            }
        }
        for (_, what, off) in self.errors(unknowns, z) {
            match what {
                What::Length(hand, link) if hand == side.hand => setup.lengths[link] += off,
                What::Shift(hand, link) if hand == side.hand => {
                    setup.move_cam(link, &side.links[link], off);
                }
                _ => {}
            }
        }
        setup
    }

    /// The drop of a side as it was noted, mm.
    pub(crate) fn noted_drop(&self, hand: Hand) -> f64 {
        self.drops[hand]
    }

    /// Whether a side's links stand otherwise than in another state.
    pub(super) fn differs(&self, other: &Self, hand: Hand, link: usize) -> bool {
        /// Lengths and shifts closer than this are the same setting, mm.
        const SAME: f64 = 1e-6;
        let differ = |a: Option<f64>, b: Option<f64>| match (a, b) {
            (Some(a), Some(b)) => (a - b).abs() > SAME,
            (a, b) => a.is_some() != b.is_some(),
        };
        differ(self.turned[hand][link], other.turned[hand][link])
            || differ(self.shifts[hand][link], other.shifts[hand][link])
    }
}
