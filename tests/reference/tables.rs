//! Threads, cams, units and signs.

use nalgebra::{Matrix6, Point3, Rotation3, Vector3, Vector6};
use rodset::car::{Arm, Cam, Joint, Joints, Stance, Thread};
use rodset::geometry::{Figure, Ground, Pose, Row, Wheel};
use rodset::plan::lower;
use rodset::profile::{self, Quantity};
use serde::Deserialize;

use super::{Check, Printed};

/// A wheel turned about an axis, degrees.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Turned {
    what: String,
    /// A right wheel comes to the crate in a mirror.
    #[serde(default)]
    right: bool,
    #[serde(default)]
    axis: [f64; 3],
    #[serde(default)]
    turn: f64,
    /// Along the spindle before the turn, outboard; straight to the side where it is left out.
    spindle: Option<[f64; 3]>,
    camber: Option<Printed>,
    projected: Option<Printed>,
    toe: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Attitude {
    row: Vec<Turned>,
}

pub(super) fn attitude(check: &mut Check, file: &Attitude) {
    let centre = Point3::new(0.0, 700.0, 300.0);
    for row in &file.row {
        check.row();
        let axis = Vector3::from(row.axis).try_normalize(0.0).unwrap_or_default();
        let outboard = [0.0, if row.right { -1.0 } else { 1.0 }, 0.0];
        let (mut turn, mut spindle) =
            (axis * row.turn.to_radians(), Vector3::from(row.spindle.unwrap_or(outboard)));
        if row.right {
            // In a mirror a direction changes its y; a turn changes the other two.
            spindle.y = -spindle.y;
            (turn.x, turn.z) = (-turn.x, -turn.z);
        }
        let wheel = Wheel { centre, spindle: spindle.normalize() };
        let pose = Pose { rotation: Rotation3::from_scaled_axis(turn), centre };
        let degrees = |figure: Figure| figure.value(&pose, &wheel, &Ground::level()).to_degrees();
        if let Some(camber) = row.camber {
            check.printed("camber", &row.what, degrees(Figure::Camber), camber);
        }
        if let Some(toe) = row.toe {
            check.printed("toe", &row.what, degrees(Figure::Toe), toe);
        }
        if let Some(projected) = row.projected {
            let spindle = pose.rotation * wheel.spindle;
            check.printed("projected", &row.what, (-spindle.z).atan2(spindle.y).to_degrees(), projected);
        }
    }
}

/// Toe of both wheels as people write it, and what follows for the axle, minutes.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct AxleRow {
    left: String,
    right: String,
    /// Positive: the rear axle steers to the left.
    thrust: Option<Printed>,
    total: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Axle {
    row: Vec<AxleRow>,
}

pub(super) fn axle(check: &mut Check, file: &Axle) {
    let starter = crate::command::STARTER.replace("#=", "");
    for AxleRow { left, right, thrust, total } in &file.row {
        check.row();
        let row = format!("left {left}, right {right}");
        let profile = starter.replacen("toe = 0.10 ", &format!("toe = \"{left}\""), 1)
            + &format!("\n[right.wheel]\ntoe = \"{right}\"\n");
        let car = profile::read(&profile).unwrap_or_else(|findings| panic!("{row}: {findings:?}")).car;
        let stance = Stance::new(&car, [0.0; 2], None).expect("no front drop, so no wheelbase is needed");
        let axle = lower(&car, &stance).expect("a car can be where it was measured");
        if let Some(thrust) = thrust {
            check.printed("thrust angle", &row, axle.thrust_angle_deg * 60.0, *thrust);
        }
        if let Some(total) = total {
            check.printed("total toe", &row, axle.total_toe_deg * 60.0, *total);
        }
    }
}

/// Toe as a length across a diameter, and as an angle in degrees.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ToeRow {
    length: String,
    across: String,
    degrees: Printed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Toe {
    row: Vec<ToeRow>,
}

pub(super) fn toe(check: &mut Check, file: &Toe) {
    for ToeRow { length, across, degrees } in &file.row {
        check.row();
        let row = format!("{length} across {across}");
        let across = across.parse::<Quantity>().and_then(Quantity::length).expect("a length");
        let toe = length.parse::<Quantity>().and_then(|length| length.toe(Some(across))).expect("a toe");
        check.printed("toe", &row, toe.to_degrees(), *degrees);
    }
}

