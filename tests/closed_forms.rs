//! Layouts that have a solution on paper.

use approx::assert_relative_eq;
use nalgebra::{Point3, Rotation3};
use rodset::car::{Car, Setup, Side};
use rodset::geometry::{Figure, Ground, Pose, Row, Wheel, solve};
use rodset::plan::{check, forward};
use rodset::profile;

/// Rods between given points, and a wheel, at the reference.
struct Rig {
    wheel: Wheel,
    rods: [(Point3<f64>, Point3<f64>); 5],
}

impl Rig {
    fn rows(&self, rise: f64) -> [Row; 6] {
        std::array::from_fn(|i| match self.rods.get(i) {
            Some((subframe, knuckle)) => {
                Row::rod(*subframe, knuckle - self.wheel.centre, (knuckle - subframe).norm())
            }
            None => Row::Height { z: self.wheel.centre.z + rise },
        })
    }

    fn risen(&self, rise: f64) -> Pose {
        solve(&self.rows(rise), &Pose::reference(self.wheel.centre)).expect("a position").pose
    }

    fn figure(&self, figure: Figure, pose: &Pose) -> f64 {
        figure.value(pose, &self.wheel, &Ground::level())
    }
}

fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
    Point3::new(x, y, z)
}

/// Two wishbones and a toe link that are equal and parallel in front view carry the knuckle round without turning it: every
/// point runs on a circle of the arms' length. With arms that start level, `y = y0 - r + sqrt(r^2 - rise^2)`.
#[test]
fn equal_parallel_arms_only_translate() {
    let r = 300.0;
    let (lower, upper) = ((380.0, 210.0), (390.0, 450.0));
    let rod = |inner: f64, outer: f64, (y, z): (f64, f64)| (p(inner, y, z), p(outer, y + r, z));
    let wheel = Wheel::reading(p(0.0, 750.0, 310.0), -0.02, 0.003);
    let rig = Rig {
        wheel,
        rods: [
            rod(-150.0, 0.0, lower),
            rod(150.0, 0.0, lower),
            rod(-90.0, 5.0, upper),
            rod(80.0, 5.0, upper),
            rod(-140.0, -140.0, (385.0, 330.0)),
        ],
    };
    for rise in [-200.0_f64, -80.0, -35.0, 10.0, 60.0, 110.0, 299.0] {
        let pose = rig.risen(rise);
        assert_relative_eq!(pose.rotation, Rotation3::identity(), epsilon = 1e-11);
        assert_relative_eq!(rig.figure(Figure::Camber, &pose), -0.02, epsilon = 1e-11);
        assert_relative_eq!(rig.figure(Figure::Toe, &pose), 0.003, epsilon = 1e-11);
        let y = 750.0 - r + (r * r - rise * rise).sqrt();
        assert_relative_eq!(pose.centre, p(0.0, y, 310.0 + rise), epsilon = 1e-9);
    }
    let stuck =
        solve(&rig.rows(301.0), &Pose::reference(wheel.centre)).expect_err("higher than the arms are long");
    assert_relative_eq!(stuck.pose.centre.z, 610.0, epsilon = 0.01);
}

/// A planar four-bar in the car's cross plane, doubled in x, is a front view of two wishbones. Its coupler angle has a
/// closed form: the outer ends are where two circles meet.
#[test]
fn a_planar_four_bar_agrees_with_its_closed_form() {
    let (a, b) = ((320.0, 200.0), (440.0, 450.0));
    let (c0, d0) = ((690.0, 190.0), (665.0, 465.0));
    let wheel = Wheel::reading(p(0.0, 750.0, 310.0), 0.0, 0.0);
    let at = |x: f64, (y, z): (f64, f64)| p(x, y, z);
    let rig = Rig {
        wheel,
        rods: [
            (at(-120.0, a), at(0.0, c0)),
            (at(120.0, a), at(0.0, c0)),
            (at(-100.0, b), at(0.0, d0)),
            (at(100.0, b), at(0.0, d0)),
            // The fifth copies the lower pair, so the knuckle cannot turn about the line through the two outer joints.
            (at(-260.0, a), at(-140.0, c0)),
        ],
    };
    let distance = |p: (f64, f64), q: (f64, f64)| (p.0 - q.0).hypot(p.1 - q.1);
    let (lower, upper, upright) = (distance(a, c0), distance(b, d0), distance(c0, d0));
    let start = (c0.1 - a.1).atan2(c0.0 - a.0);
    for degrees in [-12.0_f64, -6.0, -1.0, 3.0, 8.0, 14.0] {
        let turn = start + degrees.to_radians();
        let c = (a.0 + lower * turn.cos(), a.1 + lower * turn.sin());
        // d lies on the circle of the upper arm about b and on that of the upright about c; above the line c-b it is the
        // assembly of the car.
        let base = distance(b, c);
        let along = (upper * upper - upright * upright + base * base) / (2.0 * base);
        let off = (upper * upper - along * along).sqrt();
        let u = ((c.0 - b.0) / base, (c.1 - b.1) / base);
        let d = (b.0 + u.0 * along - u.1 * off, b.1 + u.1 * along + u.0 * off);
        let lean = (d.1 - c.1).atan2(d.0 - c.0) - (d0.1 - c0.1).atan2(d0.0 - c0.0);
        // The wheel centre goes round with the upright.
        let arm = (750.0 - c0.0, 310.0 - c0.1);
        let centre =
            (c.0 + arm.0 * lean.cos() - arm.1 * lean.sin(), c.1 + arm.0 * lean.sin() + arm.1 * lean.cos());
        let pose = rig.risen(centre.1 - 310.0);
        assert_relative_eq!(pose.centre, p(0.0, centre.0, centre.1), epsilon = 1e-9);
        // Turning from y to z leans the top of a left wheel inward.
        assert_relative_eq!(rig.figure(Figure::Camber, &pose), -lean, epsilon = 1e-12);
        assert_relative_eq!(rig.figure(Figure::Toe, &pose), 0.0, epsilon = 1e-12);
    }
}

fn example(text: &str) -> Car {
    profile::read(text).expect("the example is sound").car
}

/// The shipped layout behaves as the trade knows it. Common practice, no source: the upper arm moves mainly camber, the toe
/// arm mainly toe, the traction arm neither by a tenth as much; lowering leans the wheel in.
#[test]
fn the_shipped_layout_obeys_the_trade() {
    let car = example(include_str!("../examples/tansy-wharf.toml"));
    let description = check(&car, Vec::new());
    let effect = |name: &str| description.links.iter().find(|link| link.name == name).expect("a link").per_mm;
    let (upper, toe, traction) = (effect("upper"), effect("toe"), effect("traction"));
    assert!(upper.camber_deg.abs() > 3.0 * upper.toe_deg.abs(), "{upper:?}");
    assert!(toe.toe_deg.abs() > 5.0 * toe.camber_deg.abs(), "{toe:?}");
    assert!(traction.camber_deg.abs() < 0.1 * upper.camber_deg.abs(), "{traction:?}");
    assert!(traction.toe_deg.abs() < 0.1 * toe.toe_deg.abs(), "{traction:?}");
    assert!(traction.pitch_deg.abs() > 0.1, "{traction:?}");
    assert!(upper.camber_deg > 0.0, "a longer upper arm leans the top out: {upper:?}");
    let side: &Side = &car.sides.left;
    let camber = |drop: f64| {
        let position = forward(side, &Setup::as_found(side), drop).expect("within travel");
        Figure::Camber.value(&position.pose, &side.wheel, &Ground::level())
    };
    assert!(camber(40.0) < camber(20.0) && camber(20.0) < camber(0.0));
}
