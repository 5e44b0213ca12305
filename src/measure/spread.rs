//! The spread of a predicted reading, by linear propagation.
//!
//! The pose `x` solves `r(x, m) = 0` for what was measured, `m`. By implicit differentiation `dx = -J^-1 (dr/dm) dm`, with
//! the Jacobian that the solve has anyway; a figure then changes by its gradient times `dx`, and directly where it was
//! itself read. With `u` a link's direction now and `u0` at the reference, `R` the knuckle's rotation since then:
//!
//! ```text
//! r = |c + R (k - c0) - s| - (|k - s0| + turned)
//! dr/ds = u0 - u       subframe pivot
//! dr/dk = R' u - u0    knuckle pivot
//! dr/dc0 = -R' u       wheel centre; and -1 in z for the height row
//! ```

use nalgebra::{Matrix2, Vector2, Vector3, Vector6};

use crate::car::{Setup, Side, Sigmas};
use crate::geometry::{Figure, Ground, LEVER, Position, Wheel};

/// Standard deviations to either side that hold 95 of 100 normal errors.
pub const SIGMAS_OF_95: f64 = 1.959_963_984_540_054;

/// Where an error comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Source {
    /// The subframe pivot of a link.
    Subframe(usize),
    /// The knuckle pivot of a link.
    Knuckle(usize),
    /// The wheel centre.
    Centre,
    /// The camber that was read.
    Camber,
    /// The toe that was read.
    Toe,
    /// The drop.
    Drop,
    /// The stock length to which the arm of a link was matched.
    Preset(usize),
}

/// How far camber and toe may be from what is predicted.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Covariance of camber and toe, rad2.
    pub covariance: Matrix2<f64>,
    /// What each source adds to the variances of camber and toe, rad2.
    pub shares: Vec<(Source, Vector2<f64>)>,
}

/// The spread of a side's reading in a position, when the arms of the `matched` links are matched to their stock lengths and
/// turned from there.
///
/// `setup` are the pivots and lengths of that position, which must solve its forward rows.
pub fn spread(
    side: &Side,
    ground: &Ground,
    setup: &Setup,
    position: &Position,
    matched: &[usize],
    sigmas: &Sigmas,
) -> Spread {
    let pose = &position.pose;
    let back = pose.rotation.inverse();
    let gradients = [Figure::Camber, Figure::Toe].map(|figure| figure.gradient(pose, &side.wheel, ground));
    // What a change of the six right-hand sides does to camber and toe.
    let through = |rows: Vector6<f64>| {
        let motion = -position.response * rows;
        Vector2::from(gradients.map(|g| g.dot(&motion.fixed_rows::<3>(3)) / LEVER))
    };
    let row = |link: usize, value: f64| Vector6::ith(link, value);
    let mut spread = Spread { covariance: Matrix2::zeros(), shares: Vec::new() };
    for (i, link) in side.links.iter().enumerate() {
        let now = (pose.point(&side.knuckle_arm(i)) - setup.pivots[i]).normalize();
        let before = (link.knuckle - link.subframe).normalize();
        let at_subframe = before - now;
        let at_knuckle = back * now - before;
        spread.add(Source::Subframe(i), sigmas.point, (0..3).map(|axis| through(row(i, at_subframe[axis]))));
        spread.add(Source::Knuckle(i), sigmas.point, (0..3).map(|axis| through(row(i, at_knuckle[axis]))));
        if matched.contains(&i) {
            spread.add(Source::Preset(i), sigmas.preset, [through(row(i, -1.0))]);
        }
    }
    let of_centre = |axis: usize| {
        let mut rows = Vector6::zeros();
        for i in 0..5 {
            let now = (pose.point(&side.knuckle_arm(i)) - setup.pivots[i]).normalize();
            rows[i] = -(back * now)[axis];
        }
        rows[5] = if axis == 2 { -1.0 } else { 0.0 };
        through(rows)
    };
    spread.add(Source::Centre, sigmas.point, (0..3).map(of_centre));
    spread.add(Source::Drop, sigmas.drop, [through(row(5, -1.0))]);
    let [camber, toe] = Wheel::spindle_slopes(side.reading[0], side.reading[1]);
    let read = |slope: Vector3<f64>| {
        let turned = pose.rotation * slope;
        Vector2::from([Figure::Camber, Figure::Toe].map(|f| f.slope(pose, &side.wheel, ground).dot(&turned)))
    };
    spread.add(Source::Camber, sigmas.camber, [read(camber)]);
    spread.add(Source::Toe, sigmas.toe, [read(toe)]);
    spread
}