/// A thread as its table prints it, mm or inches.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct ThreadRow {
    name: String,
    /// Travel of a turn, mm.
    turn: Option<Printed>,
    /// Pitch diameter, `d - 0.649519 P`.
    d2: Option<Printed>,
    /// Minor diameter of the nut, `d - 1.082532 P`.
    d1: Option<Printed>,
    /// Minor diameter of the bolt, `d - 1.226869 P`.
    d3: Option<Printed>,
    area: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Threads {
    inch: bool,
    row: Vec<ThreadRow>,
}

pub(super) fn threads(check: &mut Check, file: &Threads) {
    let unit = if file.inch { 25.4 } else { 1.0 };
    for row in &file.row {
        check.row();
        let name = &row.name;
        let thread: Thread = name.parse().unwrap_or_else(|error| panic!("{name}: {error}"));
        // Three diameters hold both the diameter and the pitch of the crate's table against the source.
        let diameter = |depth: f64| (thread.diameter - depth * thread.pitch) / unit;
        for (quantity, got, expected) in [
            ("turn", thread.pitch, row.turn),
            ("diameter", diameter(0.649_519), row.d2),
            ("diameter", diameter(1.082_532), row.d1),
            ("diameter", diameter(1.226_869), row.d3),
            ("area", thread.stress_area / (unit * unit), row.area),
        ] {
            if let Some(expected) = expected {
                check.printed(quantity, name, got, expected);
            }
        }
    }
}

/// The threads of an adjuster, subframe end first, and its travel per turn, mm.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct LeadRow {
    threads: Vec<String>,
    lead: Printed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Lead {
    row: Vec<LeadRow>,
}

pub(super) fn lead(check: &mut Check, file: &Lead) {
    for row in &file.row {
        check.row();
        let threads = row.threads.iter().map(|text| text.parse().expect("a thread that exists")).collect();
        let joints = Joints { kinds: [Joint::RodEnd; 2], limit: None };
        let arm = Arm {
            shortest: 200.0,
            longest: 240.0,
            threads,
            step: 0.5,
            engaged: None,
            bar: None,
            joints,
            section: None,
            joint_rating: None,
            thread_class: None,
            shank_out: None,
        };
        check.printed("lead", &row.threads.join(" and "), arm.lead(), row.lead);
    }
}

/// What the marks of an eccentric bolt are worth, mm from the middle.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Eccentric {
    eccentricity: f64,
    shifts: Vec<Printed>,
}

pub(super) fn cam(check: &mut Check, file: &Eccentric) {
    let marks = u32::try_from(file.shifts.len()).expect("a few marks");
    let cam = Cam { eccentricity: file.eccentricity, along: Vector3::y(), setting: 0.0, marks: Some(marks) };
    let mark = cam.mark().expect("it has marks");
    let mut setting = 0.0;
    let mut sum = 0.0;
    for (i, &shift) in file.shifts.iter().enumerate() {
        check.row();
        let row = format!("mark {}", i + 1);
        sum += cam.next_mark(setting, 1.0).expect("it has marks");
        setting += mark;
        check.printed("shift", &row, cam.shift(setting), shift);
        check.near("sum of the marks", &row, sum, cam.shift(setting));
    }
}

/// A body hung on six rods.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Hung {
    scale: f64,
    /// The force on the body's origin.
    force: [f64; 3],
    rod: Vec<HungRod>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct HungRod {
    name: String,
    fixed: [f64; 3],
    body: [f64; 3],
    length: f64,
    tension: f64,
}

/// A rod in tension pulls the body against its gradient, so the gradients times the tensions balance the load.
pub(super) fn loads(check: &mut Check, file: &Hung) {
    assert_eq!(file.rod.len(), 6, "{}: six rods", check.file);
    let pose = Pose::reference(Point3::origin());
    let rows: Vec<Row> = (file.rod.iter())
        .map(|rod| {
            Row::rod(
                Point3::from(rod.fixed) * file.scale,
                Vector3::from(rod.body) * file.scale,
                rod.length * file.scale,
            )
        })
        .collect();
    let transposed = Matrix6::from_fn(|i, j| rows[j].gradient(&pose)[i]);
    let [x, y, z] = file.force;
    let tension =
        transposed.lu().solve(&Vector6::new(x, y, z, 0.0, 0.0, 0.0)).expect("the rods hold the body");
    for (i, rod) in file.rod.iter().enumerate() {
        check.row();
        check.near("length", &rod.name, rows[i].residual(&pose) / file.scale + rod.length, rod.length);
        check.near("tension", &rod.name, tension[i], rod.tension);
    }
}
