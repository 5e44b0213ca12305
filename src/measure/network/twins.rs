//! Places that fit as well: a distance is met on both sides of the point it is taken from, so a point of which a coordinate is
//! measured by distances only may fit in a second place, alone or together with those that hang on it.
//!
//! Plumb lines and heights say on which side a point is, so the coordinates that they tie to what is held are left alone. Each
//! of the others is looked for in the places mirrored in every point, line or plane of those it is measured to, first with all
//! others where they are; what settles there is begun from in an adjustment of the whole.

use nalgebra::{DMatrix, DVector, Point3, Vector3};
use std::collections::VecDeque;

use super::{Adjusted, At, CRITICAL, Network, ObservationKind, adjust};
use crate::measure::{Linearised, least_squares};

/// Another place of points that fits the observations about as well.
#[derive(Debug, Clone, PartialEq)]
pub struct Twin {
    /// The point that is furthest from where it was.
    pub spot: usize,
    /// Its other place, mm.
    pub other: Point3<f64>,
    /// All of the network as it fits there.
    pub there: Adjusted,
}

impl Twin {
    /// Places nearer than this are one, mm.
    pub(crate) const APART: f64 = 10.0;
}

const APART: f64 = Twin::APART;
/// A sum of squares larger by no more than this fits about as well: 3.29 squared.
pub(super) const AS_WELL: f64 = 10.8;
/// What is this much worse while the others stay where they are is not begun from.
const HOPELESS: f64 = 2500.0;
/// A stated place answers for the nearer of two when they are this many times as far apart as it is off.
const ANSWERED: f64 = 3.0;
/// How many points are turned over together,
const TURNED: usize = 3;
/// how many places are tried for a single point, and how many for the whole.
const TRIES: [usize; 2] = [600, 24];

/// The other places of points that fit about as well, the best first, but for those that a stated place answers.
pub fn twins(network: &Network, adjusted: &Adjusted) -> Vec<Twin> {
    let mut twins: Vec<Twin> = (elsewhere(network, adjusted).into_iter())
        .filter(|there| there.sum_of_squares <= adjusted.sum_of_squares + AS_WELL)
        .filter_map(|there| {
            let way = |spot: usize| (there.points[spot] - adjusted.points[spot]).norm();
            let spot = (0..network.spots.len()).max_by(|&a, &b| way(a).total_cmp(&way(b)))?;
            let answered = (network.spots.iter().enumerate()).any(|(i, spot)| {
                let off = (adjusted.points[i] - spot.start).norm();
                !spot.guessed && way(i) > APART && way(i) >= ANSWERED * off
            });
            (!answered).then(|| Twin { spot, other: there.points[spot], there })
        })
        .collect();
    twins.sort_by(|a, b| a.there.sum_of_squares.total_cmp(&b.there.sum_of_squares));
    twins
}

/// All other places in which the sum of squares is least nearby, however large it is.
pub(super) fn elsewhere(network: &Network, adjusted: &Adjusted) -> Vec<Adjusted> {
    let bodies = bodies(network);
    let blocks: Vec<PointBlock> =
        (0..network.spots.len()).filter_map(|spot| PointBlock::of(network, &bodies, spot)).collect();
    let mut found: Vec<Adjusted> = Vec::new();
    let is_new = |found: &[Adjusted], there: &Adjusted| {
        [adjusted].into_iter().chain(found).all(|known| apart(known, there) > APART)
    };
    let mut queue = VecDeque::from([(adjusted.points.clone(), Vec::new())]);
    let [mut tries, mut wholes] = TRIES;
    while let Some((points, turned)) = queue.pop_front() {
        let joins =
            |block: &PointBlock| turned.is_empty() || turned.iter().any(|&i: &usize| blocks[i].meets(block));
        for (i, block) in blocks.iter().enumerate().filter(|(i, block)| !turned.contains(i) && joins(block)) {
            let more = turned.len() + 1 < TURNED;
            // What ties it to a point that may turn over with it keeps it from turning over first.
            let others =
                blocks.iter().enumerate().filter(|(other, of)| more && *other != i && block.meets(of));
            let alone = others.map(|(_, other)| {
                block.seen.iter().copied().filter(|seen| !other.seen.contains(seen)).collect()
            });
            for seen in [block.seen.clone()].into_iter().chain(alone) {
                for place in block.places(network, &seen, &points, &mut tries) {
                    let fits = network.sum_of_squares(&place) < adjusted.sum_of_squares + HOPELESS;
                    if fits && wholes > 0 {
                        wholes -= 1;
                        let whole = adjust(&network.begun_at(&place)).ok();
                        found.extend(whole.filter(|there| is_new(&found, there)));
                    }
                    if more {
                        queue.push_back((place, [&turned[..], &[i]].concat()));
                    }
                }
            }
        }
    }
    let level = blocks.iter().flat_map(|block| block.level(network, adjusted));
    for there in level {
        if is_new(&found, &there) {
            found.push(there);
        }
    }
    found
}

