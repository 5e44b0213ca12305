//! Cars that may be the measured one: drawn at random from its errors, the same for the same seed.

use nalgebra::DVector;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_pcg::Pcg64;

use super::both_sides::BothSides;
use crate::car::{Car, Stance};

/// Draws cars.
#[derive(Debug, Clone)]
pub struct Sampler<'a> {
    car: &'a Car,
    stance: &'a Stance,
    errors: BothSides,
    seed: u64,
}

/// One car that may be the measured one, as somebody may set it up.
#[derive(Debug, Clone, PartialEq)]
pub struct Draw {
    /// The car.
    pub car: Car,
    /// How it stands: the heights as they may have been set.
    pub stance: Stance,
    /// By how much each arm of each side may be off its stock length after it was matched, mm.
    pub presets: [[f64; 5]; 2],
}

impl<'a> Sampler<'a> {
    /// A source of cars; every sample has its own stream of random numbers, so their order does not matter.
    pub fn new(car: &'a Car, stance: &'a Stance, seed: u64) -> Self {
        Self { car, stance, errors: BothSides::of(car), seed }
    }

    /// One of them; `None` where the heights drawn do not make a stance.
    pub fn draw(&self, sample: u64) -> Option<Draw> {
        let mut random = Pcg64::new(self.seed.into(), sample.into());
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let z = DVector::from_fn(self.errors.factor.ncols(), |_, _| normal());
        let car = self.errors.car(self.car, &z);
        let sigmas = &self.car.sigmas;
        let drops = self.stance.drops.map(|drop| drop + sigmas.drop * normal());
        let front = self.stance.front.map(|drop| drop + sigmas.drop * normal());
        let mut play = || -> f64 { StandardUniform.sample(&mut random) };
        // The stock arm and the new one, each anywhere within the play of its bolts.
        let slack = [[(); 5]; 2].map(|side| side.map(|()| sigmas.slack * (play() - play())));
        let mut normal = || -> f64 { StandardNormal.sample(&mut random) };
        let presets = slack.map(|side| side.map(|slack| slack + sigmas.preset * normal()));
        // The ground is worked out from the measured car, whose wheelbase and track are far better known than its points.
        Some(Draw { car, stance: Stance::new(self.car, drops, front)?, presets })
    }
}
