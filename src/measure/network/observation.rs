//! What can be measured between points, with its derivatives.

use nalgebra::{Point3, Vector3};

/// A point of the network, or its mirror image on the other side of the car.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct At {
    /// Which spot.
    pub spot: usize,
    /// Whether its mirror image in the centreline is meant.
    pub mirrored: bool,
}

/// What an observation measures.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ObservationKind {
    /// The straight distance between two points, mm: a tape, or an arm off the car, centre to centre.
    Distance {
        /// From here.
        from: At,
        /// To there.
        to: At,
    },
    /// A coordinate of a point less that of another, mm: a plumb line, a height.
    Difference {
        /// 0: forward, 1: to the left, 2: up.
        axis: usize,
        /// The point.
        of: At,
        /// The other one; without it the coordinate itself is meant.
        from: Option<At>,
    },
    /// The horizontal distance of a point from a vertical plane through two others, mm: a string line. Positive to the left of
    /// the way from the first to the second.
    Offset {
        /// The point.
        of: At,
        /// The two points of the line.
        line: [At; 2],
    },
    /// The angle of the way between two points above the horizontal, rad: a level on a link.
    Slope {
        /// From here.
        from: At,
        /// To there.
        to: At,
    },
}

/// One number that was read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// What it measures.
    pub kind: ObservationKind,
    /// What was read, mm or rad.
    pub reads: f64,
    /// Its standard deviation, more than zero, in the same unit.
    pub sigma: f64,
}

impl ObservationKind {
    /// What would be read if the points were here, mm or rad.
    pub fn value(&self, points: &[Point3<f64>]) -> f64 {
        let place = |at: At| at.place(points);
        match *self {
            Self::Distance { from, to } => (place(to) - place(from)).norm(),
            Self::Difference { axis, of, from } => {
                place(of)[axis] - from.map_or(0.0, |from| place(from)[axis])
            }
            Self::Offset { of, line: [a, b] } => {
                let (along, out) = (flat(place(b) - place(a)), flat(place(of) - place(a)));
                (along.x * out.y - along.y * out.x) / along.norm()
            }
            Self::Slope { from, to } => {
                let way = place(to) - place(from);
                way.z.atan2(flat(way).norm())
            }
        }
    }

    /// How that changes with each point it measures; a mirrored point counts for its original.
    ///
    /// Where a distance is none or a slope is upright every direction is as good, and the one across the car is taken: that way
    /// a point and its mirror image come apart.
    pub(crate) fn gradient(&self, points: &[Point3<f64>]) -> Vec<(usize, Vector3<f64>)> {
        let place = |at: At| at.place(points);
        let part = |at: At, slope: Vector3<f64>| (at.spot, at.mirror(slope));
        match *self {
            Self::Distance { from, to } => {
                let u = (place(to) - place(from)).try_normalize(0.0).unwrap_or_else(Vector3::y);
                vec![part(to, u), part(from, -u)]
            }
            Self::Difference { axis, of, from } => {
                let u = Vector3::ith(axis, 1.0);
                [Some(part(of, u)), from.map(|from| part(from, -u))].into_iter().flatten().collect()
            }
            Self::Offset { of, line: [a, b] } => {
                // o = (d x w) . z / |d|, with d along the line and w from its start to the point
                let (d, w) = (flat(place(b) - place(a)), flat(place(of) - place(a)));
                let length = d.norm();
                let left = Vector3::z().cross(&d) / length;
                let with_d = (w.cross(&Vector3::z()) - d * (left.dot(&w) / length)) / length;
                vec![part(of, left), part(b, with_d), part(a, -left - with_d)]
            }
            Self::Slope { from, to } => {
                let way = place(to) - place(from);
                let level = flat(way);
                let along = level.try_normalize(0.0).unwrap_or_else(Vector3::y);
                let slope = (Vector3::z() * level.norm() - along * way.z) / way.norm_squared();
                vec![part(to, slope), part(from, -slope)]
            }
        }
    }

