//! The plane of camber and toe, both in tolerances from the target: what adjusters reach in it if their effects are constant,
//! and what of that is nearest the target.
//!
//! Each adjuster moves the wheel along its own direction, from one end to the other. All of them together reach a polygon
//! whose sides are these directions in the order of their angles: a zonotope (G. M. Ziegler, *Lectures on Polytopes*, Springer
//! 1995, chapter 7; cited from memory). Every corner remembers how far each adjuster was moved for it, and so every point
//! between corners does.

use nalgebra::Vector2;

/// A point that is reached, and by which moves of the adjusters.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Reached {
    pub(super) at: Vector2<f64>,
    pub(super) by: Vec<f64>,
}

/// A convex polygon of points that are reached; it may be a line or a single point.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Polygon {
    /// Anticlockwise.
    corners: Vec<Reached>,
}

impl Reached {
    /// The point a part of the way to another.
    fn towards(&self, other: &Self, part: f64) -> Self {
        let between = |(a, b): (&f64, &f64)| a + (b - a) * part;
        Self {
            at: self.at + (other.at - self.at) * part,
            by: self.by.iter().zip(&other.by).map(between).collect(),
        }
    }
}

impl Polygon {
    /// What adjusters reach from a point: each changes it by its slope for each mm, and may move within its bounds.
    pub(super) fn reach(from: Vector2<f64>, slopes: &[Vector2<f64>], bounds: &[[f64; 2]]) -> Self {
        // Turned so that all point upward (or to the right): the lowest corner has each at its lower end.
        let upward = |slope: &Vector2<f64>| slope.y > 0.0 || (slope.y == 0.0 && slope.x > 0.0);
        let end = |i: usize, upper: bool| {
            let acts = slopes[i].norm_squared() > 0.0;
            // What does nothing is not moved.
            if acts { bounds[i][usize::from(upward(&slopes[i]) == upper)] } else { 0.0 }
        };
        let mut corner = Reached { at: from, by: (0..slopes.len()).map(|i| end(i, false)).collect() };
        for (slope, by) in slopes.iter().zip(&corner.by) {
            corner.at += slope * *by;
        }
        let angle = |i: usize| {
            let slope = if upward(&slopes[i]) { slopes[i] } else { -slopes[i] };
            slope.y.atan2(slope.x)
        };
        let mut order: Vec<usize> = (0..slopes.len()).filter(|i| slopes[*i].norm_squared() > 0.0).collect();
        order.sort_by(|a, b| angle(*a).total_cmp(&angle(*b)));
        let mut corners = vec![corner.clone()];
        for upper in [true, false] {
            for &i in &order {
                corner.at += slopes[i] * (end(i, upper) - corner.by[i]);
                corner.by[i] = end(i, upper);
                corners.push(corner.clone());
            }
        }
        // The walk ends where it began.
        if corners.len() > 1 {
            corners.pop();
        }
        Self { corners }
    }

    /// Its corners, anticlockwise.
    pub(super) fn corners(&self) -> &[Reached] {
        &self.corners
    }

    /// What of it lies within tolerance.
    pub(super) fn within_tolerance(&self) -> Self {
        let axes = [Vector2::x(), -Vector2::x(), Vector2::y(), -Vector2::y()];
        axes.into_iter().fold(self.clone(), |polygon, normal| polygon.clipped(normal, 1.0))
    }

    /// What of it lies on the near side of a line, `normal . p <= bound`.
    fn clipped(&self, normal: Vector2<f64>, bound: f64) -> Self {
        let beyond = |corner: &Reached| normal.dot(&corner.at) - bound;
        let mut corners = Vec::with_capacity(self.corners.len() + 1);
        for (a, b) in self.sides() {
            let (from, to) = (beyond(a), beyond(b));
            if from <= 0.0 {
                corners.push(a.clone());
            }
            if (from < 0.0 && to > 0.0) || (from > 0.0 && to < 0.0) {
                corners.push(a.towards(b, from / (from - to)));
            }
        }
        Self { corners }
    }

    /// Each corner with the next one.
    fn sides(&self) -> impl Iterator<Item = (&Reached, &Reached)> {
        let next = self.corners.iter().cycle().skip(1);
        self.corners.iter().zip(next)
    }

    /// Its point nearest to another one; `None` where there is nothing.
    pub(super) fn nearest(&self, to: Vector2<f64>) -> Option<Reached> {
        self.inside(to).or_else(|| {
            let on_side = |(a, b): (&Reached, &Reached)| {
                let side = b.at - a.at;
                let part = (to - a.at).dot(&side) / side.norm_squared();
                // Not a number where the side is a point.
                a.towards(b, if part > 0.0 { part.min(1.0) } else { 0.0 })
            };
            let off = |point: &Reached| (point.at - to).norm_squared();
            self.sides().map(on_side).min_by(|a, b| off(a).total_cmp(&off(b)))
        })
    }

