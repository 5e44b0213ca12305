//! The three angles of a wheel that its links set, defined once.

use nalgebra::{Point3, Vector3};
use serde::Serialize;
use std::fmt;

use super::{Ground, Pose};

/// A degree, rad.
pub const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// What a link is used to set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Figure {
    /// Inclination of the wheel plane to the ground normal; positive: top outward.
    Camber,
    /// Angle between the wheel plane and the car's length, in the ground plane; positive: toe-in.
    Toe,
    /// Turn of the knuckle about the car's y axis since the reference, seen from the side; positive: top forward.
    Pitch,
}

impl fmt::Display for Figure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Camber => "camber",
            Self::Toe => "toe",
            Self::Pitch => "pitch",
        })
    }
}

/// The wheel as it is fixed in the knuckle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wheel {
    /// Wheel centre at the reference, mm.
    pub centre: Point3<f64>,
    /// Unit vector along the spindle at the reference, pointing outboard.
    pub spindle: Vector3<f64>,
}

impl Wheel {
    /// A left wheel that reads `camber` and `toe` (rad) on level ground.
    ///
    /// `a = (sin t cos c, cos t cos c, -sin c)`: the inverse of [`Figure::value`] on level ground.
    pub fn reading(centre: Point3<f64>, camber: f64, toe: f64) -> Self {
        let (sin_c, cos_c) = camber.sin_cos();
        let (sin_t, cos_t) = toe.sin_cos();
        Self { centre, spindle: Vector3::new(sin_t * cos_c, cos_t * cos_c, -sin_c) }
    }

    /// How the spindle of a wheel that reads `camber` and `toe` (rad) changes with either reading.
    pub(crate) fn spindle_slopes(camber: f64, toe: f64) -> [Vector3<f64>; 2] {
        let (sin_c, cos_c) = camber.sin_cos();
        let (sin_t, cos_t) = toe.sin_cos();
        [
            Vector3::new(-sin_t * sin_c, -cos_t * sin_c, -cos_c),
            Vector3::new(cos_t * cos_c, -sin_t * cos_c, 0.0),
        ]
    }
}

impl Figure {
    /// All of them, in the order in which they are set.
    pub const ALL: [Self; 3] = [Self::Camber, Self::Toe, Self::Pitch];

    /// The figure's value in a pose, rad.
    ///
    /// With `a` the spindle axis now, `n` the ground normal, `xg` and `yg` the ground's forward and left, and
    /// `v` the knuckle's line that was vertical at the reference:
    ///
    /// ```text
    /// camber = -asin(a . n)          as a gauge on the wheel reads it
    /// toe    = atan2(a . xg, a . yg) the static toe angle of ISO 8855, toe-in positive
    /// pitch  = atan2(v . x, v . z)   as a level on the knuckle's side reads it
    /// ```
    ///
    /// ISO 8855 takes camber as a projection about the car's x axis instead; at 3 degrees of camber and 0.5 of
    /// toe the two differ by 0.0001 degree.
    pub fn value(self, pose: &Pose, wheel: &Wheel, ground: &Ground) -> f64 {
        let b = self.carrier(pose, wheel);
        match self {
            Self::Camber => -b.dot(&ground.up()).clamp(-1.0, 1.0).asin(),
            Self::Toe => b.dot(&ground.forward()).atan2(b.dot(&ground.left())),
            Self::Pitch => b.x.atan2(b.z),
        }
    }

    /// How the figure changes with a turn `dw` of the knuckle: the vector `g` with `dvalue = g . dw`.
    ///
    /// From `da = dw x a`, hence `d(a . w) = dw . (a x w)` for any fixed `w`.
    pub(crate) fn gradient(self, pose: &Pose, wheel: &Wheel, ground: &Ground) -> Vector3<f64> {
        self.carrier(pose, wheel).cross(&self.slope(pose, wheel, ground))
    }

    /// The knuckle's line that the figure is read on, as it is now: the spindle, or what was vertical at the reference.
    fn carrier(self, pose: &Pose, wheel: &Wheel) -> Vector3<f64> {
        match self {
            Self::Camber | Self::Toe => pose.rotation * wheel.spindle,
            Self::Pitch => pose.rotation * Vector3::z(),
        }
    }

    /// How the figure changes with its line `b` itself: the vector `s` with `dvalue = s . db`.
    pub(crate) fn slope(self, pose: &Pose, wheel: &Wheel, ground: &Ground) -> Vector3<f64> {
        let b = self.carrier(pose, wheel);
        // d atan2(p, q) = (q dp - p dq) / (p^2 + q^2)
        let of_atan2 = |along_p: Vector3<f64>, along_q: Vector3<f64>| {
            let (p, q) = (b.dot(&along_p), b.dot(&along_q));
            (along_p * q - along_q * p) / (p * p + q * q)
        };
        match self {
            Self::Camber => {
                let sine = b.dot(&ground.up());
                -ground.up() / (1.0 - sine * sine).sqrt()
            }
            Self::Toe => of_atan2(ground.forward(), ground.left()),
            Self::Pitch => of_atan2(Vector3::x(), Vector3::z()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Figure, Ground, Pose, Wheel};
    use approx::assert_relative_eq;
    use nalgebra::{Point3, Rotation3, Vector3};

    fn wheel(camber: f64, toe: f64) -> (Wheel, Pose) {
        let centre = Point3::new(0.0, 750.0, 300.0);
        (Wheel::reading(centre, camber, toe), Pose::reference(centre))
    }

    #[test]
    fn a_wheel_reads_on_level_ground_what_it_was_built_with() {
        let (wheel, pose) = wheel(-0.03, 0.004);
        assert_relative_eq!(Figure::Camber.value(&pose, &wheel, &Ground::level()), -0.03, epsilon = 1e-15);
        assert_relative_eq!(Figure::Toe.value(&pose, &wheel, &Ground::level()), 0.004, epsilon = 1e-15);
        assert_relative_eq!(Figure::Pitch.value(&pose, &wheel, &Ground::level()), 0.0);
    }

    #[test]
    fn signs_are_as_the_table_of_the_module_says() {
        let (wheel, mut pose) = wheel(0.0, 0.0);
        // About x (forward) the z axis turns towards -y: on a left wheel the top comes inward.
        pose.rotation = Rotation3::from_axis_angle(&Vector3::x_axis(), 0.01);
        assert_relative_eq!(Figure::Camber.value(&pose, &wheel, &Ground::level()), -0.01, epsilon = 1e-15);
        // About z (up) the x axis turns to the left: on a left wheel the front goes outward.
        pose.rotation = Rotation3::from_axis_angle(&Vector3::z_axis(), 0.01);
        assert_relative_eq!(Figure::Toe.value(&pose, &wheel, &Ground::level()), -0.01, epsilon = 1e-15);
        // About y (left) the z axis turns forward.
        pose.rotation = Rotation3::from_axis_angle(&Vector3::y_axis(), 0.01);
        assert_relative_eq!(Figure::Pitch.value(&pose, &wheel, &Ground::level()), 0.01, epsilon = 1e-15);
    }
}
