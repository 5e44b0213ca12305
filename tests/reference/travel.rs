//! A wheel on five rods against its height: where it is, what it reads, and how both change.

use std::collections::BTreeMap;

use nalgebra::{Point3, Unit, Vector3, Vector6};
use rodset::geometry::{CHARACTERISTIC_LENGTH, Figure, Ground, Pose, Position, Row, Wheel, solve};
use serde::Deserialize;

use super::{Check, Printed};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Travel {
    /// mm per unit of the source.
    scale: f64,
    centre: [f64; 3],
    /// Along the spindle, outboard, of any length.
    spindle: [f64; 3],
    rod: Vec<Rod>,
    /// Points of the knuckle.
    #[serde(default)]
    point: BTreeMap<String, [f64; 3]>,
    /// An axis about which an arm or the whole knuckle turns.
    axis: Option<Axis>,
    row: Vec<Height>,
    #[serde(default)]
    rate: Vec<Rate>,
    #[serde(default)]
    inverse: Vec<Inverse>,
    instant: Option<Instant>,
    #[serde(default)]
    load: Vec<Load>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rod {
    name: String,
    inner: [f64; 3],
    outer: [f64; 3],
    length: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Axis {
    through: [f64; 3],
    along: [f64; 3],
    /// The point of the knuckle whose turn is meant.
    of: String,
}

/// What is printed for a height of the wheel centre; lengths in the source's unit, angles in degrees.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Height {
    z: f64,
    toe: Option<Printed>,
    /// Inclination of the wheel plane, as the crate has it.
    camber: Option<Printed>,
    /// Camber as a projection about the car's x axis.
    projected: Option<Printed>,
    x: Option<Printed>,
    y: Option<Printed>,
    #[serde(default)]
    point: BTreeMap<String, [Printed; 2]>,
    turn: Option<Printed>,
}

/// Degrees per mm more of a rod, at the reference.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rate {
    rod: String,
    toe: Printed,
    camber: Printed,
}

/// Changes of length that give a camber and a toe at the reference height: two rods alike and one by itself.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Inverse {
    projected: f64,
    toe: f64,
    together: [String; 2],
    alone: String,
    alike: Printed,
    change: Printed,
}

/// Changes per unit of height at the reference.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Instant {
    centre: [Printed; 2],
    /// rad/m.
    turn: [Printed; 3],
    /// deg/mm.
    camber: Printed,
    toe: Printed,
    /// Of this point of the knuckle.
    of: String,
    velocity: [Printed; 3],
    /// Wheel centre to that point, in the source's unit; the ground is level under it.
    radius: f64,
    roll_centre: Printed,
    /// Front and side view: swing arm, and height of its end above the ground.
    front: [Printed; 2],
    side: [Printed; 2],
    /// Support angles under drive and under braking, degrees.
    support: [Printed; 2],
    /// Shift along the screw axis per turn, per rad.
    pitch: Printed,
}

/// A force on a point of the knuckle, with the wheel centre's height held: tensions of the rods and the vertical
/// reaction.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Load {
    force: [f64; 3],
    of: String,
    tension: [Printed; 5],
    vertical: Printed,
}

impl Travel {
    fn point(&self, of: &str) -> Vector3<f64> {
        let point = self.point.get(of).unwrap_or_else(|| panic!("no point {of}"));
        (Vector3::from(*point) - Vector3::from(self.centre)) * self.scale
    }

    fn reference(&self) -> Pose {
        Pose::reference(Point3::from(self.centre) * self.scale)
    }

    fn wheel(&self) -> Wheel {
        Wheel { centre: self.reference().centre, spindle: Vector3::from(self.spindle).normalize() }
    }

    fn index(&self, rod: &str) -> usize {
        self.rod.iter().position(|it| it.name == rod).unwrap_or_else(|| panic!("no rod {rod}"))
    }

    /// The five rods, longer than they are by `changes`, and the wheel centre at a height in mm.
    fn rows(&self, changes: [f64; 5], z: f64) -> [Row; 6] {
        std::array::from_fn(|i| {
            let Some(rod) = self.rod.get(i) else { return Row::Height { z } };
            let [inner, outer] = [rod.inner, rod.outer].map(|point| Point3::from(point) * self.scale);
            Row::rod(inner, outer - self.reference().centre, (outer - inner).norm() + changes[i])
        })
    }
}

/// The camber of ISO 8855: the angle about the car's x axis.
fn projected(pose: &Pose, wheel: &Wheel) -> f64 {
    let spindle = pose.rotation * wheel.spindle;
    (-spindle.z).atan2(spindle.y).to_degrees()
}

