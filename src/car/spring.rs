//! What spring and damper do as the wheel moves.

use nalgebra::{Point3, Vector3};

use super::{Seat, Setup, Side, Spring, Strut};
use crate::geometry::solids::Obstacle;
use crate::geometry::{Moving, Pose, Position, Rise, Wrench};

/// A spring whose line hardly moves with the wheel holds nothing up: less than this, mm/mm.
const HARDLY: f64 = 0.05;

impl Strut {
    /// How the lower end moves as the wheel rises.
    pub fn moving(&self, side: &Side, setup: &Setup, position: &Position, rise: &Rise) -> Moving {
        match self.lower {
            Seat::Knuckle(point) => rise.point(position, &(point - side.wheel.centre)),
            Seat::Arm { link, along } => rise
                .point(position, &side.knuckle_arm(link))
                .part_from(&setup.pivots[link], along / setup.lengths[link]),
            Seat::Plate { legs, inner } => {
                let joint = rise.point(position, &side.knuckle_arm(legs[0]));
                let pivots = legs.map(|leg| setup.pivots[leg]);
                let carried =
                    |way| inner.carried(pivots, &joint.at, [Vector3::zeros(), Vector3::zeros(), way]);
                Moving {
                    at: inner.at(pivots, &joint.at),
                    velocity: carried(joint.velocity),
                    acceleration: carried(joint.acceleration),
                }
            }
        }
    }

    /// Its lower end in a pose.
    pub(crate) fn lower(&self, side: &Side, setup: &Setup, pose: &Pose) -> Point3<f64> {
        match self.lower {
            Seat::Knuckle(point) => pose.point(&(point - side.wheel.centre)),
            Seat::Arm { link, along } => {
                let [pivot, knuckle] = side.ends(link, setup, pose);
                pivot + (knuckle - pivot) * (along / setup.lengths[link])
            }
            Seat::Plate { legs, inner } => {
                let joint = pose.point(&side.knuckle_arm(legs[0]));
                inner.at(legs.map(|leg| setup.pivots[leg]), &joint)
            }
        }
    }

    /// The length from end to end in a pose, mm.
    pub fn length(&self, side: &Side, setup: &Setup, pose: &Pose) -> f64 {
        (self.lower(side, setup, pose) - self.upper).norm()
    }
}

impl Spring {
    /// Its coils in a pose, as a cylinder from the upper end on, where they were measured. What is below them, a damper's body or a
    /// seat, keeps its length.
    pub fn coils(&self, side: &Side, setup: &Setup, pose: &Pose) -> Option<Obstacle> {
        let radius = self.diameter? / 2.0;
        let lower = self.line.lower(side, setup, pose);
        let measured = self.line.length(side, &Setup::as_found(side), &side.reference());
        let below = self.length.map_or(0.0, |length| measured - length);
        let end = lower + (self.line.upper - lower).normalize() * below;
        Some(Obstacle::Cylinder { ends: [self.line.upper, end], radius })
    }

    /// The force in a spring's line that holds a load on the knuckle up, N, positive: it pushes. `ratio` is how much the spring
    /// shortens per mm that the wheel rises. `None` where that is hardly anything, so that no force would hold.
    ///
    /// By virtual work: let the wheel rise by a little, all links as long as they are. What the load does on the knuckle's way goes
    /// into the spring,
    ///
    /// ```text
    /// F MR = N dh/dz - G dc/dz
    /// ```
    ///
    /// with the road's push `N` upright at the tyre's contact, the unsprung weight `G` at the wheel centre, and `h` and `c` the
    /// heights of these two points above the ground's plane. A wheel that gains camber lifts its contact by another amount than
    /// its centre, so that the push may not be taken at the centre: `dh/dz` is not 1.
    pub(crate) fn holding(load: &Wrench, position: &Position, ratio: f64) -> Option<f64> {
        (ratio >= HARDLY).then(|| load.work(position, Setup::HEIGHT_ROW) / ratio)
    }
}

/// Standard gravity, m/s2.
pub const GRAVITY: f64 = 9.806_65;

/// How a mass on a spring swings by itself, Hz: `sqrt(k / m) / (2 pi)`; rate in N/mm, mass in kg.
pub(crate) fn frequency(rate: f64, mass: f64) -> f64 {
    hertz(1000.0 * rate / mass)
}

/// How a body on its spring on a wheel on its tyre swings by itself, Hz, the body's swing first; rates in N/mm, masses in kg.
///
/// `mu ms x^2 - (kt ms + k ms + k mu) x + kt k = 0` for the squares `x` of the two angular frequencies, undamped.
pub(crate) fn body_and_wheel(rate: f64, tyre_rate: f64, sprung: f64, unsprung: f64) -> [f64; 2] {
    let (k, kt) = (1000.0 * rate, 1000.0 * tyre_rate);
    let (a, b, c) = (unsprung * sprung, kt * sprung + k * sprung + k * unsprung, kt * k);
    // Both roots are real and positive: b^2 - 4ac is the square of a difference plus a product of masses and rates. The
    // smaller one in the form without cancellation.
    let root = (b * b - 4.0 * a * c).sqrt();
    [2.0 * c / (b + root), (b + root) / (2.0 * a)].map(hertz)
}

fn hertz(square: f64) -> f64 {
    square.max(0.0).sqrt() / (2.0 * std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Rear corner of a saloon car: 317.5 kg on 22 kN/m, 45.4 kg on 192 kN/m give 1.25 and 10.9 Hz. D. Barton and
    /// J. Fieldhouse, *Automotive Chassis Engineering*, Springer 2018, section 3.13, p. 209 (read in a copy).
    #[test]
    fn a_corner_swings_as_the_textbook_says() {
        let [body, wheel] = body_and_wheel(22.0, 192.0, 317.5, 45.4);
        assert_relative_eq!(body, 1.25, epsilon = 0.005);
        assert_relative_eq!(wheel, 10.9, epsilon = 0.05);
    }

    /// On a rigid tyre the body swings on its spring alone; a static deflection of a quarter of a metre is about 1 Hz.
    #[test]
    fn on_a_hard_tyre_the_body_swings_on_its_spring() {
        let [body, _] = body_and_wheel(22.0, 1e9, 317.5, 45.4);
        assert_relative_eq!(body, frequency(22.0, 317.5), max_relative = 1e-6);
        // m g / k = 248.5 mm: sqrt(g / 0.2485) / (2 pi) = 1.
        assert_relative_eq!(frequency(300.0 * GRAVITY / 248.4, 300.0), 1.0, epsilon = 1e-3);
    }
}
