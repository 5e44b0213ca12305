//! The ground plane, as seen from the car.

use nalgebra::Vector3;

/// The ground as a right-handed set of unit vectors in car axes.
///
/// At the reference it is the car axes themselves. When the two sides or the two ends of the car are lowered
/// by different amounts the body tilts, and a gauge on the floor reads against this frame instead.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    up: Vector3<f64>,
    forward: Vector3<f64>,
    left: Vector3<f64>,
}

impl Ground {
    /// The ground under a level car: the car axes.
    pub fn level() -> Self {
        Self { up: Vector3::z(), forward: Vector3::x(), left: Vector3::y() }
    }

    /// The ground under a tilted body.
    ///
    /// `rise_forward` and `rise_left` are the slopes (mm per mm) at which the body stands higher above the
    /// ground towards the front and towards the left; the ground normal is along
    /// `(-rise_forward, -rise_left, 1)`.
    pub fn tilted(rise_forward: f64, rise_left: f64) -> Self {
        // n = (-rf, -rl, 1) / |.|;  xg = x - (x.n) n, made unit;  yg = n x xg
        let up = Vector3::new(-rise_forward, -rise_left, 1.0).normalize();
        let forward = (Vector3::x() - up * up.x).normalize();
        Self { up, forward, left: up.cross(&forward) }
    }

    /// The same ground seen in a mirror that swaps left and right.
    #[must_use]
    pub(crate) fn mirrored(&self) -> Self {
        let flip = |v: Vector3<f64>| Vector3::new(v.x, -v.y, v.z);
        Self { up: flip(self.up), forward: flip(self.forward), left: -flip(self.left) }
    }

    /// How the ground turns under the body when its two slopes change at the given rates: the rotation vector, rad per unit of
    /// what the rates are per. A gauge on the ground sees the knuckle turn the other way.
    ///
    /// With `N = (-rf, -rl, 1)` the normal is `n = N / |N|`, hence `n' = n_z (N' - n (n . N'))`; the axes follow it and turn
    /// about it so that `xg` stays above the car's x axis.
    pub(crate) fn turn(&self, rise_forward: f64, rise_left: f64) -> Vector3<f64> {
        let slopes = Vector3::new(-rise_forward, -rise_left, 0.0);
        let tip = (slopes - self.up * self.up.dot(&slopes)) * self.up.z;
        // xg = (x - n n_x) / |.|, so yg . xg' = -n_x (yg . n') / |x - n n_x|
        let spin = -self.up.x * self.left.dot(&tip) / (1.0 - self.up.x * self.up.x).sqrt();
        self.up.cross(&tip) + self.up * spin
    }

    /// The ground normal, unit.
    pub fn up(&self) -> Vector3<f64> {
        self.up
    }

    /// The car's x axis laid into the ground plane, unit.
    pub fn forward(&self) -> Vector3<f64> {
        self.forward
    }

    /// The horizontal direction to the left of [`forward`](Self::forward), unit.
    pub fn left(&self) -> Vector3<f64> {
        self.left
    }
}

#[cfg(test)]
mod tests {
    use super::Ground;
    use approx::assert_relative_eq;

    #[test]
    fn no_tilt_is_level() {
        assert_eq!(Ground::tilted(0.0, 0.0), Ground::level());
    }

    #[test]
    fn a_mirrored_ground_is_the_ground_of_the_mirrored_tilt() {
        let here = Ground::tilted(0.01, 0.03).mirrored();
        let there = Ground::tilted(0.01, -0.03);
        assert_relative_eq!(here.up(), there.up(), epsilon = 1e-15);
        assert_relative_eq!(here.forward(), there.forward(), epsilon = 1e-15);
        assert_relative_eq!(here.left(), there.left(), epsilon = 1e-15);
    }

    #[test]
    fn a_turn_is_the_central_difference_of_the_axes() {
        let (forward, left, by) = (0.02, -0.05, 1e-6);
        for rates in [[1.0, 0.0], [0.0, 1.0], [0.3, -0.7]] {
            let at = |t: f64| Ground::tilted(forward + rates[0] * t, left + rates[1] * t);
            let turn = at(0.0).turn(rates[0], rates[1]);
            for axis in [Ground::up, Ground::forward, Ground::left] {
                let difference = (axis(&at(by)) - axis(&at(-by))) / (2.0 * by);
                assert_relative_eq!(turn.cross(&axis(&at(0.0))), difference, epsilon = 1e-9);
            }
        }
    }

    #[test]
    fn the_three_directions_are_square_to_each_other() {
        let ground = Ground::tilted(0.2, -0.3);
        assert_relative_eq!(ground.up().cross(&ground.forward()), ground.left(), epsilon = 1e-15);
        assert_relative_eq!(ground.up().dot(&ground.forward()), 0.0, epsilon = 1e-15);
        assert_relative_eq!(ground.left().norm(), 1.0, epsilon = 1e-15);
    }
}
