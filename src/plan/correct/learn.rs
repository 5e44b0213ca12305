//! What the readings say of the car: where it reads now, and what a turn is worth on it.
//!
//! On the car a figure follows from camber and toe of the model, `m`, as `y = b + a . (m - m1)`: the offset `b` is what the
//! first reading was, and the row `a` of a matrix `A` is what a change in the model is worth. The model itself says that `A`
//! is one. Each further reading is a rank-one correction of `(b, a)`:
//!
//! ```text
//! h = (1, m - m1)       k = P h / (h' P h + s^2)
//! (b, a) += k (y - h . (b, a))      P -= k h' P
//! ```
//!
//! with `s` the standard deviation of the reading and `P` the covariance of what is not known yet. For the second reading
//! that is the secant update of C. G. Broyden (*A class of methods for solving nonlinear simultaneous equations*, Mathematics of
//! Computation 19, 1965; cited from memory), `A += (dy - A dm) dm' C / (dm' C dm + l)`, with two things added: `l`, the noise
//! of both readings over how far the model may be off, so that a small step between noisy readings hardly moves `A`; and the
//! covariance `C` of what the model may be off, so that it moves in the direction in which the profile is weak. `P` remembers
//! what was learnt: after turns in two directions both columns of `A` are the car's own. It is the filter of R. E. Kalman (*A new
//! approach to linear filtering and prediction problems*, 1960; cited from memory) for a constant.

use nalgebra::{Matrix2, Matrix3, Vector2, Vector3};

use super::state::Seen;
use crate::geometry::{Angles, Figure};
use crate::measure::Measured;

/// A profile may be off by this many times what it says before a reading is held against the car: people think well of their
/// tapes.
pub(super) const DOUBT: f64 = 1.5;

/// What is known of one figure of one wheel.
#[derive(Debug, Clone, Copy)]
struct Row {
    /// Model in the state of the first reading, rad.
    origin: Vector2<f64>,
    /// The offset and what a change of camber and of toe in the model is worth.
    known: Vector3<f64>,
    /// Covariance of these.
    covariance: Matrix3<f64>,
    /// Whether it was ever read.
    read: bool,
}

impl Row {
    fn new(figure: usize, origin: Vector2<f64>, first: Measured, slope: &Matrix2<f64>, read: bool) -> Self {
        let mut known = Vector3::new(first.value, 0.0, 0.0);
        known[1 + figure] = 1.0;
        let mut covariance = Matrix3::zeros();
        covariance[(0, 0)] = first.sigma.powi(2);
        covariance.fixed_view_mut::<2, 2>(1, 1).copy_from(slope);
        Self { origin, known, covariance, read }
    }

    fn slope(&self) -> Vector2<f64> {
        self.known.fixed_rows::<2>(1).into()
    }

    /// The same slope with a new offset.
    fn anew(&mut self, origin: Vector2<f64>, first: Measured) {
        self.origin = origin;
        self.known[0] = first.value;
        self.covariance.fixed_view_mut::<1, 2>(0, 1).fill(0.0);
        self.covariance.fixed_view_mut::<2, 1>(1, 0).fill(0.0);
        self.covariance[(0, 0)] = first.sigma.powi(2);
        self.read = true;
    }

    fn h(&self, model: Vector2<f64>) -> Vector3<f64> {
        let change = model - self.origin;
        Vector3::new(1.0, change.x, change.y)
    }

    fn expected(&self, model: Vector2<f64>) -> Measured {
        let h = self.h(model);
        Measured { value: h.dot(&self.known), sigma: h.dot(&(self.covariance * h)).max(0.0).sqrt() }
    }

    fn learn(&mut self, model: Vector2<f64>, reading: Measured) {
        let h = self.h(model);
        let ph = self.covariance * h;
        let gain = ph / (h.dot(&ph) + reading.sigma.powi(2)).max(f64::MIN_POSITIVE);
        self.known += gain * (reading.value - h.dot(&self.known));
        self.covariance -= gain * ph.transpose();
        self.read = true;
    }
}

/// What is known of one wheel.
#[derive(Debug, Clone, Copy)]
pub(super) struct Learnt {
    rows: Angles<Row>,
}

impl Learnt {
    /// Before anything is read: the model at `model`, which may be off by `spread`, rad2, and what a change may be worth
    /// otherwise.
    pub(super) fn from_model(
        model: Vector2<f64>,
        spread: &Matrix2<f64>,
        slopes: &Angles<Matrix2<f64>>,
    ) -> Self {
        let row = |i: usize, slope: &Matrix2<f64>| {
            let first = Measured { value: model[i], sigma: spread[(i, i)].max(0.0).sqrt() };
            Row::new(i, model, first, slope, false)
        };
        Self { rows: Angles { camber: row(0, &slopes.camber), toe: row(1, &slopes.toe) } }
    }

    /// Nothing at all.
    pub(super) fn nothing() -> Self {
        Self::from_model(Vector2::zeros(), &Matrix2::zeros(), &Angles::default())
    }

    /// What camber and toe are expected to be where the model has `model`, rad.
    pub(super) fn expected(&self, model: Vector2<f64>) -> Angles<Measured> {
        self.rows.map(|row| row.expected(model))
    }

