//! What is fixed to the car: shapes that can be measured with a tape.

use nalgebra::{Matrix3, Point3, Rotation3, Vector3};

/// A shape that nothing may touch.
#[derive(Debug, Clone, PartialEq)]
pub enum Obstacle {
    /// A box.
    Box {
        /// Its middle, mm.
        centre: Point3<f64>,
        /// Turns the car's axes into the directions of its edges.
        edges: Rotation3<f64>,
        /// Half the length of each edge, mm, more than zero.
        half: Vector3<f64>,
    },
    /// A cylinder with flat ends.
    Cylinder {
        /// The middles of its ends, mm.
        ends: [Point3<f64>; 2],
        /// Its radius, mm, more than zero.
        radius: f64,
    },
    /// A ball.
    Ball {
        /// Its middle, mm.
        centre: Point3<f64>,
        /// Its radius, mm, more than zero.
        radius: f64,
    },
    /// Everything behind a plane.
    HalfSpace {
        /// A point of the plane, mm.
        point: Point3<f64>,
        /// Unit vector square to the plane, towards the free side.
        free: Vector3<f64>,
    },
}

impl Obstacle {
    /// The box with these opposite corners and its edges along the car's axes; `None` where it has no room inside.
    pub(crate) fn upright([a, b]: [Point3<f64>; 2]) -> Option<Self> {
        let half = (b - a).abs() / 2.0;
        let centre = nalgebra::center(&a, &b);
        (half.min() > 0.0).then(|| Self::Box { centre, edges: Rotation3::identity(), half })
    }

    /// The box with a corner at the first point and an edge from it to each of the others; `None` where they lie in a
    /// plane.
    ///
    /// Measured edges are never quite square: the first is kept, the second is turned square to it in their common plane,
    /// the third stands on both. Each keeps its length. Also returns how far the worst of the three angles between the
    /// edges was off a right one, rad.
    pub(crate) fn from_edges([corner, a, b, c]: [Point3<f64>; 4]) -> Option<(Self, f64)> {
        let edges = [a - corner, b - corner, c - corner];
        let lengths = edges.map(|edge| edge.norm());
        let first = edges[0].try_normalize(0.0)?;
        let second = (edges[1] - first * first.dot(&edges[1])).try_normalize(1e-9 * lengths[1])?;
        let up = first.cross(&second);
        // A corner measured clockwise makes a left-handed set; the box is the same with its third edge as it is.
        let third = up * up.dot(&edges[2]).signum();
        let slant = |i: usize, j: usize| (edges[i].dot(&edges[j]) / (lengths[i] * lengths[j])).abs().asin();
        let off = slant(0, 1).max(slant(0, 2)).max(slant(1, 2));
        let flat = up.dot(&edges[2]).abs() <= 1e-9 * lengths[2];
        if flat || !off.is_finite() {
            return None;
        }
        let half = Vector3::from(lengths) / 2.0;
        let centre = corner + first * half.x + second * half.y + third * half.z;
        let edges = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[first, second, up]));
        Some((Self::Box { centre, edges, half }, off))
    }

    /// Everything on the far side of the plane through three points, seen from `near`; `None` where the points lie on a
    /// line or `near` lies in the plane.
    pub(crate) fn behind([a, b, c]: [Point3<f64>; 3], near: &Point3<f64>) -> Option<Self> {
        let (along, across) = (b - a, c - a);
        let normal = along.cross(&across).try_normalize(1e-6 * along.norm() * across.norm())?;
        let side = normal.dot(&(near - a));
        (side.abs() > 1e-6).then(|| Self::HalfSpace { point: a, free: normal * side.signum() })
    }

    /// The same shape in a mirror that swaps left and right.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let flip = |v: Vector3<f64>| Vector3::new(v.x, -v.y, v.z);
        let point = |p: &Point3<f64>| Point3::from(flip(p.coords));
        match self {
            Self::Box { centre, edges, half } => {
                let [x, y, z] = [0, 1, 2].map(|i| flip(edges.matrix().column(i).into_owned()));
                // A mirrored set is left-handed; a box has no front or back, so one edge may be turned round.
                let edges = Rotation3::from_matrix_unchecked(Matrix3::from_columns(&[x, y, -z]));
                Self::Box { centre: point(centre), edges, half: *half }
            }
            Self::Cylinder { ends, radius } => {
                Self::Cylinder { ends: ends.each_ref().map(point), radius: *radius }
            }
            Self::Ball { centre, radius } => Self::Ball { centre: point(centre), radius: *radius },
            Self::HalfSpace { point: at, free } => Self::HalfSpace { point: point(at), free: flip(*free) },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn p(x: f64, y: f64, z: f64) -> Point3<f64> {
        Point3::new(x, y, z)
    }

    #[test]
    fn a_box_by_its_edges_is_the_box_by_its_corners() {
        let corner = p(10.0, 20.0, 30.0);
        let ends = [p(50.0, 20.0, 30.0), p(10.0, -40.0, 30.0), p(10.0, 20.0, 35.0)];
        let (Obstacle::Box { centre, edges, half }, off) =
            Obstacle::from_edges([corner, ends[0], ends[1], ends[2]]).expect("a box")
        else {
            panic!("a box");
        };
        assert_relative_eq!(centre, p(30.0, -10.0, 32.5));
        assert_relative_eq!(half, Vector3::new(20.0, 30.0, 2.5));
        assert_relative_eq!(edges.matrix().determinant(), 1.0, epsilon = 1e-15);
        assert_relative_eq!(off, 0.0);
        let Some(Obstacle::Box { centre: same, .. }) = Obstacle::upright([corner, p(50.0, -40.0, 35.0)])
        else {
            panic!("a box");
        };
        assert_relative_eq!(centre, same);
    }

    #[test]
    fn flat_boxes_and_planes_of_a_line_are_none() {
        assert_eq!(Obstacle::upright([p(0.0, 0.0, 0.0), p(1.0, 1.0, 0.0)]), None);
        let flat = [p(0.0, 0.0, 0.0), p(1.0, 0.0, 0.0), p(0.0, 1.0, 0.0), p(1.0, 1.0, 0.0)];
        assert_eq!(Obstacle::from_edges(flat), None);
        let line = [p(0.0, 0.0, 0.0), p(1.0, 0.0, 0.0), p(2.0, 0.0, 0.0), p(0.0, 0.0, 1.0)];
        assert_eq!(Obstacle::from_edges(line), None);
        assert_eq!(Obstacle::from_edges([p(0.0, 0.0, 0.0); 4]), None);
        assert_eq!(Obstacle::behind([line[0], line[1], line[2]], &p(0.0, 0.0, 1.0)), None);
        assert_eq!(Obstacle::behind([flat[0], flat[1], flat[2]], &p(5.0, 5.0, 0.0)), None);
    }

    #[test]
    fn the_free_side_of_a_plane_is_the_near_one() {
        let floor = [p(0.0, 0.0, 600.0), p(0.0, 100.0, 600.0), p(100.0, 0.0, 600.0)];
        let Some(Obstacle::HalfSpace { free, .. }) = Obstacle::behind(floor, &p(0.0, 0.0, 300.0)) else {
            panic!("a plane");
        };
        assert_relative_eq!(free, -Vector3::z());
    }
}