fn degrees(figure: Figure, pose: &Pose, wheel: &Wheel) -> f64 {
    figure.value(pose, wheel, &Ground::level()).to_degrees()
}

pub(super) fn check(check: &mut Check, file: &Travel) {
    assert_eq!(file.rod.len(), 5, "{}: five rods", check.file);
    for (rod, row) in file.rod.iter().zip(file.rows([0.0; 5], 0.0)) {
        if let (Some(printed), Row::Rod { length, .. }) = (rod.length, row) {
            check.printed("length", &rod.name, length / file.scale, printed);
        }
    }
    for row in &file.row {
        check.row();
        height(check, file, row);
    }
    let position = Position::known(&file.rows([0.0; 5], file.reference().centre.z), file.reference());
    let position = position.expect("the rods hold the reference");
    for rate in &file.rate {
        check.row();
        let of = |figure| {
            position.rate(figure, &file.wheel(), &Ground::level(), file.index(&rate.rod)).to_degrees()
        };
        check.printed("rate", &format!("toe by {}", rate.rod), of(Figure::Toe), rate.toe);
        check.printed("rate", &format!("camber by {}", rate.rod), of(Figure::Camber), rate.camber);
    }
    for row in &file.inverse {
        check.row();
        inverse(check, file, row);
    }
    if let Some(row) = &file.instant {
        check.row();
        instant(check, file, &position, row);
    }
    for row in &file.load {
        check.row();
        load(check, file, &position, row);
    }
}

fn height(check: &mut Check, file: &Travel, row: &Height) {
    let (scale, wheel) = (file.scale, file.wheel());
    let name = format!("z = {}", row.z);
    let Ok(position) = solve(&file.rows([0.0; 5], row.z * scale), &file.reference()) else {
        check.fail(&name, "not reached");
        return;
    };
    let pose = position.pose;
    let turn = file.axis.as_ref().map_or(f64::NAN, |axis| turn(file, axis, &pose));
    let mut compare = |quantity: &str, name: &str, got: f64, expected: Option<Printed>| {
        if let Some(expected) = expected {
            check.printed(quantity, name, got, expected);
        }
    };
    compare("toe", &name, degrees(Figure::Toe, &pose, &wheel), row.toe);
    compare("camber", &name, degrees(Figure::Camber, &pose, &wheel), row.camber);
    compare("projected camber", &name, projected(&pose, &wheel), row.projected);
    compare("place", &name, pose.centre.x / scale, row.x);
    compare("place", &name, pose.centre.y / scale, row.y);
    compare("turn", &name, turn, row.turn);
    for (of, [y, z]) in &row.point {
        let name = format!("{name}, {of}");
        let point = pose.point(&file.point(of)) / scale;
        compare("place", &name, point.y, Some(*y));
        compare("place", &name, point.z, Some(*z));
    }
}

/// By how much a point has turned about an axis, degrees.
fn turn(file: &Travel, axis: &Axis, pose: &Pose) -> f64 {
    let along = Unit::new_normalize(Vector3::from(axis.along));
    let through = Vector3::from(axis.through) * file.scale;
    let square = |point: Point3<f64>| {
        let out = point.coords - through;
        out - along.scale(along.dot(&out))
    };
    let arm = file.point(&axis.of);
    let (before, after) = (square(file.reference().point(&arm)), square(pose.point(&arm)));
    along.dot(&before.cross(&after)).atan2(before.dot(&after)).to_degrees()
}

