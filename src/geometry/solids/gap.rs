//! The gap between a solid and an obstacle. The one place that knows the geometry library, which speaks another algebra.

use nalgebra::{Point3, Rotation3, Vector3};
use parry3d_f64::math::{Matrix, Pose, Rotation, Vector};
use parry3d_f64::query;
use parry3d_f64::shape::{Ball, Cuboid, Cylinder, HalfSpace, Segment, Shape};

use super::{Core, Obstacle, Solid};

/// How far the surface of a solid is from an obstacle, mm.
///
/// Negative where they overlap: by as much as the rounding reaches in, and no less than `-round`, which is also the value
/// where the core itself lies inside.
///
/// The library closes in on the nearest points step by step; seven digits of the distance can be relied on, as measured
/// against closed forms and a second method in the tests.
pub fn gap(solid: &Solid, obstacle: &Obstacle) -> f64 {
    let (fixed, at) = placed(obstacle);
    let distance = |shape: &dyn Shape, pose: &Pose| {
        // Every pair of these shapes is known to the library.
        query::distance(pose, shape, &at, fixed.as_ref()).map_or(0.0, |found| found.distance)
    };
    let core = match &solid.core {
        Core::Line(points) => points
            .windows(2)
            .map(|pair| {
                // From its own middle: the library starts its search at the origins of the two shapes.
                let middle = nalgebra::center(&pair[0], &pair[1]);
                let half = vector(&(pair[1] - middle));
                distance(&Segment::new(-half, half), &Pose::from_translation(vector(&middle.coords)))
            })
            .fold(f64::INFINITY, f64::min),
        Core::Drum { centre, axis, half_width, radius } => {
            distance(&Cylinder::new(*half_width, *radius), &round_axis(centre, axis))
        }
    };
    core - solid.round
}

/// An obstacle as the library's shape and where it is.
fn placed(obstacle: &Obstacle) -> (Box<dyn Shape>, Pose) {
    match obstacle {
        Obstacle::Box { centre, edges, half } => (Box::new(Cuboid::new(vector(half))), pose(centre, edges)),
        Obstacle::Cylinder { ends: [a, b], radius } => {
            let along = b - a;
            let half = along.norm() / 2.0;
            (Box::new(Cylinder::new(half, *radius)), round_axis(&nalgebra::center(a, b), &along))
        }
        Obstacle::Ball { centre, radius } => {
            (Box::new(Ball::new(*radius)), Pose::from_translation(vector(&centre.coords)))
        }
        Obstacle::HalfSpace { point, free } => {
            (Box::new(HalfSpace::new(vector(free))), Pose::from_translation(vector(&point.coords)))
        }
    }
}

/// The library's cylinders stand along y.
fn round_axis(centre: &Point3<f64>, axis: &Vector3<f64>) -> Pose {
    let turn = Rotation::from_rotation_arc(Vector::Y, vector(&axis.normalize()));
    Pose::from_parts(vector(&centre.coords), turn)
}

fn pose(at: &Point3<f64>, turn: &Rotation3<f64>) -> Pose {
    let [x, y, z] = [0, 1, 2].map(|i| vector(&turn.matrix().column(i).into_owned()));
    Pose::from_parts(vector(&at.coords), Rotation::from_mat3(&Matrix::from_cols(x, y, z)))
}

fn vector(v: &Vector3<f64>) -> Vector {
    Vector::new(v.x, v.y, v.z)
}