    /// What a change in the model is worth on the car.
    pub(super) fn slope(&self) -> Matrix2<f64> {
        Matrix2::from_rows(&[self.rows.camber, self.rows.toe].map(|row| row.slope().transpose()))
    }

    /// Whether a figure was ever read.
    pub(super) fn was_read(&self, figure: Figure) -> bool {
        self.rows.get(figure).is_some_and(|row| row.read)
    }

    /// The same with less trust in what only the profile says.
    pub(super) fn doubtful(mut self) -> Self {
        for row in [&mut self.rows.camber, &mut self.rows.toe].into_iter().filter(|row| !row.read) {
            row.covariance[(0, 0)] *= DOUBT * DOUBT;
        }
        self
    }

    /// Something was turned, to within a covariance of camber and toe, rad2.
    pub(super) fn turned(&mut self, noise: &Matrix2<f64>) {
        self.rows.camber.covariance[(0, 0)] += noise[(0, 0)];
        self.rows.toe.covariance[(0, 0)] += noise[(1, 1)];
    }

    /// What is known of each figure, with what was read of it.
    fn pairs<'a>(&'a mut self, seen: &'a Seen) -> impl Iterator<Item = (&'a mut Row, &'a Option<Measured>)> {
        [(&mut self.rows.camber, &seen.camber), (&mut self.rows.toe, &seen.toe)].into_iter()
    }

    /// Takes a reading in. The first one of a figure is its offset, whatever the model said.
    pub(super) fn learn(&mut self, model: Vector2<f64>, seen: &Seen) {
        for (row, reading) in self.pairs(seen) {
            match reading {
                Some(reading) if row.read => row.learn(model, *reading),
                Some(reading) => row.anew(model, *reading),
                None => {}
            }
        }
    }

    /// Begins anew from a reading that what was known does not explain; what a turn is worth is kept.
    pub(super) fn begin_anew(&mut self, model: Vector2<f64>, seen: &Seen) {
        for (row, reading) in self.pairs(seen) {
            if let Some(reading) = reading {
                row.anew(model, *reading);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const FINE: f64 = 1e-9;

    fn read(y: Vector2<f64>, sigma: f64) -> Seen {
        Angles { camber: y.x, toe: y.y }.map(|value| Some(Measured { value, sigma }))
    }

    fn start() -> (Learnt, Vector2<f64>, Vector2<f64>) {
        let (model, y) = (Vector2::new(-0.02, 0.002), Vector2::new(-0.024, 0.005));
        let mut learnt =
            Learnt::from_model(model, &Matrix2::identity(), &Angles::from([Matrix2::identity() * 0.01; 2]));
        learnt.learn(model, &read(y, FINE));
        (learnt, model, y)
    }

    /// The defining property of a secant update: after it the slope gives the change that was seen, and what lies square to
    /// the step is untouched. The closed form is Broyden's.
    #[test]
    fn without_noise_it_is_the_secant_update_of_broyden() {
        let (mut learnt, model, y) = start();
        let (dm, dy) = (Vector2::new(0.004, -0.001), Vector2::new(0.0045, -0.0007));
        learnt.learn(model + dm, &read(y + dy, FINE));
        let broyden = Matrix2::identity() + (dy - dm) * dm.transpose() / dm.norm_squared();
        assert_relative_eq!(learnt.slope(), broyden, epsilon = 1e-6);
        assert_relative_eq!(learnt.slope() * dm, dy, epsilon = 1e-9);
    }

    /// After steps in two directions the slope is the car's own.
    #[test]
    fn two_directions_give_the_whole_slope() {
        let (mut learnt, model, y) = start();
        let car = Matrix2::new(1.1, 0.05, -0.2, 0.9);
        for dm in [Vector2::new(0.004, 0.001), Vector2::new(0.001, -0.003)] {
            learnt.learn(model + dm, &read(y + car * dm, FINE));
        }
        assert_relative_eq!(learnt.slope(), car, epsilon = 1e-5);
    }

    /// A step no larger than the noise says nothing of what a turn is worth.
    #[test]
    fn noise_on_a_small_step_does_not_spoil_the_slope() {
        let (mut learnt, model, y) = start();
        let dm = Vector2::new(0.0002, 0.0001);
        learnt.learn(model + dm, &read(y + dm + Vector2::new(0.0006, -0.0006), 0.0006));
        assert_relative_eq!(learnt.slope(), Matrix2::identity(), epsilon = 0.01);
    }

    /// Readings of one state are averaged: two equally good ones give their mean, good to a root of two better.
    #[test]
    fn repeats_are_averaged() {
        let (model, y) = (Vector2::new(-0.02, 0.002), Vector2::new(-0.024, 0.005));
        let mut learnt = Learnt::from_model(model, &Matrix2::identity(), &Angles::default());
        learnt.learn(model, &read(y, 0.001));
        learnt.learn(model, &read(y + Vector2::new(0.002, 0.0), 0.001));
        let camber = learnt.expected(model).camber;
        assert_relative_eq!(camber.value, y.x + 0.001, epsilon = 1e-12);
        assert_relative_eq!(camber.sigma, 0.001 / 2.0_f64.sqrt(), epsilon = 1e-12);
    }
}
