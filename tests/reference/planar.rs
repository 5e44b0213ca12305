//! Plane linkages, held in their plane by the five rods of a wheel.

use nalgebra::{Point3, Rotation3, Vector2, Vector3, Vector6};
use rodset::geometry::{CHARACTERISTIC_LENGTH, Pose, Row, solve};
use serde::Deserialize;

use super::{Check, Printed};

/// Starts are turned by this angle, rad, and moved as far as that moves the pivots.
const START: f64 = 0.003;

/// A bar of the linkage, in mm: its fixed pivot, its pivot in the body, its length.
#[derive(Clone, Copy)]
struct Bar {
    pivot: Vector2<f64>,
    arm: Vector2<f64>,
    length: f64,
}

/// The plane is the car's y and z: seen from the front of a left wheel, but for the side.
fn space(x: f64, plane: Vector2<f64>) -> Vector3<f64> {
    Vector3::new(x, plane.x, plane.y)
}

fn rotated(plane: Vector2<f64>, angle: f64) -> Vector2<f64> {
    nalgebra::Rotation2::new(angle) * plane
}

fn pose(angle: f64, centre: Vector2<f64>) -> Pose {
    Pose {
        rotation: Rotation3::from_axis_angle(&Vector3::x_axis(), angle),
        centre: Point3::from(space(0.0, centre)),
    }
}

fn angle(pose: &Pose) -> f64 {
    let y = pose.rotation * Vector3::y();
    y.z.atan2(y.y)
}

/// A start near a pose, off in all six freedoms.
fn near(pose: &Pose) -> Pose {
    let off = START * CHARACTERISTIC_LENGTH;
    pose.nudged(&Vector6::new(off, -off, off, off, off, -off))
}

/// How square a bar stands to the line between the two pivots of the body, 0 to 1.
fn squareness(bar: &Bar, line: Vector2<f64>, pose: &Pose) -> f64 {
    let bar = pose.point(&space(0.0, bar.arm)) - space(0.0, bar.pivot);
    let line = pose.rotation * space(0.0, line);
    (bar.coords.cross(&line).norm() / (bar.coords.norm() * line.norm())).clamp(0.0, 1.0)
}

/// Two bars as five rods, followed by a driving row.
///
/// Each bar becomes a pair of rods that meet in the body, so that its end cannot leave the plane. The fifth rod is a
/// parallel copy of a bar beside the plane and stops the turn about the line between the two ends; it does so best
/// where that bar is square to the line.
fn rods(bars: [Bar; 2], near: &Pose, drive: Row) -> [Row; 6] {
    let width = CHARACTERISTIC_LENGTH;
    let rod = |bar: Bar, inner: f64, outer: f64| {
        Row::rod(
            Point3::from(space(inner, bar.pivot)),
            space(outer, bar.arm),
            bar.length.hypot(inner - outer),
        )
    };
    let [a, b] = bars;
    let line = b.arm - a.arm;
    let copied = if squareness(&a, line, near) > squareness(&b, line, near) { a } else { b };
    [
        rod(a, -width, 0.0),
        rod(a, width, 0.0),
        rod(b, -width, 0.0),
        rod(b, width, 0.0),
        rod(copied, width, width),
        drive,
    ]
}

/// A crank, a coupler and a rocker between two fixed pivots.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Mechanism {
    name: String,
    crank_pivot: [f64; 2],
    rocker_pivot: [f64; 2],
    crank: f64,
    coupler: f64,
    rocker: f64,
    row: Vec<Angles>,
}

/// The angle of the crank, and of the coupler or the rocker in each branch.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Angles {
    crank: f64,
    #[serde(default)]
    coupler: Vec<Printed>,
    rocker: Vec<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FourBar {
    /// mm per unit of the source.
    scale: f64,
    degrees: bool,
    mechanism: Vec<Mechanism>,
}

impl Mechanism {
    fn scaled(&mut self, scale: f64) {
        for length in [&mut self.crank, &mut self.coupler, &mut self.rocker] {
            *length *= scale;
        }
        for length in self.crank_pivot.iter_mut().chain(&mut self.rocker_pivot) {
            *length *= scale;
        }
    }

    /// The body is the coupler: its centre the crank's end, the rocker's end along its y axis.
    fn bars(&self) -> [Bar; 2] {
        [
            Bar { pivot: self.crank_pivot.into(), arm: Vector2::zeros(), length: self.crank },
            Bar { pivot: self.rocker_pivot.into(), arm: Vector2::x() * self.coupler, length: self.rocker },
        ]
    }

    /// The coupler's pose when crank and rocker stand at given angles.
    fn pose(&self, crank: f64, rocker: f64) -> Pose {
        let [a, b] = self.bars();
        let a = a.pivot + rotated(Vector2::x() * a.length, crank);
        let b = b.pivot + rotated(Vector2::x() * b.length, rocker);
        pose((b.y - a.y).atan2(b.x - a.x), a)
    }

    /// A rod that holds the crank at an angle: from a point a quarter turn before its end, so it is never in line.
    fn drive(&self, crank: f64) -> Row {
        let [a, _] = self.bars();
        let from = a.pivot - rotated(Vector2::y() * a.length, crank);
        Row::rod(Point3::from(space(0.0, from)), Vector3::zeros(), a.length * std::f64::consts::SQRT_2)
    }

