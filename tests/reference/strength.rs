//! Bars that meet in a point, columns, and bolts.

use std::collections::BTreeMap;

use nalgebra::{Matrix3, Point3, Vector3};
use rodset::car::{PropertyClass, Section, Thread};
use rodset::geometry::{Pose, Row};
use rodset::strength::capacity::{assembly_limit, euler, johnson, nut_factor, preload, secant};
use serde::Deserialize;

use super::{Check, Printed};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct PinJoint {
    name: String,
    joint: [f64; 3],
    bars: [[f64; 3]; 3],
    force: [f64; 3],
    tension: [f64; 3],
    within: f64,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Joints {
    row: Vec<PinJoint>,
}

/// The forces of three bars on a point: the shifting part of the rows' gradients, transposed.
pub(super) fn joints(check: &mut Check, file: &Joints) {
    for row in &file.row {
        check.row();
        let pose = Pose::reference(Point3::from(row.joint));
        let line = |bar: &[f64; 3]| {
            let length = (pose.centre - Point3::from(*bar)).norm();
            let rod = Row::rod(Point3::from(*bar), Vector3::zeros(), length);
            rod.gradient(&pose).fixed_rows::<3>(0).into_owned()
        };
        let lines = Matrix3::from_columns(&row.bars.each_ref().map(line));
        let tension = lines.lu().solve(&Vector3::from(row.force)).expect("three bars in space");
        for i in 0..3 {
            check.near_in_row("tension", &row.name, tension[i], row.tension[i], row.within);
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Rod {
    name: String,
    #[serde(rename = "yield")]
    yields: f64,
    length: f64,
    law: String,
    diameter: Printed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Rods {
    row: Vec<Rod>,
}

/// The diameter at which a round rod carries three times 10 kip; inches and ksi go together as mm and N/mm2 do.
pub(super) fn diameters(check: &mut Check, file: &Rods) {
    for row in &file.row {
        check.row();
        let carries = |diameter: f64| {
            let section = Section::round(diameter, 0.0, row.yields, 30_000.0);
            match row.law.as_str() {
                "Euler" => euler(&section, row.length),
                "Johnson" => johnson(&section, row.length),
                law => panic!("{}: no law {law}", row.name),
            }
        };
        let (mut low, mut high) = (0.5, 4.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if carries(middle) < 30.0 { low = middle } else { high = middle }
        }
        check.printed("diameter", &row.name, low, row.diameter);
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Column {
    name: String,
    outer_radius: Option<f64>,
    inner_radius: Option<f64>,
    area: Option<f64>,
    inertia: Option<f64>,
    length: f64,
    #[serde(rename = "yield")]
    yields: Option<f64>,
    critical: Printed,
    stress: Printed,
    allowed: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Columns {
    row: Vec<Column>,
}

pub(super) fn columns(check: &mut Check, file: &Columns) {
    for row in &file.row {
        check.row();
        let yields = row.yields.unwrap_or(f64::INFINITY);
        let section = match (row.outer_radius.zip(row.inner_radius), row.area.zip(row.inertia)) {
            (Some((outer, inner)), None) => Section::round(2.0 * outer, 2.0 * inner, yields, 200_000.0),
            (None, Some((area, inertia))) => {
                Section { area, inertia, edge: 1.0, yield_stress: yields, modulus: 200_000.0 }
            }
            _ => panic!("{}: a tube, or area and inertia", row.name),
        };
        let critical = euler(&section, row.length);
        check.printed("force", &row.name, critical / 1000.0, row.critical);
        check.printed("stress", &row.name, critical / section.area, row.stress);
        if let Some(allowed) = row.allowed {
            // Without a bend the secant formula ends at yield or at Euler's load, whichever comes first.
            check.printed("force", &row.name, secant(&section, row.length, 0.0) / 1000.0, allowed);
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct BentColumn {
    name: String,
    area: f64,
    inertia: f64,
    edge: f64,
    off: f64,
    length: f64,
    modulus: f64,
    load: f64,
    stress: Printed,
    #[serde(rename = "yield")]
    yields: Option<f64>,
    stands: Option<Printed>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BentColumns {
    row: Vec<BentColumn>,
}

/// The load at which the edge comes to yield; the stress under a load is the yield stress at which it stands just that.
pub(super) fn bent(check: &mut Check, file: &BentColumns) {
    for row in &file.row {
        check.row();
        let BentColumn { area, inertia, edge, modulus, .. } = *row;
        let stands = |yield_stress: f64| {
            secant(&Section { area, inertia, edge, yield_stress, modulus }, row.length, row.off)
        };
        let (mut low, mut high) = (0.0, 1000.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if stands(middle) < row.load { low = middle } else { high = middle }
        }
        check.printed("stress", &row.name, low, row.stress);
        if let Some((yields, printed)) = row.yields.zip(row.stands) {
            check.printed("force", &row.name, stands(yields), printed);
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct NutFactor {
    thread: String,
    k: f64,
    preload_psi: f64,
    torque: Printed,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Torques {
    row: Vec<NutFactor>,
}

/// Pounds, inches and psi.
pub(super) fn torques(check: &mut Check, file: &Torques) {
    const POUND: f64 = 4.448_221_615_260_5;
    for row in &file.row {
        check.row();
        let thread: Thread = row.thread.parse().expect("a thread that exists");
        let force = row.preload_psi * thread.stress_area / (25.4 * 25.4) * POUND;
        let newton_metres = force / preload(1.0, row.k, thread.diameter);
        check.printed("torque", &row.thread, newton_metres / (POUND * 0.0254), row.torque);
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Tightened {
    thread: String,
    mu: f64,
    preload: [f64; 3],
    torque: [f64; 3],
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Tables {
    bearing: BTreeMap<String, f64>,
    row: Vec<Tightened>,
}

pub(super) fn bolts(check: &mut Check, file: &Tables) {
    for row in &file.row {
        let thread: Thread = row.thread.parse().expect("a thread that exists");
        for (i, class) in ["8.8", "10.9", "12.9"].into_iter().enumerate() {
            check.row();
            let name = format!("{} {class} at {}", row.thread, row.mu);
            let yields = PropertyClass::named(class).expect("a class").strengths(thread.diameter).yields;
            let force = assembly_limit(&thread, yields, 0.9, row.mu) / 1000.0;
            check.near("preload", &name, force / row.preload[i], 1.0);
            let torque = force * nut_factor(&thread, row.mu, file.bearing[&row.thread]) * thread.diameter;
            check.near("torque", &name, torque / row.torque[i], 1.0);
        }
    }
}