/// How far the point that differs most is from where another adjustment has it, mm.
fn apart(a: &Adjusted, b: &Adjusted) -> f64 {
    a.points.iter().zip(&b.points).map(|(a, b)| (a - b).norm()).fold(0.0, f64::max)
}

/// A coordinate of points that differences tie to each other, but to nothing that is held: they move together, each in its
/// sense.
struct Body {
    axis: usize,
    spots: Vec<(usize, f64)>,
}

fn bodies(network: &Network) -> Vec<Body> {
    (0..3).flat_map(|axis| bodies_along(network, axis)).collect()
}

fn bodies_along(network: &Network, axis: usize) -> Vec<Body> {
    let mut body: Vec<(usize, f64)> = (0..network.spots.len()).map(|spot| (spot, 1.0)).collect();
    let mut held: Vec<bool> = network.spots.iter().map(|spot| spot.held[axis]).collect();
    for seen in &network.observations {
        let ObservationKind::Difference { axis: along, of, from } = seen.kind else { continue };
        if along != axis {
            continue;
        }
        let (kept, sense) = body[of.spot];
        let Some(from) = from else {
            held[kept] = true;
            continue;
        };
        let (lost, other) = body[from.spot];
        let together = sense * other * of.sense(axis) * from.sense(axis);
        if kept == lost {
            held[kept] |= together < 0.0;
            continue;
        }
        held[kept] |= held[lost];
        for (body, sense) in body.iter_mut().filter(|(body, _)| *body == lost) {
            (*body, *sense) = (kept, *sense * together);
        }
    }
    let of_body = |which: usize| {
        let spots = body.iter().enumerate().filter(|(_, (body, _))| *body == which);
        Body { axis, spots: spots.map(|(spot, (_, sense))| (spot, *sense)).collect() }
    };
    (0..held.len()).filter(|&which| !held[which] && body[which].0 == which).map(of_body).collect()
}

/// The coordinates of one point that are looked for elsewhere, with all that moves with it.
struct PointBlock<'a> {
    spot: usize,
    /// One an axis.
    bodies: [Option<&'a Body>; 3],
    /// The observations that see it move.
    seen: Vec<usize>,
}

impl<'a> PointBlock<'a> {
    fn of(network: &Network, all: &'a [Body], spot: usize) -> Option<Self> {
        let bodies = [0, 1, 2].map(|axis| {
            all.iter().find(|body| body.axis == axis && body.spots.iter().any(|(of, _)| *of == spot))
        });
        let mut block = Self { spot, bodies, seen: Vec::new() };
        let sees = |kind: &ObservationKind| {
            !matches!(kind, ObservationKind::Difference { .. })
                && kind.spots().iter().any(|spot| block.has(*spot))
        };
        block.seen =
            (0..network.observations.len()).filter(|&i| sees(&network.observations[i].kind)).collect();
        (!block.seen.is_empty()).then_some(block)
    }

    fn sense(&self, axis: usize, spot: usize) -> f64 {
        let own = self.bodies[axis].and_then(|body| body.spots.iter().find(|(of, _)| *of == spot));
        own.map_or(0.0, |(_, sense)| *sense)
    }

    fn has(&self, spot: usize) -> bool {
        (0..3).any(|axis| self.sense(axis, spot) != 0.0)
    }

    fn meets(&self, other: &Self) -> bool {
        self.seen.iter().any(|seen| other.seen.contains(seen))
    }

    fn free(&self) -> Vec<usize> {
        (0..3).filter(|&axis| self.bodies[axis].is_some()).collect()
    }

    fn moved(&self, points: &[Point3<f64>], by: &Vector3<f64>) -> Vec<Point3<f64>> {
        let moved = |(spot, point): (usize, &Point3<f64>)| {
            point + Vector3::from_fn(|axis, _| self.sense(axis, spot) * by[axis])
        };
        points.iter().enumerate().map(moved).collect()
    }

    /// Other places where some of what sees it fits best nearby, all other points staying where they are.
    fn places(
        &self,
        network: &Network,
        seen: &[usize],
        points: &[Point3<f64>],
        tries: &mut usize,
    ) -> Vec<Vec<Point3<f64>>> {
        let mut settled: Vec<Vector3<f64>> = vec![Vector3::zeros()];
        if seen.len() < self.free().len() {
            return Vec::new();
        }
        for start in self.starts(network, points) {
            if *tries == 0 {
                break;
            }
            *tries -= 1;
            let Some(by) = self.settle(network, seen, points, &start) else { continue };
            if settled.iter().all(|known| (known - by).norm() > APART / 2.0) {
                settled.push(by);
            }
        }
        settled[1..].iter().map(|by| self.moved(points, by)).collect()
    }