impl Spread {
    /// Adds independent errors of one standard deviation, from the changes of camber and toe that each unit makes.
    fn add(&mut self, source: Source, sigma: f64, changes: impl IntoIterator<Item = Vector2<f64>>) {
        let mut share = Vector2::zeros();
        for change in changes {
            let change = change * sigma;
            self.covariance += change * change.transpose();
            share += change.component_mul(&change);
        }
        self.shares.push((source, share));
    }

    /// Standard deviations of camber and toe, rad.
    pub fn sigmas(&self) -> [f64; 2] {
        [self.covariance[(0, 0)].sqrt(), self.covariance[(1, 1)].sqrt()]
    }

    /// The probability that both figures lie within half-widths `within` (rad) of a target that the prediction misses by
    /// `off` (rad), for normal errors.
    ///
    /// Integrated over camber with the toe that goes with it, by Simpson's rule.
    pub fn probability_within(&self, off: [f64; 2], within: [f64; 2]) -> f64 {
        const STEPS: u32 = 400;
        const FAR: f64 = 8.0;
        let [camber, toe] = self.sigmas().map(|sigma| sigma.max(f64::MIN_POSITIVE.sqrt()));
        let correlation = (self.covariance[(0, 1)] / (camber * toe)).clamp(-1.0 + 1e-12, 1.0 - 1e-12);
        let rest = toe * (1.0 - correlation * correlation).sqrt();
        let normal = |x: f64| 0.5 * libm::erfc(-x / std::f64::consts::SQRT_2);
        let end = |side: f64| ((side * within[0] - off[0]) / camber).clamp(-FAR, FAR);
        let (low, high) = (end(-1.0), end(1.0));
        let density = |z: f64| {
            let middle = off[1] + correlation * toe * z;
            let inside = normal((within[1] - middle) / rest) - normal((-within[1] - middle) / rest);
            inside * (-0.5 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt()
        };
        let step = (high - low) / f64::from(STEPS);
        let weight = |i: u32| if i == 0 || i == STEPS { 1.0 } else { f64::from(2 + 2 * (i % 2)) };
        let sum: f64 = (0..=STEPS).map(|i| weight(i) * density(low + f64::from(i) * step)).sum();
        (sum * step / 3.0).clamp(0.0, 1.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn spread(covariance: Matrix2<f64>) -> Spread {
        Spread { covariance, shares: Vec::new() }
    }

    /// Tables of the normal distribution: 0.95 within 1.96 and 0.6827 within one standard deviation (common handbook values).
    #[test]
    fn without_correlation_the_probabilities_multiply() {
        let spread = spread(Matrix2::new(4.0, 0.0, 0.0, 9.0));
        let within = [2.0 * SIGMAS_OF_95, 3.0];
        assert_relative_eq!(
            spread.probability_within([0.0; 2], within),
            0.95 * 0.682_689_492,
            epsilon = 1e-8
        );
    }

    /// A quadrant of two correlated normal variables: 1/4 + asin(r) / (2 pi) (W. F. Sheppard 1899, cited from memory).
    #[test]
    fn a_quadrant_has_its_closed_form() {
        let r = 0.6;
        let spread = spread(Matrix2::new(1.0, r, r, 1.0));
        // A box so wide that only the corner at the origin cuts: everything above zero in both.
        let probability = spread.probability_within([10.0, 10.0], [10.0, 10.0]);
        assert_relative_eq!(probability, 0.25 + r.asin() / (2.0 * std::f64::consts::PI), epsilon = 1e-6);
    }
}
