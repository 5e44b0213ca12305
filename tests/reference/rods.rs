//! A body on rods in postures far from the reference.

use nalgebra::{Matrix3, Point3, Rotation3, Vector3, Vector6};
use rodset::geometry::{Figure, Ground, Pose, Position, Row, Wheel, solve};
use serde::Deserialize;

use super::{Check, Printed};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Rod {
    /// The pivot that stands still.
    fixed: [f64; 3],
    /// The pivot in the body's frame.
    moving: [f64; 3],
    length: f64,
}

/// Where the body is: its origin and its x and y axes.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Posture {
    name: String,
    origin: [f64; 3],
    x: [f64; 3],
    y: [f64; 3],
    /// Condition number of the rows, angles in units of length.
    condition: Vec<Printed>,
    /// What happens from near starts, for each set of rods.
    #[serde(default)]
    back: Vec<Back>,
}

/// What happens from near starts.
#[derive(Deserialize, Clone, Copy)]
#[serde(deny_unknown_fields)]
struct Back {
    /// How near the posture must come back; none where the rods reach nothing near it.
    within: Option<f64>,
    /// How far away a second posture of the same rods is, if it is so near that a start may belong to it. Between the
    /// two the rods let go, so a start may also find no way.
    twin: Option<f64>,
}

impl Posture {
    /// The pose in mm; printed axes are made square: `x`, then `z` square to `x` and `y`.
    fn pose(&self, scale: f64) -> Pose {
        let x = Vector3::from(self.x).normalize();
        let z = x.cross(&Vector3::from(self.y)).normalize();
        let matrix = Matrix3::from_columns(&[x, z.cross(&x), z]);
        Pose { rotation: Rotation3::from_matrix_unchecked(matrix), centre: Point3::from(self.origin) * scale }
    }
}

impl Rod {
    fn row(&self, scale: f64) -> Row {
        Row::rod(Point3::from(self.fixed) * scale, Vector3::from(self.moving) * scale, self.length * scale)
    }
}

/// Five rods and the height of the body's origin.
fn with_height(rods: &[Rod], scale: f64, z: f64) -> [Row; 6] {
    std::array::from_fn(|i| if i < 5 { rods[i].row(scale) } else { Row::Height { z } })
}

/// Starts that are off by `offset` mm along, or by that angle about, each axis, either way.
fn starts(pose: &Pose, offset: f64) -> impl Iterator<Item = Pose> {
    (0..12).map(move |i| pose.nudged(&Vector6::ith(i / 2, if i % 2 == 0 { offset } else { -offset })))
}

/// The largest difference between two poses in position and in the entries of the rotation, in the source's unit.
fn distance(a: &Pose, b: &Pose, scale: f64) -> f64 {
    let turn = (a.rotation.matrix() - b.rotation.matrix()).amax();
    ((a.centre - b.centre).amax() / scale).max(turn)
}

