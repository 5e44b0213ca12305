//! Axles of other members than five rods: laws of their rows.

use approx::assert_relative_eq;
use nalgebra::{Point3, Vector3};
use rodset::geometry::{InArm, OnArm, Pose, Row, WideRow, solve};

const CENTRE: Point3<f64> = Point3::new(0.0, 750.0, 300.0);

fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
    Point3::new(x, y, z)
}

fn rod(inner: Point3<f64>, outer: Point3<f64>) -> Row {
    Row::rod(inner, outer - CENTRE, (outer - inner).norm())
}

fn risen(holds: [Row; 5], rise: f64) -> Pose {
    let [a, b, c, d, e] = holds;
    solve(&[a, b, c, d, e, Row::Height { z: CENTRE.z + rise }], &Pose::reference(CENTRE))
        .expect("a position")
        .pose
}

fn same(a: &Pose, b: &Pose, within: f64) {
    assert_relative_eq!(a.centre, b.centre, epsilon = within);
    assert_relative_eq!(a.rotation, b.rotation, epsilon = within / 100.0);
}

/// An upright link whose foot lies on the arm's hinge does not care how the arm swings.
#[test]
fn a_link_that_stands_on_the_hinge_of_its_arm_is_a_plain_rod() {
    let (front, rear, joint) = (p(110.0, 350.0, 200.0), p(-190.0, 340.0, 210.0), p(60.0, 700.0, 175.0));
    let (foot, head) = (front + (rear - front) * -1.0, p(-85.0, 650.0, 360.0));
    let others = [
        rod(front, joint),
        rod(rear, joint),
        rod(p(10.0, 430.0, 470.0), p(0.0, 660.0, 465.0)),
        rod(p(-200.0, 380.0, 270.0), p(-170.0, 690.0, 260.0)),
    ];
    let at = InArm::of(&foot, [front, rear], &joint).expect("an arm");
    let on_arm = OnArm::new(at, [front, rear], [joint - CENTRE, head - CENTRE], (head - foot).norm());
    let with = |row: Row| [others[0], others[1], row, others[2], others[3]];
    for rise in [-70.0, -30.0, 20.0, 70.0] {
        let plain = risen(with(rod(foot, head)), rise);
        same(&risen(with(WideRow::OnArm(on_arm).into()), rise), &plain, 1e-9);
    }
    assert!(
        InArm::of(&foot, [front, rear], &(front + (rear - front) * 0.3)).is_none(),
        "no arm without an area"
    );
}

/// A rod is as good as a bush that gives way, the longer it is: what they differ by falls as one over its length.
#[test]
fn each_row_of_a_bush_is_the_limit_of_a_long_rod() {
    let bush = p(450.0, 350.0, 280.0);
    let others = [
        rod(p(10.0, 390.0, 460.0), p(0.0, 680.0, 465.0)),
        rod(p(-50.0, 310.0, 180.0), p(-45.0, 705.0, 170.0)),
        rod(p(150.0, 330.0, 230.0), p(140.0, 690.0, 225.0)),
    ];
    let with = |x: Row, z: Row| risen([x, z, others[0], others[1], others[2]], 50.0);
    let held = |normal: Vector3<f64>| Row::guided(bush, bush - CENTRE, normal, 0.0);
    let exact = with(held(Vector3::x()), held(Vector3::z()));
    let off = |length: f64| {
        let long = |normal: Vector3<f64>| rod(bush - normal * length, bush);
        (with(long(Vector3::x()), long(Vector3::z())).centre - exact.centre).norm()
    };
    let [far, further] = [1e5, 1e6].map(off);
    assert!(further < 1e-3, "{further}");
    assert_relative_eq!(far / further, 10.0, epsilon = 0.1);
}

#[test]
fn a_strut_is_the_same_wherever_along_its_line_the_knuckle_s_point_is_taken() {
    let (top, foot) = (p(-30.0, 590.0, 780.0), p(5.0, 655.0, 320.0));
    let others = [
        rod(p(120.0, 380.0, 205.0), p(110.0, 695.0, 175.0)),
        rod(p(-140.0, 390.0, 200.0), p(-125.0, 700.0, 185.0)),
        rod(p(430.0, 610.0, 240.0), p(20.0, 690.0, 170.0)),
    ];
    let line = (top - foot).normalize();
    let across = line.cross(&Vector3::x()).normalize();
    let with = |foot: Point3<f64>, turn: f64| {
        // Nor on which two ways across its line are taken.
        let ways = [across, line.cross(&across)];
        let ways = [ways[0] * turn.cos() + ways[1] * turn.sin(), ways[1] * turn.cos() - ways[0] * turn.sin()];
        let [a, b] = ways.map(|way| Row::sliding(top, foot - CENTRE, way, 0.0));
        risen([a, b, others[0], others[1], others[2]], 60.0)
    };
    let pose = with(foot, 0.0);
    for (along, turn) in [(-300.0, 0.0), (200.0, 0.4), (459.0, 1.0), (900.0, -2.0)] {
        same(&with(foot + line * along, turn), &pose, 1e-9);
    }
}