    fn settle(
        &self,
        network: &Network,
        seen: &[usize],
        points: &[Point3<f64>],
        start: &Vector3<f64>,
    ) -> Option<Vector3<f64>> {
        let free = self.free();
        let by = |x: &DVector<f64>| {
            let mut by = Vector3::zeros();
            free.iter().zip(x).for_each(|(axis, x)| by[*axis] = *x);
            by
        };
        let model = |x: &DVector<f64>| {
            let there = self.moved(points, &by(x));
            let mut residuals = DVector::zeros(seen.len());
            let mut jacobian = DMatrix::zeros(seen.len(), free.len());
            for (row, seen) in seen.iter().map(|&i| &network.observations[i]).enumerate() {
                residuals[row] = (seen.kind.value(&there) - seen.reads) / seen.sigma;
                for (spot, slope) in seen.kind.gradient(&there) {
                    for (column, &axis) in free.iter().enumerate() {
                        jacobian[(row, column)] += self.sense(axis, spot) * slope[axis] / seen.sigma;
                    }
                }
            }
            Some(Linearised { residuals, jacobian })
        };
        let begin = DVector::from_iterator(free.len(), free.iter().map(|&axis| start[axis]));
        least_squares(begin, model).ok().map(|least| by(&least.unknowns))
    }

    /// Mirrored places along one axis that are further off than its deviation allows and fit nevertheless: there need be no
    /// hill between, and then there is one lowest place only.
    fn level(&self, network: &Network, adjusted: &Adjusted) -> Vec<Adjusted> {
        let there = |start: Vector3<f64>| {
            let axis = start.iamax();
            let place = adjusted.places[self.spot][axis]?;
            let far = CRITICAL * adjusted.covariance[(place, place)].sqrt();
            let places = self.moved(&adjusted.points, &start);
            let straight = start.iter().filter(|by| by.abs() > 0.0).count() == 1;
            let beyond = straight && start[axis].abs() > far.max(APART);
            let near = network.sum_of_squares(&places) < adjusted.sum_of_squares + HOPELESS;
            let mut held = (beyond && near).then(|| network.begun_at(&places))?;
            held.spots[self.spot].held[axis] = true;
            let there = adjust(&held).ok()?;
            (there.sum_of_squares <= adjusted.sum_of_squares + AS_WELL).then_some(there)
        };
        self.starts(network, &adjusted.points).into_iter().filter_map(there).collect()
    }

    /// Mirrored in the points that it is measured to along each axis, and in the lines or planes through as many of them as
    /// it has free coordinates.
    fn starts(&self, network: &Network, points: &[Point3<f64>]) -> Vec<Vector3<f64>> {
        let partners: Vec<Vector3<f64>> = (self.seen.iter())
            .filter_map(|&i| match network.observations[i].kind {
                ObservationKind::Distance { from, to } | ObservationKind::Slope { from, to } => {
                    Some(self.towards(points, from, to))
                }
                _ => None,
            })
            .collect();
        let free = self.free();
        let along =
            partners.iter().flat_map(|to| free.iter().map(|&axis| Vector3::ith(axis, 2.0 * to[axis])));
        let whole = partners
            .iter()
            .map(|to| Vector3::from_fn(|axis, _| if free.contains(&axis) { to[axis] } else { 0.0 }));
        let whole: Vec<Vector3<f64>> = whole.filter(|to| to.iter().all(|x| x.is_finite())).collect();
        let other = |axis: usize| !free.contains(&axis);
        let mut flats = Vec::new();
        for (i, a) in whole.iter().enumerate() {
            for (j, b) in whole.iter().enumerate().skip(i + 1) {
                match free.len() {
                    2 => flats.extend(
                        (0..3)
                            .find(|&axis| other(axis))
                            .map(|axis| (a, (b - a).cross(&Vector3::ith(axis, 1.0)))),
                    ),
                    3 => flats.extend(whole[j + 1..].iter().map(|c| (a, (b - a).cross(&(c - a))))),
                    _ => {}
                }
            }
        }
        let mirrored = flats.into_iter().filter_map(|(through, square)| {
            let square = square.try_normalize(1.0)?;
            Some(square * (2.0 * square.dot(through)))
        });
        let mut starts: Vec<Vector3<f64>> = Vec::new();
        for start in along.chain(mirrored).filter(|start| start.iter().all(|x| x.is_finite())) {
            if start.norm() > 1.0 && starts.iter().all(|known| (known - start).norm() > APART / 2.0) {
                starts.push(start);
            }
        }
        starts
    }

    /// The move along each axis that would bring the two ends of a measurement together; infinite along those where they keep
    /// apart.
    fn towards(&self, points: &[Point3<f64>], from: At, to: At) -> Vector3<f64> {
        let way = to.place(points) - from.place(points);
        Vector3::from_fn(|axis, _| {
            let sense = |at: At| at.sense(axis) * self.sense(axis, at.spot);
            -way[axis] / (sense(to) - sense(from))
        })
    }
}