/// Rod by rod as the crate does it: camber and toe take the place of two rods, whose lengths are then distances. That
/// the two rods of one arm change alike is a condition between lengths, so a secant search wraps the solve.
fn inverse(check: &mut Check, file: &Travel, row: &Inverse) {
    let name = format!("camber {}, toe {}", row.projected, row.toe);
    let (wheel, ground, height) = (file.wheel(), Ground::level(), file.reference().centre.z);
    // o = (tan t, 1, -tan c)/|.|  with c the projected camber
    let (tan_c, tan_t) = (row.projected.to_radians().tan(), row.toe.to_radians().tan());
    let camber = (tan_c / (1.0 + tan_c * tan_c + tan_t * tan_t).sqrt()).asin();
    let [first, second] = row.together.each_ref().map(|rod| file.index(rod));
    let alone = file.index(&row.alone);
    let lengths = |alike: f64| -> Option<[f64; 2]> {
        let mut changes = [0.0; 5];
        changes[first] = alike;
        let mut rows = file.rows(changes, height);
        let reads = |figure, target| Row::reads(figure, &wheel, &ground, target);
        let rods = [rows[second], rows[alone]];
        rows[second] = reads(Figure::Camber, camber);
        rows[alone] = reads(Figure::Toe, row.toe.to_radians());
        let there = solve(&rows, &file.reference()).ok()?;
        // How far apart its ends are now, less its old length, is the change of length that a rod needs.
        Some(rods.map(|rod| match rod {
            Row::Rod { subframe, knuckle, length, .. } => {
                (there.pose.point(&knuckle) - subframe).norm() - length
            }
            _ => f64::NAN,
        }))
    };
    let gap = |alike: f64| lengths(alike).map_or(f64::NAN, |[other, _]| other - alike);
    let (mut a, mut b) = (0.0, -10.0);
    for _ in 0..20 {
        let (at_a, at_b) = (gap(a), gap(b));
        if (at_b - at_a).abs() < 1e-13 {
            break;
        }
        (a, b) = (b, b - at_b * (b - a) / (at_b - at_a));
    }
    let change = lengths(b).map_or(f64::NAN, |[_, change]| change);
    check.printed("change of length", &name, b, row.alike);
    check.printed("change of length", &name, change, row.change);
    // And back: these lengths give these readings.
    let mut changes = [0.0; 5];
    [changes[first], changes[second], changes[alone]] = [row.alike.value, row.alike.value, row.change.value];
    match solve(&file.rows(changes, height), &file.reference()) {
        Ok(there) => {
            check.near("reading", &name, projected(&there.pose, &wheel), row.projected);
            check.near("reading", &name, degrees(Figure::Toe, &there.pose, &wheel), row.toe);
        }
        Err(_) => check.fail(&name, "its lengths do not go together"),
    }
}

fn instant(check: &mut Check, file: &Travel, position: &Position, row: &Instant) {
    let (motion, wheel, ground) = (position.motion(5), file.wheel(), Ground::level());
    let contact = position.pose.point(&file.point(&row.of));
    let velocity = motion.velocity(&contact);
    let rate = |figure| position.rate(figure, &wheel, &ground, 5).to_degrees();
    for (i, axis) in ["x", "y", "z"].into_iter().enumerate() {
        if let Some(&expected) = row.centre.get(i) {
            check.printed("velocity", &format!("wheel centre {axis}"), motion.shift[i], expected);
        }
        check.printed("velocity", &format!("{} {axis}", row.of), velocity[i], row.velocity[i]);
        check.printed("angular velocity", axis, motion.turn[i] * 1000.0, row.turn[i]);
        let foot = wheel.contact(&position.pose, &ground, row.radius * file.scale);
        check.near("contact", axis, foot[i], contact[i]);
    }
    check.printed("rate by height", "camber", rate(Figure::Camber), row.camber);
    check.printed("rate by height", "toe", rate(Figure::Toe), row.toe);
    let instant = motion.instant(&ground, &contact);
    let mut length = |name: &str, got: Option<f64>, expected: Printed| {
        check.printed("swing arm", name, got.unwrap_or(f64::NAN) / file.scale, expected);
    };
    length("front", instant.front_arm, row.front[0]);
    length("front, height", instant.front_centre, row.front[1]);
    length("side", instant.side_arm, row.side[0]);
    length("side, height", instant.side_centre, row.side[1]);
    let roll_centre = instant.roll_centre.unwrap_or(f64::NAN) / file.scale;
    check.printed("roll centre", "above the contact", roll_centre, row.roll_centre);
    check.printed("support", "drive", instant.drive_support.to_degrees(), row.support[0]);
    check.printed("support", "brake", instant.brake_support.to_degrees(), row.support[1]);
    let pitch = motion.screw().map_or(f64::NAN, |screw| screw.pitch);
    check.printed("screw", "pitch", pitch / file.scale, row.pitch);
}

/// Tensions are the transpose of the Jacobian's inverse times the load.
fn load(check: &mut Check, file: &Travel, position: &Position, row: &Load) {
    let (force, arm) = (Vector3::from(row.force), file.point(&row.of));
    let moment = arm.cross(&force) / CHARACTERISTIC_LENGTH;
    let wrench = Vector6::new(force.x, force.y, force.z, moment.x, moment.y, moment.z);
    let tension = position.response.transpose() * wrench;
    for (i, &expected) in row.tension.iter().enumerate() {
        check.printed("force", &format!("{:?} on {}", row.force, file.rod[i].name), tension[i], expected);
    }
    check.printed("force", &format!("{:?} on the guide", row.force), -tension[5], row.vertical);
}