    fn rocker(&self, pose: &Pose) -> f64 {
        let [_, b] = self.bars();
        let rocker = pose.point(&space(0.0, b.arm)) - space(0.0, b.pivot);
        rocker.z.atan2(rocker.y)
    }
}

/// Each branch is entered near its first row and followed from row to row.
pub(super) fn four_bar(check: &mut Check, mut file: FourBar) {
    for mechanism in &mut file.mechanism {
        mechanism.scaled(file.scale);
        assert!(!mechanism.row.is_empty(), "{}: {} has no row", check.file, mechanism.name);
        for branch in 0..mechanism.row[0].rocker.len() {
            follow(check, file.degrees, mechanism, branch);
        }
    }
}

fn follow(check: &mut Check, degrees: bool, mechanism: &Mechanism, branch: usize) {
    let unit = if degrees { 1_f64.to_radians() } else { 1.0 };
    let mut before = None;
    for row in &mechanism.row {
        check.row();
        let name = format!("{}, crank {}, branch {}", mechanism.name, row.crank, branch + 1);
        let crank = row.crank * unit;
        let expected = mechanism.pose(crank, row.rocker[branch].value * unit);
        let start = before.unwrap_or_else(|| near(&expected));
        let rows = rods(mechanism.bars(), &expected, mechanism.drive(crank));
        let Ok(there) = solve(&rows, &start) else {
            check.fail(&name, "not reached");
            return;
        };
        let mut compare = |quantity: &str, got: f64, expected: Printed| {
            // The turn by which the source counts otherwise.
            let turns = ((expected.value * unit - got) / std::f64::consts::TAU).round();
            check.printed(quantity, &name, (got + turns * std::f64::consts::TAU) / unit, expected);
        };
        compare("rocker", mechanism.rocker(&there.pose), row.rocker[branch]);
        if let Some(&coupler) = row.coupler.get(branch) {
            compare("coupler", angle(&there.pose), coupler);
        }
        before = Some(there.pose);
    }
}

/// Four-bar linkages whose coupler point goes through given points.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct FivePoints {
    scale: f64,
    /// The fixed pivots.
    pivots: [[f64; 2]; 2],
    /// The coupler point's places; the first is where the candidates are given.
    points: Vec<[f64; 2]>,
    candidate: Vec<Candidate>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Candidate {
    name: String,
    /// The two moving pivots, seen from the coupler point at its first place.
    x: [f64; 2],
    y: [f64; 2],
    /// Turn of the coupler at the other places, rad, where it is printed.
    #[serde(default)]
    turns: Vec<Printed>,
}

/// At every place a turn of the coupler must fit both bars, and the coupler must come there by itself at that height.
pub(super) fn five_points(check: &mut Check, file: &FivePoints) {
    let scaled = |point: [f64; 2]| Vector2::from(point) * file.scale;
    let first = scaled(file.points[0]);
    for candidate in &file.candidate {
        let bars = [(0, candidate.x), (1, candidate.y)].map(|(i, arm)| {
            let (pivot, arm) = (scaled(file.pivots[i]), scaled(arm));
            Bar { pivot, arm, length: (first + arm - pivot).norm() }
        });
        for (i, place) in file.points.iter().enumerate().skip(1) {
            check.row();
            let name = format!("candidate {}, point {i}", candidate.name);
            let place = scaled(*place);
            let [turn, miss] = turn(bars, place);
            check.near("rod", &name, miss / file.scale, 0.0);
            if let Some(&printed) = candidate.turns.get(i - 1) {
                check.printed("turn", &name, turn.rem_euclid(std::f64::consts::TAU), printed);
            }
            let there = pose(turn, place);
            let rows = rods(bars, &there, Row::Height { z: place.y });
            let off = solve(&rows, &near(&there)).map(|back| (back.pose.centre - there.centre).norm());
            check.near("place", &name, off.unwrap_or(f64::INFINITY) / file.scale, 0.0);
        }
    }
}

/// The coupler's turn that fits the first bar exactly and the second best, and by how much it misses that one, mm.
fn turn(bars: [Bar; 2], place: Vector2<f64>) -> [f64; 2] {
    let [a, b] = bars;
    // |p + R x - f|^2 = L^2  gives  (p - f) . R x = (L^2 - |p - f|^2 - |x|^2)/2
    let from = place - a.pivot;
    let product = (a.length.powi(2) - from.norm_squared() - a.arm.norm_squared()) / 2.0;
    let spread = (product / (from.norm() * a.arm.norm())).acos();
    let middle = from.y.atan2(from.x) - a.arm.y.atan2(a.arm.x);
    let second = Row::rod(space(0.0, b.pivot).into(), space(0.0, b.arm), b.length);
    [middle + spread, middle - spread]
        .map(|turn| [turn, second.residual(&pose(turn, place))])
        .into_iter()
        .min_by(|a, b| a[1].abs().total_cmp(&b[1].abs()))
        .expect("two turns")
}
