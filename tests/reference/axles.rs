//! A knuckle that is held by other things than rods.

use nalgebra::{Point3, Vector3};
use rodset::geometry::{DEGREE, Figure, Ground, InArm, OnArm, Pose, Row, Wheel, WideRow, solve};
use serde::Deserialize;

use super::{Check, Printed};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Axles {
    axle: Vec<Axle>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Axle {
    name: String,
    centre: [f64; 3],
    spindle: [f64; 3],
    holds: Vec<Hold>,
    columns: Vec<String>,
    row: Vec<Vec<Printed>>,
}

/// What holds the knuckle, by points of the reference.
#[derive(Deserialize, Clone, Copy)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
enum Hold {
    /// From the subframe to the knuckle.
    Rod([[f64; 3]; 2]),
    /// A bush that gives way along y.
    Bush([f64; 3]),
    /// Its top, and a point of its line on the knuckle.
    Strut([[f64; 3]; 2]),
    /// Two pivots and the joint on the knuckle.
    Wishbone([[f64; 3]; 3]),
    /// A rod from the wishbone to the knuckle.
    OnArm([[f64; 3]; 2]),
    /// The two pivots of an arm that is one with the knuckle, then where they were moved to: the first stays on its point, the second may
    /// slide along the line of both.
    Hinge([[f64; 3]; 4]),
}

impl Axle {
    fn rows(&self) -> Vec<Row> {
        let centre = Point3::from(self.centre);
        let arm = |point: [f64; 3]| Point3::from(point) - centre;
        let rod = |[inner, outer]: [[f64; 3]; 2]| {
            Row::rod(inner.into(), arm(outer), (arm(outer) - arm(inner)).norm())
        };
        let of = |hold: &Hold| match *hold {
            Hold::Rod(ends) => vec![rod(ends)],
            Hold::Wishbone([front, rear, joint]) => vec![rod([front, joint]), rod([rear, joint])],
            Hold::Bush(at) => {
                [Vector3::x(), Vector3::z()].map(|normal| Row::guided(at.into(), arm(at), normal, 0.0)).into()
            }
            Hold::Strut([top, foot]) => {
                let line = (arm(top) - arm(foot)).normalize();
                let across = line.cross(&Vector3::x()).normalize();
                [across, line.cross(&across)]
                    .map(|normal| Row::sliding(top.into(), arm(foot), normal, 0.0))
                    .into()
            }
            Hold::Hinge([first, second, outer, inner]) => {
                let line = (arm(inner) - arm(outer)).normalize();
                let across = line.cross(&Vector3::z()).normalize();
                let at_first = [Vector3::x(), Vector3::y(), Vector3::z()].map(|normal| (first, normal));
                let at_second = [across, line.cross(&across)].map(|normal| (second, normal));
                let held = at_first.into_iter().chain(at_second);
                held.map(|(point, normal)| Row::guided(outer.into(), arm(point), normal, 0.0)).collect()
            }
            Hold::OnArm([inner, outer]) => {
                let wishbone = self.holds.iter().find_map(|hold| match *hold {
                    Hold::Wishbone(points) => Some(points),
                    _ => None,
                });
                let [front, rear, joint] = wishbone.expect("an arm on which it stands").map(Point3::from);
                let at = InArm::of(&inner.into(), [front, rear], &joint).expect("an arm with an area");
                let length = (arm(outer) - arm(inner)).norm();
                vec![
                    WideRow::OnArm(OnArm::new(at, [front, rear], [joint - centre, arm(outer)], length))
                        .into(),
                ]
            }
        };
        self.holds.iter().flat_map(of).collect()
    }

    fn figure(&self, column: &str, wheel: &Wheel, pose: &Pose) -> f64 {
        let arm = |point: [f64; 3]| Point3::from(point) - wheel.centre;
        let of_hold = |of: fn(&Hold) -> Option<[[f64; 3]; 2]>| self.holds.iter().find_map(of).expect(column);
        match column {
            "toe" => Figure::Toe.value(pose, wheel, &Ground::level()) / DEGREE,
            "camber" => Figure::Camber.value(pose, wheel, &Ground::level()) / DEGREE,
            "turn" => pose.rotation.angle() / DEGREE,
            "x" => pose.centre.x,
            "y" => pose.centre.y,
            "bush" | "slide" if self.holds.iter().any(|hold| matches!(hold, Hold::Bush(_))) => {
                let [at, _] = of_hold(|hold| if let Hold::Bush(at) = hold { Some([*at; 2]) } else { None });
                pose.point(&arm(at)).y
            }
            "slide" => {
                let [top, foot] =
                    of_hold(|hold| if let Hold::Strut(ends) = hold { Some(*ends) } else { None });
                (pose.point(&arm(foot)) - Point3::from(top)).norm()
            }
            other => panic!("no column {other}"),
        }
    }
}

/// Each position is solved from the reference, is certified, and reads what the source says.
pub(super) fn check(check: &mut Check, file: &Axles) {
    for axle in &file.axle {
        let spindle = Vector3::from(axle.spindle).normalize();
        let wheel = Wheel { centre: axle.centre.into(), spindle };
        let holds = axle.rows();
        assert_eq!(holds.len(), 5, "{}: what holds the wheel", axle.name);
        for row in &axle.row {
            check.row();
            let places = || axle.columns.iter().map(String::as_str).zip(row);
            let (_, z) = places().find(|(column, _)| *column == "z").expect("a height");
            let name = format!("{}, {}", axle.name, z.value);
            let rows = std::array::from_fn(|i| holds.get(i).copied().unwrap_or(Row::Height { z: z.value }));
            let Ok(position) = solve(&rows, &Pose::reference(wheel.centre)) else {
                check.fail(&name, "no position");
                continue;
            };
            if position.certificate().is_none() {
                check.fail(&name, "not certified");
            }
            for (column, printed) in places() {
                let in_metres = column == "printed";
                let got = match column {
                    "z" | "crank" => continue,
                    "turn" => {
                        let expected = printed.value.abs();
                        check.near(column, &name, axle.figure(column, &wheel, &position.pose), expected);
                        continue;
                    }
                    _ => axle.figure(if in_metres { "slide" } else { column }, &wheel, &position.pose),
                };
                if in_metres {
                    check.near(column, &name, got / 1000.0, printed.value);
                } else {
                    check.near(column, &name, got, printed.value);
                }
            }
        }
    }
}