    /// Whether it is the same thing to measure; a coordinate is the same whatever it is counted from, but for its counterpart.
    pub(super) fn is_as(&self, other: &Self) -> bool {
        let is_pair = |of: At, from: Option<At>| from.is_some_and(|from| from.spot == of.spot);
        match (*self, *other) {
            (
                Self::Difference { axis, of, from },
                Self::Difference { axis: along, of: point, from: other },
            ) => (axis, of, is_pair(of, from)) == (along, point, is_pair(point, other)),
            (Self::Distance { from, to }, Self::Distance { from: a, to: b }) => {
                [from, to] == [a, b] || [from, to] == [b, a]
            }
            _ => self == other,
        }
    }

    /// The points it measures.
    pub fn spots(&self) -> Vec<usize> {
        match *self {
            Self::Distance { from, to } | Self::Slope { from, to } => vec![from.spot, to.spot],
            Self::Difference { of, from, .. } => {
                [Some(of.spot), from.map(|from| from.spot)].into_iter().flatten().collect()
            }
            Self::Offset { of, line } => vec![of.spot, line[0].spot, line[1].spot],
        }
    }
}

impl At {
    /// The spot itself.
    pub fn spot(spot: usize) -> Self {
        Self { spot, mirrored: false }
    }

    pub(super) fn place(self, points: &[Point3<f64>]) -> Point3<f64> {
        let point = points[self.spot];
        if self.mirrored { Point3::new(point.x, -point.y, point.z) } else { point }
    }

    /// The sign of a coordinate of it by that of its spot.
    pub(super) fn sense(self, axis: usize) -> f64 {
        if self.mirrored && axis == 1 { -1.0 } else { 1.0 }
    }

    fn mirror(self, vector: Vector3<f64>) -> Vector3<f64> {
        if self.mirrored { Vector3::new(vector.x, -vector.y, vector.z) } else { vector }
    }
}

fn flat(vector: Vector3<f64>) -> Vector3<f64> {
    Vector3::new(vector.x, vector.y, 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn all_kinds() -> Vec<ObservationKind> {
        let [a, b, c] = [0, 1, 2].map(At::spot);
        let mirrored = At { spot: 1, mirrored: true };
        vec![
            ObservationKind::Distance { from: a, to: b },
            ObservationKind::Distance { from: a, to: mirrored },
            ObservationKind::Difference { axis: 1, of: a, from: None },
            ObservationKind::Difference { axis: 1, of: b, from: Some(mirrored) },
            ObservationKind::Offset { of: c, line: [a, b] },
            ObservationKind::Offset { of: a, line: [mirrored, c] },
            ObservationKind::Slope { from: a, to: c },
        ]
    }

    fn points() -> Vec<Point3<f64>> {
        vec![
            Point3::new(-20.0, 440.0, 450.0),
            Point3::new(35.0, 690.0, 470.0),
            Point3::new(300.0, 510.0, 210.0),
        ]
    }

    #[test]
    fn every_gradient_is_the_central_difference_of_its_value() {
        for kind in all_kinds() {
            for spot in 0..3 {
                for axis in 0..3 {
                    let at = |by: f64| {
                        let mut points = points();
                        points[spot][axis] += by;
                        kind.value(&points)
                    };
                    let difference = (at(1e-3) - at(-1e-3)) / 2e-3;
                    let parts = kind.gradient(&points()).into_iter().filter(|(of, _)| *of == spot);
                    let slope: f64 = parts.map(|(_, slope)| slope[axis]).sum();
                    assert_relative_eq!(slope, difference, epsilon = 1e-9);
                }
            }
        }
    }

    #[test]
    fn an_offset_is_positive_to_the_left_of_the_way() {
        let points = [Point3::origin(), Point3::new(1000.0, 0.0, 50.0), Point3::new(500.0, 120.0, 300.0)];
        let [a, b, c] = [0, 1, 2].map(At::spot);
        assert_relative_eq!(ObservationKind::Offset { of: c, line: [a, b] }.value(&points), 120.0);
        assert_relative_eq!(ObservationKind::Offset { of: c, line: [b, a] }.value(&points), -120.0);
    }
}