    /// Its point with the least larger coordinate; `None` where there is nothing.
    pub(super) fn least_larger(&self) -> Option<Reached> {
        self.inside(Vector2::zeros()).or_else(|| {
            // Along a side the larger coordinate is least at an end, or where one is zero, or both are alike.
            let on_side = |(a, b): (&Reached, &Reached)| {
                let side = b.at - a.at;
                let cuts = [
                    -a.at.x / side.x,
                    -a.at.y / side.y,
                    (a.at.y - a.at.x) / (side.x - side.y),
                    -(a.at.x + a.at.y) / (side.x + side.y),
                ];
                let parts = cuts.into_iter().filter(|part| (0.0..=1.0).contains(part)).chain([0.0, 1.0]);
                let points: Vec<Reached> = parts.map(|part| a.towards(b, part)).collect();
                points.into_iter().min_by(|a, b| a.at.amax().total_cmp(&b.at.amax()))
            };
            self.sides().filter_map(on_side).min_by(|a, b| a.at.amax().total_cmp(&b.at.amax()))
        })
    }

    /// A point inside, with the moves that lead to it.
    fn inside(&self, point: Vector2<f64>) -> Option<Reached> {
        let first = self.corners.first()?;
        let mut fan = self.corners.windows(2).skip(1);
        fan.find_map(|side| {
            let (u, v) = (side[0].at - first.at, side[1].at - first.at);
            let area = u.perp(&v);
            let off = point - first.at;
            let (p, q) = (off.perp(&v) / area, u.perp(&off) / area);
            // Not a number in a triangle that is a line: then it is on no side of it.
            if !(p >= 0.0 && q >= 0.0 && p + q <= 1.0) {
                return None;
            }
            let by = (0..first.by.len()).map(|i| {
                let [of, a, b] = [&first.by, &side[0].by, &side[1].by].map(|by| by[i]);
                of + (a - of) * p + (b - of) * q
            });
            Some(Reached { at: point, by: by.collect() })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn reached(slopes: &[[f64; 2]], bounds: &[[f64; 2]]) -> Polygon {
        let slopes: Vec<_> = slopes.iter().map(|slope| Vector2::from(*slope)).collect();
        Polygon::reach(Vector2::new(3.0, 0.5), &slopes, bounds)
    }

    /// Every point that is told must follow from its moves, and these must keep their bounds.
    fn follows(point: &Reached, slopes: &[[f64; 2]], bounds: &[[f64; 2]]) {
        let mut at = Vector2::new(3.0, 0.5);
        for ((slope, by), [low, high]) in slopes.iter().zip(&point.by).zip(bounds) {
            at += Vector2::from(*slope) * *by;
            assert!(*by >= low - 1e-12 && *by <= high + 1e-12, "{point:?}");
        }
        assert_relative_eq!(at, point.at, epsilon = 1e-12);
    }

    #[test]
    fn what_is_nearest_agrees_with_a_grid_of_all_moves() {
        let slopes = [[-1.0, 0.3], [0.2, -0.9], [-0.4, -0.5]];
        let bounds = [[-1.0, 1.5], [-0.5, 0.5], [0.0, 1.0]];
        let polygon = reached(&slopes, &bounds);
        let (larger, nearest) =
            (polygon.least_larger().expect("a point"), polygon.nearest(Vector2::zeros()).expect("a point"));
        follows(&larger, &slopes, &bounds);
        follows(&nearest, &slopes, &bounds);
        let steps = 60;
        let mut best = [f64::INFINITY; 2];
        for code in 0..(steps + 1) * (steps + 1) * (steps + 1) {
            let mut at = Vector2::new(3.0, 0.5);
            let mut code = code;
            for (slope, [low, high]) in slopes.iter().zip(bounds) {
                at += Vector2::from(*slope)
                    * (low + (high - low) * f64::from(code % (steps + 1)) / f64::from(steps));
                code /= steps + 1;
            }
            best = [best[0].min(at.amax()), best[1].min(at.norm())];
        }
        let found = [larger.at.amax(), nearest.at.norm()];
        for (best, found) in best.iter().zip(found) {
            assert!(found <= best + 1e-12 && found > best - 0.1, "{best} {found}");
        }
    }

    #[test]
    fn a_target_that_is_reached_is_met_and_tolerances_are_kept() {
        let slopes = [[-2.0, 0.1], [0.1, -2.0]];
        let bounds = [[-3.0, 3.0], [-3.0, 3.0]];
        let polygon = reached(&slopes, &bounds);
        let met = polygon.least_larger().expect("a point");
        assert_relative_eq!(met.at, Vector2::zeros(), epsilon = 1e-12);
        follows(&met, &slopes, &bounds);
        let kept = polygon.within_tolerance().nearest(Vector2::new(5.0, 0.25)).expect("a point");
        assert_relative_eq!(kept.at, Vector2::new(1.0, 0.25), epsilon = 1e-12);
        follows(&kept, &slopes, &bounds);
    }

    #[test]
    fn one_adjuster_reaches_a_line_and_none_a_point() {
        let line = reached(&[[-1.0, 0.0]], &[[0.0, 2.0]]);
        assert_relative_eq!(line.least_larger().expect("a point").at, Vector2::new(1.0, 0.5));
        assert_relative_eq!(
            line.nearest(Vector2::new(2.0, 9.0)).expect("a point").at,
            Vector2::new(2.0, 0.5)
        );
        assert_relative_eq!(
            reached(&[], &[]).nearest(Vector2::zeros()).expect("a point").at,
            Vector2::new(3.0, 0.5)
        );
        assert_eq!(reached(&[], &[]).within_tolerance().nearest(Vector2::zeros()), None);
    }
}