/// The condition number in the 2-norm, from the inverse that the crate hands out.
fn condition(position: &Position) -> f64 {
    let values = position.response.singular_values();
    values.max() / values.min()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Six {
    /// mm per unit of the source: its unit of length becomes the crate's lever, so that conditions are comparable.
    scale: f64,
    /// How far the starts are off.
    start: f64,
    rod: Vec<Rod>,
    posture: Vec<Posture>,
}

/// Six rods hold the body in each posture; five of them and its height lead back to it.
pub(super) fn six(check: &mut Check, file: &Six) {
    let Six { scale, start, rod, posture } = file;
    assert_eq!(rod.len(), 6, "{}: six rods", check.file);
    let rows: [Row; 6] = std::array::from_fn(|i| rod[i].row(*scale));
    for posture in posture {
        check.row();
        let Posture { name, condition: conditions, .. } = posture;
        let listed = posture.pose(*scale);
        for row in &rows {
            check.near("rod", name, row.residual(&listed) / scale, 0.0);
        }
        // The listing meets the rods to about 1e-9, which a condition number of 1e5 turns into 1e-4.
        let Ok(held) = solve(&rows, &listed) else {
            check.fail(name, "six rods do not hold it");
            continue;
        };
        let allowed = 1e-9 * conditions[0].value;
        check.near_in_row("posture", name, distance(&held.pose, &listed, *scale), 0.0, allowed);
        check.printed("condition", name, condition(&held), conditions[0]);

        let rows = with_height(rod, *scale, held.pose.centre.z);
        let Ok(known) = Position::known(&rows, held.pose) else {
            check.fail(name, "five rods and the height do not hold it");
            continue;
        };
        check.printed("condition", name, condition(&known), conditions[1]);
        let back = posture.back.first().copied().unwrap_or(Back { within: Some(1e-9), twin: None });
        come_back(check, name, back, &rows, &held.pose, [*start, *scale]);
    }
}

/// Solves from starts on all sides of a posture.
fn come_back(
    check: &mut Check,
    row: &str,
    back: Back,
    rows: &[Row; 6],
    pose: &Pose,
    [start, scale]: [f64; 2],
) {
    let mut came = false;
    for start in starts(pose, start * scale) {
        let there = solve(rows, &start).map(|there| distance(&there.pose, pose, scale));
        match (back, there) {
            (Back { within: None, .. }, Ok(_)) => {
                check.fail(row, "the rods reach a posture, which was not expected");
            }
            (Back { within: None, .. } | Back { twin: Some(_), .. }, Err(_)) => {}
            (Back { within: Some(_), twin: None }, Err(_)) => {
                check.fail(row, "not reached from a near start");
            }
            (Back { within: Some(within), twin: Some(twin) }, Ok(off)) if off > twin / 2.0 => {
                check.near_in_row("twin", row, off, twin, within);
            }
            (Back { within: Some(within), .. }, Ok(off)) => {
                came = true;
                check.near_in_row("return", row, off, 0.0, within);
            }
        }
    }
    if back.within.is_some() && !came {
        check.fail(row, "no near start comes back");
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Five {
    scale: f64,
    start: f64,
    /// Sets of five rods, the most precise last.
    set: Vec<Set>,
    posture: Vec<Posture>,
    /// The rods whose lengths are asked for when camber and toe are given.
    adjusted: [usize; 2],
    /// All rods whose length is the same in all postures.
    solution: Vec<Rod>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Set {
    name: String,
    rod: Vec<Rod>,
}

/// Five rods that reach a list of postures: forward from near starts, inverse from what the wheel reads, and as lengths.
pub(super) fn five(check: &mut Check, file: &Five) {
    let Five { scale, start, set, posture, solution, .. } = file;
    for posture in posture {
        check.row();
        let listed = posture.pose(*scale);
        assert_eq!(posture.back.len(), set.len(), "{}: pose {}, one `back` a set", check.file, posture.name);
        for (set, &back) in set.iter().zip(&posture.back) {
            let row = format!("pose {}, rods {}", posture.name, set.name);
            let rows = with_height(&set.rod, *scale, listed.centre.z);
            come_back(check, &row, back, &rows, &listed, [*start, *scale]);
            if let Ok(known) = Position::known(&rows, listed) {
                check.printed("condition", &row, condition(&known), posture.condition[0]);
            }
        }
        if let Some((set, within)) = set.last().zip(posture.back.last().and_then(|back| back.within)) {
            inverse(check, file, set, posture, within);
        }
        for (i, rod) in solution.iter().enumerate() {
            let row = format!("pose {}, rod {}", posture.name, i + 1);
            check.near("rod", &row, rod.row(*scale).residual(&listed) / scale, 0.0);
        }
    }
}

/// Camber and toe as the wheel reads them in the pose take the place of two rods, whose lengths must come out.
fn inverse(check: &mut Check, file: &Five, set: &Set, posture: &Posture, allowed: f64) {
    let listed = posture.pose(file.scale);
    let (wheel, ground) = (Wheel { centre: Point3::origin(), spindle: Vector3::y() }, Ground::level());
    let mut rows = with_height(&set.rod, file.scale, listed.centre.z);
    let rods = file.adjusted.map(|i| rows[i]);
    for (i, figure) in file.adjusted.into_iter().zip([Figure::Camber, Figure::Toe]) {
        rows[i] = Row::reads(figure, &wheel, &ground, figure.value(&listed, &wheel, &ground));
    }
    for start in starts(&listed, file.start * file.scale) {
        let off = solve(&rows, &start)
            .map(|there| rods.map(|rod| rod.residual(&there.pose).abs()).into_iter().fold(0.0, f64::max));
        let row = format!("pose {}", posture.name);
        check.near_in_row("inverse", &row, off.unwrap_or(f64::INFINITY) / file.scale, 0.0, allowed);
    }
}
