//! Cars that may be the measured one: drawn at random from its errors, the same for the same seed.

use nalgebra::DVectorView;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_pcg::Pcg64;

use super::both_sides::BothSides;
use crate::car::{Car, Measurand, PerLink, PerSide, Side, Stance};

/// Draws cars.
#[derive(Debug, Clone)]
pub struct Sampler<'a> {
    car: &'a Car,
    stance: &'a Stance,
    measured: PerSide<[f64; Measurand::NUMBERS]>,
    /// The ways in which anything may be off, each with the numbers that are then off, and by how much.
    ways: Vec<Vec<(usize, f64)>>,
    seed: u64,
}

/// One car that may be the measured one, as somebody may set it up. Drawing one takes nothing from the heap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Draw {
    /// What would have been measured on each side, in the order of [`Measurand::all`], mm and rad.
    pub(crate) numbers: PerSide<[f64; Measurand::NUMBERS]>,
    /// How it stands: the heights as they may have been set.
    pub(crate) stance: Stance,
    /// By how much each arm of each side may be off its stock length after it was matched, mm.
    pub(crate) presets: PerSide<PerLink<f64>>,
}

impl Draw {
    /// The whole car.
    #[must_use]
    pub(crate) fn car(&self, measured: &Car) -> Car {
        let mut car = measured.clone();
        for (side, numbers) in car.sides.iter_mut().zip(&self.numbers) {
            *side = side.with_numbers(numbers);
        }
        car
    }
}

impl<'a> Sampler<'a> {
    /// A source of cars; every sample has its own stream of random numbers, so their order does not matter.
    pub fn new(car: &'a Car, stance: &'a Stance, seed: u64) -> Self {
        let measured = car.sides.each(Side::numbers);
        // What was measured by itself is a way of its own, so nearly all of a column is nothing.
        let way = |column: DVectorView<'_, f64>| {
            column.iter().copied().enumerate().filter(|(_, part)| *part != 0.0).collect()
        };
        let ways = BothSides::of(car).factor.column_iter().map(way).collect();
        Self { car, stance, measured, ways, seed }
    }

    /// One of them; `None` where the heights drawn do not make a stance.
    pub fn draw(&self, sample: u64) -> Option<Draw> {
        let mut random = Pcg64::new(self.seed.into(), sample.into());
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let mut off = [0.0; BothSides::NUMBERS];
        for way in &self.ways {
            let size = normal();
            for &(number, part) in way {
                off[number] += part * size;
            }
        }
        let numbers = PerSide::of(|hand| {
            std::array::from_fn(|number| {
                self.measured[hand][number]
                    + BothSides::places(hand, number).map(|place| off[place]).sum::<f64>()
            })
        });
        let sigmas = &self.car.sigmas;
        let drops = self.stance.drops.map(|drop| drop + sigmas.drop * normal());
        let front = self.stance.front.map(|drop| drop + sigmas.drop * normal());
        let mut play = || -> f64 { StandardUniform.sample(&mut random) };
        // The stock arm and the new one, each anywhere within the play of its bolts.
        let slack = PerSide::of(|_| PerLink::of(|_| sigmas.slack * (play() - play())));
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let presets = slack.map(|side| side.map(|slack| slack + sigmas.preset * normal()));
        // The ground is worked out from the measured car, whose wheelbase and track are far better known than its points.
        Some(Draw { numbers, stance: Stance::new(self.car, drops, front)?, presets })
    }
}
