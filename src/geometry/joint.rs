//! Angles at the ends of an arm, between it and the bolts that it hangs on. All arguments are directions; none need be unit.

use nalgebra::Vector3;

/// How far an arm leans out of the plane square to its bolt, rad, 0 to a right angle: what no rolling of the arm takes away.
pub fn lean(arm: &Vector3<f64>, bolt: &Vector3<f64>) -> f64 {
    arm.dot(bolt).abs().atan2(arm.cross(bolt).norm())
}

/// By how much an arm turns about a bolt from one direction to another, rad, with the right hand about `bolt`: the angle
/// between the parts of the two that are square to the bolt.
///
/// `atan2(b . (p x q), (b x p) . (b x q))` with `b` unit.
pub fn turn(bolt: &Vector3<f64>, from: &Vector3<f64>, to: &Vector3<f64>) -> f64 {
    let b = bolt.normalize();
    b.dot(&from.cross(to)).atan2(b.cross(from).dot(&b.cross(to)))
}

/// The angle between two bolts, looking along an arm that hangs on both, rad, with the right hand about `arm` from the first
/// to the second.
pub fn roll(arm: &Vector3<f64>, first: &Vector3<f64>, second: &Vector3<f64>) -> f64 {
    of_a_bolt(turn(arm, first, second))
}

/// An angle of a bolt, rad: it has no front, so half turns do not count and the angle lies within a right angle either way.
pub fn of_a_bolt(angle: f64) -> f64 {
    angle - std::f64::consts::PI * (angle / std::f64::consts::PI).round()
}

/// The tilt of a ball in its housing, rad, where the arm leans out of the plane square to the bolt by `lean` and has rolled
/// about itself by `roll` from square to the bolt.
///
/// The housing's own axis `h` is square to the arm; with `u` along the arm, `p` the bolt's part square to it and `q = u x p`,
/// the bolt is `sin(lean) u + cos(lean) p` and `h = cos(roll) p + sin(roll) q`, so `cos(tilt) = cos(lean) cos(roll)`.
pub fn tilt(lean: f64, roll: f64) -> f64 {
    let across = lean.sin().hypot(lean.cos() * roll.sin());
    across.atan2(lean.cos() * roll.cos())
}

/// The angle between two lines, rad, 0 to a right angle.
pub fn between(a: &Vector3<f64>, b: &Vector3<f64>) -> f64 {
    a.cross(b).norm().atan2(a.dot(b).abs())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use nalgebra::Rotation3;

    #[test]
    fn an_arm_square_to_its_bolt_does_not_lean() {
        assert_relative_eq!(lean(&Vector3::y(), &Vector3::x()), 0.0);
        // Swung out of the plane by 0.2, either way; whichever way the bolt is said to point.
        let arm = Vector3::new(0.2_f64.sin(), 0.2_f64.cos(), 0.0) * 240.0;
        assert_relative_eq!(lean(&arm, &Vector3::x()), 0.2, epsilon = 1e-15);
        assert_relative_eq!(lean(&-arm, &(Vector3::x() * -3.0)), 0.2, epsilon = 1e-15);
    }

    #[test]
    fn an_arm_that_swings_in_a_plane_turns_by_its_swing() {
        let before = Vector3::new(0.0, 200.0, 50.0);
        let after = Rotation3::from_axis_angle(&Vector3::x_axis(), -0.3) * before;
        assert_relative_eq!(turn(&Vector3::x(), &before, &after), -0.3, epsilon = 1e-15);
        // What lies along the bolt says nothing about the turn.
        assert_relative_eq!(
            turn(&Vector3::x(), &before, &(after + Vector3::x() * 70.0)),
            -0.3,
            epsilon = 1e-15
        );
    }

    /// Against the angle between the two axes themselves, built by turning.
    #[test]
    fn a_tilt_is_the_angle_between_bolt_and_housing() {
        for (lean_by, roll_by) in [(0.0_f64, 0.0_f64), (0.15, 0.0), (0.0, 0.2), (0.12, -0.25), (0.4, 0.7)] {
            let arm = Vector3::y();
            let housing = Rotation3::from_axis_angle(&Vector3::y_axis(), roll_by) * Vector3::x();
            let bolt = Rotation3::from_axis_angle(&Vector3::z_axis(), lean_by) * Vector3::x();
            let expected = housing.dot(&bolt).clamp(-1.0, 1.0).acos();
            assert_relative_eq!(
                tilt(lean(&arm, &bolt), roll(&arm, &bolt, &housing)),
                expected,
                epsilon = 1e-7
            );
        }
    }

    #[test]
    fn a_bolt_has_no_front() {
        let (arm, first) = (Vector3::y(), Vector3::x());
        for (angle, expected) in
            [(0.3_f64, 0.3), (3.0, 3.0 - std::f64::consts::PI), (-3.0, std::f64::consts::PI - 3.0)]
        {
            let second = Rotation3::from_axis_angle(&Vector3::y_axis(), angle) * first;
            assert_relative_eq!(roll(&arm, &first, &second), expected, epsilon = 1e-14);
        }
    }
}
