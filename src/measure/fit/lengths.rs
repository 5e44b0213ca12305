//! Stock arms that were measured: each holds its two pivots apart at the reference.

use nalgebra::RowDVector;

use super::FittedLength;
use crate::car::{Car, Hand, Measurand};
use crate::measure::SIGMAS_OF_95;
use crate::measure::both_sides::BothSides;

/// The measured length of one stock arm.
#[derive(Debug, Clone, Copy)]
pub(super) struct Taped {
    hand: Hand,
    link: usize,
    length: f64,
    sigma: f64,
}

impl Taped {
    /// Every arm that was measured, once: a side that goes by the other one's arm says nothing new.
    pub(super) fn of(car: &Car) -> Vec<Self> {
        let mut taped = Vec::new();
        for side in &car.sides {
            for (link, of) in side.links.iter().enumerate() {
                let own = of.measured.filter(|measured| !measured.used && measured.hand == side.hand);
                taped.extend(own.map(|own| Self {
                    hand: side.hand,
                    link,
                    length: own.length,
                    sigma: own.sigma,
                }));
            }
        }
        taped
    }

    /// By how much the pivots of a car are too far apart for it, in its deviations, and how that changes with the numbers of both
    /// sides.
    pub(super) fn off(&self, car: &Car) -> (f64, RowDVector<f64>) {
        let link = self.link;
        let of = &car.sides[self.hand].links[link];
        // d = |k - s|, so grad_k d = (k - s)/d = -grad_s d
        let way = of.knuckle - of.subframe;
        let length = way.norm();
        let mut slope = RowDVector::zeros(BothSides::NUMBERS);
        for (point, sign) in [(Measurand::Knuckle(link), 1.0), (Measurand::Subframe(link), -1.0)] {
            for (axis, number) in point.place().enumerate() {
                slope[BothSides::place(self.hand, number)] = sign * way[axis] / (length * self.sigma);
            }
        }
        ((length - self.length) / self.sigma, slope)
    }

    /// How it fares, in numbers to print.
    pub(super) fn fitted(&self, before: &Car, after: &Car, standardized: f64) -> FittedLength {
        let between = |car: &Car| car.sides[self.hand].links[self.link].stock_length();
        FittedLength {
            link: before.sides[self.hand].links[self.link].name.clone(),
            side: self.hand,
            read_mm: self.length,
            sigma_mm: self.sigma,
            good_to_mm: SIGMAS_OF_95 * self.sigma,
            before_mm: between(before),
            after_mm: between(after),
            standardized,
        }
    }
}
